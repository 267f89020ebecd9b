// The whole instrument, everything on: 25 keys, already read into documents, worked out on one core (aim: all
// of it in under 20 ms), part by part and then all in one go. Times are medians of processor time.
//
// Rows of their own, not in that sum: reading the documents' bytes; writing the results as JSON; and which
// works fit the budget, which has its own aim (60 works in under 50 ms, bench_choice) and here also works out
// stacks and leaks once more, as its command does.

#include <benchmark/benchmark.h>

#include <cstdio>
#include <fstream>
#include <iterator>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

#include "hingeline/belief/inquiry.h"
#include "hingeline/record/document.h"
#include "hingeline/service/action.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/bow.h"
#include "hingeline/service/budget.h"
#include "hingeline/service/leak.h"
#include "hingeline/service/neighbours.h"
#include "hingeline/service/regulate.h"
#include "hingeline/service/season.h"
#include "hingeline/service/stack.h"
#include "hingeline/service/wear.h"

namespace {

using namespace hingeline;

constexpr double kAimMilliseconds = 20;
constexpr std::size_t kKeys = 25;
constexpr const char* kDay = "2026-06-01";
constexpr const char* kSampledPart = "causes_of_neighbours";

std::string text_of(const std::string& name) {
  std::ifstream file(std::string(HINGELINE_SOURCE_DIR) + "/examples/" + name);
  return {std::istreambuf_iterator<char>(file), {}};
}

template <class T>
T must(Expected<T> found) {
  if (!found) throw std::runtime_error(found.error().what);
  return std::move(*found);
}

/// The example saxophone without its last two keys, which no link, pair, stack or work refers to.
struct Documents {
  std::string instrument_text = text_of("saxophone.json");
  std::string shop_text = text_of("shop.json");
  record::Instrument instrument = record::read_instrument(instrument_text, "saxophone.json").value();
  record::Shop shop = record::read_shop(shop_text, "shop.json").value();
  Documents() { instrument.keys.resize(kKeys); }
};
const Documents& documents() {
  static const Documents d;
  return d;
}

/// All that the program can say of an instrument.
struct Whole {
  service::InstrumentResult keys;
  service::InstrumentLeak leak;
  service::BowResult bow;
  service::SeasonResult season;
  std::vector<service::StackResult> stacks;
  service::ActionResult action;
  service::Regulation regulation;
  service::InstrumentCauses causes;
  service::WearResult wear;
};

struct Part {
  const char* name;
  void (*work)(Whole& whole);
};
/// In the order in which one needs the other.
const std::vector<Part> kParts{
    {"keys_and_plans",
     [](Whole& w) { w.keys = service::work_out(documents().instrument, documents().shop, 1); }},
    {"leak",
     [](Whole& w) { w.leak = must(service::leak_of(w.keys, documents().instrument, documents().shop)); }},
    {"bow", [](Whole& w) { w.bow = must(service::bow(w.keys, documents().instrument, documents().shop)); }},
    {"season",
     [](Whole& w) {
       w.season = must(service::season(w.keys, documents().instrument, documents().shop, ""));
     }},
    {"stacks",
     [](Whole& w) {
       w.stacks = service::work_out_stacks(documents().instrument, documents().shop, w.keys.units);
     }},
    {"action",
     [](Whole& w) {
       w.action = must(service::work_action(documents().instrument, documents().shop, w.keys, w.keys.units));
     }},
    {"regulate",
     [](Whole& w) { w.regulation = service::regulate(documents().instrument, documents().shop, w.keys); }},
    {kSampledPart, [](Whole& w) { w.causes = service::causes_of(w.keys, {}); }},
    {"wear",
     [](Whole& w) {
       w.wear = must(service::wear_of(documents().instrument, documents().shop, w.keys, kDay));
     }},
};

/// Everything once: what one part needs of another, and what the rows outside the sum start from.
Whole& worked() {
  static Whole whole = [] {
    Whole w;
    for (const Part& part : kParts) part.work(w);
    return w;
  }();
  return whole;
}

void part_alone(benchmark::State& state, const Part& part) {
  Whole& whole = worked();
  for (auto _ : state) {
    part.work(whole);
    benchmark::ClobberMemory();
  }
}

void everything(benchmark::State& state) {
  for (auto _ : state) {
    Whole whole;
    for (const Part& part : kParts) part.work(whole);
    benchmark::DoNotOptimize(whole);
  }
}

void read_documents(benchmark::State& state) {
  const Documents& d = documents();
  for (auto _ : state) {
    benchmark::DoNotOptimize(record::read_instrument(d.instrument_text, ""));
    benchmark::DoNotOptimize(record::read_shop(d.shop_text, ""));
  }
}

void write_json(benchmark::State& state) {
  const Whole& w = worked();
  const LengthUnit unit = w.keys.units;
  for (auto _ : state) {
    benchmark::DoNotOptimize(service::to_json(w.keys, unit));
    benchmark::DoNotOptimize(service::to_json(w.leak, unit));
    benchmark::DoNotOptimize(service::to_json(w.bow, unit));
    benchmark::DoNotOptimize(service::to_json(w.season, unit));
    benchmark::DoNotOptimize(service::to_json(w.stacks, unit));
    benchmark::DoNotOptimize(service::to_json(w.action));
    benchmark::DoNotOptimize(service::to_json(w.regulation, unit));
    benchmark::DoNotOptimize(service::to_json(w.causes, unit));
    benchmark::DoNotOptimize(service::to_json(w.wear, unit));
  }
}

service::BudgetResult budgeted() {
  return must(service::budget_of(worked().keys, documents().instrument, documents().shop, {}));
}
/// Works gathered, chosen, and the ladder of what more minutes would bring.
void budget_with_ladder(benchmark::State& state) {
  worked();
  for (auto _ : state) benchmark::DoNotOptimize(budgeted());
}
/// The choice among the same works, without gathering them and without the ladder.
void budget_choice(benchmark::State& state) {
  const service::BudgetResult b = budgeted();
  choice::Options options;
  options.least_step = b.least_step;
  for (auto _ : state) benchmark::DoNotOptimize(choice::choose(b.candidates, b.budget, b.weights, options));
  state.counters["works"] = static_cast<double>(b.candidates.works.size());
}

void settings(benchmark::internal::Benchmark* b) {
  b->Repetitions(9)->ReportAggregatesOnly(true)->Unit(benchmark::kMillisecond);
}
BENCHMARK(everything)->Apply(settings);
BENCHMARK(read_documents)->Apply(settings);
BENCHMARK(write_json)->Apply(settings);
BENCHMARK(budget_choice)->Apply(settings);
BENCHMARK(budget_with_ladder)->Apply(settings);

/// Keeps the medians that it prints.
class Medians : public benchmark::ConsoleReporter {
 public:
  Medians() : ConsoleReporter(OO_None) {}
  void ReportRuns(const std::vector<Run>& runs) override {
    for (const Run& run : runs) {
      if (run.aggregate_name == "median") milliseconds[run.run_name.function_name] = run.GetAdjustedCPUTime();
    }
    ConsoleReporter::ReportRuns(runs);
  }
  std::map<std::string, double> milliseconds;
};

void print_against_aim(std::map<std::string, double>& ms) {
  double sum = 0;
  for (const Part& part : kParts) sum += ms[part.name];
  std::printf("\n%-22s %10s %8s\n", "part", "median ms", "share");
  for (const Part& part : kParts)
    std::printf("%-22s %10.3f %7.1f%%\n", part.name, ms[part.name], 100 * ms[part.name] / sum);
  const double sampled = ms[kSampledPart];
  std::printf("%-22s %10.3f          %.2f of the aim of %.0f ms\n", "sum", sum, sum / kAimMilliseconds,
              kAimMilliseconds);
  std::printf("%-22s %10.3f          %.2f of the aim\n", "sum but for causes", sum - sampled,
              (sum - sampled) / kAimMilliseconds);
  std::printf("%-22s %10.3f          %zu keys, each alone and with its neighbours, by %zu samples\n",
              "causes", sampled, kKeys, belief::Inquiry::kSamples);
  std::printf("%-22s %10.3f          %.2f of the aim; %.1f times keys and plans alone\n", "all in one go",
              ms["everything"], ms["everything"] / kAimMilliseconds, ms["everything"] / ms["keys_and_plans"]);
  std::printf("not in the sum:\n");
  for (const char* name : {"read_documents", "write_json", "budget_choice", "budget_with_ladder"})
    std::printf("%-22s %10.3f\n", name, ms[name]);
}

}  // namespace

int main(int argc, char** argv) {
  for (const Part& part : kParts) benchmark::RegisterBenchmark(part.name, part_alone, part)->Apply(settings);
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  Medians medians;
  benchmark::RunSpecifiedBenchmarks(&medians);
  benchmark::Shutdown();
  // No sum when some were filtered out or all only listed.
  for (const Part& part : kParts) {
    if (!medians.milliseconds.contains(part.name)) return 0;
  }
  print_against_aim(medians.milliseconds);
  return 0;
}

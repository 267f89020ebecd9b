// A pressed key (aim: at least 200 times as fast as a general cone solver, on the same keys in the same run),
// and the leak of one pad. The last lines are the ratios, both in
// processor time.

#include "hingeline/seal/pressed.h"

#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <string>
#include <vector>

#include "press_problem.h"
#include "python_model.h"

namespace {

using namespace hingeline;

constexpr std::size_t kCases = 256;  // a power of two: the next one is a mask away
constexpr std::size_t kSpots = 36;

/// The same keys twice: with a level rim, and with one that is read at spots.
const std::vector<reference::PressCase>& cases(std::size_t dips) {
  const auto drawn = [](std::size_t spots) {
    std::vector<reference::PressCase> all;
    for (std::size_t n = 0; n < kCases; ++n) all.push_back(reference::draw_press(61, n, spots));
    return all;
  };
  static const auto level = drawn(0);
  static const auto dipped = drawn(kSpots);
  return dips == 0 ? level : dipped;
}

void press_all(benchmark::State& state, std::size_t dips) {
  const auto& all = cases(dips);
  std::size_t n = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(seal::press(all[n].freedom, all[n].seat, all[n].push));
    n = (n + 1) & (kCases - 1);
  }
}
void pressed_level_rim(benchmark::State& state) { press_all(state, 0); }
void pressed_rim_of_36_spots(benchmark::State& state) { press_all(state, kSpots); }

void leak_of_a_wedge(benchmark::State& state) {
  const seal::Rim rim{millimetres(16), millimetres(0.8)};
  std::size_t n = 0;
  for (auto _ : state) {
    const double level = 0.0001 * static_cast<double>(n);
    benchmark::DoNotOptimize(seal::leak({millimetres(level), millimetres(0.02)}, rim, {}));
    n = (n + 1) & (kCases - 1);
  }
}

void settings(benchmark::internal::Benchmark* b) { b->Repetitions(9)->ReportAggregatesOnly(true); }
BENCHMARK(pressed_level_rim)->Apply(settings);
BENCHMARK(pressed_rim_of_36_spots)->Apply(settings);
BENCHMARK(leak_of_a_wedge)->Apply(settings);

/// Keeps the medians that it prints.
class Medians : public benchmark::ConsoleReporter {
 public:
  Medians() : ConsoleReporter(OO_None) {}
  void ReportRuns(const std::vector<Run>& runs) override {
    for (const Run& run : runs) {
      if (run.aggregate_name == "median") nanoseconds[run.run_name.function_name] = run.GetAdjustedCPUTime();
    }
    ConsoleReporter::ReportRuns(runs);
  }
  std::map<std::string, double> nanoseconds;
};

bool compare_with_solver(const Medians& ours) {
  nlohmann::json problems = nlohmann::json::array();
  for (const auto& c : cases(kSpots)) problems.push_back(reference::press_problem(c));
  const auto answered = ask_python("press_solver.py", problems);
  if (!answered) return false;
  double apart = 0;
  for (std::size_t n = 0; n < kCases; ++n) {
    const auto& c = cases(kSpots)[n];
    const double energy = (*answered)["energies"][n].get<double>();
    const double mine = seal::press(c.freedom, c.seat, c.push)->energy;
    apart = std::max(apart, std::abs(mine - energy) / (std::abs(energy) + c.push.finger.raw() * 0.1));
  }
  auto seconds = (*answered)["seconds"].get<std::vector<double>>();
  const auto middle = seconds.begin() + static_cast<std::ptrdiff_t>(seconds.size() / 2);
  std::nth_element(seconds.begin(), middle, seconds.end());
  std::printf(
      "\ncone solver, the solve itself: median %.0f us a key over %zu keys, energies at most %.1e apart\n",
      1e6 * *middle, kCases, apart);
  for (const char* name : {"pressed_level_rim", "pressed_rim_of_36_spots"}) {
    const auto found = ours.nanoseconds.find(name);
    if (found == ours.nanoseconds.end()) continue;
    std::printf("%-24s %10.0f ns median, cone solver takes %.0f times as long\n", name, found->second,
                1e9 * *middle / found->second);
  }
  return true;
}

}  // namespace

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  Medians medians;
  benchmark::RunSpecifiedBenchmarks(&medians);
  benchmark::Shutdown();
  // Nothing to compare when these were filtered out or only listed.
  if (!medians.nanoseconds.contains("pressed_rim_of_36_spots")) return 0;
  return compare_with_solver(medians) ? 0 : 1;
}

// The worst pad gap of a hinge over everything it can do (aim: under 0.5 us with the play prepared), and
// beside it, in the same run and on the same hinges, a general second-order cone solver. The last lines are
// the ratios.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "cone_problem.h"
#include "hingeline/mechanism/hinge.h"
#include "python_model.h"
#include "random_hinges.h"

namespace {

using namespace hingeline;
using mechanism::Hinge;
using mechanism::Play;
using mechanism::Question;

constexpr std::size_t kHinges = 256;  // a power of two: the next one is a mask away

struct Cases {
  std::vector<Hinge> hinges;
  std::vector<Play> plays;
  std::vector<Question> questions;
};

/// Hinges of every straight-sided kind; the gap side to side of a pad on each.
const Cases& cases() {
  static const Cases all = [] {
    Cases c;
    reference::Engine engine(51);
    while (c.hinges.size() < kHinges) {
      c.hinges.push_back(reference::draw_hinge(engine, reference::Roundness::straight_only));
      const Hinge& hinge = c.hinges.back();
      c.plays.emplace_back(hinge);
      const double weight = reference::uniform(engine, 5, 45) / in_millimetres(hinge.key_length());
      const double phi = reference::uniform(engine, 0, 6.28);
      const std::array<double, 2> turning{-std::sin(phi) * weight, std::cos(phi) * weight};
      c.questions.push_back({0, turning, {-turning[0], -turning[1]}});
    }
    return c;
  }();
  return all;
}

void pad_gap_prepared(benchmark::State& state) {
  const Cases& c = cases();
  std::size_t n = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(c.plays[n].worst(c.questions[n]));
    n = (n + 1) & (kHinges - 1);
  }
}

void pad_gap_with_preparing(benchmark::State& state) {
  const Cases& c = cases();
  std::size_t n = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(Play(c.hinges[n]).worst(c.questions[n]));
    n = (n + 1) & (kHinges - 1);
  }
}

void all_figures_of_a_pad(benchmark::State& state) {
  const Cases& c = cases();
  const mechanism::Pad pad{millimetres(20), millimetres(15), millimetres(18), degrees(40)};
  std::size_t n = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(mechanism::pad_play(c.plays[n], pad));
    n = (n + 1) & (kHinges - 1);
  }
}

void joint_from_profiles(benchmark::State& state) {
  const Cases& c = cases();
  std::size_t n = 0;
  for (auto _ : state) {
    const contact::Joint& joint = c.hinges[n].end(mechanism::Side::upper).joint;
    if (!joint.is_rod()) benchmark::DoNotOptimize(contact::Joint(*joint.point(), *joint.hole()));
    n = (n + 1) & (kHinges - 1);
  }
}

void settings(benchmark::internal::Benchmark* b) { b->Repetitions(9)->ReportAggregatesOnly(true); }
BENCHMARK(pad_gap_prepared)->Apply(settings);
BENCHMARK(pad_gap_with_preparing)->Apply(settings);
BENCHMARK(all_figures_of_a_pad)->Apply(settings);
BENCHMARK(joint_from_profiles)->Apply(settings);

/// Keeps the medians that it prints.
class Medians : public benchmark::ConsoleReporter {
 public:
  Medians() : ConsoleReporter(OO_None) {}
  void ReportRuns(const std::vector<Run>& runs) override {
    for (const Run& run : runs) {
      if (run.aggregate_name == "median") nanoseconds[run.run_name.function_name] = run.GetAdjustedRealTime();
    }
    ConsoleReporter::ReportRuns(runs);
  }
  std::map<std::string, double> nanoseconds;
};

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// Runs the solver on the same hinges and prints how far apart the two are, in time and in value.
bool compare_with_solver(const Medians& ours) {
  const Cases& c = cases();
  nlohmann::json problems = nlohmann::json::array();
  std::vector<double> pieces;
  for (std::size_t n = 0; n < kHinges; ++n) {
    const Question& q = c.questions[n];
    problems.push_back(reference::cone_problem(reference::plain(c.hinges[n]),
                                               {q.axial, q.upper[0], q.upper[1], q.lower[0], q.lower[1]}));
    pieces.push_back(static_cast<double>(problems.back()["pieces"].size()));
  }
  const auto answered = ask_python("cone_solver.py", problems);
  if (!answered) return false;
  const nlohmann::json& answer = *answered;
  double apart = 0;
  for (std::size_t n = 0; n < kHinges; ++n) {
    apart = std::max(apart, std::abs(answer["values"][n].get<double>() -
                                     in_millimetres(c.plays[n].worst(c.questions[n]))));
  }
  const double solver = 1e9 * median(answer["seconds"].get<std::vector<double>>());
  std::printf(
      "\ncone solver, the solve itself: median %.0f ns a hinge over %zu hinges (%.0f programs each), "
      "answers at most %.1e mm apart\n",
      solver, kHinges, median(pieces), apart);
  for (const char* name : {"pad_gap_prepared", "pad_gap_with_preparing"}) {
    const auto found = ours.nanoseconds.find(name);
    if (found == ours.nanoseconds.end()) continue;
    std::printf("%-24s %10.0f ns median, cone solver takes %.0f times as long\n", name, found->second,
                solver / found->second);
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
  if (!medians.nanoseconds.contains("pad_gap_prepared")) return 0;
  return compare_with_solver(medians) ? 0 : 1;
}

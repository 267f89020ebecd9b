// What is known of 25 hinges through all their figures by draws: seconds for each hinge on one thread and on
// two; beside it, in the same run and on the same hinges, the same model written in NumPy; and the share that
// the arithmetic gets of what this machine can do.
//
//   bench_propagate [--benchmark_...]     HINGELINE_DRAWS sets the draws of a hinge (10^6)

#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "hingeline/belief/propagate.h"
#include "hingeline/numeric/random.h"
#include "propagate_cost.h"
#include "python_model.h"

namespace {

using namespace hingeline;
using belief::Figure;
using belief::KeyGeometry;
using belief::KeyKnowledge;
using belief::Side;
using contact::HoleForm;
using contact::PointForm;

constexpr std::size_t kHinges = 25;
constexpr std::uint64_t kSeed = 2;

std::size_t draws() {
  static const std::size_t asked = [] {
    const char* text = std::getenv("HINGELINE_DRAWS");
    return text != nullptr ? std::strtoull(text, nullptr, 10) : belief::kMostDraws;
  }();
  return asked;
}

template <Side S, auto Member>
void set_point(KeyGeometry& g, double v) {
  g.at(S).point.*Member = std::remove_cvref_t<decltype(g.upper.point.*Member)>::of(v);
}
template <Side S, auto Member>
void set_hole(KeyGeometry& g, double v) {
  g.at(S).hole.*Member = std::remove_cvref_t<decltype(g.upper.hole.*Member)>::of(v);
}
template <auto Member>
void set_pad(KeyGeometry& g, double v) {
  (*g.pad).*Member = std::remove_cvref_t<decltype((*g.pad).*Member)>::of(v);
}

/// The inputs of a pivot key with every number measured: cone points with flat tips in cone holes whose
/// tapers were measured too. Names are the NumPy model's.
KeyKnowledge make_key(numeric::Stream& chance) {
  const auto between = [&](double low, double high) { return low + (high - low) * chance.uniform(); };
  KeyKnowledge key;
  KeyGeometry& g = key.geometry;
  const auto take = [&](const std::string& name, double value, double standard,
                        void (*set)(KeyGeometry&, double)) {
    belief::Input input;
    input.name = name;
    input.value = value;
    input.standard = standard;
    input.origin = Origin::read;
    input.set = set;
    input.set(g, value);
    key.inputs.push_back(std::move(input));
  };
  const auto end = [&]<Side S>(std::integral_constant<Side, S>) {
    const std::string at = mechanism::word(S) + std::string("_");
    const double angle = degrees(between(14, 31)).raw();
    g.at(S).point.shape = contact::PointShape::cone;
    g.at(S).hole.shape = contact::HoleShape::cone;
    const double mouth = between(0.7, 1.2);
    const double tip = mouth * between(0.25, 0.4);
    take(at + "length", between(3.2, 4), 0.01, &set_point<S, &PointForm::length>);
    take(at + "angle", angle, 0.004, &set_point<S, &PointForm::half_angle>);
    take(at + "tip", tip, 0.005, &set_point<S, &PointForm::tip_radius>);
    take(at + "mouth", mouth, 0.005, &set_hole<S, &HoleForm::mouth_radius>);
    take(at + "depth", (mouth - tip) / std::tan(angle) + between(0.3, 0.6), 0.02,
         &set_hole<S, &HoleForm::depth>);
    take(at + "hole_angle", angle + between(-0.02, 0.02), 0.004, &set_hole<S, &HoleForm::half_angle>);
  };
  end(std::integral_constant<Side, Side::upper>{});
  end(std::integral_constant<Side, Side::lower>{});
  const double length = between(20, 80);
  const double stop[2] = {between(0.1, 0.25), between(0.1, 0.25)};
  take("key", length, 0.005, [](KeyGeometry& x, double v) { x.key_length = millimetres(v); });
  take("span", length + stop[0] + stop[1] + between(0.05, 0.15), 0.005,
       [](KeyGeometry& x, double v) { x.span = millimetres(v); });
  take("upper_stop", stop[0], 0.005, [](KeyGeometry& x, double v) { x.upper.stop = millimetres(v); });
  take("lower_stop", stop[1], 0.005, [](KeyGeometry& x, double v) { x.lower.stop = millimetres(v); });
  g.pad = mechanism::Pad{};
  using mechanism::Pad;
  take("tone_hole", between(10, 30), 0.1, &set_pad<&Pad::tone_hole>);
  take("station", length * between(0.2, 0.8), 0.2, &set_pad<&Pad::station>);
  take("arm", between(12, 25), 0.1, &set_pad<&Pad::arm>);
  take("clock", between(-1, 1), 0.02, &set_pad<&Pad::clock>);
  return key;
}

const std::vector<KeyKnowledge>& keys() {
  static const std::vector<KeyKnowledge> all = [] {
    std::vector<KeyKnowledge> made;
    numeric::Stream chance(11, 0);
    while (made.size() < kHinges) made.push_back(make_key(chance));
    return made;
  }();
  return all;
}

/// All hinges once.
void propagate_25_hinges(benchmark::State& state) {
  const auto threads = static_cast<unsigned>(state.range(0));
  for (auto _ : state) {
    for (const KeyKnowledge& key : keys())
      benchmark::DoNotOptimize(belief::propagate(key, draws(), kSeed, threads));
  }
  state.counters["draws/s"] = benchmark::Counter(static_cast<double>(kHinges * draws()),
                                                 benchmark::Counter::kIsIterationInvariantRate);
}
BENCHMARK(propagate_25_hinges)
    ->Arg(1)
    ->Arg(2)
    ->UseRealTime()
    ->MeasureProcessCPUTime()
    ->Unit(benchmark::kMillisecond)
    ->Repetitions(5)
    ->Iterations(1)
    ->ReportAggregatesOnly(true);

/// Keeps the medians that it prints.
class Medians : public benchmark::ConsoleReporter {
 public:
  Medians() : ConsoleReporter(OO_None) {}
  void ReportRuns(const std::vector<Run>& runs) override {
    for (const Run& run : runs) {
      if (run.aggregate_name != "median") continue;
      wall[run.run_name.args] = run.GetAdjustedRealTime() / 1e3;
      processor[run.run_name.args] = run.GetAdjustedCPUTime() / 1e3;
    }
    ConsoleReporter::ReportRuns(runs);
  }
  std::map<std::string, double> wall;  ///< seconds, by threads
  std::map<std::string, double> processor;
};

/// Runs the NumPy model on the same hinges.
bool compare_with_numpy(const Medians& ours) {
  nlohmann::json hinges = nlohmann::json::array();
  for (const KeyKnowledge& key : keys()) {
    nlohmann::json inputs;
    for (const belief::Input& i : key.inputs) inputs[i.name] = {i.value, i.standard};
    hinges.push_back(inputs);
  }
  const auto answered =
      ask_python("propagate_numpy.py", nlohmann::json{{"draws", draws()}, {"hinges", hinges}});
  if (!answered) return false;
  const nlohmann::json& answer = *answered;
  // Both are samples: means and standard deviations may be five standard errors apart, doubled for two
  // samples.
  double apart = 0;
  for (std::size_t n = 0; n < kHinges; ++n) {
    const auto p = belief::propagate(keys()[n], draws(), kSeed, 0);
    if (!p) return false;
    for (const auto& [code, value] : answer["figures"][n].items()) {
      const auto& spread = (*p)[*belief::figure_of(code)];
      const double error = spread.standard * std::sqrt(2.0 / static_cast<double>(draws()));
      if (error == 0) continue;
      apart = std::max({apart, std::abs(value[0].get<double>() - spread.mean) / error,
                        std::abs(value[1].get<double>() - spread.standard) / error});
    }
  }
  const double wall = answer["wall"].get<double>();
  const double processor = answer["processor"].get<double>();
  std::printf(
      "\nNumPy %s, one thread: %.2f s (processor %.2f s), %.3g draws/s; means and standard deviations "
      "at most %.1f standard errors apart\n",
      answer["version"].get<std::string>().c_str(), wall, processor,
      static_cast<double>(kHinges * draws()) / wall, apart);
  for (const char* threads : {"1", "2"}) {
    const auto found = ours.wall.find(threads);
    if (found == ours.wall.end()) continue;
    std::printf("on %s thread(s): %.3g draws/s, NumPy takes %.1f times as long (%.1f by processor time)\n",
                threads, static_cast<double>(kHinges * draws()) / found->second, wall / found->second,
                processor / ours.processor.at(threads));
  }
  if (ours.wall.contains("1") && ours.wall.contains("2")) {
    std::printf("two threads are %.2f times as fast as one\n", ours.wall.at("1") / ours.wall.at("2"));
  }
  return apart < 6;
}

}  // namespace

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  Medians medians;
  benchmark::RunSpecifiedBenchmarks(&medians);
  benchmark::Shutdown();
  // Nothing to compare when these were filtered out or only listed.
  if (medians.wall.empty()) return 0;
  if (medians.processor.contains("1")) {
    bench::print_share(keys(), draws(), medians.processor.at("1"));
  }
  return compare_with_numpy(medians) ? 0 : 1;
}

// Choosing among 60 candidate works (aim: under 50 ms), with what they need, groups, alternatives and shared
// set-ups, minutes and money given: median and worst of 40 instruments. Beside it the same with the reason
// for each work left out, the ladder, and which of 36 cutters to own.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <vector>

#include "choice/all_sets.h"
#include "hingeline/choice/budget.h"
#include "hingeline/choice/cover.h"

namespace {

using namespace hingeline;
using namespace hingeline::choice;

constexpr std::uint64_t kInstruments = 40;

/// Exactly 60 works, a third to two thirds of whose minutes are there.
testing_choice::Made sixty(std::uint64_t number) {
  numeric::Stream s(60, number);
  const auto below = [&s](std::uint64_t n) { return s.bits() % n; };
  testing_choice::Made m;
  m.candidates.set_ups = {{"cutter", {seconds(300), seconds(60)}, {}},
                          {"reamer", {seconds(240), seconds(60)}, {}},
                          {"rig", {seconds(600), seconds(120)}, Money::hundredths(500)}};
  double all = 0;
  for (std::uint64_t i = 0; i < 60; ++i) {
    Work w;
    w.id = "w" + std::to_string(i);
    w.stage = static_cast<Stage>(below(6));
    w.time = {seconds(120 + static_cast<double>(below(2400))), seconds(200)};
    w.money = Money::hundredths(static_cast<std::int64_t>(below(4) == 0 ? 100 + below(3000) : 0));
    w.leak = millilitres_per_second(4 * s.uniform() * s.uniform());
    w.feel = s.uniform();
    if (i > 3 && below(3) == 0) w.needs.push_back("w" + std::to_string(below(i)));
    if (below(8) == 0) w.together = "group " + std::to_string(i / 12);
    if (below(5) == 0) w.instead = "one of " + std::to_string(i / 6);
    if (below(2) == 0) w.set_ups.push_back(m.candidates.set_ups[below(3)].id);
    all += in_seconds(w.time.mean);
    m.candidates.works.push_back(std::move(w));
  }
  m.budget = {seconds(all * (1 + s.uniform()) / 3), Money::hundredths(20'000)};
  return m;
}

std::vector<testing_choice::Made> instruments() {
  std::vector<testing_choice::Made> all;
  for (std::uint64_t k = 0; k < kInstruments; ++k) all.push_back(sixty(k));
  return all;
}

/// One iteration is one instrument; the worst of them is told beside the middle one.
void over_instruments(benchmark::State& state, auto&& run) {
  const auto all = instruments();
  std::vector<double> times;
  for (auto _ : state) {
    const auto& m = all[times.size() % all.size()];
    const auto start = std::chrono::steady_clock::now();
    benchmark::DoNotOptimize(run(m));
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    state.SetIterationTime(took.count());
    times.push_back(1000 * took.count());
  }
  std::sort(times.begin(), times.end());
  state.counters["median_ms"] = times[times.size() / 2];
  state.counters["worst_ms"] = times.back();
}

void choose_of_60(benchmark::State& state) {
  Options options;
  options.reasons = false;
  over_instruments(state, [&](const auto& m) { return choose(m.candidates, m.budget, m.weights, options); });
}
void choose_of_60_with_reasons(benchmark::State& state) {
  over_instruments(state, [&](const auto& m) { return choose(m.candidates, m.budget, m.weights); });
}
void ladder_of_60(benchmark::State& state) {
  Options options;
  options.least_step = {8000};
  over_instruments(state,
                   [&](const auto& m) { return ladder(m.candidates, m.budget.money, m.weights, options); });
}

/// Forty heads of twelve sizes, thirty cutters on offer, six owned.
void cover_of_40(benchmark::State& state) {
  numeric::Stream s(61, 0);
  Task task;
  std::vector<SizeRange> ranges;
  for (int d = 0; d < 40; ++d) {
    task.counts.push_back(1 + static_cast<std::int64_t>(s.bits() % 9));
    ranges.push_back(cutters_for(millimetres(2.5 + 2.5 * s.uniform()), millimetres(0.02), millimetres(0.12)));
  }
  for (int t = 0; t < 36; ++t) {
    Tool tool;
    tool.owned = t < 6;
    for (std::size_t d = 0; d < ranges.size(); ++d) {
      if (serves(millimetres(2.5 + 2.5 * t / 36.0), ranges[d])) tool.serves.push_back(d);
    }
    task.tools.push_back(std::move(tool));
  }
  for (auto _ : state) benchmark::DoNotOptimize(cover(task));
}

void settings(benchmark::internal::Benchmark* b) {
  b->UseManualTime()->Iterations(kInstruments)->Unit(benchmark::kMillisecond);
}
BENCHMARK(choose_of_60)->Apply(settings);
BENCHMARK(choose_of_60_with_reasons)->Apply(settings);
BENCHMARK(ladder_of_60)->Apply(settings);
BENCHMARK(cover_of_40)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();

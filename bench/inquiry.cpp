// What an answer costs the inquiry at the bench's default number of samples: reweighting after a word, a
// reading, an end play (samples drawn anew), and the next check. Aims: 5 ms and 50 ms.
#include <benchmark/benchmark.h>

#include "belief/subjects.h"
#include "hingeline/belief/inquiry.h"

namespace hingeline::belief {
namespace {

Inquiry asked(unsigned threads) {
  auto q = Inquiry::begin(cone_subject(), {}, Complaint::loose, 1, Inquiry::kSamples, threads);
  static_cast<void>(q->take({Check::sticks, {}, {}, 0}));
  static_cast<void>(q->take({Check::end_play, millimetres(0.12), {}, 0}));
  return std::move(*q);
}

void take(benchmark::State& state, const Answer& answer) {
  const Inquiry before = asked(static_cast<unsigned>(state.range(0)));
  for (auto _ : state) {
    state.PauseTiming();
    Inquiry q = before;
    state.ResumeTiming();
    benchmark::DoNotOptimize(q.take(answer));
  }
}
void Begin(benchmark::State& state) {
  for (auto _ : state) {
    benchmark::DoNotOptimize(Inquiry::begin(cone_subject(), {}, Complaint::loose, 1, Inquiry::kSamples,
                                            static_cast<unsigned>(state.range(0))));
  }
}
void TakeWord(benchmark::State& state) { take(state, {Check::wobble_upper, {}, {}, 0}); }
void TakeReading(benchmark::State& state) { take(state, {Check::rock_upper, millimetres(0.01), {}, 0}); }
void TakeEndPlay(benchmark::State& state) { take(state, {Check::end_play, millimetres(0.121), {}, 0}); }
void NextCheck(benchmark::State& state) {
  const Inquiry q = asked(1);
  for (auto _ : state) benchmark::DoNotOptimize(q.next_check());
}

BENCHMARK(Begin)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(TakeWord)->Arg(1)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(TakeReading)->Arg(1)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(TakeEndPlay)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(NextCheck)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
}  // namespace hingeline::belief

BENCHMARK_MAIN();

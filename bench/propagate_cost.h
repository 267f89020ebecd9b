#pragma once
/// \file
/// What propagating costs in arithmetic, and what this machine can do of it.
///
/// The operations of a draw are counted by running the very templates of the rooms on numbers that count. The
/// machine's limit is measured in the same run by the same clock: a loop of sums and products that wait for
/// nothing, on the widest vectors that the rooms are compiled for. A fused multiply-add counts for nothing
/// here: the house forbids it (-ffp-contract=off), for the same bytes on every machine.

#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <ctime>
#include <vector>

#include "../libs/belief/src/block.h"
#include "hingeline/numeric/fill.h"
// After all others: see lanes.h.
#include "../libs/belief/src/block_lanes.h"
#include "../libs/numeric/src/fill_lanes.h"

namespace bench {

using namespace hingeline;

/// Operations on one lane.
struct Operations {
  double sums = 0;
  double products = 0;
  double quotients = 0;
  double roots = 0;
  double others = 0;  ///< comparisons, choices, smallest and largest, whole numbers and bits
  [[nodiscard]] double floating() const { return sums + products + quotients + roots; }
  [[nodiscard]] double all() const { return floating() + others; }
};
inline Operations counted;

/// A number that counts what is done to it.
struct CountedNumber {
  double value;
  friend CountedNumber operator+(CountedNumber a, CountedNumber b) {
    return ++counted.sums, CountedNumber{a.value + b.value};
  }
  friend CountedNumber operator-(CountedNumber a, CountedNumber b) {
    return ++counted.sums, CountedNumber{a.value - b.value};
  }
  friend CountedNumber operator*(CountedNumber a, CountedNumber b) {
    return ++counted.products, CountedNumber{a.value * b.value};
  }
  friend CountedNumber operator/(CountedNumber a, CountedNumber b) {
    return ++counted.quotients, CountedNumber{a.value / b.value};
  }
};
struct CountedBits {
  std::uint64_t value;
#define HINGELINE_COUNTED(op)                                    \
  friend CountedBits operator op(CountedBits a, CountedBits b) { \
    return ++counted.others, CountedBits{a.value op b.value};    \
  }
  HINGELINE_COUNTED(+)
  HINGELINE_COUNTED(-)
  HINGELINE_COUNTED(&)
  HINGELINE_COUNTED(|)
  HINGELINE_COUNTED(^)
#undef HINGELINE_COUNTED
  friend CountedBits operator<<(CountedBits a, int by) {
    return ++counted.others, CountedBits{a.value << by};
  }
  friend CountedBits operator>>(CountedBits a, int by) {
    return ++counted.others, CountedBits{a.value >> by};
  }
};
/// numeric::lanes::Scalar, counting. Work on masks is left out, as are loads and stores.
struct CountedLane {
  using S = numeric::lanes::Scalar;
  using V = CountedNumber;
  using U = CountedBits;
  using M = bool;
  static constexpr std::size_t kWidth = 1;
  static V all(double x) { return {x}; }
  static U all_bits(std::uint64_t x) { return {x}; }
  static V load(const double* from) { return {*from}; }
  static void store(double* to, V x) { *to = x.value; }
  static U count_from(std::uint64_t first) { return {first}; }
  static V as_number(U x) { return {S::as_number(x.value)}; }
  static U as_bits(V x) { return {S::as_bits(x.value)}; }
  static U times_low(U a, U b) { return ++counted.others, U{S::times_low(a.value, b.value)}; }
  static V root(V x) { return ++counted.roots, V{S::root(x.value)}; }
  static M less(V a, V b) { return ++counted.others, a.value < b.value; }
  static M at_most(V a, V b) { return ++counted.others, a.value <= b.value; }
  static M bit_set(U x, std::uint64_t bit) { return ++counted.others, (x.value & bit) != 0; }
  static M both(M a, M b) { return a && b; }
  static M either(M a, M b) { return a || b; }
  static M not_in(M a) { return !a; }
  static V choose(M m, V yes, V no) { return ++counted.others, m ? yes : no; }
  static U count(U so_far, M m) { return ++counted.others, U{S::count(so_far.value, m)}; }
  static V least(V a, V b) { return ++counted.others, V{S::least(a.value, b.value)}; }
  static V most(V a, V b) { return ++counted.others, V{S::most(a.value, b.value)}; }
  static unsigned bits_of(M m) { return m ? 1 : 0; }
  static std::size_t pack(double* to, M m, V x) { return ++counted.others, S::pack(to, m, x.value); }
};

/// Operations of one draw of this key whose inputs are independent and normal.
inline Operations operations_of(const belief::KeyKnowledge& key) {
  using namespace belief;
  namespace kernel = belief::HINGELINE_LANES_NAME;
  const std::size_t n = key.inputs.size();
  std::vector<double> mean;
  std::vector<std::vector<double>> steps;
  for (std::size_t i = 0; i < n; ++i) {
    mean.push_back(key.inputs[i].value);
    steps.emplace_back(n, 0.0);
    steps[i][i] = key.inputs[i].standard;
  }
  const auto plan = plan_block(key, mean, steps);
  if (!plan) return {};
  std::vector<double> deviates((n + 1) * kTile);
  std::vector<double> rows(kRows * kTile);
  std::vector<double> figures(kFigureCount * kTile);
  std::vector<double> kept(2 * kTile);
  for (std::size_t row = 0; row < kRows; ++row)
    std::fill_n(rows.data() + row * kTile, kTile, plan->still[row]);
  counted = {};
  numeric::lanes::fill_lanes<CountedLane>(1, 0, kTile, (n + 1) / 2, 0, deviates.data(), kTile);
  kernel::draw_tile<CountedLane>(*plan, deviates.data(), rows.data());
  kernel::figures_tile<CountedLane>(*plan, rows.data(), figures.data());
  for (std::size_t f = 0; f < kFigureCount; ++f) {
    // Brackets that nothing falls into: what they keep is little.
    Sieve sieve{f, 0, {Bracket{-1e9, -1e9}, Bracket{1e9, 1e9}}, {}, {}, {kept.data(), kept.data()}};
    kernel::sift_figures<CountedLane>(figures.data(), true, {&sieve, 1});
  }
  Operations one = counted;
  for (double* part : {&one.sums, &one.products, &one.quotients, &one.roots, &one.others})
    *part /= static_cast<double>(kTile);
  return one;
}

inline double processor_seconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

/// Ten sums and ten products a turn, none waiting for another of its turn.
#define HINGELINE_PEAK(name, bytes, ...)                             \
  __VA_ARGS__ inline double name(long turns) {                       \
    typedef double V __attribute__((vector_size(bytes)));            \
    V sums[10];                                                      \
    V products[10];                                                  \
    for (int k = 0; k < 10; ++k) sums[k] = products[k] = V{} + 1.0;  \
    const V added = V{} + 1e-9;                                      \
    const V factor = V{} + (1 + 1e-12);                              \
    for (long n = 0; n < turns; ++n) {                               \
      _Pragma("GCC unroll 10") for (int k = 0; k < 10; ++k) {        \
        sums[k] = sums[k] + added;                                   \
        products[k] = products[k] * factor;                          \
      }                                                              \
    }                                                                \
    double out = 0;                                                  \
    for (int k = 0; k < 10; ++k) out += sums[k][0] + products[k][0]; \
    return out;                                                      \
  }
#if HINGELINE_LANES_X86
HINGELINE_PEAK(peak_avx512, 64, __attribute__((target("avx512f,prefer-vector-width=512"), noinline)))
HINGELINE_PEAK(peak_avx2, 32, __attribute__((target("avx2"), noinline)))
#endif
HINGELINE_PEAK(peak_plain, 16, __attribute__((noinline)))
#undef HINGELINE_PEAK

struct Limit {
  double operations = 0;  ///< on one lane, a second
  int lanes = 0;
};
/// The best of several tries: what the machine can do when nobody disturbs it.
inline Limit measured_limit() {
  double (*peak)(long) = peak_plain;
  Limit limit{0, 2};
#if HINGELINE_LANES_X86
  if (numeric::widest() == numeric::Width::avx512) peak = peak_avx512, limit.lanes = 8;
  if (numeric::widest() == numeric::Width::avx2) peak = peak_avx2, limit.lanes = 4;
#endif
  constexpr long kTurns = 4'000'000;
  for (int attempt = 0; attempt < 15; ++attempt) {
    const double from = processor_seconds();
    benchmark::DoNotOptimize(peak(kTurns));
    const double spent = processor_seconds() - from;
    limit.operations = std::max(limit.operations, 20.0 * limit.lanes * kTurns / spent);
  }
  return limit;
}

inline void print_share(const std::vector<belief::KeyKnowledge>& keys, std::size_t draws, double seconds) {
  Operations mean;
  for (const auto& key : keys) {
    const Operations one = operations_of(key);
    const auto n = static_cast<double>(keys.size());
    mean.sums += one.sums / n;
    mean.products += one.products / n;
    mean.quotients += one.quotients / n;
    mean.roots += one.roots / n;
    mean.others += one.others / n;
  }
  const Limit limit = measured_limit();
  const double a_draw = seconds / static_cast<double>(keys.size() * draws);
  std::printf(
      "\na draw: %.0f sums, %.0f products, %.0f quotients, %.0f roots; %.0f comparisons, choices and bit "
      "operations\nmeasured limit of one processor: %.1f thousand million sums and products a second on %d "
      "lanes, none fused\n",
      mean.sums, mean.products, mean.quotients, mean.roots, mean.others, limit.operations / 1e9, limit.lanes);
  std::printf(
      "one thread, %.1f ns a draw of processor time, all of propagate(): %.0f %% of the limit by "
      "floating-point "
      "operations alone, %.0f %% by all vector operations (each taken to cost as little as a sum)\n",
      1e9 * a_draw, 100 * mean.floating() / a_draw / limit.operations,
      100 * mean.all() / a_draw / limit.operations);
}

}  // namespace bench

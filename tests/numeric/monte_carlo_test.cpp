// Propagation by draws: the examples of JCGM 101:2008, and the same bytes for any number of threads.

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstring>
#include <stdexcept>
#include <vector>

#include "hingeline/numeric/propagate.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::numeric {
namespace {

constexpr std::size_t kDraws = 1'000'000;

double rectangular(Stream& s, double low, double high) { return low + (high - low) * s.uniform(); }

template <class Model>
std::vector<double> sorted_outputs(std::size_t draws, Model model) {
  auto out = draw_outputs(draws, 1, 0, model);
  std::sort(out.begin(), out.end());
  return out;
}

TEST(Jcgm101, AdditiveNormal) {
  // JCGM 101 9.2.2, four N(0, 1): u 2.0, +-3.92 (3.91993).
  const auto y =
      sorted_outputs(kDraws, [](Stream& s) { return s.normal() + s.normal() + s.normal() + s.normal(); });
  const Summary all = summarise(y);
  EXPECT_NEAR(all.mean, 0, .006);
  EXPECT_NEAR(all.standard_deviation, 2.0, .005);
  const Interval i = symmetric_interval(y, 0.95);
  EXPECT_NEAR(i.low, -3.91993, .02);
  EXPECT_NEAR(i.high, 3.91993, .02);
}

TEST(Jcgm101, AdditiveRectangular) {
  // JCGM 101 9.2.3, four rectangular of standard deviation 1: +-3.88; exact 2 sqrt3 (2 - (3/5)^(1/4)) =
  // 3.879407.
  const double a = std::sqrt(3.0);
  const double exact = 2 * a * (2 - std::pow(0.6, 0.25));
  EXPECT_NEAR(exact, 3.879407, 5e-7);
  const auto y = sorted_outputs(kDraws, [a](Stream& s) {
    return rectangular(s, -a, a) + rectangular(s, -a, a) + rectangular(s, -a, a) + rectangular(s, -a, a);
  });
  EXPECT_NEAR(summarise(y).standard_deviation, 2.0, .005);
  const Interval i = symmetric_interval(y, 0.95);
  EXPECT_NEAR(i.low, -exact, .012);
  EXPECT_NEAR(i.high, exact, .012);
  EXPECT_NEAR(quantile(y, 0.975), exact, .012);
}

TEST(Jcgm101, MassCalibration) {
  // JCGM 101 9.3. Published (from memory) 1.2341 / .0754 / [1.0834, 1.3825] mg; computed exact u .0754797,
  // 6e7 draws shortest [1.0841, 1.3832], symmetric [1.0845, 1.3835]. u within .0005, ends within .002.
  const auto y = sorted_outputs(kDraws, [](Stream& s) {
    const double reference = 100000 + .050 * s.normal();
    const double added = 1.234 + .020 * s.normal();
    const double air = rectangular(s, 1.10, 1.30);
    const double weight = rectangular(s, 7000, 9000);
    const double reference_weight = rectangular(s, 7950, 8050);
    return (reference + added) * (1 + (air - 1.2) * (1 / weight - 1 / reference_weight)) - 100000;
  });
  const Summary all = summarise(y);
  EXPECT_NEAR(all.mean, 1.2341, .0005);
  EXPECT_NEAR(all.standard_deviation, .0754797, .0005);
  const Interval least = shortest_interval(y, 0.95);
  EXPECT_NEAR(least.low, 1.0841, .002);
  EXPECT_NEAR(least.high, 1.3832, .002);
  const Interval symmetric = symmetric_interval(y, 0.95);
  EXPECT_NEAR(symmetric.low, 1.0845, .002);
  EXPECT_NEAR(symmetric.high, 1.3835, .002);
}

TEST(Jcgm101, ComparisonLoss) {
  // JCGM 101 9.4, u .005, uncorrelated, units of 1e-6: mean 50, 150, 2550; standard deviation 50, 111.80,
  // 502.49; shortest [0, 149.79], [0, 366.0], [1594, 3549] (published, from memory: 150, 367, 1590-3543).
  struct Case {
    double x1, mean, standard, low, high, end_error;
  };
  for (const Case& c : {Case{0, 50, 50, 0, 149.79, 1},
                        {.010, 150, 111.80, 0, 366.0, 2},
                        {.050, 2550, 502.49, 1594, 3549, 35}}) {
    const auto y = sorted_outputs(kDraws, [x1 = c.x1](Stream& s) {
      const double a = x1 + .005 * s.normal();
      const double b = .005 * s.normal();
      return (a * a + b * b) * 1e6;
    });
    const Summary all = summarise(y);
    // Four standard errors.
    EXPECT_NEAR(all.mean, c.mean, 4e-3 * c.standard);
    EXPECT_NEAR(all.standard_deviation, c.standard, 6e-3 * c.standard);
    const Interval i = shortest_interval(y, 0.95);
    EXPECT_NEAR(i.low, c.low, c.end_error);
    EXPECT_NEAR(i.high, c.high, c.end_error);
  }
}

double two_draws(Stream& s) { return std::exp(s.normal()) * s.uniform(); }

TEST(DrawOutputs, SameBytesForAnyNumberOfThreads) {
  // Not a multiple of any block, so that the last one is short.
  constexpr std::size_t kCount = 100'003;
  const auto one = draw_outputs(kCount, 42, 1, two_draws);
  for (const unsigned threads : {2u, 3u, 8u, 0u}) {
    const auto many = draw_outputs(kCount, 42, threads, two_draws);
    ASSERT_EQ(many.size(), one.size());
    EXPECT_EQ(std::memcmp(many.data(), one.data(), kCount * sizeof(double)), 0) << threads;
  }
  // Draw k is what its stream alone says.
  for (const std::size_t k : {std::size_t{0}, std::size_t{77}, kCount - 1}) {
    Stream stream(42, k);
    EXPECT_EQ(one[k], two_draws(stream));
  }
  EXPECT_NE(draw_outputs(10, 43, 1, two_draws), draw_outputs(10, 42, 1, two_draws));
  EXPECT_TRUE(draw_outputs(0, 42, 4, two_draws).empty());
}

TEST(DrawOutputs, FewerDrawsAreTheFirstOfMore) {
  const auto more = draw_outputs(5000, 3, 2, two_draws);
  const auto fewer = draw_outputs(1500, 3, 2, two_draws);
  EXPECT_TRUE(std::equal(fewer.begin(), fewer.end(), more.begin()));
}

TEST(ForBlocks, TakesEverythingOnce) {
  for (const std::size_t count : {0u, 1u, 1023u, 1024u, 1025u, 50'000u}) {
    std::vector<std::atomic<int>> taken(count);
    for_blocks(count, 5, [&](std::size_t first, std::size_t last) {
      for (std::size_t i = first; i < last; ++i) ++taken[i];
    });
    EXPECT_TRUE(std::all_of(taken.begin(), taken.end(), [](const auto& n) { return n == 1; })) << count;
  }
}

TEST(ForBlocks, AnExceptionComesOut) {
  for (const unsigned threads : {1u, 4u}) {
    EXPECT_THROW(draw_outputs(100'000, 1, threads,
                              [](Stream& s) -> double {
                                if (s.uniform() < 1e-3) throw std::runtime_error("a model that gives up");
                                return 0;
                              }),
                 std::runtime_error);
  }
}

}  // namespace
}  // namespace hingeline::numeric

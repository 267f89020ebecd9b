// Small statistics: against the certified values of NIST StRD and against what must hold for any values.

#include "hingeline/numeric/statistics.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "hingeline/numeric/random.h"
#include "numeric/strd_data.h"

namespace hingeline::numeric {
namespace {

/// Certified values, and the largest relative error each figure may have.
struct Certified {
  double mean, standard_deviation, lag_1;
  double mean_error, standard_deviation_error, lag_1_error;
};

void expect_certified(std::span<const double> data, const Certified& c) {
  const Summary s = summarise(data);
  EXPECT_EQ(s.count, data.size());
  EXPECT_NEAR(s.mean, c.mean, std::abs(c.mean) * c.mean_error);
  EXPECT_NEAR(s.standard_deviation, c.standard_deviation, c.standard_deviation * c.standard_deviation_error);
  EXPECT_NEAR(lag_1_autocorrelation(data), c.lag_1, std::abs(c.lag_1) * c.lag_1_error);
}

// Certified values: NIST StRD univariate, as read in gsl 2.7.1+dfsg, statistics/test_nist.c; the relative
// errors allowed are the ones allowed there, or less.
TEST(NistStrd, Lew) {
  expect_certified(strd::kLew, {-177.435, 277.332168044316, -0.307304800605679, 1e-15, 1e-15, 1e-14});
}
TEST(NistStrd, Mavro) {
  expect_certified(strd::kMavro, {2.001856, 0.000429123454003053, 0.937989183438248, 1e-15, 1e-13, 1e-13});
}
TEST(NistStrd, Michelso) {
  expect_certified(strd::kMichelso, {299.8524, 0.0790105478190518, 0.535199668621283, 1e-15, 1e-13, 1e-13});
}
TEST(NistStrd, NumAcc1) {
  expect_certified(std::vector<double>{10000001, 10000003, 10000002}, {10000002, 1, -0.5, 0, 0, 0});
}

/// `centre` once, then 500 times a tenth below and a tenth above.
std::vector<double> num_acc(double centre, double below, double above) {
  std::vector<double> data{centre};
  for (int i = 0; i < 500; ++i) data.insert(data.end(), {below, above});
  return data;
}
TEST(NistStrd, NumAcc2) { expect_certified(num_acc(1.2, 1.1, 1.3), {1.2, 0.1, -0.999, 1e-15, 1e-15, 1e-14}); }
TEST(NistStrd, NumAcc3) {
  // What double holds of the data, not the sums, sets the last two errors here and in NumAcc4.
  expect_certified(num_acc(1000000.2, 1000000.1, 1000000.3), {1000000.2, 0.1, -0.999, 1e-15, 1e-9, 1e-10});
}
TEST(NistStrd, NumAcc4) {
  expect_certified(num_acc(10000000.2, 10000000.1, 10000000.3),
                   {10000000.2, 0.1, -0.999, 1e-15, 1e-7, 1e-10});
}

TEST(Summary, SingleValueAndEqualValues) {
  const std::vector<double> one{0.3};
  EXPECT_EQ(summarise(one).mean, 0.3);
  EXPECT_EQ(summarise(one).standard_deviation, 0.0);
  const std::vector<double> alike(7, 0.1);
  EXPECT_EQ(summarise(alike).mean, 0.1);
  EXPECT_EQ(summarise(alike).standard_deviation, 0.0);
  EXPECT_TRUE(std::isnan(lag_1_autocorrelation(alike)));
}

RC_GTEST_PROP(Summary, MovesAndScalesWithTheValues, (std::uint64_t seed)) {
  Stream stream(seed, 0);
  std::vector<double> values(2 + stream.bits() % 40);
  for (double& x : values) x = stream.normal();
  const double shift = 1000 * stream.normal();
  const double scale = -3.5;
  std::vector<double> moved = values;
  for (double& x : moved) x = shift + scale * x;
  const Summary before = summarise(values);
  const Summary after = summarise(moved);
  RC_ASSERT(std::abs(after.mean - (shift + scale * before.mean)) < 1e-11);
  RC_ASSERT(std::abs(after.standard_deviation - 3.5 * before.standard_deviation) < 1e-11);
  RC_ASSERT(std::abs(lag_1_autocorrelation(values)) <= 1);
}

TEST(Quantile, FollowsTheDrawsAtTheirShares) {
  const std::vector<double> four{10, 20, 40, 80};
  // JCGM 101, 7.5 (from memory): draw r of 4 stands at (r - 1/2) / 4.
  EXPECT_EQ(quantile(four, 0.125), 10.0);
  EXPECT_EQ(quantile(four, 0.375), 20.0);
  EXPECT_EQ(quantile(four, 0.5), 30.0);
  EXPECT_EQ(quantile(four, 0.875), 80.0);
  EXPECT_EQ(quantile(four, 0), 10.0);
  EXPECT_EQ(quantile(four, 1), 80.0);
  EXPECT_EQ(quantile(std::vector<double>{5}, 0.3), 5.0);
}

TEST(Intervals, CountAsTheSupplementSays) {
  // JCGM 101, 7.7.2 (from memory): 20 draws at 90 % give q = 18, r = 1, so the symmetric interval reaches
  // from draw 1 to draw 19; at 75 %, q = 15, r = 3 (the whole part of (20 - 15 + 1) / 2).
  std::vector<double> draws;
  for (int r = 1; r <= 20; ++r) draws.push_back(r * r);
  EXPECT_EQ(symmetric_interval(draws, 0.90).low, 1.0);
  EXPECT_EQ(symmetric_interval(draws, 0.90).high, 19.0 * 19.0);
  EXPECT_EQ(symmetric_interval(draws, 0.75).low, 9.0);
  EXPECT_EQ(symmetric_interval(draws, 0.75).high, 18.0 * 18.0);
  EXPECT_EQ(shortest_interval(draws, 0.75).low, 1.0);
  EXPECT_EQ(shortest_interval(draws, 0.75).high, 16.0 * 16.0);
  // Too few draws to leave any out.
  const std::vector<double> two{3, 4};
  EXPECT_EQ(symmetric_interval(two, 0.95).low, 3.0);
  EXPECT_EQ(shortest_interval(two, 0.95).high, 4.0);
  const std::vector<double> one{3};
  EXPECT_EQ(symmetric_interval(one, 0.95).high, 3.0);
  EXPECT_EQ(shortest_interval(one, 0.95).low, 3.0);
}

std::vector<double> sorted_draws(std::uint64_t seed) {
  Stream stream(seed, 0);
  std::vector<double> draws(1 + stream.bits() % 300);
  for (double& x : draws) x = std::exp(stream.normal());
  std::sort(draws.begin(), draws.end());
  return draws;
}

RC_GTEST_PROP(Quantile, NeverFallsAndStaysWithin, (std::uint64_t seed)) {
  const auto draws = sorted_draws(seed);
  double last = draws.front();
  for (int i = 0; i <= 500; ++i) {
    const double now = quantile(draws, i / 500.0);
    RC_ASSERT(now >= last);
    RC_ASSERT(now <= draws.back());
    last = now;
  }
}

RC_GTEST_PROP(Intervals, ShortestIsNoWiderAndBothCover, (std::uint64_t seed)) {
  const auto draws = sorted_draws(seed);
  const double coverage = Stream(seed, 1).uniform();
  const auto sym = symmetric_interval(draws, coverage);
  const auto least = shortest_interval(draws, coverage);
  RC_ASSERT(least.high - least.low <= sym.high - sym.low);
  for (const auto& i : {sym, least}) {
    const auto within =
        std::count_if(draws.begin(), draws.end(), [&](double x) { return x >= i.low && x <= i.high; });
    const auto needed = static_cast<long>(coverage * static_cast<double>(draws.size()));
    RC_ASSERT(within >= std::min(needed, static_cast<long>(draws.size())));
  }
}

}  // namespace
}  // namespace hingeline::numeric

// The generator against its authors' known answers, its numbers against the distributions they should have.
// Seeds are fixed: each verdict is the same on every run.

#include "hingeline/numeric/random.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <array>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <set>
#include <vector>

namespace hingeline::numeric {
namespace {

TEST(Philox, KnownAnswers) {
  // From memory of Random123's kat_vectors, philox4x32 with 10 rounds; test suites of other libraries give
  // the same.
  using Words = std::array<std::uint32_t, 4>;
  constexpr std::uint32_t kOnes = 0xffffffff;
  EXPECT_EQ(philox({0, 0, 0, 0}, {0, 0}), (Words{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}));
  EXPECT_EQ(philox({kOnes, kOnes, kOnes, kOnes}, {kOnes, kOnes}),
            (Words{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}));
  EXPECT_EQ(philox({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}),
            (Words{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}));
}

TEST(Stream, IsPhiloxInOrder) {
  Stream zero(0, 0);
  EXPECT_EQ(zero.bits(), 0xe169c58d6627e8d5u);
  EXPECT_EQ(zero.bits(), 0x9b00dbd8bc57ac4cu);
  const auto second = philox({1, 0, 0, 0}, {0, 0});
  EXPECT_EQ(zero.bits(), std::uint64_t{second[1]} << 32 | second[0]);

  Stream other(0x299f31d0a4093822u, 0x0370734413198a2eu);
  const auto first = philox({0, 0, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0});
  EXPECT_EQ(other.bits(), std::uint64_t{first[1]} << 32 | first[0]);
}

RC_GTEST_PROP(Stream, EveryKindOfDrawTakesOnePlace, (std::uint64_t seed, std::uint64_t stream)) {
  Stream a(seed, stream);
  Stream b(seed, stream);
  Stream c(seed, stream);
  for (int i = 0; i < 5; ++i) {
    const double u = b.uniform();
    RC_ASSERT(u == static_cast<double>((a.bits() >> 11) | 1) * 0x1p-53);
    RC_ASSERT(c.normal() == inverse_normal(u));
    RC_ASSERT(u > 0 && u < 1);
  }
}

RC_GTEST_PROP(Stream, SkippingIsAsTakingAndForgetting, (std::uint64_t seed, std::uint64_t stream)) {
  Stream taken(seed, stream);
  Stream skipped(seed, stream);
  for (int i = 0; i < 12; ++i) {
    const int passed = *rc::gen::inRange(0, 6);
    for (int k = 0; k < passed; ++k) taken.bits();
    skipped.skip(static_cast<std::uint64_t>(passed));
    const int drawn = *rc::gen::inRange(0, 4);
    for (int k = 0; k < drawn; ++k) RC_ASSERT(taken.bits() == skipped.bits());
  }
}

TEST(Stream, UniformsFillTheirCells) {
  // Pearson's chi-square over 256 cells, and over 16 x 16 x 16 cells of three neighbours in a row.
  constexpr int kDraws = 3 * 400'000;
  std::vector<double> single(256, 0);
  std::vector<double> triple(4096, 0);
  Stream stream(20240229, 1);
  std::size_t cell = 0;
  for (int i = 1; i <= kDraws; ++i) {
    const double u = stream.uniform();
    ++single[static_cast<std::size_t>(u * 256)];
    cell = cell * 16 + static_cast<std::size_t>(u * 16);
    if (i % 3 == 0) {
      ++triple[cell];
      cell = 0;
    }
  }
  const auto share_below = [](const std::vector<double>& counts, double draws) {
    const double expected = draws / static_cast<double>(counts.size());
    double chi_square = 0;
    for (const double n : counts) chi_square += (n - expected) * (n - expected) / expected;
    return cdf(boost::math::chi_squared(static_cast<double>(counts.size() - 1)), chi_square);
  };
  EXPECT_GT(share_below(single, kDraws), 0.005);
  EXPECT_LT(share_below(single, kDraws), 0.995);
  EXPECT_GT(share_below(triple, kDraws / 3), 0.005);
  EXPECT_LT(share_below(triple, kDraws / 3), 0.995);
}

/// Largest distance of the draws' distribution from the normal one, times the root of their number.
double kolmogorov_smirnov(std::vector<double> draws) {
  std::sort(draws.begin(), draws.end());
  const auto n = static_cast<double>(draws.size());
  double distance = 0;
  for (std::size_t i = 0; i < draws.size(); ++i) {
    const double below = 0.5 * std::erfc(-draws[i] / std::sqrt(2.0));
    distance =
        std::max({distance, below - static_cast<double>(i) / n, static_cast<double>(i + 1) / n - below});
  }
  return distance * std::sqrt(n);
}

/// Mean, variance, skewness and excess kurtosis in units of their standard errors.
void expect_normal_moments(const std::vector<double>& draws) {
  std::array<double, 4> sum{};
  for (const double z : draws) {
    double power = 1;
    for (double& s : sum) s += power *= z;
  }
  const auto n = static_cast<double>(draws.size());
  EXPECT_LT(std::abs(sum[0] / n), 3 / std::sqrt(n));
  EXPECT_LT(std::abs(sum[1] / n - 1), 3 * std::sqrt(2 / n));
  EXPECT_LT(std::abs(sum[2] / n), 3 * std::sqrt(15 / n));
  EXPECT_LT(std::abs(sum[3] / n - 3), 3 * std::sqrt(96 / n));
}

TEST(Stream, NormalsAlongAStream) {
  std::vector<double> draws(1'000'000);
  Stream stream(7, 0);
  for (double& z : draws) z = stream.normal();
  expect_normal_moments(draws);
  // 1.63 is passed by one sample in a hundred (Kolmogorov's distribution, from memory).
  EXPECT_LT(kolmogorov_smirnov(draws), 1.63);
}

TEST(Stream, NormalsAcrossStreamsAndSeeds) {
  // As propagation uses them: the first draw of each of many neighbouring streams; and of many seeds.
  std::vector<double> streams(1'000'000);
  std::vector<double> seeds(1'000'000);
  for (std::size_t k = 0; k < streams.size(); ++k) {
    streams[k] = Stream(7, k).normal();
    seeds[k] = Stream(k, 7).normal();
  }
  expect_normal_moments(streams);
  expect_normal_moments(seeds);
  EXPECT_LT(kolmogorov_smirnov(streams), 1.63);
  EXPECT_LT(kolmogorov_smirnov(seeds), 1.63);
}

TEST(Stream, StreamsAreUncorrelated) {
  // Each pair's correlation has the standard error 1 / sqrt(n); 5.0 of them is one in two million.
  constexpr std::size_t kStreams = 24;
  constexpr std::size_t kDraws = 20'000;
  std::vector<std::vector<double>> z;
  for (std::size_t s = 0; s < kStreams; ++s) {
    // Neighbours in both numbers, and the same numbers swapped.
    Stream stream(s / 6, s % 6);
    auto& of = z.emplace_back(kDraws);
    for (double& x : of) x = stream.normal();
  }
  for (std::size_t a = 0; a < kStreams; ++a) {
    for (std::size_t b = 0; b < kStreams; ++b) {
      for (std::size_t lag = a == b ? 1 : 0; lag < 3; ++lag) {
        double sum = 0;
        for (std::size_t i = lag; i < kDraws; ++i) sum += z[a][i] * z[b][i - lag];
        EXPECT_LT(std::abs(sum) / std::sqrt(double{kDraws}), 5.0) << a << " " << b << " " << lag;
      }
    }
  }
}

TEST(Stream, NoStreamRepeatsAnother) {
  std::set<std::uint64_t> seen;
  for (std::uint64_t seed = 0; seed < 50; ++seed) {
    for (std::uint64_t s = 0; s < 50; ++s) {
      Stream stream(seed, s);
      for (int i = 0; i < 8; ++i) seen.insert(stream.bits());
    }
  }
  EXPECT_EQ(seen.size(), 50u * 50u * 8u);
}

/// Relative error against Boost.Math in extended precision.
double error_at(double p) {
  const long double exact =
      quantile(boost::math::normal_distribution<long double>(), static_cast<long double>(p));
  return static_cast<double>(std::abs((inverse_normal(p) - exact) / exact));
}

TEST(InverseNormal, AgreesWithBoost) {
  double worst = 0;
  for (double p = 1e-307; p < 1e-3; p *= 1.37) worst = std::max(worst, error_at(p));
  constexpr int kSteps = 30'011;
  for (int i = 1; i < kSteps; ++i) worst = std::max(worst, error_at(double{1} * i / kSteps));
  for (const double near_half : {0.5 + 0x1p-53, 0.5 - 0x1p-54, 0.5 + 1e-12, 0.5 - 1e-8}) {
    worst = std::max(worst, error_at(near_half));
  }
  // Where the three pieces meet.
  for (const double joint : {0.075, 0.925, std::exp(-25.0)}) {
    for (const double p : {joint, std::nextafter(joint, 0.0), std::nextafter(joint, 1.0)}) {
      worst = std::max(worst, error_at(p));
    }
  }
  RecordProperty("worst_relative_error", std::to_string(worst * 1e16) + "e-16");
  EXPECT_LT(worst, 1e-15);
  EXPECT_GT(worst, 5e-16) << "better than the header says: say so there";
}

TEST(InverseNormal, EndsOfTheUniform) {
  EXPECT_EQ(inverse_normal(0.5), 0.0);
  EXPECT_LT(std::abs(inverse_normal(0x1p-53)), 8.3);
  EXPECT_EQ(inverse_normal(1 - 0x1p-53), -inverse_normal(0x1p-53));
}

RC_GTEST_PROP(InverseNormal, IsOddAndNeverFalls, (std::uint64_t seed)) {
  Stream stream(seed, 0);
  const double u = stream.uniform();
  RC_ASSERT(inverse_normal(1 - u) == -inverse_normal(u));
  const double v = stream.uniform();
  RC_ASSERT((u < v) == (inverse_normal(u) < inverse_normal(v)));
}

}  // namespace
}  // namespace hingeline::numeric

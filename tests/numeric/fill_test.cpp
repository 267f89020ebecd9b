// Many streams at once against one after another, and the functions under them against the C library's.

#include "hingeline/numeric/fill.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <cstring>
#include <vector>

#include "hingeline/numeric/lane_functions.h"
#include "hingeline/numeric/random.h"

namespace hingeline::numeric {
namespace {

constexpr std::array<Width, 3> kWidths{Width::plain, Width::avx2, Width::avx512};

RC_GTEST_PROP(Fill, GivesWhatTheStreamsGiveByEveryWidth, (std::uint64_t seed, std::uint64_t first)) {
  const std::size_t count = *rc::gen::inRange<std::size_t>(1, 2 * kLanesTogether);
  const std::size_t pairs = *rc::gen::inRange<std::size_t>(0, 6);
  const std::size_t uniforms = *rc::gen::inRange<std::size_t>(0, 5);
  const std::size_t stride = (count + kLanesTogether - 1) / kLanesTogether * kLanesTogether;
  std::vector<double> expected((2 * pairs + uniforms) * stride + 1);
  for (std::size_t k = 0; k < count; ++k) {
    Stream stream(seed, first + k);
    for (std::size_t row = 0; row < 2 * pairs; row += 2) {
      const auto pair = stream.normal_pair();
      expected[row * stride + k] = pair[0];
      expected[(row + 1) * stride + k] = pair[1];
    }
    for (std::size_t row = 2 * pairs; row < 2 * pairs + uniforms; ++row)
      expected[row * stride + k] = stream.uniform();
  }
  for (const Width width : kWidths) {
    if (width > widest()) continue;
    std::vector<double> rows(expected.size());
    fill_with(width, seed, first, count, pairs, uniforms, rows.data(), stride);
    for (std::size_t row = 0; row < 2 * pairs + uniforms; ++row) {
      RC_ASSERT(std::memcmp(rows.data() + row * stride, expected.data() + row * stride,
                            count * sizeof(double)) == 0);
    }
  }
}

TEST(NormalPair, IsRadiusAndAngle) {
  // By the C library's long double; the error is relative to the radius.
  long double worst = 0;
  for (std::uint64_t k = 0; k < 200'000; ++k) {
    Stream a(5, k);
    Stream b(5, k);
    const std::uint64_t bits = a.bits();
    const auto pair = b.normal_pair();
    const long double share = (static_cast<long double>(bits & 0xffffffff) + 0.5L) * 0x1p-32L;
    const auto upper = static_cast<std::uint32_t>(bits >> 32);
    const long double quarters = static_cast<long double>(upper >> 30) +
                                 (static_cast<long double>(upper & 0x3fffffff) + 0.5L) * 0x1p-30L - 0.5L;
    const long double radius = std::sqrt(-2 * std::log(share));
    const long double angle = quarters * 1.5707963267948966192313216916397514L;
    worst = std::max({worst, std::abs(pair[0] - radius * std::cos(angle)) / radius,
                      std::abs(pair[1] - radius * std::sin(angle)) / radius});
    EXPECT_LT(std::hypot(pair[0], pair[1]), 6.8);
  }
  EXPECT_LT(worst, 2e-13L);
}

TEST(NormalPair, FillsItsCells) {
  // Pearson's chi-square over 16 x 16 cells that are equally likely for two independent normals, at 1 %.
  constexpr int kPairs = 400'000;
  const boost::math::normal normal;
  std::array<double, 15> bounds{};
  for (std::size_t k = 0; k < bounds.size(); ++k)
    bounds[k] = quantile(normal, static_cast<double>(k + 1) / 16);
  const auto cell = [&](double z) {
    return static_cast<std::size_t>(std::upper_bound(bounds.begin(), bounds.end(), z) - bounds.begin());
  };
  std::vector<double> counts(256, 0);
  double beyond = 0;
  for (std::uint64_t k = 0; k < kPairs / 4; ++k) {
    Stream stream(20240229, k);
    for (int n = 0; n < 4; ++n) {
      const auto pair = stream.normal_pair();
      ++counts[cell(pair[0]) * 16 + cell(pair[1])];
      beyond += (std::abs(pair[0]) > 4 ? 1 : 0) + (std::abs(pair[1]) > 4 ? 1 : 0);
    }
  }
  double chi_square = 0;
  const double expected = kPairs / 256.0;
  for (const double n : counts) chi_square += (n - expected) * (n - expected) / expected;
  const double below = cdf(boost::math::chi_squared(255), chi_square);
  EXPECT_GT(below, 0.005);
  EXPECT_LT(below, 0.995);
  // 6.334e-5 of a normal lie beyond 4 on either side: 50.7 here, standard deviation 7.1.
  EXPECT_NEAR(beyond, 2 * kPairs * 2 * cdf(normal, -4.0), 25);
}

TEST(LaneFunctions, TangentsAreTheLibrarys) {
  double worst = 0;
  Stream stream(3, 0);
  const double ulp = 0x1p-52;
  for (int n = 0; n < 300'000; ++n) {
    const double x = stream.uniform() * 1.5707963267948966;
    double tangent = 0;
    double cotangent = 0;
    lanes::tangents<lanes::Scalar>(x, tangent, cotangent);
    const long double truth = std::tan(static_cast<long double>(x));
    worst = std::max({worst, static_cast<double>(std::abs(tangent / truth - 1)),
                      static_cast<double>(std::abs(cotangent * truth - 1))});
  }
  EXPECT_LT(worst, 4 * ulp);
}

TEST(LaneFunctions, TangentsNearAnAngleAreTheLibrarys) {
  double worst = 0;
  Stream stream(4, 0);
  const double ulp = 0x1p-52;
  for (int n = 0; n < 300'000; ++n) {
    const double middle = stream.uniform() * 1.5707963267948966;
    const double reach = std::min({lanes::kNearAngle, middle / 2, (1.5707963267948966 - middle) / 2});
    const double x = middle + reach * (2 * stream.uniform() - 1);
    double tangent = 0;
    double cotangent = 0;
    lanes::tangents<lanes::Scalar>(middle, tangent, cotangent);
    lanes::tangents_near<lanes::Scalar>(x - middle, tangent, tangent, cotangent);
    const long double truth = std::tan(static_cast<long double>(x));
    worst = std::max({worst, static_cast<double>(std::abs(tangent / truth - 1)),
                      static_cast<double>(std::abs(cotangent * truth - 1))});
  }
  EXPECT_LT(worst, 6 * ulp);
}

}  // namespace
}  // namespace hingeline::numeric

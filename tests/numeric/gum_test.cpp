// Uncertainty by formula: the examples and tables of JCGM 100:2008 (GUM) and the rule of ISO 14253-1:2017.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include "hingeline/numeric/propagate.h"
#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::numeric {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// Half-width over this is the standard of a rectangular distribution (JCGM 100, 4.3.7).
const double kRectangular = std::sqrt(3.0);

struct TableRow {
  double degrees_of_freedom, factor, half_a_digit;
};

TEST(Student, Table95) {
  // JCGM 100 table G.2 = NIST TN 1297 table B.1.
  for (const TableRow& row : std::vector<TableRow>{{1, 12.71, .005},
                                                   {2, 4.30, .005},
                                                   {3, 3.18, .005},
                                                   {4, 2.78, .005},
                                                   {5, 2.57, .005},
                                                   {6, 2.45, .005},
                                                   {8, 2.31, .005},
                                                   {9, 2.26, .005},
                                                   {10, 2.23, .005},
                                                   {16, 2.12, .005},
                                                   {20, 2.09, .005},
                                                   {50, 2.01, .005},
                                                   {100, 1.984, .0005}}) {
    EXPECT_NEAR(student_t(0.95, row.degrees_of_freedom), row.factor, row.half_a_digit)
        << row.degrees_of_freedom;
  }
}

TEST(Student, Table99) {
  // JCGM 100 table G.2 = NIST TN 1297 table B.1.
  for (const TableRow& row : std::vector<TableRow>{{1, 63.66, .005},
                                                   {2, 9.92, .005},
                                                   {3, 5.84, .005},
                                                   {4, 4.60, .005},
                                                   {5, 4.03, .005},
                                                   {10, 3.17, .005},
                                                   {16, 2.92, .005},
                                                   {20, 2.85, .005},
                                                   {50, 2.68, .005},
                                                   {100, 2.626, .0005}}) {
    EXPECT_NEAR(student_t(0.99, row.degrees_of_freedom), row.factor, row.half_a_digit)
        << row.degrees_of_freedom;
  }
}

TEST(Student, ClosedForms) {
  // One and two degrees of freedom have elementary quantiles.
  for (const double c : {0.01, 0.5, 0.6827, 0.95, 0.99, 0.9999}) {
    EXPECT_NEAR(student_t(c, 1) / std::tan(std::acos(-1.0) * c / 2), 1, 1e-12);
    EXPECT_NEAR(student_t(c, 2) / (c * std::sqrt(2 / (1 - c * c))), 1, 1e-12);
  }
}

TEST(Student, NormalFactors) {
  // JCGM 100 table G.1 = NIST TN 1297 table B.1, last row.
  EXPECT_NEAR(student_t(0.6827, kInfinity), 1.000, .0005);
  EXPECT_NEAR(student_t(0.90, kInfinity), 1.645, .0005);
  EXPECT_NEAR(student_t(0.95, kInfinity), 1.960, .0005);
  EXPECT_NEAR(student_t(0.9545, kInfinity), 2.000, .0005);
  EXPECT_NEAR(student_t(0.99, kInfinity), 2.576, .0005);
  EXPECT_NEAR(student_t(0.9973, kInfinity), 3.000, .0005);
}

RC_GTEST_PROP(Student, FallsWithDegreesOfFreedomRisesWithCoverage, (std::uint64_t seed)) {
  Stream stream(seed, 0);
  const double nu = 0.5 + 100 * stream.uniform();
  const double coverage = 0.01 + 0.98 * stream.uniform();
  RC_ASSERT(student_t(coverage, nu) > student_t(coverage, nu + 0.1));
  RC_ASSERT(student_t(coverage, nu + 0.1) > student_t(coverage, kInfinity));
  RC_ASSERT(student_t(coverage, nu) < student_t(coverage + 0.005, nu));
}

/// JCGM 100 H.1, lengths in nm, temperatures in degrees Celsius. Order: length of the standard, difference in
/// length, difference of expansion, deviation from 20, expansion of the standard, difference in temperature.
struct EndGauge {
  std::array<double, 6> values{50000623, 215, 0, -0.1, 11.5e-6, 0};
  std::array<double, 6> standards{
      25, 9.7, 1e-6 / kRectangular, 0.41, 2e-6 / kRectangular, 0.05 / kRectangular};
  std::array<double, 6> degrees_of_freedom{18, 25.6, 50, kInfinity, kInfinity, 2};

  static double length(std::span<const double> x) { return x[0] + x[1] - x[0] * (x[2] * x[3] + x[4] * x[5]); }
};

TEST(Gum, EndGaugeH1) {
  // JCGM 100 H.1: l 50.000838 mm, u 32 nm (31.67), nu_eff 16 (16.76), k 2.92, U99 93 nm.
  const EndGauge gauge;
  const auto r = propagate_gum(EndGauge::length, gauge.values, gauge.standards, gauge.degrees_of_freedom);
  EXPECT_NEAR(r.value, 50000838, 0.5);
  EXPECT_NEAR(r.standard, 31.67, 0.01);
  EXPECT_EQ(std::round(r.standard), 32);
  EXPECT_NEAR(r.degrees_of_freedom, 16.76, 0.01);
  // The GUM cuts the degrees of freedom to a whole number before it looks up the factor.
  const double k = student_t(0.99, std::floor(r.degrees_of_freedom));
  EXPECT_NEAR(k, 2.92, 0.005);
  EXPECT_NEAR(k * 32, 93, 0.6);
  // Table H.1, last column, nm.
  const std::array<double, 6> parts{25, 9.7, 2.9, 0, 0, 16.6};
  for (std::size_t i = 0; i < parts.size(); ++i) {
    EXPECT_NEAR(r.contributions[i].standard, parts[i], 0.05) << i;
  }
}

TEST(Gum, EndGaugeH1SecondOrder) {
  // JCGM 100 H.1.7: with the terms of second order u is 34 nm (33.91). Draws have them of themselves.
  const EndGauge gauge;
  const auto draws = draw_outputs(1'000'000, 1, 0, [&](Stream& s) {
    std::array<double, 6> x{};
    for (std::size_t i = 0; i < x.size(); ++i) x[i] = gauge.values[i] + gauge.standards[i] * s.normal();
    return EndGauge::length(x);
  });
  EXPECT_NEAR(summarise(draws).standard_deviation, 33.91, 0.1);
}

TEST(Gum, ResistanceAndReactanceH2) {
  // JCGM 100 H.2, second approach: each set of readings gives one value, and these are repeats. Readings from
  // memory; R 127.732 u .071, X 219.847 u .295, Z 254.260 u .236 ohm.
  const std::array<double, 5> volts{5.007, 4.994, 5.005, 4.990, 4.999};
  const std::array<double, 5> milliamperes{19.663, 19.639, 19.640, 19.685, 19.678};
  const std::array<double, 5> phase{1.0456, 1.0438, 1.0468, 1.0428, 1.0433};
  std::array<double, 5> resistance{};
  std::array<double, 5> reactance{};
  std::array<double, 5> impedance{};
  for (std::size_t i = 0; i < 5; ++i) {
    impedance[i] = volts[i] / milliamperes[i] * 1000;
    resistance[i] = impedance[i] * std::cos(phase[i]);
    reactance[i] = impedance[i] * std::sin(phase[i]);
  }
  EXPECT_NEAR(type_a(resistance).mean, 127.732, .0005);
  EXPECT_NEAR(type_a(resistance).standard, .071, .0005);
  EXPECT_NEAR(type_a(reactance).mean, 219.847, .0005);
  EXPECT_NEAR(type_a(reactance).standard, .295, .0005);
  EXPECT_NEAR(type_a(impedance).mean, 254.260, .0005);
  EXPECT_NEAR(type_a(impedance).standard, .236, .0005);
  EXPECT_EQ(type_a(impedance).degrees_of_freedom, 4);
}

TEST(Gum, MassCalibrationFirstOrder) {
  // JCGM 101 9.3, first-order framework: 1.2340 / .0539 / [1.1285, 1.3395] mg (computed .05385,
  // [1.12845, 1.33955]). Masses in mg, densities in kg/m3.
  const std::array<double, 5> values{100000, 1.234, 1.2, 8000, 8000};
  const std::array<double, 5> standards{.050, .020, .1 / kRectangular, 1000 / kRectangular,
                                        50 / kRectangular};
  const std::array<double, 5> unlimited{kInfinity, kInfinity, kInfinity, kInfinity, kInfinity};
  const auto r = propagate_gum(
      [](std::span<const double> x) {
        return (x[0] + x[1]) * (1 + (x[2] - 1.2) * (1 / x[3] - 1 / x[4])) - 100000;
      },
      values, standards, unlimited);
  EXPECT_NEAR(r.value, 1.2340, 1e-9);
  EXPECT_NEAR(r.standard, .05385, .000005);
  EXPECT_EQ(r.degrees_of_freedom, kInfinity);
  const double half = student_t(0.95, r.degrees_of_freedom) * r.standard;
  EXPECT_NEAR(r.value - half, 1.12845, .00001);
  EXPECT_NEAR(r.value + half, 1.33955, .00001);
}

TEST(Gum, ComparisonLossFirstOrder) {
  // JCGM 101 9.4, first-order framework, units of 1e-6: u 0, 100 (x1 .010); with x1 .050 it is 500.
  for (const auto& [x1, expected] : {std::pair{0.0, 0.0}, {.010, 100.0}, {.050, 500.0}}) {
    const auto r =
        propagate_gum([](std::span<const double> x) { return (x[0] * x[0] + x[1] * x[1]) * 1e6; },
                      std::array{x1, 0.0}, std::array{.005, .005}, std::array{kInfinity, kInfinity});
    EXPECT_NEAR(r.standard, expected, 1e-9);
    EXPECT_NEAR(r.value, x1 * x1 * 1e6, 1e-9);
  }
}

TEST(Gum, SensitivitiesAreExactToTheFourthDegree) {
  const auto quartic = [](std::span<const double> x) { return x[0] * x[0] * x[0] * (x[0] - 2) + 5 * x[1]; };
  const auto r = propagate_gum(quartic, std::array{1.5, 7.0}, std::array{0.5, 0.0}, std::array{3.0, 8.0});
  EXPECT_NEAR(r.contributions[0].sensitivity, 4 * 1.5 * 1.5 * 1.5 - 6 * 1.5 * 1.5, 1e-12);
  // An input that is known exactly takes no part and is not moved.
  EXPECT_EQ(r.contributions[1].sensitivity, 0);
  EXPECT_NEAR(r.degrees_of_freedom, 3, 1e-12);
}

TEST(WelchSatterthwaite, WhatLimitsIt) {
  EXPECT_EQ(welch_satterthwaite({}), kInfinity);
  EXPECT_EQ(welch_satterthwaite(std::array{Part{0, 0}, Part{1, kInfinity}}), kInfinity);
  EXPECT_DOUBLE_EQ(welch_satterthwaite(std::array{Part{3, 4}}), 4);
  EXPECT_DOUBLE_EQ(welch_satterthwaite(std::array{Part{1, 5}, Part{1, 5}}), 10);
  EXPECT_DOUBLE_EQ(welch_satterthwaite(std::array{Part{1e-120, 5}, Part{1e-120, 5}}), 10);
}

RC_GTEST_PROP(WelchSatterthwaite, LiesBetweenTheLeastAndTheSum, (std::uint64_t seed)) {
  Stream stream(seed, 0);
  std::vector<Part> parts(1 + stream.bits() % 8);
  double least = kInfinity;
  double sum = 0;
  for (Part& part : parts) {
    part = {stream.uniform(), 1 + 30 * stream.uniform()};
    least = std::min(least, part.degrees_of_freedom);
    sum += part.degrees_of_freedom;
  }
  const double nu = welch_satterthwaite(parts);
  RC_ASSERT(nu >= least * (1 - 1e-12));
  RC_ASSERT(nu <= sum * (1 + 1e-12));
}

TEST(Combine, RepeatsWithTheirInstrument) {
  const std::array<double, 3> readings{0.10, 0.12, 0.11};
  const TypeA a = type_a(readings);
  EXPECT_NEAR(a.mean, 0.11, 1e-15);
  EXPECT_NEAR(a.standard, 0.01 / std::sqrt(3.0), 1e-15);
  EXPECT_EQ(a.degrees_of_freedom, 2);
  // Without an instrument part it is Student's interval: factor 4.30 (JCGM 100 table G.2, 2 degrees).
  const auto alone = combine(a, 0, kInfinity, 0.95);
  EXPECT_EQ(alone.standard, a.standard);
  EXPECT_NEAR(alone.degrees_of_freedom, 2, 1e-12);
  EXPECT_NEAR(alone.expanded / a.standard, 4.30, 0.005);
  // A part as large, known without limit: half the variance, so four times the degrees of freedom.
  const auto both = combine(a, a.standard, kInfinity, 0.95);
  EXPECT_NEAR(both.standard, a.standard * std::sqrt(2.0), 1e-15);
  EXPECT_NEAR(both.degrees_of_freedom, 8, 1e-9);
  EXPECT_NEAR(both.expanded / both.standard, 2.31, 0.005);
  EXPECT_EQ(both.value, a.mean);
}

TEST(Combine, SingleReadingRestsOnTheInstrument) {
  const auto c = combine(type_a(std::array{0.25}), 0.004, kInfinity, 0.95);
  EXPECT_EQ(c.value, 0.25);
  EXPECT_EQ(c.standard, 0.004);
  EXPECT_EQ(c.degrees_of_freedom, kInfinity);
  EXPECT_NEAR(c.expanded, 0.004 * 1.960, 0.000002);
  const auto sure = combine(type_a(std::array{0.25}), 0, kInfinity, 0.95);
  EXPECT_EQ(sure.expanded, 0);
}

TEST(Combine, CoversAsOftenAsItSays) {
  // 5 repeats of a known truth, no instrument part: Student's interval must cover 95 % (standard error .1 %).
  int covered = 0;
  constexpr int kTrials = 40'000;
  for (int k = 0; k < kTrials; ++k) {
    Stream stream(99, static_cast<std::uint64_t>(k));
    std::array<double, 5> readings{};
    for (double& x : readings) x = 3 + 0.2 * stream.normal();
    const auto c = combine(type_a(readings), 0, kInfinity, 0.95);
    covered += std::abs(c.value - 3) <= c.expanded ? 1 : 0;
  }
  EXPECT_NEAR(static_cast<double>(covered) / kTrials, 0.95, 0.004);
}

TEST(Decide, GuardBand) {
  // ISO 14253-1:2017, 95 %: 1.65 u (1.644854) to either side of a limit, = .83 U (.8224) at k = 2.
  constexpr double kBand = 1.644854;
  const double u = 0.004;
  const auto at = [&](double value) { return decide(value, u, 0, 0.1, 0.95); };
  for (const double sign : {-1.0, 1.0}) {
    const double limit = sign > 0 ? 0.1 : 0.0;
    const double band = sign * kBand * u;
    const double hair = sign * 1e-6 * u;
    EXPECT_EQ(at(limit - band - hair), Conformity::inside);
    EXPECT_EQ(at(limit - band + hair), Conformity::undecided);
    EXPECT_EQ(at(limit), Conformity::undecided);
    EXPECT_EQ(at(limit + band - hair), Conformity::undecided);
    EXPECT_EQ(at(limit + band + hair), Conformity::outside);
  }
  EXPECT_NEAR(kBand / 2, .8224, .00005);
  EXPECT_EQ(at(0.05), Conformity::inside);
}

TEST(Decide, ReadingWithoutUncertaintyAndOpenLimits) {
  EXPECT_EQ(decide(0.1, 0, 0, 0.1, 0.95), Conformity::inside);
  EXPECT_EQ(decide(std::nextafter(0.1, 1), 0, 0, 0.1, 0.95), Conformity::outside);
  EXPECT_EQ(decide(5, 0.1, 0, kInfinity, 0.95), Conformity::inside);
  EXPECT_EQ(decide(-5, 0.1, -kInfinity, kInfinity, 0.95), Conformity::inside);
  EXPECT_EQ(decide(-5, 0.1, 0, kInfinity, 0.95), Conformity::outside);
}

TEST(Decide, UncertaintyAsWideAsTheLimitsProvesNothing) {
  // In the middle, 1.7 u from both limits: beyond either band, yet both tails together leave 91 %.
  EXPECT_EQ(decide(1.7, 1, 0, 3.4, 0.95), Conformity::undecided);
  EXPECT_EQ(decide(2.0, 1, 0, 4.0, 0.95), Conformity::inside);
  EXPECT_EQ(decide(0.05, 10, 0, 0.1, 0.95), Conformity::undecided);
}

RC_GTEST_PROP(Decide, MoreConfidenceOrDoubtNeverProvesMore, (std::uint64_t seed)) {
  Stream stream(seed, 0);
  const double value = 3 * stream.normal();
  const double u = stream.uniform();
  const auto loose = decide(value, u, -2, 2, 0.80);
  for (const auto strict : {decide(value, u, -2, 2, 0.99), decide(value, 2 * u, -2, 2, 0.80)}) {
    RC_ASSERT(strict == loose || strict == Conformity::undecided);
  }
  // Mirrored, and in another unit, it is the same.
  RC_ASSERT(decide(-value, u, -2, 2, 0.80) == loose);
  RC_ASSERT(decide(value * 4, u * 4, -8, 8, 0.80) == loose);
}

}  // namespace
}  // namespace hingeline::numeric

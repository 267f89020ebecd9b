// Leaks against published flow values, against slow integration, and what holds for every gap.

#include "hingeline/seal/leak.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "hingeline/numeric/random.h"

namespace hingeline::seal {
namespace {

using std::numbers::pi;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

Wedge wedge(double level, double swing) { return {millimetres(level), millimetres(swing)}; }
Rim rim(double tone_hole = 16, double land = 0.8) { return {millimetres(tone_hole), millimetres(land)}; }
Leak leak_of(const Wedge& gap, const Rim& r = rim(), const Conditions& c = {}) { return *leak(gap, r, c); }

double uniform(numeric::Stream& s, double low, double high) { return low + (high - low) * s.uniform(); }

// ---- published values -----------------------------------------------------------------------------

TEST(Air, ViscosityIsThatOfTheStandardAtmosphere) {
  // US Standard Atmosphere 1976, Sutherland's formula with 1.458e-6 and 110.4 K: computed from the published
  // formula.
  const std::array<std::array<double, 2>, 5> rows{
      {{15, 17.8938}, {20, 18.1341}, {25, 18.3723}, {37, 18.9364}, {40, 19.0757}}};
  for (const auto& [degrees, micro] : rows)
    EXPECT_NEAR(1e3 * in_millipascal_seconds(air_viscosity(celsius(degrees))), micro, 6e-5) << degrees;
}

TEST(Air, ViscosityIsWithinTheTables) {
  // Transport text: 17.16, 18.13, 19.08 uPa s at 0, 20, 40 degC; heat text: 18.25, 18.49, 18.72 at 20,
  // 25, 30. The tables differ by 0.7 % among themselves.
  const std::array<std::array<double, 2>, 6> rows{
      {{0, 17.16}, {20, 18.13}, {40, 19.08}, {20, 18.25}, {25, 18.49}, {30, 18.72}}};
  for (const auto& [degrees, micro] : rows) {
    EXPECT_NEAR(1e3 * in_millipascal_seconds(air_viscosity(celsius(degrees))) / micro, 1, 0.01) << degrees;
  }
}

TEST(Air, DensityAtRoomTemperature) {
  // 1.204 kg/m^3 at 20 degC and 1.225 at 15 degC, US Standard Atmosphere 1976.
  EXPECT_NEAR(air_density(celsius(20), kStandardPressure), 1.204, 5e-4);
  EXPECT_NEAR(air_density(celsius(15), kStandardPressure), 1.225, 5e-4);
}

TEST(Slit, FluidsTextbookProblem) {
  // Slit 50 mm wide, 1 mm high, 150 mm long, 2 bar, 0.08 Pa s: 6.9444e-5 m^3/s. Inputs from a fluids textbook
  // problem, answer computed from Q = b h^3 dp / (12 mu L).
  EXPECT_NEAR(in_millilitres_per_second(slit_flow(millimetres(50), millimetres(1), millimetres(150),
                                                  pascals(2e5), millipascal_seconds(80))),
              69.444, 1e-3);
}

TEST(Slit, ParallelPlatesExamQuestion) {
  // Plates 0.1 m apart, 2 m/s in the middle, 2 Pa s: 0.13333 m^2/s a metre of width, 64 kPa over 20 m; the
  // mean is 2/3 of the speed in the middle. Inputs and the ratio from an exam question.
  const Flow q = slit_flow(millimetres(1000), millimetres(100), millimetres(20000), pascals(64000),
                           millipascal_seconds(2000));
  EXPECT_NEAR(in_millilitres_per_second(q) * 1e-6, 0.133333, 1e-6);
  EXPECT_NEAR(in_millilitres_per_second(q) * 1e-6 / 0.1, 2.0 / 3 * 2, 1e-9);
}

TEST(Slit, ByHand) {
  // 20 um, 40 mm wide, 1 mm long, 2 kPa, 18.134 uPa s: 2.9411 mL/s, 3.676 m/s, Reynolds number 9.76 (computed
  // from the formula).
  const Flow q = slit_flow(millimetres(40), millimetres(0.02), millimetres(1), pascals(2000),
                           air_viscosity(celsius(20)));
  EXPECT_NEAR(in_millilitres_per_second(q), 2.9411, 1e-4);
  const double speed = in_millilitres_per_second(q) / (40 * 0.02);
  EXPECT_NEAR(speed, 3.676, 1e-3);
  EXPECT_NEAR(1.204 * speed * 20e-6 / 1.8134e-5, 4.88, 0.01);  // by gap
  // 9.76 is by hydraulic diameter, twice the gap.
}

TEST(Orifice, ByHand) {
  // 1 mm, Cd 0.61, 2 kPa, 1.204 kg/m^3: 27.61 mL/s (computed from the formula). Cd of sharp round orifices
  // .620 to .603 over heads of 1 to 20 ft: encyclopaedia table, 1911.
  EXPECT_NEAR(in_millilitres_per_second(orifice_flow(pi / 4, pascals(2000), 1.204, 0.61)), 27.61, 0.005);
  EXPECT_NEAR(in_millimetres(as_hole(millilitres_per_second(27.61), {})), 1, 3e-4);
  EXPECT_GT(Conditions{}.discharge, 0.603);
  EXPECT_LT(Conditions{}.discharge, 0.620);
}

TEST(Slit, HalfTheResistanceOfATube) {
  // The drip of an open college-physics text, as a check of units by another formula: needle of 0.15 mm
  // radius, 25 mm, 0.12 mL/s, 1 mPa s needs 1.51e4 Pa (Hagen-Poiseuille 8 mu L Q / (pi r^4)). A slit as wide
  // as it needs to be for the same resistance carries the same flow under that pressure.
  const double needed = 8e-3 * 0.025 * 0.12e-6 / (pi * std::pow(0.15e-3, 4));
  EXPECT_NEAR(needed, 1.51e4, 1.51e2);
  const double width = 12 * pi * std::pow(0.15, 4) / (8 * std::pow(0.3, 3));
  EXPECT_NEAR(in_millilitres_per_second(slit_flow(millimetres(width), millimetres(0.3), millimetres(25),
                                                  pascals(needed), millipascal_seconds(1))),
              0.12, 1e-9);
}

// ---- gaps round a rim -----------------------------------------------------------------------------

TEST(MeanCube, OfAWedgeIsFiveSixteenths) {
  EXPECT_NEAR(mean_cube(wedge(0.05, 0.05)) / (5.0 / 16 * 1e-3), 1, 1e-14);
  const Wedge both = wedge_of(millimetres(0.03), millimetres(0.04));
  EXPECT_NEAR(in_millimetres(both.widest()), 0.05, 1e-16);
  EXPECT_NEAR(in_millimetres(both.narrowest()), 0, 1e-16);
  EXPECT_NEAR(mean_cube(both) / (5.0 / 16 * 0.05 * 0.05 * 0.05), 1, 1e-14);
}

TEST(MeanCube, OfAnEvenGapAndOfNone) {
  EXPECT_NEAR(mean_cube(wedge(0.1, 0)) / 1e-3, 1, 1e-14);
  EXPECT_EQ(mean_cube(wedge(0, 0)), 0);
  EXPECT_EQ(mean_cube(wedge(-0.1, 0.1)), 0);
  EXPECT_EQ(mean_cube(wedge(-0.2, 0.1)), 0);
  EXPECT_EQ(open_share(wedge(-0.2, 0.1)), 0);
  EXPECT_EQ(open_share(wedge(0.2, 0.1)), 1);
  EXPECT_NEAR(open_share(wedge(0, 0.1)), 0.5, 1e-15);
}

/// Integral from 0 to omega of (cos(psi) - cos(omega))^n in long double, where the bracket is a product of
/// sines that does not cancel; Simpson's rule on sin(psi / 2) = sqrt(q) sin(phi), smooth at both ends.
long double slow_mean_power(long double level, long double swing, int n) {
  const long double q = (swing + level) / (2 * swing);
  const long double root = std::sqrt(q);
  const auto f = [&](long double phi) {
    const long double c = std::cos(phi);
    const long double s = std::sin(phi);
    return std::pow(2 * swing * q * c * c, n) * 2 * root * c / std::sqrt(1 - q * s * s);
  };
  constexpr int kSteps = 1000;
  const long double step = std::numbers::pi_v<long double> / 2 / kSteps;
  long double sum = f(0) + f(step * kSteps);
  for (int k = 1; k < kSteps; ++k) sum += f(step * k) * (k % 2 == 1 ? 4 : 2);
  return sum * step / 3 / std::numbers::pi_v<long double>;
}

TEST(MeanCube, StaysWithinItsPublishedError) {
  double worst_cube = 0;
  double worst_area = 0;
  for (int n = 0; n < 1500; ++n) {
    numeric::Stream s(21, static_cast<std::uint64_t>(n));
    const double swing = std::exp(uniform(s, -8, 0));
    // From arcs of a thousandth of a radian to nearly all round; the slow rule needs some room at q = 1.
    const double q = n % 2 == 0 ? std::exp(uniform(s, -15, -0.05)) : uniform(s, 0.02, 0.95);
    const double level = swing * (2 * q - 1);
    const auto cube = static_cast<double>(slow_mean_power(level, swing, 3));
    const auto mean = static_cast<double>(slow_mean_power(level, swing, 1));
    worst_cube = std::max(worst_cube, std::abs(mean_cube(wedge(level, swing)) / cube - 1));
    worst_area =
        std::max(worst_area, std::abs(open_area(wedge(level, swing), millimetres(1)) / (pi * mean) - 1));
  }
  EXPECT_LT(worst_cube, kMeanCubeWorstError);
  EXPECT_GT(worst_cube, kMeanCubeWorstError / 100);
  EXPECT_LT(worst_area, kMeanCubeWorstError);
}

TEST(MeanCube, GrowsAndBendsWithoutAJumpWhereContactEnds) {
  for (const double edge : {0.1, -0.1}) {
    const double below = mean_cube(wedge(edge - 1e-9, 0.1));
    const double above = mean_cube(wedge(edge + 1e-9, 0.1));
    EXPECT_NEAR(below, above, 2e-10);
    EXPECT_LE(below, above);
  }
}

TEST(Land, OfARing) {
  // A narrow land is itself; a wide one resists less than a straight slit of that length.
  EXPECT_NEAR(in_millimetres(straight_land(rim(20, 0.01))), 0.01, 1e-5);
  EXPECT_NEAR(in_millimetres(straight_land(rim(10, 5))), 5 * std::log(2), 1e-14);
}

TEST(Leak, SlitOfAnEvenGapIsRadialFlowBetweenDiscs) {
  // Q = pi h^3 dp / (6 mu ln(Ro / Ri)), the textbook form for radial flow between parallel discs.
  const Leak l = leak_of(wedge(0.02, 0), rim(16, 0.8));
  const double mu = in_millipascal_seconds(air_viscosity(celsius(20)));
  EXPECT_NEAR(l.slit.raw() / (pi * 8e-6 * 2000 / (6 * mu * std::log(8.8 / 8))), 1, 1e-13);
}

// ---- what rules -----------------------------------------------------------------------------------

TEST(Leak, FrictionRulesNarrowGapsAndInertiaWideOnes) {
  const Leak narrow = leak_of(wedge(0.005, 0.005));
  EXPECT_EQ(narrow.rules, Rules::slit);
  EXPECT_LT(narrow.entry_share, 0.01);
  EXPECT_NEAR(narrow.flow / narrow.slit, 1, 0.01);
  EXPECT_LT(narrow.reynolds, 10);
  const Leak middle = leak_of(wedge(0.04, 0.04));
  EXPECT_EQ(middle.rules, Rules::both);
  const Leak wide = leak_of(wedge(0.5, 0.5));
  EXPECT_EQ(wide.rules, Rules::orifice);
  EXPECT_NEAR(wide.flow / wide.orifice, 1, 0.05);
  EXPECT_GT(wide.reynolds, kLaminarReynolds);
}

TEST(Leak, NoGapNoPressure) {
  const Leak closed = leak_of(wedge(-0.02, 0.02));
  EXPECT_EQ(closed.flow, Flow{});
  EXPECT_EQ(closed.hole, Length{});
  EXPECT_EQ(closed.rules, Rules::nothing);
  EXPECT_EQ(closed.widest, Length{});
  Conditions still;
  still.over = pascals(0);
  const Leak open = leak_of(wedge(0.1, 0.1), rim(), still);
  EXPECT_EQ(open.flow, Flow{});
  EXPECT_EQ(open.rules, Rules::nothing);
  EXPECT_EQ(open.entry_share, 0);
}

TEST(Leak, RefusesWhatCannotBe) {
  const Wedge gap = wedge(0.01, 0.01);
  for (const double bad : {0.0, -1.0, kNan, std::numeric_limits<double>::infinity()}) {
    EXPECT_FALSE(leak(gap, rim(bad, 1), {})) << bad;
    EXPECT_FALSE(leak(gap, rim(10, bad), {})) << bad;
    Conditions c;
    c.ambient = pascals(bad);
    EXPECT_FALSE(leak(gap, rim(), c)) << bad;
    c = {};
    c.discharge = bad;
    EXPECT_FALSE(leak(gap, rim(), c)) << bad;
  }
  Conditions c;
  c.over = pascals(-1);
  EXPECT_FALSE(leak(gap, rim(), c));
  c = {};
  c.air = celsius(-274);
  EXPECT_FALSE(leak(gap, rim(), c));
  EXPECT_FALSE(leak(wedge(kNan, 0), rim(), {}));
  EXPECT_FALSE(leak(wedge(0, -1), rim(), {}));
  const std::array<Length, 2> two{};
  EXPECT_FALSE(leak(two, rim(), {}));
  const std::array<Length, 3> holed{millimetres(0.1), millimetres(kNan), millimetres(0)};
  EXPECT_FALSE(leak(holed, rim(), {}));
}

/// The flow of a wedge by a plain sum over the rim.
double slow_flow(const Wedge& gap, const Rim& r, const Conditions& c, int steps) {
  const double mu = 1e-3 * air_viscosity(c.air).raw();
  const double rho = air_density(c.air, c.ambient);
  const double w = 1e-3 * straight_land(r).raw();
  const double dp = c.over.raw();
  double sum = 0;
  for (int k = 0; k < steps; ++k) {
    const double psi = 2 * pi * (k + 0.5) / steps;
    const double h = 1e-3 * (gap.level.raw() + gap.swing.raw() * std::cos(psi));
    if (h <= 0) continue;
    const double a = rho / (2 * c.discharge * c.discharge);
    const double b = 12 * mu * w / (h * h);
    sum += h * 2 * dp / (b + std::sqrt(b * b + 4 * a * dp));
  }
  return 1e6 * sum / steps * pi * 1e-3 * r.tone_hole.raw();
}

TEST(Leak, SeriesStaysWithinItsPublishedError) {
  double worst = 0;
  for (int n = 0; n < 400; ++n) {
    numeric::Stream s(22, static_cast<std::uint64_t>(n));
    const double swing = std::exp(uniform(s, -6, 0.5));
    const Wedge gap = wedge(swing * uniform(s, -0.95, 1.5), swing);
    const Rim r = rim(uniform(s, 4, 60), uniform(s, 0.2, 3));
    Conditions c;
    c.over = pascals(std::exp(uniform(s, 4, 9)));
    worst = std::max(worst, std::abs(leak_of(gap, r, c).flow.raw() / slow_flow(gap, r, c, 40000) - 1));
  }
  EXPECT_LT(worst, kSeriesWorstError);
}

RC_GTEST_PROP(Leak, IsBoundedAndGrowsWithGapAndPressure, ()) {
  numeric::Stream s(23, *rc::gen::inRange<std::uint64_t>(0, 1u << 30));
  const double swing = std::exp(uniform(s, -6, 0));
  const double level = swing * uniform(s, -1.2, 1.5);
  const Rim r = rim(uniform(s, 4, 60), uniform(s, 0.2, 3));
  Conditions c;
  const Leak l = leak_of(wedge(level, swing), r, c);
  RC_ASSERT(l.flow <= l.slit);
  RC_ASSERT(l.flow <= l.orifice);
  RC_ASSERT(leak_of(wedge(level + 0.01, swing), r, c).flow >= l.flow);
  Conditions harder = c;
  harder.over = c.over * 2;
  RC_ASSERT(leak_of(wedge(level, swing), r, harder).flow >= l.flow);
  RC_ASSERT(std::abs(leak_of(wedge(level, swing), r, harder).slit.raw() - 2 * l.slit.raw()) <=
            1e-12 * l.slit.raw());
  RC_ASSERT(
      leak_of(wedge(level, swing), rim(in_millimetres(r.tone_hole), in_millimetres(r.land) + 0.5), c).flow <=
      l.flow);
  RC_ASSERT(in_millimetres(l.widest) >= 0);
}

RC_GTEST_PROP(Leak, OfGapsReadRoundTheRimIsThatOfTheWedge, ()) {
  numeric::Stream s(24, *rc::gen::inRange<std::uint64_t>(0, 1u << 30));
  const double swing = std::exp(uniform(s, -5, 0));
  const double level = swing * uniform(s, -0.8, 1.5);
  std::vector<Length> gaps;
  constexpr int kSteps = 2000;
  for (int k = 0; k < kSteps; ++k) gaps.push_back(millimetres(level + swing * std::cos(2 * pi * k / kSteps)));
  const Leak closed = leak_of(wedge(level, swing));
  const Leak read = *leak(gaps, rim(), {});
  RC_ASSERT(std::abs(read.slit / closed.slit - 1) < 1e-3);
  RC_ASSERT(std::abs(read.orifice / closed.orifice - 1) < 1e-3);
  RC_ASSERT(std::abs(read.flow / closed.flow - 1) < 1e-3);
  RC_ASSERT(std::abs(read.open_share - closed.open_share) < 1e-3);
  RC_ASSERT(std::abs(in_millimetres(read.widest - closed.widest)) < 1e-4 * swing);
}

TEST(Leak, GapsReadRoundTheRimByHand) {
  // Three readings 0, 0.06, 0 with straight lines between: two of three parts rise from 0 to 0.06, the mean
  // of the cube there is 0.06^3 / 4.
  const std::array<Length, 3> gaps{Length{}, millimetres(0.06), Length{}};
  const Leak l = *leak(gaps, rim(16, 0.8), {});
  const Leak even = leak_of(wedge(0.06, 0), rim(16, 0.8));
  EXPECT_NEAR(l.slit / even.slit, 2.0 / 3 / 4, 1e-13);
  EXPECT_NEAR(l.orifice / even.orifice, 2.0 / 3 / 2, 1e-13);
  EXPECT_NEAR(l.open_share, 2.0 / 3, 1e-13);
  // From contact 0.03 deep to a gap of 0.06: two thirds of the way is open.
  const std::array<Length, 3> crossing{millimetres(-0.03), millimetres(0.06), millimetres(-0.03)};
  EXPECT_NEAR((*leak(crossing, rim(16, 0.8), {})).slit / even.slit, 2.0 / 3 * 2.0 / 3 / 4, 1e-13);
}

// ---- a leak that was measured ---------------------------------------------------------------------

TEST(Decay, IsExponential) {
  // By hand: 1000 mL fall from 3 kPa to 3 kPa / e in 10 s: 100 mL/s at an overpressure of one atmosphere, so
  // 100 x 2 / 101.325 at 2 kPa.
  const Flow q = *flow_of({pascals(3000), pascals(3000 / std::numbers::e), seconds(10), 1000}, {});
  EXPECT_NEAR(in_millilitres_per_second(q), 100 * 2 / 101.325, 1e-9);
}

TEST(Decay, AgreesWithFollowingThePressureInSmallSteps) {
  // A body of 800 mL with one linear leak of 3 mL/s at 2 kPa, pressure followed by its own equation.
  double p = 2500;
  const double step = 1e-4;
  for (int k = 0; k < 50000; ++k) p -= step * (3 * p / 2000) * 101325 / 800;
  EXPECT_NEAR(in_millilitres_per_second(*flow_of({pascals(2500), pascals(p), seconds(5), 800}, {})), 3, 1e-3);
}

TEST(Decay, RefusesWhatCannotBe) {
  EXPECT_FALSE(flow_of({pascals(1000), pascals(2000), seconds(1), 1000}, {}));
  EXPECT_FALSE(flow_of({pascals(2000), pascals(0), seconds(1), 1000}, {}));
  EXPECT_FALSE(flow_of({pascals(2000), pascals(1000), seconds(0), 1000}, {}));
  EXPECT_FALSE(flow_of({pascals(2000), pascals(1000), seconds(1), 0}, {}));
  EXPECT_FALSE(flow_of({pascals(kNan), pascals(1000), seconds(1), 100}, {}));
}

std::vector<Opening> some_openings() {
  std::vector<Opening> all;
  for (int k = 0; k < 8; ++k)
    all.push_back({wedge(0.01 + 0.004 * k, 0.01 + 0.004 * k), rim(10 + 3 * k, 0.8), {}});
  return all;
}

TEST(Weigh, LeakTellsTheTakeUp) {
  const auto openings = some_openings();
  const Flow truth = *flow_of_all(openings, millimetres(0.022), {});
  const auto w =
      weigh(openings, {truth, truth * 0.02, 0}, millimetres(0.03), millimetres(0.015), millimetres(0.1), {});
  ASSERT_TRUE(w);
  EXPECT_NEAR(in_millimetres(w->posterior.mean()), 0.022, 0.001);
  EXPECT_LT(w->posterior.standard(), w->prior.standard() * 0.1);
  EXPECT_LT(in_millimetres(w->posterior.quantile(0.025)), 0.022);
  EXPECT_GT(in_millimetres(w->posterior.quantile(0.975)), 0.022);
  EXPECT_NEAR(w->expected_after / truth, 1, 0.02);
  EXPECT_EQ(w->unexplained, Flow{});
}

TEST(Weigh, AReadingThatSaysNothingLeavesThePrior) {
  const auto openings = some_openings();
  const auto w = weigh(openings, {millilitres_per_second(5), millilitres_per_second(1e6), 0},
                       millimetres(0.03), millimetres(0.005), millimetres(0.1), {});
  ASSERT_TRUE(w);
  EXPECT_NEAR(in_millimetres(w->posterior.mean()), 0.03, 1e-6);
  EXPECT_NEAR(in_millimetres(w->posterior.standard()), 0.005, 1e-5);
  // Quantiles of the normal distribution.
  EXPECT_NEAR(in_millimetres(w->prior.quantile(0.975)), 0.03 + 1.959964 * 0.005, 2e-5);
  EXPECT_NEAR(in_millimetres(w->prior.quantile(0.5)), 0.03, 1e-6);
}

TEST(Weigh, MoreThanAllGapsTogether) {
  const auto openings = some_openings();
  const Flow most = *flow_of_all(openings, Length{}, {});
  const auto w = weigh(openings, {most * 2, most * 0.05, 0.1}, millimetres(0.03), millimetres(0.015),
                       millimetres(0.1), {});
  ASSERT_TRUE(w);
  EXPECT_NEAR(w->unexplained / most, 1, 1e-12);
  EXPECT_LT(in_millimetres(w->posterior.mean()), in_millimetres(w->prior.mean()));
}

TEST(Weigh, AnInstrumentWithoutOpenings) {
  const auto w = weigh({}, {millilitres_per_second(3), millilitres_per_second(1), 0.2}, millimetres(0.03),
                       millimetres(0.01), millimetres(0.1), {});
  ASSERT_TRUE(w);
  EXPECT_EQ(w->most, Flow{});
  EXPECT_EQ(w->unexplained, millilitres_per_second(3));
  EXPECT_NEAR(in_millimetres(w->posterior.mean() - w->prior.mean()), 0, 1e-12);
}

TEST(Weigh, RefusesWhatCannotBe) {
  const auto o = some_openings();
  const FlowReading good{millilitres_per_second(3), millilitres_per_second(1), 0.1};
  const Length mean = millimetres(0.03);
  const Length one = millimetres(0.01);
  EXPECT_FALSE(weigh(o, {good.flow, Flow{}, 0}, mean, one, one, {}));
  EXPECT_FALSE(weigh(o, {good.flow, good.standard, -1}, mean, one, one, {}));
  EXPECT_FALSE(weigh(o, good, mean, Length{}, one, {}));
  EXPECT_FALSE(weigh(o, good, mean, one, Length{}, {}));
  EXPECT_FALSE(weigh(o, good, millimetres(kNan), one, one, {}));
}

TEST(Weigh, GridIsFineEnough) {
  // The posterior by plain Simpson sums of a hundred times as many points.
  const auto openings = some_openings();
  const Flow read = *flow_of_all(openings, millimetres(0.015), {});
  const auto w =
      weigh(openings, {read, read * 0.1, 0.1}, millimetres(0.03), millimetres(0.015), millimetres(0.1), {});
  ASSERT_TRUE(w);
  double sum = 0;
  double first = 0;
  double second = 0;
  for (int k = 0; k <= 8000; ++k) {
    const double t = 0.1 * k / 8000;
    const double q = flow_of_all(openings, millimetres(t), {})->raw();
    const double sigma = std::hypot(0.1 * read.raw(), 0.1 * q);
    const double z = (t - 0.03) / 0.015;
    const double d = (read.raw() - q) / sigma;
    const double density = std::exp(-z * z / 2 - d * d / 2) / sigma * (k == 0 || k == 8000 ? 0.5 : 1);
    sum += density;
    first += density * t;
    second += density * t * t;
  }
  const double mean = first / sum;
  EXPECT_NEAR(in_millimetres(w->posterior.mean()), mean, 1e-4);
  EXPECT_NEAR(in_millimetres(w->posterior.standard()), std::sqrt(second / sum - mean * mean), 1e-4);
}

}  // namespace
}  // namespace hingeline::seal

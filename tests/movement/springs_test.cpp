#include "hingeline/movement/springs.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <boost/math/special_functions/ellint_1.hpp>
#include <boost/math/special_functions/ellint_2.hpp>
#include <boost/numeric/odeint.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

#include "brute_force.h"

namespace hingeline::movement {
namespace {

using std::numbers::pi;
constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

Spring needle(double diameter, double length, double gpa = 207) {
  Spring s;
  s.diameter = millimetres(diameter);
  s.length = millimetres(length);
  s.modulus = gigapascals(gpa);
  return s;
}
Spring flat(double width, double thickness, double length, double gpa, FlatShape shape) {
  Spring s;
  s.kind = SpringKind::flat;
  s.width = millimetres(width);
  s.thickness = millimetres(thickness);
  s.length = millimetres(length);
  s.modulus = gigapascals(gpa);
  s.shape = shape;
  return s;
}

// d 0.5, L 25 mm, 0.5 N, E 207 GPa: 4.1006 mm, 1018.6 MPa, computed from the formula.
TEST(Springs, NeedleByTheFormula) {
  const auto bent = bend(needle(.5, 25), millimetres(4.1006));
  ASSERT_TRUE(bent);
  EXPECT_NEAR(in_newtons(bent->force), .5, 1e-5);
  EXPECT_NEAR(in_megapascals(bent->stress), 1018.6, .05);
  EXPECT_FALSE(bent->past_limit);
}

// A worked page on a round cantilever bar: L 15 in, D 5 in, F 20 lb, E 30e6 psi give 2.4446e-5 in and 24.446
// psi.
TEST(Springs, RoundCantileverBar) {
  constexpr double psi = 6894.75729316836;
  Spring bar;
  bar.diameter = inches(5);
  bar.length = inches(15);
  bar.modulus = pascals(30e6 * psi);
  const auto bent = bend(bar, inches(2.4446e-5));
  ASSERT_TRUE(bent);
  EXPECT_NEAR(in_newtons(bent->force) / 4.4482216152605, 20, 5e-4);
  EXPECT_NEAR(in_pascals(bent->stress) / psi, 24.446, 5e-4);
}

// 3 x 0.4 mm, L 25 mm, 0.5 N, E 110 GPa: 1.47964 mm, 156.25 MPa, computed from the formula.
TEST(Springs, FlatByTheFormula) {
  const auto bent = bend(flat(3, .4, 25, 110, FlatShape::rectangular), millimetres(1.47964));
  ASSERT_TRUE(bent);
  EXPECT_NEAR(in_newtons(bent->force), .5, 1e-5);
  EXPECT_NEAR(in_megapascals(bent->stress), 156.25, 1e-3);
}

// Machinery's Handbook, 27th ed.: deflection 4, 5.22, 6 times P L^3 / (E b t^3); stress 6 P L / (b t^2) for
// all three.
TEST(Springs, FlatShapesOfTheHandbook) {
  const auto soft = [](FlatShape shape) {
    const auto k = stiffness(flat(2, .5, 10, 100, shape));
    // E b t^3 / L^3 = 1e5 x 2 x 0.125 / 1000 = 25 N/mm.
    return 25 / in_newtons_per_millimetre(*k);
  };
  EXPECT_NEAR(soft(FlatShape::rectangular), 4, 1e-12);
  EXPECT_NEAR(soft(FlatShape::tapered), 5.22, 1e-12);
  EXPECT_NEAR(soft(FlatShape::triangular), 6, 1e-12);
  for (const FlatShape shape : {FlatShape::rectangular, FlatShape::tapered, FlatShape::triangular}) {
    const auto bent = bend(flat(2, .5, 10, 100, shape), millimetres(.1));
    ASSERT_TRUE(bent);
    EXPECT_NEAR(in_megapascals(bent->stress), 6 * in_newtons(bent->force) * 10 / (2 * .25), 1e-9);
  }
}

/// Deflection factor of a strip whose width falls evenly to `end` of its foot's, by adding up thin slices:
/// 12 x integral of x^2 / width, x from the free end.
double factor_by_slices(double end) {
  constexpr int kSlices = 200'000;
  double sum = 0;
  for (int k = 0; k < kSlices; ++k) {
    const double x = (k + .5) / kSlices;
    sum += x * x / (end + (1 - end) * x) / kSlices;
  }
  return 12 * sum;
}
TEST(Springs, FactorsComeOutOfTheBeamIntegral) {
  EXPECT_NEAR(factor_by_slices(1), 4, 1e-9);
  EXPECT_NEAR(factor_by_slices(0), 6, 1e-9);
  EXPECT_NEAR(factor_by_slices(.21), 5.22, .02);
}

// Bisshopp and Drucker (1945), as tabled in a public validation of a beam solver: F L^2 / (E I) = 1 gives
// 0.30172 across and 0.05643 along, 2 gives 0.49346 and 0.16064.
TEST(Bow, PublishedLargeDeflections) {
  for (const auto& [load, across, along] : {std::array{1., .30172, .05643}, std::array{2., .49346, .16064}}) {
    const auto bow = exact_bow(across);
    ASSERT_TRUE(bow);
    EXPECT_NEAR(bow->force * 3 * across, load, 5e-5 * load);
    EXPECT_NEAR(bow->stress / bow->force, 1 - along, 1e-5);
  }
}

// The closed form in elliptic integrals (Boost.Math).
TEST(Bow, ClosedForm) {
  for (double slope = .02; slope < 1.47; slope += .029) {
    const double p = std::sqrt((1 + std::sin(slope)) / 2);
    const double angle = std::asin(1 / (p * std::numbers::sqrt2));
    const double root = boost::math::ellint_1(p) - boost::math::ellint_1(p, angle);
    const double across = 1 - 2 * (boost::math::ellint_2(p) - boost::math::ellint_2(p, angle)) / root;
    const auto bow = exact_bow(across);
    ASSERT_TRUE(bow) << slope;
    // The closed form itself loses digits as 1 - 1 for small slopes.
    const double tolerance = 1e-14 / (slope * slope) + 1e-13;
    EXPECT_NEAR(in_radians(bow->slope) / slope, 1, 10 * tolerance) << slope;
    EXPECT_NEAR(bow->force / (root * root / (3 * across)), 1, 20 * tolerance) << slope;
  }
}

// The bar's own equation, integrated: theta'' = -load cos theta from the root, with the load found. 200 bars.
TEST(Bow, TheBarsEquationIntegrated) {
  namespace ode = boost::numeric::odeint;
  using State = std::array<double, 4>;  // slope, its rate, across, along
  reference::Engine engine(11);
  for (int n = 0; n < 200; ++n) {
    const double asked = reference::uniform(engine, 1e-4, .83);
    const auto bow = exact_bow(asked);
    ASSERT_TRUE(bow);
    const double load = bow->force * 3 * asked;
    // Moment at the root over E I / L: load x lever.
    State x{0, bow->stress * 3 * asked, 0, 0};
    const auto equation = [load](const State& s, State& d, double) {
      d = {s[1], -load * std::cos(s[0]), std::sin(s[0]), std::cos(s[0])};
    };
    ode::integrate_adaptive(ode::make_controlled<ode::runge_kutta_dopri5<State>>(1e-12, 1e-12), equation, x,
                            0., 1., .01);
    EXPECT_NEAR(x[1], 0, 1e-9 * (1 + load)) << "the free end carries a moment";
    EXPECT_NEAR(x[2], asked, 1e-9);
    EXPECT_NEAR(x[0], in_radians(bow->slope), 1e-9);
  }
}

TEST(Bow, WhereSmallDeflectionStops) {
  // At a slope of 20 degrees by the formula.
  const auto bow = exact_bow(in_radians(kSmallSlope) / 1.5);
  ASSERT_TRUE(bow);
  EXPECT_NEAR(bow->force, 1.06, .003);
  EXPECT_NEAR(bow->stress, 1.024, .002);
  EXPECT_TRUE(bend(needle(.5, 20), millimetres(4.7))->past_limit);
  EXPECT_FALSE(bend(needle(.5, 20), millimetres(4.6))->past_limit);
  EXPECT_NEAR(exact_bow(1e-9)->force, 1, 1e-15);
  EXPECT_FALSE(exact_bow(.84));
  EXPECT_TRUE(exact_bow(.837));
}

TEST(Bow, StressAloneIsThatOfTheBentSpring) {
  for (const Spring& s : {needle(0.8, 30), flat(3, 0.3, 25, 207, FlatShape::tapered)}) {
    for (double mm = 0; mm < 40; mm += 0.37) {
      const auto alone = stress(s, millimetres(mm));
      const auto bent = bend(s, millimetres(mm));
      ASSERT_EQ(alone.has_value(), bent.has_value()) << mm;
      if (bent) {
        EXPECT_EQ(*alone, bent->stress);
      } else {
        EXPECT_EQ(alone.error().what, bent.error().what);
      }
    }
  }
}

TEST(Wire, TheTablesRows) {
  constexpr double ksi = 6894.75729316836e3;
  // ASTM A228, a public copy of its table.
  for (const auto& [inch, least, most] :
       {std::array{.004, 439., 485.}, std::array{.010, 387., 428.}, std::array{.013, 373., 412.},
        std::array{.020, 350., 387.}, std::array{.026, 337., 373.}, std::array{.032, 327., 361.}}) {
    const auto strength = music_wire_strength(inches(inch));
    ASSERT_TRUE(strength);
    EXPECT_TRUE(strength->in_table);
    EXPECT_NEAR(in_pascals(strength->least), least * ksi, 1e-6 * least * ksi) << inch;
    EXPECT_NEAR(in_pascals(strength->most), most * ksi, 1e-6 * most * ksi) << inch;
  }
  // Between .026 and .032 in ln d, halfway.
  const auto between = music_wire_strength(inches(std::sqrt(.026 * .032)));
  EXPECT_NEAR(in_pascals(between->least), 332 * ksi, 1e-6 * 332 * ksi);
}

TEST(Wire, BeyondTheTableItSaysSo) {
  for (const double inch : {.003, .0325, .08}) {
    const auto strength = music_wire_strength(inches(inch));
    ASSERT_TRUE(strength);
    EXPECT_FALSE(strength->in_table);
    EXPECT_LT(strength->least, strength_by_formula(inches(inch)));
    EXPECT_GT(strength->most, strength_by_formula(inches(inch)));
  }
  // The formula's own tenth holds A228's least at the table's ends.
  EXPECT_LT(strength_by_formula(inches(.004)) * .9, music_wire_strength(inches(.004))->most);
  EXPECT_LT(strength_by_formula(inches(.032)) * .9, music_wire_strength(inches(.032))->least * 1.0001);
}

// A machine-design text: A 201 kpsi in^m, m 0.145: 278.7 kpsi at 0.105 in. At 0.010 in 391.9 against A228's
// least 387.
TEST(Wire, StrengthByFormula) {
  constexpr double kpsi = 6894.75729316836e3;
  EXPECT_NEAR(in_pascals(strength_by_formula(inches(.105))) / kpsi, 278.7, .05);
  EXPECT_NEAR(in_pascals(strength_by_formula(inches(.010))) / kpsi, 391.9, .05);
  for (const double inch : {.010, .014, .020, .026, .032}) {
    EXPECT_NEAR(strength_by_formula(inches(inch)) / music_wire_strength(inches(inch))->least, 1, .02) << inch;
  }
}

// Music wire gauge, two public tables.
TEST(Wire, Gauges) {
  EXPECT_EQ(gauge_of(inches(.004))->name, "6/0");
  EXPECT_EQ(gauge_of(inches(.009))->name, "0");
  EXPECT_EQ(gauge_of(inches(.024))->name, "10");
  EXPECT_EQ(gauge_of(inches(.045))->name, "20");
  EXPECT_EQ(gauge_of(inches(.0162))->name, "6");
  EXPECT_FALSE(gauge_of(inches(.015)));
  EXPECT_FALSE(gauge_of(inches(.05)));
  EXPECT_FALSE(gauge_of(millimetres(kNaN)));
  for (std::size_t k = 1; k < music_wire_gauges().size(); ++k) {
    EXPECT_LT(music_wire_gauges()[k - 1].diameter, music_wire_gauges()[k].diameter);
  }
}

RC_GTEST_PROP(Wire, StrengthFallsWithDiameterAndLeastIsLeast, (std::uint64_t seed)) {
  reference::Engine engine(seed);
  const Length thin = inches(reference::uniform(engine, .004, .0319));
  const Length thick = inches(reference::uniform(engine, in_inches(thin), .032));
  const auto a = music_wire_strength(thin);
  const auto b = music_wire_strength(thick);
  RC_ASSERT(a->least >= b->least);
  RC_ASSERT(a->most >= b->most);
  RC_ASSERT(a->least < a->most);
}

RC_GTEST_PROP(Springs, ForceGoesWithTheFourthPowerOfTheWire, (std::uint64_t seed)) {
  reference::Engine engine(seed);
  const double d = reference::uniform(engine, .2, .9);
  const double l = reference::uniform(engine, 15, 50);
  const Length bent = millimetres(reference::uniform(engine, .01, .1) * l);
  const double ratio = reference::uniform(engine, 1, 2);
  const auto one = bend(needle(d, l), bent);
  const auto thick = bend(needle(d * ratio, l), bent);
  const auto longer = bend(needle(d, l * ratio), bent);
  RC_ASSERT(std::abs(thick->force / one->force / std::pow(ratio, 4) - 1) < 1e-12);
  RC_ASSERT(std::abs(one->force / longer->force / std::pow(ratio, 3) - 1) < 1e-12);
  // Stress at a given deflection goes with the diameter.
  RC_ASSERT(std::abs(thick->stress / one->stress / ratio - 1) < 1e-12);
}

WireWish wish() {
  WireWish w;
  w.length = millimetres(28);
  w.works_at = millimetres(5);
  w.touch_arm = millimetres(20);
  w.swing = radians(.15);
  w.touch = newtons(.5);
  w.share = .75;
  w.modulus = gigapascals(207);
  return w;
}

TEST(Choice, TheThinnestThatStandsIt) {
  std::vector<Length> sizes;
  for (const double d : {.9, .8, .7, .6, .5, .45, .4, .3}) sizes.push_back(millimetres(d));
  const auto choice = choose_wire(wish(), sizes);
  ASSERT_TRUE(choice);
  ASSERT_EQ(choice->options.size(), sizes.size());
  ASSERT_TRUE(choice->best);
  const WireOption& best = choice->options[*choice->best];
  EXPECT_EQ(best.fit, WireFit::fits);
  for (const WireOption& o : choice->options) {
    if (o.fit == WireFit::fits) {
      EXPECT_LE(best.touch_pressed, o.touch_pressed);
    }
    // 0.5 N at 20 mm is 2 N at 5 mm.
    EXPECT_NEAR(in_newtons(o.spring_at_rest), 2, 1e-12);
    EXPECT_GT(o.touch_pressed, o.touch_at_rest);
  }
}

// Every figure of every option by the spring functions, and the best by looking at all. 500 wishes.
TEST(Choice, ByLookingAtAll) {
  reference::Engine engine(5);
  int with_best = 0, without = 0;
  for (int n = 0; n < 500; ++n) {
    WireWish w;
    w.length = millimetres(reference::uniform(engine, 12, 45));
    w.works_at = millimetres(reference::uniform(engine, 3, 9));
    w.touch_arm = millimetres(reference::uniform(engine, 8, 40));
    w.swing = radians(reference::uniform(engine, .03, .3));
    w.touch = newtons(reference::uniform(engine, 0, 1.5));
    w.share = reference::uniform(engine, .3, 1);
    w.modulus = gigapascals(reference::uniform(engine, 100, 210));
    if (reference::pick(engine, 2) == 0) w.strength = megapascals(reference::uniform(engine, 500, 2500));
    std::vector<Length> sizes;
    for (int k = reference::pick(engine, 9); k > 0; --k) {
      sizes.push_back(millimetres(reference::uniform(engine, .25, 1.1)));
    }
    const auto choice = choose_wire(w, sizes);
    ASSERT_TRUE(choice);
    ASSERT_EQ(choice->options.size(), sizes.size());
    std::optional<std::size_t> best;
    for (std::size_t k = 0; k < sizes.size(); ++k) {
      const WireOption& o = choice->options[k];
      Spring s;
      s.diameter = sizes[k];
      s.length = w.length;
      s.modulus = w.modulus;
      const double rate = in_newtons_per_millimetre(*stiffness(s));
      EXPECT_NEAR(rate * in_millimetres(o.set) * in_millimetres(w.works_at),
                  in_newtons(w.touch) * in_millimetres(w.touch_arm), 1e-9);
      const auto pressed = bend(s, o.set + w.works_at * in_radians(w.swing));
      if (!pressed) {
        EXPECT_EQ(o.fit, WireFit::bends_too_far);
        continue;
      }
      EXPECT_NEAR(in_newtons(pressed->force) * (w.works_at / w.touch_arm), in_newtons(o.touch_pressed), 1e-9);
      EXPECT_NEAR(pressed->stress / o.stress_pressed, 1, 1e-12);
      const Pressure strength = w.strength ? *w.strength : music_wire_strength(sizes[k])->least;
      EXPECT_NEAR(o.share, pressed->stress / strength, 1e-12);
      const bool fits = !pressed->past_limit && pressed->stress <= w.share * strength;
      EXPECT_EQ(o.fit == WireFit::fits, fits);
      if (fits && (!best || sizes[k] < sizes[*best])) best = k;
    }
    EXPECT_EQ(choice->best, best);
    ++(best ? with_best : without);
  }
  EXPECT_GT(with_best, 100);
  EXPECT_GT(without, 50);
}

TEST(Absurd, WrongMeasuresAreSaid) {
  for (const double bad : {0., -1., kNaN, kInfinity}) {
    EXPECT_FALSE(bend(needle(bad, 25), millimetres(1)));
    EXPECT_FALSE(bend(needle(.5, bad), millimetres(1)));
    EXPECT_FALSE(bend(needle(.5, 25, bad), millimetres(1)));
    EXPECT_FALSE(stiffness(flat(bad, .4, 25, 110, FlatShape::tapered)));
    EXPECT_FALSE(stiffness(flat(3, bad, 25, 110, FlatShape::tapered)));
    EXPECT_FALSE(music_wire_strength(millimetres(bad)));
    WireWish w = wish();
    w.length = millimetres(bad);
    EXPECT_FALSE(choose_wire(w, {}));
    w = wish();
    w.share = bad;
    EXPECT_FALSE(choose_wire(w, {}));
    w = wish();
    const Length sizes[] = {millimetres(bad)};
    EXPECT_FALSE(choose_wire(w, sizes));
  }
  for (const double bad : {-1., kNaN, kInfinity}) {
    EXPECT_FALSE(bend(needle(.5, 25), millimetres(bad)));
    EXPECT_FALSE(exact_bow(bad));
    WireWish w = wish();
    w.touch = newtons(bad);
    EXPECT_FALSE(choose_wire(w, {}));
  }
  const auto relaxed = bend(needle(.5, 25), millimetres(0));
  ASSERT_TRUE(relaxed);
  EXPECT_EQ(in_newtons(relaxed->force), 0);
  EXPECT_EQ(in_pascals(relaxed->stress), 0);
  const auto none = choose_wire(wish(), {});
  ASSERT_TRUE(none);
  EXPECT_FALSE(none->best);
}

}  // namespace
}  // namespace hingeline::movement

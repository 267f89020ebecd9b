#include "hingeline/movement/drag.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "brute_force.h"

namespace hingeline::movement {
namespace {

using std::numbers::pi;
constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

Viscosity mpas(double v) { return millipascal_seconds(v); }
double value(const Expected<Drag>& d) { return d ? in_newton_millimetre_seconds(*d) : kNaN; }

// A heat-transfer textbook's journal: 6 cm diameter, 20 cm long, 3000 rpm, clearance 0.2 mm, 0.05 Pa
// s: 2.66479 N m.
TEST(Drag, JournalOfTheTextbook) {
  const double omega = 3000 * 2 * pi / 60;
  const double torque =
      value(journal_drag(mpas(50), millimetres(30), millimetres(200), millimetres(.2))) * omega / 1000;
  EXPECT_NEAR(torque, 2.66479, 1e-5);
  // The same book's power, 837.17 W.
  EXPECT_NEAR(torque * omega, 837.17, .01);
}

// A fluids textbook's viscometer: radius 25 mm, gap 1, length 100 mm, 2800 rpm, 0.2 N m: 0.06948 Pa s by the
// narrow gap, and the exact torque is 1.06039 times the narrow one's.
TEST(Drag, ViscometerOfTheTextbook) {
  const double omega = 2800 * 2 * pi / 60;
  const auto narrow = journal_drag(mpas(69.48), millimetres(25), millimetres(100), millimetres(1));
  const auto exact = rod_drag(mpas(69.48), millimetres(25), millimetres(26), millimetres(100));
  EXPECT_NEAR(value(narrow) * omega / 1000, .2, 2e-5);
  EXPECT_NEAR(value(exact) / value(narrow), 1.06039, 5e-6);
}

RC_GTEST_PROP(Drag, ThinFilmsOfCylindersAreJournals, (std::uint64_t seed)) {
  reference::Engine engine(seed);
  const double r = reference::uniform(engine, .5, 3);
  const double share = reference::uniform(engine, 1e-4, .05);
  const double l = reference::uniform(engine, 1, 100);
  const double mu = reference::uniform(engine, 1, 1e4);
  const double thin = value(journal_drag(mpas(mu), millimetres(r), millimetres(l), millimetres(share * r)));
  const double exact =
      value(rod_drag(mpas(mu), millimetres(r), millimetres(r * (1 + share)), millimetres(l)));
  // 2 (1 + s)^2 / (2 + s) = 1 + 3 s / 2 + ...
  RC_ASSERT(std::abs(exact / thin - (1 + 1.5 * share)) < share * share);
}

RC_GTEST_PROP(Drag, ShortConesAreJournalsOnTheirFlank, (std::uint64_t seed)) {
  reference::Engine engine(seed);
  const double a = reference::uniform(engine, 3, 60) * pi / 180;
  const double r = reference::uniform(engine, .5, 3);
  const double h = reference::uniform(engine, .001, .05);
  const double axial = 1e-4;
  const double r2 = r + axial * std::tan(a);
  const double cone =
      value(cone_drag(mpas(100), millimetres(r), millimetres(r2), radians(a), millimetres(h)));
  const double journal = value(
      journal_drag(mpas(100), millimetres((r + r2) / 2), millimetres(axial / std::cos(a)), millimetres(h)));
  RC_ASSERT(std::abs(cone / journal - 1) < 1e-6);
}

// ---- points in holes -----------------------------------------------------------------------------------

struct Cone {
  contact::Joint joint;
  double a, b, tip, mouth;
};
Cone cone(double a_degrees, double b_degrees, double tip_radius, double mouth_radius, double length = 4,
          double depth = 3.5) {
  contact::PointForm point;
  point.half_angle = degrees(a_degrees);
  point.tip_radius = millimetres(tip_radius);
  point.length = millimetres(length);
  contact::HoleForm hole;
  hole.half_angle = degrees(b_degrees);
  hole.mouth_radius = millimetres(mouth_radius);
  hole.depth = millimetres(depth);
  if (b_degrees == 0) hole.shape = contact::HoleShape::straight;
  return {contact::Joint(*contact::make_point(point), *contact::make_hole(hole)), a_degrees * pi / 180,
          b_degrees * pi / 180, tip_radius, mouth_radius};
}

TEST(Film, MatchedConeIsTheConeFormula) {
  for (const double a : {5., 15., 30.}) {
    const Cone c = cone(a, a, .4, .4 + 2.5 * std::tan(a * pi / 180));
    const Length home = c.joint.home().insertion;
    const Length t = home - millimetres(.05);
    const auto film = joint_film(c.joint, t);
    ASSERT_TRUE(film);
    const double gap = .05 * std::tan(c.a);
    EXPECT_NEAR(in_millimetres(film->clearance), gap, 1e-12);
    EXPECT_NEAR(in_millimetres(film->thickness), gap * std::cos(c.a), 1e-12);
    EXPECT_NEAR(in_millimetres(film->length), in_millimetres(t), 1e-9);
    // Radii of the middle of the film; the formula takes them at the flank's two ends.
    const double r1 = .4 + gap / 2;
    const double r2 = .4 + in_millimetres(t) * std::tan(c.a) + gap / 2;
    const auto formula = cone_drag(mpas(100), millimetres(r1), millimetres(r2), radians(c.a),
                                   millimetres(gap * std::cos(c.a)));
    EXPECT_NEAR(in_newton_millimetre_seconds(drag(*film, mpas(100))) / value(formula), 1, 1e-12);
  }
}

/// The same integral by a fine sum over rings.
double by_rings(const Cone& c, double t) {
  constexpr int kRings = 400'000;
  double sum = 0;
  for (int k = 0; k < kRings; ++k) {
    const double y = t * (k + .5) / kRings;
    const double hole = c.mouth - y * std::tan(c.b);
    const double point = c.tip + (t - y) * std::tan(c.a);
    const double tangent = (std::tan(c.a) + std::tan(c.b)) / 2;
    const double r = (hole + point) / 2;
    sum += r * r * r / (hole - point) * (1 + tangent * tangent) * t / kRings;
  }
  return 2 * pi * sum;
}
TEST(Film, AnyConeByRings) {
  reference::Engine engine(3);
  int looked_at = 0;
  for (int n = 0; n < 60; ++n) {
    const Cone c = cone(reference::uniform(engine, 3, 30), n % 3 == 0 ? 0 : reference::uniform(engine, 1, 30),
                        reference::uniform(engine, .2, .6), reference::uniform(engine, .8, 1.3));
    const double home = in_millimetres(c.joint.home().insertion);
    const double t = home * reference::uniform(engine, .3, .98);
    // The hole's flank must reach as deep as the tip, or it ends on the axis.
    if (t >= 3.4 || c.mouth - t * std::tan(c.b) < .05) continue;
    const auto film = joint_film(c.joint, millimetres(t));
    ASSERT_TRUE(film);
    ++looked_at;
    EXPECT_NEAR(film->drag_per_viscosity / by_rings(c, t), 1, 1e-7);
    EXPECT_NEAR(in_millimetres(film->clearance), in_millimetres(c.joint.clearance(millimetres(t))), 1e-12);
    EXPECT_GE(in_millimetres(film->radius), c.tip);
    EXPECT_LE(in_millimetres(film->radius), c.mouth);
  }
  EXPECT_GT(looked_at, 30);
}

TEST(Film, NearTheRimItGrowsWithoutBreaking) {
  // A cone in a straight hole rides on the rim: the drag grows as the logarithm of the gap there.
  const Cone c = cone(15, 0, .4, 1.);
  const Length home = c.joint.home().insertion;
  double before = 0;
  for (const double off : {1e-1, 1e-3, 1e-6, 1e-9}) {
    const auto film = joint_film(c.joint, home - millimetres(off));
    ASSERT_TRUE(film);
    EXPECT_GT(film->drag_per_viscosity, before);
    // Closed form: with c = (off + y) tan a the integral is polynomials and one logarithm; its leading term.
    if (off < 1e-4) {
      const double leading = 2 * pi * std::log(1 / off) / std::tan(c.a);
      EXPECT_NEAR(film->drag_per_viscosity / leading, 1, .25);
    }
    before = film->drag_per_viscosity;
  }
}

TEST(Film, DryWhenItTouches) {
  const Cone c = cone(15, 15, .4, 1.2);
  const Length home = c.joint.home().insertion;
  EXPECT_FALSE(joint_film(c.joint, home + millimetres(1e-6)));
  EXPECT_FALSE(joint_film(c.joint, millimetres(0)));
  EXPECT_FALSE(joint_film(c.joint, millimetres(-1)));
  EXPECT_FALSE(joint_film(c.joint, millimetres(kNaN)));
  EXPECT_FALSE(joint_film(contact::Joint::rod(millimetres(.02)), millimetres(1)));
}

TEST(Film, RodInItsTube) {
  const auto film = rod_film(millimetres(2), millimetres(2.04), millimetres(40));
  ASSERT_TRUE(film);
  EXPECT_NEAR(in_newton_millimetre_seconds(drag(*film, mpas(150))),
              value(rod_drag(mpas(150), millimetres(1), millimetres(1.02), millimetres(40))), 1e-15);
  EXPECT_NEAR(film->thinness(), .02 / 1.01, 1e-12);
  EXPECT_FALSE(rod_film(millimetres(2), millimetres(2), millimetres(40)));
  EXPECT_FALSE(rod_film(millimetres(2), millimetres(1.9), millimetres(40)));
}

RC_GTEST_PROP(Film, DragGoesWithViscosityAndFallsWithClearance, (std::uint64_t seed)) {
  reference::Engine engine(seed);
  const Length d = millimetres(reference::uniform(engine, 1, 4));
  const Length c = millimetres(reference::uniform(engine, .005, .1));
  const Length l = millimetres(reference::uniform(engine, 5, 150));
  const auto film = rod_film(d, d + c, l);
  const auto looser = rod_film(d, d + c * 1.5, l);
  RC_ASSERT(film->drag_per_viscosity > looser->drag_per_viscosity);
  RC_ASSERT(std::abs(drag(*film, mpas(300)) / drag(*film, mpas(100)) - 3) < 1e-12);
  // Squeeze damping falls with the third power of the clearance.
  const double fall = squeeze(*looser, mpas(100)).raw() / squeeze(*film, mpas(100)).raw();
  RC_ASSERT(std::abs(fall * std::pow(1.5, 3) - 1) < .1);
}

TEST(Squeeze, ShortAndLongJournals) {
  // Short: pi mu r l^3 / c^3. Long: 12 pi mu r^3 l / c^3 (both from memory; here the one formula that joins
  // them is held to its two ends).
  const auto made = [](double r, double l) {
    Film f;
    f.radius = millimetres(r);
    f.length = millimetres(l);
    f.clearance = millimetres(.01);
    return in_newton_seconds_per_millimetre(squeeze(f, mpas(100)));
  };
  EXPECT_NEAR(made(1, .001) / (pi * 100e-9 * 1 * 1e-9 / 1e-6), 1, 1e-6);
  EXPECT_NEAR(made(1, .0199) / made(1, .0201) / std::pow(.0199 / .0201, 3), 1, 1e-5);
  EXPECT_NEAR(made(1, 2000) / (12 * pi * 100e-9 * 2000 / 1e-6), 1, 2e-3);
}

TEST(Squeeze, StoppingDistance) {
  Film f;
  f.radius = millimetres(1);
  f.length = millimetres(2);
  f.clearance = millimetres(.02);
  // 10 g at 100 mm/s: 1e-3 N s.
  const double c = in_newton_seconds_per_millimetre(squeeze(f, mpas(100)));
  EXPECT_NEAR(in_millimetres(stopping_distance(grams(10), 100, squeeze(f, mpas(100)))), 1e-3 / c, 1e-12);
  EXPECT_EQ(in_millimetres(stopping_distance(grams(10), 100, Squeeze::of(0))), kInfinity);
  EXPECT_EQ(in_millimetres(stopping_distance(grams(0), 100, Squeeze::of(0))), 0);
}

TEST(Film, WhereTheFlowStaysPlain) {
  const auto film = rod_film(millimetres(2), millimetres(2.04), millimetres(40));
  // omega 30 rad/s, r 1.01, c 0.02 mm, nu 50 mm2/s.
  EXPECT_NEAR(taylor_number(*film, 30, centistokes(50)), .36 * 1.01 * 8e-6, 1e-12);
  EXPECT_LT(taylor_number(*film, 100, centistokes(2)), kTaylorLimit);
}

TEST(Absurd, WrongMeasuresAreSaid) {
  const Length one = millimetres(1);
  for (const double bad : {0., -1., kNaN}) {
    const Length b = millimetres(bad);
    EXPECT_FALSE(journal_drag(mpas(1), b, one, one));
    EXPECT_FALSE(journal_drag(mpas(1), one, b, one));
    EXPECT_FALSE(journal_drag(mpas(1), one, one, b));
    EXPECT_FALSE(rod_drag(mpas(1), b, one, one));
    EXPECT_FALSE(rod_drag(mpas(1), one, b, one));
    EXPECT_FALSE(cone_drag(mpas(1), one, b, degrees(10), one));
    EXPECT_FALSE(cone_drag(mpas(1), millimetres(.5), one, degrees(bad), one));
    EXPECT_FALSE(cone_drag(mpas(1), millimetres(.5), one, degrees(10), b));
  }
  EXPECT_FALSE(journal_drag(mpas(-1), one, one, one));
  EXPECT_FALSE(journal_drag(mpas(kNaN), one, one, one));
  EXPECT_EQ(value(journal_drag(mpas(0), one, one, one)), 0);
  EXPECT_NE(journal_drag(mpas(1), one, one, millimetres(0)).error().what.find("dry or binds"),
            std::string::npos);
}

}  // namespace
}  // namespace hingeline::movement

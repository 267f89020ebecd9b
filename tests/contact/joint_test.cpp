// Joints worked by hand: what stops the point, where, and how much clearance is left.
// tests/contact/error_test.cpp measures the errors over drawn joints.

#include "hingeline/contact/joint.h"

#include <gtest/gtest.h>

#include <functional>
#include <limits>

#include "hingeline/base/reading.h"
#include "make.h"

namespace hingeline::contact {
namespace {

constexpr double kExact = 1e-13;  // mm; these joints are a few millimetres long
const double kRounded = in_millimetres(kRoundedWorstError);
constexpr double kInfinity = std::numeric_limits<double>::infinity();

double rad(double degrees_) { return degrees_ * std::numbers::pi / 180; }
double tan_deg(double a) { return std::tan(rad(a)); }
double sin_deg(double a) { return std::sin(rad(a)); }
double cos_deg(double a) { return std::cos(rad(a)); }

double c(const Joint& j, double t) { return in_millimetres(j.clearance(millimetres(t))); }

struct Expect {
  double insertion;
  Regime regime;
  double depth;
  double radius;
  double clearance = 0;
  double touching = 0;
};

void expect_home(const Joint& j, const Expect& e, double tolerance = kExact) {
  const Home& h = j.home();
  EXPECT_NEAR(in_millimetres(h.insertion), e.insertion, tolerance);
  EXPECT_STREQ(word(h.regime), word(e.regime));
  EXPECT_NEAR(in_millimetres(h.depth), e.depth, tolerance);
  EXPECT_NEAR(in_millimetres(h.radius), e.radius, tolerance);
  EXPECT_NEAR(in_millimetres(h.clearance), e.clearance, tolerance);
  EXPECT_NEAR(in_millimetres(h.touching), e.touching, tolerance);
  EXPECT_NEAR(c(j, e.insertion), e.clearance, tolerance);
}

TEST(Home, MatchedConeCarriesOnItsFlank) {
  for (const double a : {2.0, 10.0, 30.0, 45.0, 60.0}) {
    SCOPED_TRACE(a);
    const double home = 0.5 / tan_deg(a);
    const Joint j = joint_of(cone_point(a, 0.5, home + 1), cone_hole(a, 1, home + 0.5));
    expect_home(j, {home, Regime::flank, home / 2, 0.75, 0, home}, 1e-12);
    for (const double share : {0.0, 0.1, 0.5, 0.9, 0.999}) {
      EXPECT_NEAR(c(j, share * home), (1 - share) * home * tan_deg(a), kExact);
    }
  }
}

TEST(Home, FlankTouchesOnlyWhereBothAre) {
  // The shank takes over 0.2 mm behind the tip.
  PointForm f = cone_point(30, 0.5, 3);
  f.shank_radius = millimetres(0.5 + 0.2 * tan_deg(30));
  const Joint j = joint_of(f, cone_hole(30, 1, 1.5));
  const double home = 0.5 / tan_deg(30);
  expect_home(j, {home, Regime::flank, home - 0.1, 0.5 + 0.1 * tan_deg(30), 0, 0.2});
}

TEST(Home, SteeperPointRestsOnTheRim) {
  const Joint j = joint_of(cone_point(35, 0.5, 2), cone_hole(20, 1, 2));
  const double home = 0.5 / tan_deg(35);
  expect_home(j, {home, Regime::rim, 0, 1});
  for (const double t : {0.0, 0.2, 0.5, 0.7}) EXPECT_NEAR(c(j, t), 0.5 - t * tan_deg(35), kExact);
  // The tip's edge would come next.
  EXPECT_NEAR(in_millimetres(j.home().until_next), 0.5 / tan_deg(20) - home, kExact);
}

TEST(Home, ConeInStraightHoleRestsOnTheRim) {
  const Joint j = joint_of(cone_point(30, 0.5, 2), straight_hole(0.8, 1.5));
  const double home = 0.3 / tan_deg(30);
  expect_home(j, {home, Regime::rim, 0, 0.8});
  EXPECT_NEAR(c(j, 0.4), 0.3 - 0.4 * tan_deg(30), kExact);
  EXPECT_NEAR(in_millimetres(j.home().until_next), 1.5 - home, kExact);  // the floor
}

TEST(Home, SlenderPointRestsOnItsTipEdge) {
  const Joint j = joint_of(cone_point(15, 0.5, 2), cone_hole(30, 1, 2));
  const double home = 0.5 / tan_deg(30);
  expect_home(j, {home, Regime::tip_edge, home, 0.5});
  for (const double t : {0.0, 0.2, 0.5, 0.8}) EXPECT_NEAR(c(j, t), 0.5 - t * tan_deg(30), kExact);
  EXPECT_NEAR(in_millimetres(j.home().until_next), 1 / tan_deg(30) - home, kExact);  // the end
}

TEST(Home, TipOnTheFloor) {
  // Flat floor, parallel point.
  expect_home(joint_of(pin(0.4, 3, 0.4, 3), straight_hole(0.5, 2)), {2, Regime::floor, 2, 0.4, 0.1});
  // Flat floor, matched cone in a hole too shallow for it: home + gap = the flank's home.
  const double flank = 0.5 / tan_deg(30);
  const Joint shallow = joint_of(cone_point(30, 0.5, 2), cone_hole(30, 1, 0.4));
  expect_home(shallow, {0.4, Regime::floor, 0.4, 0.5, (flank - 0.4) * tan_deg(30)});
  EXPECT_NEAR(in_millimetres(shallow.home().until_next), flank - 0.4, kExact);
  // Drilled floor: the tip's edge goes down its cone to where the radii are equal.
  const Joint drilled = joint_of(pin(0.4, 3, 0.4, 3), drilled_hole(0.5, 2, 59));
  expect_home(drilled, {2 + 0.1 / tan_deg(59), Regime::floor, 2 + 0.1 / tan_deg(59), 0.4});
  EXPECT_NEAR(c(drilled, 1.9), 0.1, kExact);
  EXPECT_NEAR(c(drilled, 2 + 0.04 / tan_deg(59)), 0.06, kExact);
}

TEST(Home, ShoulderOnTheEndFace) {
  const Joint j = joint_of(pin(0.4, 1.2, 0.9, 3), straight_hole(0.5, 2));
  expect_home(j, {1.2, Regime::shoulder, 0, 0.5, 0.1});
  for (const double t : {0.0, 0.6, 1.2, 1.3}) EXPECT_NEAR(c(j, t), 0.1, kExact);  // constant all the way
}

TEST(Home, ShoulderBehindATaperedPin) {
  // What is left at the mouth is that of the pin's thick end.
  const Joint j = joint_of(point_pairs({{0, 0.3}, {1, 0.5}, {1, 1}, {2, 1}}), straight_hole(0.7, 3));
  expect_home(j, {1, Regime::shoulder, 0, 0.7, 0.2});
}

TEST(Home, LedgeInsideTheHoleStopsLikeAFloor) {
  const auto hole = hole_pairs({{0, 1}, {1, 1}, {1, 0.5}, {2, 0.5}}, 0);
  expect_home(joint_of(pin(0.7, 3, 0.7, 3), hole), {1, Regime::floor, 1, 0.7, 0.3});
  // A thin pin passes it, its shoulder does not.
  const Joint stepped = joint_of(point_pairs({{0, 0.4}, {0.5, 0.4}, {0.5, 0.8}, {3, 0.8}}), hole);
  expect_home(stepped, {1.5, Regime::floor, 1, 0.8, 0.1});
}

TEST(Home, ShoulderOnAnEdgeInsideTheHole) {
  // A ridge of 0.6 at 1 mm; the step from 0.5 to 0.8 meets it flat.
  const Joint j = joint_of(point_pairs({{0, 0.5}, {0.5, 0.5}, {0.5, 0.8}, {3, 0.8}}),
                           hole_pairs({{0, 1}, {1, 1}, {1, 0.6}, {1, 1}, {2, 1}}, 0));
  EXPECT_FALSE(centres(j.home().regime));
  EXPECT_NEAR(in_millimetres(j.home().insertion), 1.5, kExact);
  EXPECT_NEAR(in_millimetres(j.home().clearance), 0.1, kExact);
}

TEST(Home, BallInACone) {
  // The contact lies square to the flank: centre at the cone's apex less R / sin b.
  for (const double b : {10.0, 20.0, 30.0, 45.0}) {
    SCOPED_TRACE(b);
    const double R = 0.5;
    const Joint j = joint_of(ball_point(R, 0.3, 2), cone_hole(b, 1, 9));
    const double centre = 1 / tan_deg(b) - R / sin_deg(b);
    const double tolerance = kRounded / sin_deg(b);
    EXPECT_NEAR(in_millimetres(j.home().insertion), centre + R, tolerance);
    EXPECT_EQ(j.home().regime, Regime::round);
    EXPECT_TRUE(centres(j.home().regime));
    EXPECT_EQ(j.home().clearance, Length{});
    // A polyline touches at one of its corners: within a chord of the true place.
    const double chord = 4 * std::sqrt(R * kRounded);
    EXPECT_NEAR(in_millimetres(j.home().depth), centre + R * sin_deg(b), chord);
    EXPECT_NEAR(in_millimetres(j.home().radius), R * cos_deg(b), chord);
    for (const double back : {0.05, 0.2}) {
      EXPECT_NEAR(c(j, centre + R - back), back * tan_deg(b), kRounded / cos_deg(b));
    }
  }
}

TEST(Home, BallOnTheRimOfAStraightHole) {
  const Joint j = joint_of(ball_point(0.5, 0.1, 2), straight_hole(0.3, 2));
  expect_home(j, {0.5 - 0.4, Regime::round, 0, 0.3}, kRounded / 0.6);  // 3-4-5; flank there at 53 degrees
}

TEST(Home, BallOnAFlatFloor) {
  const Joint j = joint_of(ball_point(0.5, 0.1, 3), straight_hole(0.6, 2));
  EXPECT_NEAR(in_millimetres(j.home().insertion), 2, kExact);
  EXPECT_EQ(j.home().regime, Regime::floor);
  EXPECT_NEAR(in_millimetres(j.home().clearance), 0.1, kRounded);
}

TEST(Home, RoundTip) {
  // In a matched cone the flank carries: the flank's line through the rounding's end.
  const double r = 0.4;
  const double home = r * (1 - sin_deg(30)) + (1 - r * cos_deg(30)) / tan_deg(30);
  const Joint matched = joint_of(round_point(30, r, 3), cone_hole(30, 1, 3));
  EXPECT_EQ(matched.home().regime, Regime::flank);
  EXPECT_NEAR(in_millimetres(matched.home().insertion), home, 1e-12);
  EXPECT_NEAR(in_millimetres(matched.home().touching), home - r * (1 - sin_deg(30)), 1e-9);
  // In a wider cone the rounding does, as a ball would.
  const Joint wider = joint_of(round_point(30, r, 3), cone_hole(40, 1, 3));
  EXPECT_EQ(wider.home().regime, Regime::round);
  EXPECT_NEAR(in_millimetres(wider.home().insertion), 1 / tan_deg(40) - r / sin_deg(40) + r,
              kRounded / sin_deg(40));
  // In a narrower one the rim.
  const Joint narrower = joint_of(round_point(30, r, 3), cone_hole(20, 1, 3));
  EXPECT_EQ(narrower.home().regime, Regime::rim);
  EXPECT_NEAR(in_millimetres(narrower.home().insertion), home, 1e-12);
}

TEST(Home, InnerEdgeOfABellMouth) {
  const double inner = 1.2 - 0.3 * tan_deg(50);
  const Joint j = joint_of(cone_point(30, 0.5, 3), bell_hole(10, 1.2, 2, 50, 0.3));
  const double home = 0.3 + (inner - 0.5) / tan_deg(30);
  expect_home(j, {home, Regime::inner_edge, 0.3, inner});
  EXPECT_NEAR(c(j, home - 0.2), 0.2 * tan_deg(30), kExact);
}

TEST(Home, EdgeBehindAWornTip) {
  const double edge = 0.5 + 0.4 * tan_deg(20);
  const Joint j = joint_of(worn_point(20, 0.5, 3, 0.4, 0.2), cone_hole(25, 1, 3));
  const double home = 0.4 + (1 - edge) / tan_deg(25);
  expect_home(j, {home, Regime::point_edge, home - 0.4, edge});
  EXPECT_NEAR(c(j, home - 0.1), 0.1 * tan_deg(25), kExact);
}

TEST(Home, EdgeOfTheShank) {
  PointForm f = cone_point(30, 0.1, 4);
  f.shank_radius = millimetres(0.8);
  const double edge = 0.7 / tan_deg(30);
  const Joint j = joint_of(f, cone_hole(5, 0.9, 4));
  const double home = edge + 0.1 / tan_deg(5);
  expect_home(j, {home, Regime::point_edge, 0.1 / tan_deg(5), 0.8}, 1e-12);
}

TEST(Home, AWaistLetsNothingPast) {
  // The hole narrows to 0.5 at 1 mm and opens again: what is wider inside is never reached.
  const Joint j = joint_of(pin(0.6, 3, 0.6, 3), hole_pairs({{0, 1}, {1, 0.5}, {2, 1}}, 0));
  expect_home(j, {0.8, Regime::tip_edge, 0.8, 0.6});
}

TEST(Home, PointTooWideToEnter) {
  const Joint j = joint_of(cone_point(30, 1.5, 2), cone_hole(30, 1, 2));
  EXPECT_EQ(j.home().insertion, Length{});
  EXPECT_EQ(j.home().clearance, Length{});
  EXPECT_EQ(j.home().regime, Regime::shoulder);  // its flat tip stands on the end face
  // As wide as the mouth: stopped at once as well.
  EXPECT_EQ(joint_of(cone_point(30, 1, 2), cone_hole(30, 1, 2)).home().insertion, Length{});
}

TEST(Home, RodHasNoEnd) {
  const Joint j = Joint::rod(millimetres(0.02));
  EXPECT_TRUE(j.is_rod());
  EXPECT_EQ(in_millimetres(j.home().insertion), kInfinity);
  EXPECT_EQ(in_millimetres(j.home().until_next), kInfinity);
  EXPECT_EQ(j.home().regime, Regime::none);
  EXPECT_FALSE(centres(j.home().regime));
  EXPECT_EQ(j.home().clearance, millimetres(0.02));
  for (const double t : {-1.0, 0.0, 100.0}) EXPECT_EQ(c(j, t), 0.02);
  const auto curve = j.curve(millimetres(-1), millimetres(4));
  ASSERT_EQ(curve.size(), 2U);
  EXPECT_EQ(curve.front().insertion, millimetres(-1));
  EXPECT_EQ(curve.back().insertion, millimetres(4));
  EXPECT_EQ(curve.back().clearance, millimetres(0.02));
  EXPECT_FALSE(j.point());
  EXPECT_FALSE(j.hole());
}

TEST(Regimes, HaveTheirWordsAndCentreOrNot) {
  const std::pair<Regime, std::pair<const char*, bool>> all[] = {
      {Regime::flank, {"flank", true}},           {Regime::rim, {"rim", true}},
      {Regime::tip_edge, {"tip edge", true}},     {Regime::inner_edge, {"inner edge", true}},
      {Regime::point_edge, {"point edge", true}}, {Regime::round, {"round", true}},
      {Regime::floor, {"floor", false}},          {Regime::shoulder, {"shoulder", false}},
      {Regime::none, {"nothing", false}}};
  for (const auto& [regime, expected] : all) {
    EXPECT_STREQ(word(regime), expected.first);
    EXPECT_EQ(centres(regime), expected.second) << expected.first;
  }
}

// Every switch from one regime to another, from both sides: the regime changes, home does not jump.
struct Switch {
  const char* name;
  std::function<Joint(double)> joint;  // of a measure that passes through the switch at 0
  Regime below;
  Regime at;
  Regime above;
};

TEST(Regimes, NeighboursOfEverySwitch) {
  const double flank = 0.5 / tan_deg(30);
  const std::vector<Switch> switches = {
      {"flank between tip edge and rim",
       [](double x) { return joint_of(cone_point(30 + x, 0.5, 3), cone_hole(30, 1, 3)); }, Regime::tip_edge,
       Regime::flank, Regime::rim},
      {"floor or flank",
       [&](double x) { return joint_of(cone_point(30, 0.5, 3), cone_hole(30, 1, flank + x)); }, Regime::floor,
       Regime::floor, Regime::flank},
      {"floor or rim",
       [&](double x) { return joint_of(cone_point(30, 0.5, 3), straight_hole(1, flank + x)); }, Regime::floor,
       Regime::floor, Regime::rim},
      {"floor or tip edge",
       [&](double x) { return joint_of(cone_point(15, 0.5, 3), cone_hole(30, 1, flank + x)); }, Regime::floor,
       Regime::floor, Regime::tip_edge},
      {"shoulder or floor",
       [](double x) { return joint_of(pin(0.4, 1.5 + x, 0.9, 3), straight_hole(0.5, 1.5)); },
       Regime::shoulder, Regime::floor, Regime::floor},
      {"passes through the mouth or stands before it on its shoulder",
       [](double x) { return joint_of(pin(0.4, 1, 0.5 + x, 3), straight_hole(0.5, 1.5)); }, Regime::floor,
       Regime::floor, Regime::shoulder},
      {"rim or inner edge of a bell whose edges both lie on the point's flank",
       [](double x) { return joint_of(cone_point(30, 0.5, 3), bell_hole(10, 1, 2, 30 + x, 0.3)); },
       Regime::rim, Regime::flank, Regime::inner_edge},
      {"tip edge or edge behind the wear",
       [](double x) {
         const double depth = 0.4 * (tan_deg(25) - tan_deg(20));  // wears the tip down to the hole's taper
         return joint_of(worn_point(20, 0.5, 3, 0.4, depth + x), cone_hole(25, 1, 3));
       },
       Regime::tip_edge, Regime::flank, Regime::point_edge},
      {"ball on the floor or in the cone",
       [](double x) {
         // Depth at which the floor meets the ball just as the flanks do; the polyline's own home is used, so
         // that the switch is exact.
         const double ball =
             in_millimetres(joint_of(ball_point(0.5, 0.3, 3), cone_hole(30, 1, 1.7)).home().insertion);
         return joint_of(ball_point(0.5, 0.3, 3), cone_hole(30, 1, ball + x));
       },
       Regime::floor, Regime::floor, Regime::round},
      {"rounding or flank or rim",
       [](double x) { return joint_of(round_point(30 + x, 0.4, 3), cone_hole(30, 1, 3)); }, Regime::round,
       Regime::flank, Regime::rim},
      {"rim or shank",
       [](double x) {
         PointForm f = cone_point(30, 0.1, 4);
         f.shank_radius = millimetres(0.8 + x);
         return joint_of(f, straight_hole(0.8, 3.5));
       },
       Regime::floor, Regime::floor, Regime::rim},
  };
  for (const Switch& s : switches) {
    SCOPED_TRACE(s.name);
    constexpr double kBeside = 1e-6;
    EXPECT_STREQ(word(s.joint(-kBeside).home().regime), word(s.below));
    EXPECT_STREQ(word(s.joint(0).home().regime), word(s.at));
    EXPECT_STREQ(word(s.joint(kBeside).home().regime), word(s.above));
  }
}

TEST(Regimes, HomeDoesNotJumpWhereAnglesCross) {
  for (const double x : {-1e-6, -1e-9, 0.0, 1e-9, 1e-6}) {
    const Joint j = joint_of(cone_point(30 + x, 0.5, 3), cone_hole(30, 1, 3));
    EXPECT_NEAR(in_millimetres(j.home().insertion), 0.5 / tan_deg(30), 1e-7);
  }
}

TEST(Regimes, ContactsWithinOneNanometreAreOne) {
  const double flank = 0.5 / tan_deg(30);
  const auto at = [&](double x) {
    return joint_of(cone_point(15, 0.5, 3), cone_hole(30, 1, flank + x)).home().regime;
  };
  EXPECT_EQ(kSameContact, millimetres(1e-9));
  EXPECT_EQ(at(0.5e-9), Regime::floor);
  EXPECT_EQ(at(2e-9), Regime::tip_edge);
}

// The measurement of a taper with two balls: sin(a/2) = (R - r) / c. Balls of 40 and 32 mm diameter, centre
// distance 80 mm (the larger stands out by 8, depth to the top of the smaller 76): included angle 5.73197
// degrees. Inputs from a metrology examination paper, the angle computed from them.
TEST(Outside, TwoBallsMeasureATaper) {
  const double included = 5.73197;
  const HoleForm hole = cone_hole(included / 2, 20.2, 150);
  const auto centre = [&](double radius) {
    const Joint j = joint_of(ball_point(radius, radius / 2, 2 * radius), hole);
    EXPECT_EQ(j.home().regime, Regime::round);
    return in_millimetres(j.home().insertion) - radius;
  };
  const double distance = centre(16) - centre(20);
  // Each ball's place is off by at most the rounded parts' error over the sine of the half angle.
  const double place = 2 * kRounded / sin_deg(included / 2);
  EXPECT_NEAR(distance, 80, place + 80 * 1e-6);
  const double back = 2 * std::asin((20 - 16) / distance) * 180 / std::numbers::pi;
  EXPECT_NEAR(back, included, included * place / 80 + 5e-6);
}

// ISO 1119:1998 values as printed in the national adoption GOST R 53440 table 1; relation ISO 3040.
TEST(Outside, ConeTable) {
  const std::pair<const char*, double> rows[] = {
      {"1:3", 18.92464442}, {"1:4", 14.25003270}, {"1:5", 11.42118627}, {"1:6", 9.52728338},
      {"1:8", 7.15266875},  {"1:10", 5.72481045}, {"1:12", 4.77188806}, {"1:15", 3.81830487},
      {"1:20", 2.86419237}, {"1:30", 1.90968251}, {"1:50", 1.14587740}};
  for (const auto& [taper, included] : rows) {
    const auto read = parse_half_angle(taper);
    ASSERT_TRUE(read) << taper;
    EXPECT_NEAR(2 * in_degrees(read->value), included, 1e-8) << taper;
  }
  // 1:40, ISO 3040 / ISO 5356 worked note: half angle 0.716 degrees.
  EXPECT_NEAR(in_degrees(parse_half_angle("1:40")->value), 0.716160, 5e-7);
}

// The same table the other way: a plug of that taper moved by x gains x * taper in diameter. Axial to
// diametral 2 tan(a/2), computed from trigonometry: 1:10 0.1; included 30, 60, 90 degrees 0.5358984,
// 1.1547005, 2.
TEST(Outside, AxialToDiametral) {
  const std::pair<const char*, double> rows[] = {
      {"1:10", 0.1}, {"15", 0.5358984}, {"30", 1.1547005}, {"45", 2.0}};
  for (const auto& [text, ratio] : rows) {
    const double half = in_degrees(parse_half_angle(text)->value);
    const Joint j = joint_of(cone_point(half, 0.5, 20), cone_hole(half, 1, 19));
    const double home = in_millimetres(j.home().insertion);
    EXPECT_NEAR(2 * (c(j, home - 0.4) - c(j, home - 0.1)) / 0.3, ratio, 5e-8) << text;
  }
}

TEST(Curve, KnotsOfAJointWithAStep) {
  // A pin with a collar: 0.2 of clearance, 0.05 from the collar's entry on.
  const Joint j =
      joint_of(point_pairs({{0, 0.3}, {0.5, 0.3}, {0.5, 0.45}, {3, 0.45}}), straight_hole(0.5, 2));
  const auto k = j.curve(millimetres(0), millimetres(2));
  ASSERT_EQ(k.size(), 4U);
  EXPECT_EQ(k[1].insertion, k[2].insertion);
  EXPECT_NEAR(in_millimetres(k[1].insertion), 0.5, kExact);
  EXPECT_NEAR(in_millimetres(k[0].clearance), 0.2, kExact);
  EXPECT_NEAR(in_millimetres(k[1].clearance), 0.2, kExact);
  EXPECT_NEAR(in_millimetres(k[2].clearance), 0.05, kExact);
  EXPECT_NEAR(in_millimetres(k[3].clearance), 0.05, kExact);
}

TEST(Curve, OutsideTheHoleTheClearanceIsThatAtTheMouth) {
  const Joint j = joint_of(cone_point(30, 0.5, 2), cone_hole(30, 1, 2));
  const auto k = j.curve(millimetres(-1), millimetres(0.2));
  ASSERT_EQ(k.size(), 3U);
  EXPECT_EQ(k[0].insertion, millimetres(-1));
  EXPECT_NEAR(in_millimetres(k[0].clearance), 0.5, kExact);
  EXPECT_NEAR(in_millimetres(k[1].clearance), 0.5, kExact);
  EXPECT_NEAR(in_millimetres(k[2].clearance), 0.5 - 0.2 * tan_deg(30), kExact);
  EXPECT_EQ(c(j, -3), c(j, 0));
  EXPECT_EQ(j.curve(millimetres(-2), millimetres(-1)).size(), 2U);
  EXPECT_EQ(j.curve(millimetres(0.3), millimetres(0.3)).size(), 1U);
}

TEST(Degenerate, NothingBreaks) {
  const std::vector<PointForm> points = {
      cone_point(45, 0, 1e-9),
      cone_point(89.999, 0, 1),
      cone_point(1e-6, 0, 1),
      cone_point(30, 1e6, 1e6),
      round_point(89.9, 1e-12, 1),
      ball_point(1e-9, 0, 1),
      ball_point(1e-5, 0, 1),
      pin(1e-300, 1, 1, 2),
      point_pairs({{0, 0}, {1, 0}}),
      point_pairs({{0, 0}, {0, 1}, {0, 0}, {1, 0}, {1, 1}, {1, 0}}),
      point_pairs({{0, 0.5}, {0, 0.5}, {1, 0.5}, {1, 0.5}}),
  };
  const std::vector<HoleForm> holes = {
      cone_hole(45, 1e-9, 1),
      cone_hole(89.999, 1, 1),
      cone_hole(1e-6, 1, 1e6),
      straight_hole(0.5, 1e-12),
      drilled_hole(1, 1, 1e-3),
      bell_hole(1, 1, 1, 2, 1e-12),
      hole_pairs({{0, 0}, {1, 0}}, 0),
      hole_pairs({{0, 1}, {0, 0}, {0, 1}, {1, 0}, {1, 1}}, 5),
      hole_pairs({{0, 0.5}, {0, 0.5}, {1, 0.5}, {1, 0.5}}, 2),
  };
  for (const auto& point : points) {
    for (const auto& hole : holes) {
      const auto p = make_point(point);
      const auto h = make_hole(hole);
      ASSERT_TRUE(p) << p.error().what;
      ASSERT_TRUE(h) << h.error().what;
      const Joint j(*p, *h);
      const double home = in_millimetres(j.home().insertion);
      EXPECT_TRUE(home >= 0 && home <= in_millimetres(h->length()) * (1 + 1e-12)) << home;
      EXPECT_GE(j.home().clearance, Length{});
      EXPECT_TRUE(is_finite(j.home().clearance));
      for (const auto& knot : j.curve(millimetres(-1), j.home().insertion)) {
        EXPECT_FALSE(std::isnan(in_millimetres(knot.clearance)));
      }
    }
  }
}

TEST(Degenerate, MostVertices) {
  std::vector<std::pair<double, double>> pairs;
  for (std::size_t k = 0; k < kMostVertices; ++k) {
    const double s = static_cast<double>(k) / 1024;
    pairs.emplace_back(s, 0.1 + s / 8);
  }
  const Joint j = joint_of(point_pairs(pairs), straight_hole(0.5, 4));
  expect_home(j, {(0.5 - 0.1) * 8, Regime::rim, 0, 0.5}, 1e-12);
}

}  // namespace
}  // namespace hingeline::contact

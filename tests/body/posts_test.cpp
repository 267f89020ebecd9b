// Posts that lean, turn or stand aside, and what a tilt costs.

#include "hingeline/body/posts.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "hingeline/numeric/random.h"

namespace hingeline::body {
namespace {

using numeric::Stream;

ConeJoint cone(double engaged, double half_angle, double tip_radius) {
  return {millimetres(engaged), degrees(half_angle), millimetres(tip_radius)};
}

/// Deepest place of a tilted frustum in a conical hole, by bisection over depth and golden section over the
/// shift in the plane of the tilt; a place is allowed when the tip's circle is inside the hole's cone and the
/// mouth's circle outside the point's cone, each looked at all round. What is left over is the clearance.
double deepest(const ConeJoint& j, double gamma) {
  const double t = std::tan(j.half_angle.raw());
  const double r = j.tip_radius.raw();
  const double mouth = r + j.engaged.raw() * t;
  const double c = std::cos(gamma);
  const double s = std::sin(gamma);
  constexpr int kRound = 720;
  const auto room = [&](double depth, double shift) {
    double least = 1e9;
    for (int k = 0; k < kRound; ++k) {
      const double phi = 2 * std::numbers::pi * k / kRound;
      // Tip's circle: centre (depth, shift), across the tilted axis.
      const double y = depth + r * std::cos(phi) * s;
      const double x = shift + r * std::cos(phi) * c;
      const double z = r * std::sin(phi);
      least = std::min(least, mouth - y * t - std::hypot(x, z));
      // Mouth's circle in the point's own frame: axis (-c, s) in (depth, shift).
      const double mx = mouth * std::cos(phi) - shift;
      const double mz = mouth * std::sin(phi);
      const double along = depth * c + mx * s;
      const double off = std::hypot(-depth * s + mx * c, mz);
      least = std::min(least, off - (r + along * t));
    }
    return least;
  };
  const auto best_room = [&](double depth) {
    double low = -mouth;
    double high = mouth;
    const double golden = (std::sqrt(5.0) - 1) / 2;
    for (int k = 0; k < 60; ++k) {
      const double m = high - golden * (high - low);
      const double n = low + golden * (high - low);
      if (room(depth, m) > room(depth, n)) {
        high = n;
      } else {
        low = m;
      }
    }
    return room(depth, (low + high) / 2);
  };
  double in = 0;
  double out = j.engaged.raw() * 1.2;
  for (int k = 0; k < 45; ++k) {
    const double mid = (in + out) / 2;
    (best_room(mid) >= 0 ? in : out) = mid;
  }
  return in;
}

TEST(TiltCost, IsWhatATiltedConeLosesByBruteForce) {
  for (const auto& [joint, tilt] : {std::pair(cone(1.2, 15, 0.3), 0.5), std::pair(cone(1.2, 15, 0.3), 4.0),
                                    std::pair(cone(2.0, 30, 0.5), 1.0), std::pair(cone(0.8, 12, 0.0), 2.0),
                                    std::pair(cone(1.0, 45, 0.2), 3.0)}) {
    const double gamma = in_radians(degrees(tilt));
    EXPECT_NEAR(tilt_cost(joint, radians(gamma)).raw(), joint.engaged.raw() - deepest(joint, gamma), 2e-5)
        << in_degrees(joint.half_angle) << " " << tilt;
  }
}

TEST(TiltCost, ForSmallAnglesIsEngagementOverSineOfTheWholeCone) {
  // gamma h / sin 2a; the book's gamma h / (2 tan a) is smaller by cos^2 a.
  for (const double a : {8.0, 15.0, 30.0, 45.0}) {
    const double g = 1e-6;
    const double cost = tilt_cost(cone(1.3, a, 0.3), radians(g)).raw();
    EXPECT_NEAR(cost / (g * 1.3 / std::sin(2 * in_radians(degrees(a)))), 1, 1e-5) << a;
    const double book = g * 1.3 / (2 * std::tan(in_radians(degrees(a))));
    EXPECT_NEAR(book / cost, std::pow(std::cos(in_radians(degrees(a))), 2), 1e-5) << a;
  }
}

TEST(TiltCost, HasNoSignAndEnds) {
  const ConeJoint j = cone(1.2, 15, 0.3);
  EXPECT_EQ(tilt_cost(j, {}).raw(), 0);
  EXPECT_EQ(tilt_cost(j, degrees(3)).raw(), tilt_cost(j, degrees(-3)).raw());
  EXPECT_EQ(tilt_cost(j, degrees(80)).raw(), 1.2);
  EXPECT_EQ(tilt_cost(cone(0, 15, 0.3), degrees(3)).raw(), 0);
}

RC_GTEST_PROP(TiltCost, GrowsWithTheTilt, ()) {
  const ConeJoint j =
      cone(*rc::gen::inRange(2, 30) / 10.0, *rc::gen::inRange(8, 45), *rc::gen::inRange(0, 6) / 10.0);
  const double a = *rc::gen::inRange(1, 300) / 100.0;
  RC_ASSERT(tilt_cost(j, degrees(a)) <= tilt_cost(j, degrees(a * 1.1)));
  RC_ASSERT(tilt_cost(j, degrees(a)).raw() >= 0);
}

Posture upright(double height) { return {{}, {}, {}, millimetres(height)}; }
Measured<Angle> at_angle(double deg, double plus_minus = 0) {
  return {degrees(deg), degrees(plus_minus), Origin::read};
}

TEST(Posts, LeaningOutSpreadThePoints) {
  Posture u = upright(9);
  Posture l = upright(9);
  u.lean = at_angle(1);
  const double out = 9 * std::sin(in_radians(degrees(1)));
  EXPECT_NEAR(tip_travel(degrees(1), millimetres(9)).raw(), out, 1e-15);
  PostEffect e = post_effect(u, l, millimetres(80));
  // The tip sinks too, by 9 (1 - cos 1 deg), which lengthens the line by under 1e-7.
  EXPECT_NEAR(e.span_change.value.raw(), out, 2e-8);
  EXPECT_NEAR(in_degrees(e.upper.value), 1, 1.1e-3);
  l.lean = at_angle(1);
  e = post_effect(u, l, millimetres(80));
  EXPECT_NEAR(e.span_change.value.raw(), 2 * out, 1e-14);
  EXPECT_NEAR(in_degrees(e.lower.value), 1, 1e-12);
  u.lean = l.lean = at_angle(-1);
  EXPECT_NEAR(post_effect(u, l, millimetres(80)).span_change.value.raw(), -2 * out, 1e-14);
}

TEST(Posts, TurnedOrAsidePutThePointsOutOfLine) {
  Posture u = upright(9);
  const Posture l = upright(9);
  u.turn = at_angle(2);
  PostEffect e = post_effect(u, l, millimetres(80));
  EXPECT_NEAR(in_degrees(e.upper.value), 2, 1e-12);
  EXPECT_NEAR(e.lower.value.raw(), 0, 1e-12);
  EXPECT_NEAR(e.span_change.value.raw(), 0, 1e-12);
  u.turn = {};
  u.across = {millimetres(0.5), millimetres(0.1), Origin::read};
  e = post_effect(u, l, millimetres(80));
  EXPECT_NEAR(e.upper.value.raw(), std::atan(0.5 / 80), 1e-14);
  EXPECT_NEAR(e.lower.value.raw(), std::atan(0.5 / 80), 1e-14);
  EXPECT_NEAR(e.span_change.value.raw(), std::hypot(80, 0.5) - 80, 1e-13);
  EXPECT_NEAR(e.upper.standard().raw(), 0.05 / 80, 1e-7);
  // Both aside by the same: the line only moves over.
  Posture lower = l;
  lower.across = u.across;
  EXPECT_NEAR(post_effect(u, lower, millimetres(80)).upper.value.raw(), 0, 1e-15);
}

RC_GTEST_PROP(Posts, AreMirroredBySwappingThem, ()) {
  const auto posture = [] {
    Posture p = upright(*rc::gen::inRange(0, 20));
    p.lean = at_angle(*rc::gen::inRange(-50, 50) / 10.0, *rc::gen::inRange(0, 10) / 10.0);
    p.turn = at_angle(*rc::gen::inRange(-50, 50) / 10.0);
    p.across = {millimetres(*rc::gen::inRange(-10, 10) / 10.0), {}, Origin::read};
    return p;
  };
  const Posture a = posture();
  const Posture b = posture();
  const Length span = millimetres(*rc::gen::inRange(15, 150));
  const PostEffect one = post_effect(a, b, span);
  const PostEffect two = post_effect(b, a, span);
  RC_ASSERT(std::abs(one.span_change.value.raw() - two.span_change.value.raw()) < 1e-12);
  RC_ASSERT(std::abs(one.upper.value.raw() - two.lower.value.raw()) < 1e-12);
  RC_ASSERT(std::abs(one.span_change.plus_minus.raw() - two.span_change.plus_minus.raw()) < 1e-12);
}

TEST(Rod, IsPressedStraightByTheBeamsForce) {
  // PL^3/48EI: 1 N on 100 mm, d 3 mm, E 207 GPa moves it by 25.312 um; the formula's own example. Both posts
  // leaning by t bow the rod by L t / 4 in the middle (a cubic with end slopes t and -t).
  const double lean = 4 * (0.03 + 0.025312) / 100;
  Posture u = upright(0);
  Posture l = upright(0);
  u.lean = {radians(std::atan(lean)), {}, Origin::read};
  l.lean = u.lean;
  const RodBinding r =
      rod_binding({millimetres(3), millimetres(3.03), millimetres(100)}, u, l, gigapascals(207), 0.15);
  EXPECT_NEAR(r.bow.raw(), 0.055312, 1e-9);
  EXPECT_TRUE(r.binds);
  EXPECT_NEAR(r.force.raw(), 1, 1e-4);
  EXPECT_NEAR(r.torque.raw(), 0.15 * r.force.raw() * 1.5, 1e-12);
  EXPECT_FALSE(
      rod_binding({millimetres(3), millimetres(3.06), millimetres(100)}, u, l, gigapascals(207), 0.15).binds);
}

TEST(Rod, TakesTheShapeOfABeamWithoutLoad) {
  // One post alone: the cubic x (1 - x)^2 is highest at x = 1/3, 4/27.
  Posture u = upright(0);
  u.turn = {radians(std::atan(0.01)), {}, Origin::read};
  const RodBinding r = rod_binding({millimetres(2), millimetres(2.02), millimetres(60)}, u, upright(0),
                                   gigapascals(207), 0.15);
  EXPECT_NEAR(r.bow.raw(), 60 * 0.01 * 4 / 27, 1e-9);
  // Both the same way: an S.
  Posture l = upright(0);
  l.turn = {radians(-std::atan(0.01)), {}, Origin::read};
  const RodBinding s =
      rod_binding({millimetres(2), millimetres(2.02), millimetres(60)}, u, l, gigapascals(207), 0.15);
  EXPECT_NEAR(s.bow.raw(), 60 * 0.01 / (6 * std::sqrt(3.0)), 1e-9);
}

}  // namespace
}  // namespace hingeline::body

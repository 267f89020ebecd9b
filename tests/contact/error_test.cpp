// The published errors are true: never exceeded, and the worst found is at least half of each.

#include <gtest/gtest.h>

#include "exact_forms.h"
#include "make.h"
#include "random_joints.h"

namespace hingeline::contact {
namespace {

using reference::Engine;
using reference::JointForms;
using reference::Real;
using reference::uniform;

struct Worst {
  double home = 0;
  double clearance = 0;
};

/// One joint against its measures worked out a second time in long double.
void compare(const JointForms& forms, Engine& engine, Worst& worst) {
  const auto point = make_point(forms.point);
  const auto hole = make_hole(forms.hole);
  if (!point || !hole) return;
  const auto exact_p = reference::exact_point(forms.point);
  const auto exact_h = reference::exact_hole(forms.hole);
  const Joint joint(*point, *hole);
  const double home = in_millimetres(joint.home().insertion);
  const auto off = [](double ours, Real exact) { return static_cast<double>(std::abs(ours - exact)); };
  worst.home = std::max(worst.home, off(home, reference::exact_home(exact_p, exact_h)));
  if (home <= 0) return;
  const auto curve = joint.curve(Length{}, joint.home().insertion);
  for (int n = 0; n < 3; ++n) {
    const double t = uniform(engine, 0, home);
    const Real exact = reference::exact_clearance(exact_p, exact_h, static_cast<Real>(t));
    worst.clearance = std::max(worst.clearance, off(in_millimetres(joint.clearance(millimetres(t))), exact));
    const auto to =
        std::upper_bound(curve.begin() + 1, curve.end() - 1, t,
                         [](double x, const ClearanceKnot& k) { return x < in_millimetres(k.insertion); });
    const auto from = to - 1;
    const double share = (millimetres(t) - from->insertion) / (to->insertion - from->insertion);
    const Length between = from->clearance + (to->clearance - from->clearance) * share;
    worst.clearance = std::max(worst.clearance, off(in_millimetres(between), exact));
  }
}

/// Hard for the clearance: steep flanks far from the tip, next to a long insertion.
JointForms draw_steep(Engine& engine) {
  const auto between = [&](double low, double high) { return uniform(engine, low, high); };
  JointForms f;
  const double thin = between(5, 20);
  const double from = between(40, 60);
  const double to = from + between(8, 12);
  const double thick = thin + (to - from) * between(4, 5.5);
  f.point = point_pairs({{0, thin}, {from, thin}, {to, thick}, {to + 5, thick}});
  f.hole = bell_hole(between(1, 5), between(90, 100), 100, between(70, 80), between(2, 5));
  return f;
}

TEST(PublishedError, HomeAndClearanceOfStraightParts) {
  Worst worst;
  Engine engine(20);
  for (int n = 0; n < 200'000; ++n) {
    compare(reference::draw_forms(engine, reference::Roundness::straight_only), engine, worst);
  }
  // Joints of a key's size come out far closer.
  EXPECT_LE(worst.home, 1e-14);
  EXPECT_LE(worst.clearance, 1e-14);
  RecordProperty("home_of_key_sizes", ::testing::PrintToString(worst.home));
  RecordProperty("clearance_of_key_sizes", ::testing::PrintToString(worst.clearance));
  for (int n = 0; n < 50'000; ++n) {
    compare(reference::draw_slender_forms(engine), engine, worst);
    compare(draw_steep(engine), engine, worst);
  }
  RecordProperty("home", ::testing::PrintToString(worst.home));
  RecordProperty("clearance", ::testing::PrintToString(worst.clearance));
  EXPECT_LE(worst.home, in_millimetres(kHomeWorstError));
  EXPECT_GE(worst.home, in_millimetres(kHomeWorstError) / 2);
  EXPECT_LE(worst.clearance, in_millimetres(kClearanceWorstError));
  EXPECT_GE(worst.clearance, in_millimetres(kClearanceWorstError) / 2);
}

/// Largest distance, square to the arc about (centre, 0), of the rounded part of a profile.
double worst_off_arc(const Profile& profile, double centre, double radius) {
  double worst = 0;
  const auto v = profile.vertices();
  for (std::size_t k = 0; k + 1 < v.size(); ++k) {
    if (!profile.rounded(k) || !profile.rounded(k + 1)) continue;
    constexpr int kParts = 32;
    for (int n = 0; n <= kParts; ++n) {
      const double share = static_cast<double>(n) / kParts;
      const double s = in_millimetres(v[k].along + (v[k + 1].along - v[k].along) * share);
      const double r = in_millimetres(v[k].radius + (v[k + 1].radius - v[k].radius) * share);
      worst = std::max(worst, std::abs(std::hypot(s - centre, r) - radius));
    }
  }
  return worst;
}

TEST(PublishedError, RoundedParts) {
  Engine engine(21);
  double worst = 0;
  for (int n = 0; n < 5'000; ++n) {
    const double ball = std::exp(uniform(engine, std::log(0.05), std::log(50)));
    const auto p = make_point(ball_point(ball, ball * uniform(engine, 0, 0.95), 2.1 * ball));
    ASSERT_TRUE(p);
    worst = std::max(worst, worst_off_arc(*p, ball, ball));
    const double rounding = std::exp(uniform(engine, std::log(0.02), std::log(5)));
    const auto tip = make_point(round_point(uniform(engine, 1, 80), rounding, 2 * rounding));
    ASSERT_TRUE(tip);
    worst = std::max(worst, worst_off_arc(*tip, rounding, rounding));
  }
  RecordProperty("off_arc", ::testing::PrintToString(worst));
  constexpr double kMeasuring = 1e-14;  // rounding of the distance from the centre
  EXPECT_LE(worst, in_millimetres(kRoundedWorstError) + kMeasuring);
  EXPECT_GE(worst, in_millimetres(kRoundedWorstError) / 2);
}

// What that does to home and clearance: a ball in a cone, and a rounded tip in a wider cone, in closed form.
TEST(PublishedError, OfRoundedPartsIsThatOverSineAndCosine) {
  Engine engine(22);
  const double rounded = in_millimetres(kRoundedWorstError);
  double largest_share = 0;
  double largest_share_c = 0;
  for (int n = 0; n < 5'000; ++n) {
    const bool ball = reference::pick(engine, 2) == 0;
    const double radius = uniform(engine, 0.1, 1.5);
    const double b = uniform(engine, 5, 70);
    const double slope = std::tan(b * std::numbers::pi / 180);
    const double sine = std::sin(b * std::numbers::pi / 180);
    const double cosine = std::cos(b * std::numbers::pi / 180);
    const double mouth = radius + uniform(engine, 0.1, 1);
    const auto point = ball ? ball_point(radius, 0, 2 * radius)
                            : round_point(b * uniform(engine, 0.2, 0.9), radius, 40 * radius);
    const Joint joint = joint_of(point, cone_hole(b, mouth, 1000));
    if (joint.home().regime != Regime::round) continue;  // a rim further back may come first
    const double exact = mouth / slope - radius / sine + radius;
    const double off = std::abs(in_millimetres(joint.home().insertion) - exact) * sine / rounded;
    largest_share = std::max(largest_share, off);
    const Length t = joint.home().insertion - millimetres(uniform(engine, 1e-4, 0.05));
    const double clearance = (exact - in_millimetres(t)) * slope;
    const double off_c = std::abs(in_millimetres(joint.clearance(t)) - clearance) * cosine / rounded;
    largest_share_c = std::max(largest_share_c, off_c);
  }
  RecordProperty("share", ::testing::PrintToString(largest_share));
  RecordProperty("share_of_clearance", ::testing::PrintToString(largest_share_c));
  EXPECT_LE(largest_share, 1);
  EXPECT_GE(largest_share, 0.5);
  EXPECT_LE(largest_share_c, 1);
  EXPECT_GE(largest_share_c, 0.5);
}

}  // namespace
}  // namespace hingeline::contact

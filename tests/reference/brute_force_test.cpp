// Every figure of a loose key against drawn poses: none may beat the closed form, and among so many one comes
// within a hundredth of it. The poses know outlines and circles only.

#include <gtest/gtest.h>

#include <numbers>

#include "hingeline/mechanism/hinge.h"
#include "random_hinges.h"

namespace hingeline::mechanism {
namespace {

using reference::Engine;
using reference::Real;
using reference::Roundness;
using reference::uniform;

/// The figures of one pad and station, as far as poses have reached them.
struct Reached {
  double rock = 0;
  double side_gap = 0;
  double front_gap = 0;
  double worst_gap = 0;
  static constexpr std::size_t kDirections = 32;  // over a half turn; cos(pi / 64) = 0.9988
  static const std::array<std::pair<double, double>, kDirections>& directions() {
    static const auto all = [] {
      std::array<std::pair<double, double>, kDirections> d;
      for (std::size_t n = 0; n < kDirections; ++n) {
        const double angle = static_cast<double>(n) * std::numbers::pi / kDirections;
        d[n] = {std::cos(angle), std::sin(angle)};
      }
      return d;
    }();
    return all;
  }
  std::array<double, kDirections> farthest;
  std::array<double, kDirections> nearest;
  Reached() {
    farthest.fill(-1e9);
    nearest.fill(1e9);
  }
  [[nodiscard]] double seat_wander() const {
    double most = 0;
    for (std::size_t n = 0; n < kDirections; ++n) most = std::max(most, farthest[n] - nearest[n]);
    return most;
  }

  void look(const reference::Pose& pose, const Pad& pad, double key) {
    const double s = in_millimetres(pad.station) / key;
    const double arm = in_millimetres(pad.arm);
    const double hole = in_millimetres(pad.tone_hole);
    const double phi = in_radians(pad.clock);
    const double lateral[2] = {(1 - s) * pose.upper[0] + s * pose.lower[0],
                               (1 - s) * pose.upper[1] + s * pose.lower[1]};
    rock = std::max(rock, 2 * std::hypot(lateral[0], lateral[1]));
    const double slope[2] = {(pose.lower[0] - pose.upper[0]) / key, (pose.lower[1] - pose.upper[1]) / key};
    const auto outward = [&](const double* v) { return v[0] * std::cos(phi) + v[1] * std::sin(phi); };
    const auto sideways = [&](const double* v) { return -v[0] * std::sin(phi) + v[1] * std::cos(phi); };
    const double side = -sideways(slope) * hole;
    const double front = sideways(lateral) / arm * hole;
    side_gap = std::max(side_gap, side);
    front_gap = std::max(front_gap, front);
    const double axial = pose.place - arm * outward(slope);
    const double out = outward(lateral);
    for (std::size_t n = 0; n < kDirections; ++n) {
      const auto [cosine, sine] = directions()[n];
      // Round half of the rim, each point with the one opposite it.
      worst_gap = std::max(worst_gap, std::abs(side * cosine + front * sine));
      const double along = axial * cosine + out * sine;
      farthest[n] = std::max(farthest[n], along);
      nearest[n] = std::min(nearest[n], along);
    }
  }
};

void compare(Engine& engine, Roundness roundness, int places, int poses) {
  const Hinge hinge = reference::draw_hinge(engine, roundness);
  const reference::PlainHinge plain = reference::plain(hinge);
  const Pad pad{millimetres(uniform(engine, 5, 45)), hinge.key_length() * uniform(engine, -0.2, 1.2),
                millimetres(uniform(engine, 8, 40)), degrees(uniform(engine, 0, 360))};
  const Play play(hinge);
  const PadPlay ours = pad_play(play, pad);
  const double our_rock = in_millimetres(rock(play, pad.station).travel);

  const reference::Range range = reference::free_range(plain);
  ASSERT_LE(range.low, range.high);
  EXPECT_NEAR(static_cast<double>(range.low), in_millimetres(hinge.travel().low), 1e-13);
  EXPECT_NEAR(static_cast<double>(range.high), in_millimetres(hinge.travel().high), 1e-13);
  std::vector<double> at;
  for (int n = 0; n <= places; ++n) {
    at.push_back(static_cast<double>(range.low + (range.high - range.low) * n / places));
  }
  // Some close beside where corners pass corners: a collar's clearance may last for a hair only.
  if (roundness == Roundness::straight_only) {
    for (const Real g : reference::break_places(plain)) {
      for (const double beside : {-1e-9, 1e-9}) at.push_back(static_cast<double>(g) + beside);
    }
  }
  Reached reached;
  for (const double g : at) {
    if (g < range.low || g > range.high) continue;
    const auto clearance = [&](std::size_t end) {
      return reference::end_clearance(plain.ends[end], static_cast<double>(plain.insertion(end, g)));
    };
    const double cu = clearance(0);
    const double cl = clearance(1);
    for (int n = 0; n < poses; ++n) {
      reached.look(reference::draw_pose(engine, g, cu, cl), pad, in_millimetres(hinge.key_length()));
    }
  }
  const auto check = [](const char* what, double found, double closed_form) {
    EXPECT_LE(found, closed_form + 1e-12 * std::max(1.0, closed_form)) << what;
    EXPECT_GE(found, 0.99 * closed_form) << what;
  };
  check("rock", reached.rock, our_rock);
  check("side gap", reached.side_gap, in_millimetres(ours.side_gap));
  check("front gap", reached.front_gap, in_millimetres(ours.front_gap));
  check("worst gap", reached.worst_gap, in_millimetres(ours.worst_gap));
  check("seat wander", reached.seat_wander(), in_millimetres(ours.seat_wander));
}

TEST(BruteForce, NoPoseBeatsTheClosedFormsOfStraightHinges) {
  Engine engine(31);
  for (int n = 0; n < 300; ++n) {
    SCOPED_TRACE(n);
    compare(engine, Roundness::straight_only, 200, 300);
    if (HasFailure()) return;
  }
}

TEST(BruteForce, NoPoseBeatsTheClosedFormsOfRoundedHinges) {
  Engine engine(32);
  for (int n = 0; n < 60; ++n) {
    SCOPED_TRACE(n);
    compare(engine, Roundness::any, 200, 300);
    if (HasFailure()) return;
  }
}

}  // namespace
}  // namespace hingeline::mechanism

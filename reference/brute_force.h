#pragma once
/// \file
/// Joints and hinges by brute force: dense sampling, bisection and drawn poses, in plain
/// millimetres. Shares nothing with what it checks: no project header is included here.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <vector>

namespace reference {

using Engine = std::mt19937_64;

/// Uniform in [low, high). Own mapping, so that every standard library draws the same numbers.
inline double uniform(Engine& engine, double low, double high) {
  const double unit = static_cast<double>(engine() >> 11) * 0x1.0p-53;
  return low + (high - low) * unit;
}
/// Uniform whole number in [0, below).
inline int pick(Engine& engine, int below) { return static_cast<int>(uniform(engine, 0, below)); }

/// A radius profile as pairs (distance along the axis, radius).
struct Outline {
  std::vector<double> along;
  std::vector<double> radius;
  [[nodiscard]] double length() const { return along.back(); }
};

/// Radius by plain interpolation, at a step whatever the first segment that holds `x` says.
inline double radius_at(const Outline& o, double x) {
  for (std::size_t k = 0; k + 1 < o.along.size(); ++k) {
    const double run = o.along[k + 1] - o.along[k];
    if (run <= 0 || x < o.along[k] || x > o.along[k + 1]) continue;
    return o.radius[k] + (o.radius[k + 1] - o.radius[k]) * (x - o.along[k]) / run;
  }
  return o.radius.back();
}

/// Radial clearance at insertion t: the least of r_h(y) - r_p(t - y) over `samples` stations. Never
/// below the true value by more than rounding, above it by at most the two steepest slopes times a
/// sample's width.
inline double sampled_clearance(const Outline& point, const Outline& hole, double t, int samples) {
  const double from = std::max(0.0, t - point.length());
  const double to = std::min(t, hole.length());
  double least = std::numeric_limits<double>::infinity();
  for (int k = 0; k < samples; ++k) {
    const double y = from + (to - from) * (k + 0.5) / samples;
    least = std::min(least, radius_at(hole, y) - radius_at(point, t - y));
  }
  return least;
}

/// Home insertion: first grid step with an overlap or past the floor, then bisection.
inline double sampled_home(const Outline& point, const Outline& hole, int steps, int samples) {
  const double reach = hole.length() + point.length();
  const auto free = [&](double t) {
    return t <= hole.length() && sampled_clearance(point, hole, t, samples) >= 0;
  };
  double inside = 0;
  for (int k = 1; k <= steps; ++k) {
    const double t = reach * k / steps;
    if (free(t)) {
      inside = t;
      continue;
    }
    double outside = t;
    for (int n = 0; n < 60; ++n) {
      const double middle = (inside + outside) / 2;
      (free(middle) ? inside : outside) = middle;
    }
    break;
  }
  return inside;
}

/// One place of a loose key: g along the line, and the displacement across at both ends.
struct Pose {
  double place = 0;
  double upper[2] = {0, 0};
  double lower[2] = {0, 0};
};

/// One end of a hinge: its two outlines, or a rod's constant clearance.
struct End {
  Outline point;
  Outline hole;
  double rod_clearance = -1;
  double protrusion = 0;
  [[nodiscard]] bool is_rod() const { return rod_clearance >= 0; }
};

/// The least of r_h - r_p, exactly where a straight-sided outline can have it: at its corners.
inline double corner_clearance(const Outline& point, const Outline& hole, double t) {
  const double from = std::max(0.0, t - point.length());
  const double to = std::min(t, hole.length());
  double least = std::numeric_limits<double>::infinity();
  const auto look = [&](double y) {
    if (y < from || y > to) return;
    // Just beside a corner: both sides of a step count, its riser does not.
    const double nudge = 1e-13;
    for (const double at : {std::max(from, y - nudge), std::min(to, y + nudge)}) {
      least = std::min(least, radius_at(hole, at) - radius_at(point, t - at));
    }
  };
  look(from);
  look(to);
  for (const double y : hole.along) look(y);
  for (const double s : point.along) look(t - s);
  return least;
}

/// Clearance of an end at an insertion; a point that has left its hole keeps what it had at the
/// mouth.
inline double end_clearance(const End& end, double insertion) {
  if (end.is_rod()) return end.rod_clearance;
  return corner_clearance(end.point, end.hole, std::max(1e-12, insertion));
}

/// Draws a pose of a hinge at a place: both ends anywhere in their circles, half of the draws on the circles'
/// edges; every second with both ends pushed out along one line, as the worst cases are.
inline Pose draw_pose(Engine& engine, double place, double upper_clearance, double lower_clearance) {
  Pose pose;
  pose.place = place;
  const auto put = [&](double radius, double angle, double* out) {
    out[0] = radius * std::cos(angle);
    out[1] = radius * std::sin(angle);
  };
  const auto any_angle = [&] { return uniform(engine, 0, 6.283185307179586); };
  const double cu = std::max(0.0, upper_clearance);
  const double cl = std::max(0.0, lower_clearance);
  if (pick(engine, 2) == 0) {
    const double angle = any_angle();
    put(cu, angle, pose.upper);
    put(pick(engine, 2) == 0 ? cl : -cl, angle, pose.lower);
    return pose;
  }
  const auto share = [&] { return pick(engine, 2) == 0 ? 1.0 : std::sqrt(uniform(engine, 0, 1)); };
  put(cu * share(), any_angle(), pose.upper);
  put(cl * share(), any_angle(), pose.lower);
  return pose;
}

}  // namespace reference

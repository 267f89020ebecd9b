#include "hingeline/body/posts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

namespace hingeline::body {
namespace {

constexpr double kQuarterTurn = std::numbers::pi / 2;

/// z, v, w.
using Vector = std::array<double, 3>;

double dot(const Vector& a, const Vector& b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }
Vector cross(const Vector& a, const Vector& b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}
double angle_between(const Vector& a, const Vector& b) {
  const Vector c = cross(a, b);
  return std::atan2(std::sqrt(dot(c, c)), dot(a, b));
}

struct Stance {
  double lean, turn, across, height;
};
Stance stance(const Posture& p) {
  return {p.lean.value.raw(), p.turn.value.raw(), p.across.value.raw(), p.height.raw()};
}

/// Where the hinge line meets the post, against its place on an upright post; `way`: +1 for the post whose
/// outward side is +z.
Vector shift_of(const Stance& s, double way) {
  const double half = std::sin(s.lean / 2);
  return {way * s.height * std::sin(s.lean), -2 * s.height * half * half, s.across};
}
/// Where its point looks.
Vector aim_of(const Stance& s, double way) {
  return {-way * std::cos(s.turn) * std::cos(s.lean), std::cos(s.turn) * std::sin(s.lean), std::sin(s.turn)};
}

struct Effect {
  double span, upper, lower;
};
Effect effect_of(const Stance& upper, const Stance& lower, double span) {
  const Vector u = shift_of(upper, -1);
  const Vector l = shift_of(lower, 1);
  const Vector line{span + l[0] - u[0], l[1] - u[1], l[2] - u[2]};
  const double aside = line[1] * line[1] + line[2] * line[2];
  const double length = std::sqrt(line[0] * line[0] + aside);
  Effect e{};
  // Written so that a small change of a long span keeps its digits.
  e.span = (l[0] - u[0]) + aside / (length + line[0]);
  e.upper = angle_between(aim_of(upper, -1), line);
  e.lower = angle_between(aim_of(lower, 1), {-line[0], -line[1], -line[2]});
  return e;
}

/// Where a post's bore leads a rod, as slopes along v and w over z.
std::array<double, 2> slope_of(const Stance& s, double way) {
  const Vector aim = aim_of(s, way);
  return {aim[1] / aim[0], aim[2] / aim[0]};
}

}  // namespace

Length tilt_cost(const ConeJoint& joint, Angle gamma) {
  const double g = std::abs(gamma.raw());
  const double a = joint.half_angle.raw();
  if (g == 0) return {};
  if (a + g >= kQuarterTurn) return joint.engaged;
  const double t = std::tan(a);
  const double u = std::tan(a + g);
  // tan(a + g) - tan a without the difference of near numbers.
  const double more = std::sin(g) / (std::cos(a) * std::cos(a + g));
  const double half = std::sin(g / 2);
  const double r = joint.tip_radius.raw();
  const double cost = (joint.engaged.raw() * more - 4 * r * half * half + r * std::sin(g) * more) / (t + u);
  return Length::of(std::clamp(cost, 0.0, joint.engaged.raw()));
}

PostEffect post_effect(const Posture& upper, const Posture& lower, Length span) {
  const Stance u = stance(upper);
  const Stance l = stance(lower);
  const Effect at = effect_of(u, l, span.raw());
  std::array<double, 3> square{};
  const auto vary = [&](bool is_upper, double Stance::*member, double standard) {
    if (!(standard > 0)) return;
    std::array<double, 3> most{};
    for (const double step : {-standard, standard}) {
      Stance mu = u;
      Stance ml = l;
      Stance& moved = is_upper ? mu : ml;
      moved.*member += step;
      const Effect e = effect_of(mu, ml, span.raw());
      most[0] = std::max(most[0], std::abs(e.span - at.span));
      most[1] = std::max(most[1], std::abs(e.upper - at.upper));
      most[2] = std::max(most[2], std::abs(e.lower - at.lower));
    }
    for (std::size_t k = 0; k < 3; ++k) square[k] += most[k] * most[k];
  };
  for (const bool is_upper : {true, false}) {
    const Posture& p = is_upper ? upper : lower;
    vary(is_upper, &Stance::lean, p.lean.standard().raw());
    vary(is_upper, &Stance::turn, p.turn.standard().raw());
    vary(is_upper, &Stance::across, p.across.standard().raw());
  }
  PostEffect out;
  out.span_change = {Length::of(at.span), Length::of(2 * std::sqrt(square[0])), Origin::read};
  out.upper = {Angle::of(at.upper), Angle::of(2 * std::sqrt(square[1])), Origin::read};
  out.lower = {Angle::of(at.lower), Angle::of(2 * std::sqrt(square[2])), Origin::read};
  return out;
}

Length tip_travel(Angle lean, Length height) { return height * sin(lean); }

RodBinding rod_binding(const RodJoint& joint, const Posture& upper, const Posture& lower, Modulus modulus,
                       double friction) {
  const Stance u = stance(upper);
  const Stance l = stance(lower);
  const Vector su = shift_of(u, -1);
  const Vector sl = shift_of(l, 1);
  const double length = joint.span.raw() + sl[0] - su[0];
  const std::array<double, 2> start = slope_of(u, -1);
  const std::array<double, 2> end = slope_of(l, 1);
  // Slopes against the straight line between the ends.
  std::array<double, 2> from{};
  std::array<double, 2> to{};
  for (std::size_t k = 0; k < 2; ++k) {
    const double line = (sl[k + 1] - su[k + 1]) / length;
    from[k] = start[k] - line;
    to[k] = end[k] - line;
  }
  const auto off = [&](double x) {
    const double rise = x * (1 - x) * (1 - x);
    const double fall = x * x * (1 - x);
    return std::hypot(from[0] * rise - to[0] * fall, from[1] * rise - to[1] * fall);
  };
  // The distance has few humps: the best of a fine row, then its neighbourhood in thirds.
  constexpr int kSteps = 64;
  int best = 0;
  for (int k = 1; k <= kSteps; ++k) {
    if (off(static_cast<double>(k) / kSteps) > off(static_cast<double>(best) / kSteps)) best = k;
  }
  double a = std::max(0, best - 1) / static_cast<double>(kSteps);
  double b = std::min(kSteps, best + 1) / static_cast<double>(kSteps);
  for (int k = 0; k < 40; ++k) {
    const double m = a + (b - a) / 3;
    const double n = b - (b - a) / 3;
    (off(m) < off(n) ? a : b) = off(m) < off(n) ? m : n;
  }
  RodBinding out;
  out.bow = Length::of(length * off((a + b) / 2));
  out.clearance = joint.bore - joint.rod;
  const Length over = out.bow - std::max(out.clearance, Length{});
  out.binds = over.raw() > 0;
  if (!out.binds) return out;
  const double d = joint.rod.raw();
  const double moment_of_area = std::numbers::pi * d * d * d * d / 64;
  const double span = joint.span.raw();
  out.force = newtons(48 * modulus.raw() * moment_of_area * over.raw() / (span * span * span));
  out.torque = newton_millimetres(friction * out.force.raw() * d / 2);
  return out;
}

}  // namespace hingeline::body

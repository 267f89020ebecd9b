#include "hingeline/movement/action.h"

#include <algorithm>
#include <array>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>

namespace hingeline::movement {
namespace {

using std::numbers::pi;
constexpr double kInfinity = std::numeric_limits<double>::infinity();
/// N mm s^2 of an inertia in g mm^2.
constexpr double kNewtonMillimetreSeconds = 1e-6;
/// m/s^2: conventional value of the acceleration of free fall.
constexpr double kFreeFall = 9.80665;

/// A key that creeps longer than this (30 years), s, does not return.
constexpr double kForEver = 1e9;

/// (1 - e^-z) / z.
double decayed(double z) { return std::abs(z) < 1e-300 ? 1.0 : -std::expm1(-z) / z; }

/// The motion per unit of M0 / J: x'' + 2 a x' + w2 x = 1.
class Step {
 public:
  Step(double a, double w2) : a_(a), w2_(w2), d_(a * a - w2) {
    const double root = std::sqrt(std::abs(d_));
    if (d_ >= 0) {
      fast_ = a + root;
      // The slower root without cancellation.
      slow_ = fast_ > 0 ? w2 / fast_ : 0;
    } else {
      turn_ = root;
    }
  }
  [[nodiscard]] bool swings() const { return turn_ > 0; }
  /// When it first stops turning; swings() only.
  [[nodiscard]] double first_rest() const { return pi / turn_; }

  /// Second divided difference of exp at 0 and -both roots, times t^2: nothing that is subtracted cancels.
  [[nodiscard]] double angle(double t) const {
    const double sum = 2 * a_ * t;
    const double product = w2_ * t * t;
    if (sum < 2 && std::abs(product) < 4) return t * t * series(sum, product);
    if (swings()) {
      const double b = turn_ * t;
      return t * t * (1 - std::exp(-a_ * t) * (std::cos(b) + a_ * t * std::sin(b) / b)) / product;
    }
    const double z = slow_ * t;
    const double rise = decayed((fast_ - slow_) * t);
    // (-expm1(-z) - z e^-z rise) / (z * fast t), with the z taken out so that a slow root of 0 is no trouble.
    return t * (decayed(z) - std::exp(-z) * rise) / fast_;
  }
  [[nodiscard]] double speed(double t) const {
    if (swings()) return std::exp(-a_ * t) * std::sin(turn_ * t) / turn_;
    return std::exp(-slow_ * t) * t * decayed((fast_ - slow_) * t);
  }

 private:
  /// Sum of h_n / (n + 2)!, h_n the complete symmetric polynomial of both roots times -t.
  static double series(double sum, double product) {
    // Both roots times t are under 3.3 here, so h_n <= (n + 1) 3.3^n and the 34th term is under 1e-22.
    static constexpr auto kFactors = [] {
      std::array<double, 34> out{0.5};
      for (std::size_t n = 1; n < out.size(); ++n) out[n] = out[n - 1] / static_cast<double>(n + 2);
      return out;
    }();
    double before = 0;
    double h = 1;
    double total = 0;
    for (const double factor : kFactors) {
      total += h * factor;
      const double next = -sum * h - product * before;
      before = h;
      h = next;
    }
    return total;
  }

  double a_;
  double w2_;
  double d_;
  double turn_ = 0;
  double fast_ = 0;
  double slow_ = 0;
};

struct Numbers {
  double accel;  ///< M0 / J
  double a;      ///< B / 2 J
  double w2;     ///< k / J
  double swing;
};
Numbers numbers(const Motion& m) {
  const double j = in_gram_square_millimetres(m.inertia) * kNewtonMillimetreSeconds;
  return {in_newton_millimetres(m.moment) / j, in_newton_millimetre_seconds(m.drag) / (2 * j),
          in_newton_millimetres_per_radian(m.rate) / j, in_radians(m.swing)};
}

std::optional<Error> fault_of(const Motion& m) {
  const auto say = [](const char* what) { return Error{Fault::geometry, what, {}, {}}; };
  if (!is_finite(m.inertia) || m.inertia.raw() <= 0) return say("a key's inertia must be above 0");
  if (!(m.drag.raw() >= 0)) return say("drag must not be below 0");
  if (!is_finite(m.moment) || !is_finite(m.rate)) return say("a spring's moment must be finite");
  if (!is_finite(m.swing) || m.swing.raw() <= 0) return say("a key's swing must be above 0");
  return std::nullopt;
}

Return returned(const Numbers& n, const Step& step, double time) {
  Return r;
  r.kind = ReturnKind::returns;
  r.time = seconds(time);
  r.speed = n.accel * step.speed(time);
  r.reached = radians(n.swing);
  return r;
}

Return come_back(const Numbers& n) {
  Return r;
  r.time = seconds(kInfinity);
  if (!(n.accel > 0) || std::isinf(n.a)) return r;
  const Step step(n.a, n.w2);
  const auto angle = [&](double t) { return n.accel * step.angle(t); };
  const auto short_of = [&](double reached) {
    r.kind = ReturnKind::stops_short;
    r.reached = radians(reached);
    return r;
  };

  // With the whole moment from the start and no drag it would take this long; a moment that grows on the way
  // (k < 0) is taken as it is at the stop.
  const double most = n.accel - std::min(0.0, n.w2) * n.swing;
  double low = std::sqrt(2 * n.swing / most);
  // Then the other end of a bracket of the first time at the stop, on which the angle only grows.
  double high = low;
  if (step.swings()) {
    high = step.first_rest();
    const double farthest = angle(high);
    if (farthest < n.swing) return short_of(farthest);
    low = std::min(low, high);
  } else if (n.w2 > 0 && n.swing >= n.accel / n.w2) {
    return short_of(n.accel / n.w2);
  } else {
    while (angle(high) < n.swing) {
      if (high > kForEver) return short_of(angle(high));
      high *= 2;
    }
  }
  std::uintmax_t steps = 200;
  const auto off = [&](double t) { return angle(t) / n.swing - 1; };
  const double at_low = off(low);
  const double at_high = off(high);
  if (at_low >= 0) return returned(n, step, low);
  if (at_high <= 0) return returned(n, step, high);
  const auto [from, to] = boost::math::tools::toms748_solve(
      off, low, high, at_low, at_high, boost::math::tools::eps_tolerance<double>(50), steps);
  return returned(n, step, (from + to) / 2);
}

double damping_of(const Numbers& n) {
  if (!(n.w2 > 0)) return kInfinity;
  return n.a / std::sqrt(n.w2);
}

}  // namespace

Expected<Return> come_back(const Motion& motion) {
  if (const auto fault = fault_of(motion)) return tl::unexpected(*fault);
  const Numbers n = numbers(motion);
  Return r = come_back(n);
  r.damping_ratio = damping_of(n);
  return r;
}

Expected<double> damping_ratio(const Motion& motion) {
  if (const auto fault = fault_of(motion)) return tl::unexpected(*fault);
  return damping_of(numbers(motion));
}

Expected<Swing> swing_at(const Motion& motion, Duration t) {
  if (const auto fault = fault_of(motion)) return tl::unexpected(*fault);
  if (!is_finite(motion.drag) || !is_finite(t) || t.raw() < 0) {
    return fail(Fault::geometry, "a time must not be below 0 and a drag must be finite");
  }
  const Numbers n = numbers(motion);
  const Step step(n.a, n.w2);
  return Swing{radians(n.accel * step.angle(in_seconds(t))), n.accel * step.speed(in_seconds(t))};
}

Expected<std::optional<Drag>> most_drag(const Motion& motion, Duration time) {
  if (const auto fault = fault_of(motion)) return tl::unexpected(*fault);
  if (!is_finite(time) || time.raw() <= 0) return fail(Fault::geometry, "a time must be above 0");
  Numbers n = numbers(motion);
  const auto takes = [&](double a) {
    n.a = a;
    return in_seconds(come_back(n).time);
  };
  if (!(takes(0) <= in_seconds(time))) return std::optional<Drag>{};
  // Long before this drag the key creeps: x' <= accel / 2 a.
  double high = n.accel * in_seconds(time) / (2 * n.swing) + 1 / in_seconds(time);
  while (takes(high) <= in_seconds(time)) high *= 2;
  // In time both ways round: -1 where it never gets there.
  const auto early = [&](double a) { return in_seconds(time) / takes(a) - 1; };
  std::uintmax_t steps = 200;
  const double at_none = early(0);
  double a = 0;
  if (at_none > 0) {
    const auto [from, to] = boost::math::tools::toms748_solve(
        early, 0.0, high, at_none, early(high), boost::math::tools::eps_tolerance<double>(44), steps);
    a = from;
  }
  const double j = in_gram_square_millimetres(motion.inertia) * kNewtonMillimetreSeconds;
  return std::optional<Drag>(newton_millimetre_seconds(2 * j * a));
}

Moments moments(const Forces& f) {
  const Length rise = f.works_at * in_radians(f.swing);
  const auto spring = [&](Length deflection) {
    return newtons(in_newtons_per_millimetre(f.spring) * in_millimetres(deflection));
  };
  const Force rest = spring(f.set);
  const Force pressed = spring(f.set + rise);
  const auto about = [](Force force, Length lever) {
    return newton_millimetres(in_newtons(force) * in_millimetres(lever));
  };
  return {about(rest, f.works_at), about(pressed, f.works_at), about(rest * f.friction, f.joint_radius),
          about(pressed * f.friction, f.joint_radius)};
}

Motion motion_of(const Forces& f, Inertia inertia, Drag drag) {
  const Moments m = moments(f);
  const Torque pressed = m.at_pressed - m.friction_at_pressed;
  const Torque rest = m.at_rest - m.friction_at_rest;
  return {inertia, drag, pressed - f.weight,
          newton_millimetres_per_radian(in_newton_millimetres(pressed - rest) / in_radians(f.swing)),
          f.swing};
}

Expected<TouchWeight> touch_weight(const Forces& f, Length arm) {
  if (!is_finite(arm) || arm.raw() <= 0) return fail(Fault::geometry, "the touch's arm must be above 0");
  const Moments m = moments(f);
  const auto at_touch = [&](Torque t) { return newtons(in_newton_millimetres(t) / in_millimetres(arm)); };
  return TouchWeight{at_touch(m.at_rest + m.friction_at_rest - f.weight), at_touch(m.at_pressed - f.weight)};
}

Guess guess_inertia(const KeyParts& p) {
  const double cup_radius = in_millimetres(p.cup_diameter) / 2;
  const double cup = p.cup_weight * pi * cup_radius * cup_radius;
  const double arm = in_millimetres(p.arm);
  const double touch = in_millimetres(p.touch_arm);
  Guess guess;
  guess.mass = grams(cup + p.bar_weight * (arm + touch));
  // The cup's disc turns about a line across it: m r^2 / 4 of its own.
  guess.inertia = gram_square_millimetres(cup * (arm * arm + cup_radius * cup_radius / 4) +
                                          p.bar_weight * (arm * arm * arm + touch * touch * touch) / 3);
  return guess;
}

Torque most_weight_moment(Mass mass, Inertia inertia) {
  // g * m/s^2 * mm = 1e-3 N mm.
  return newton_millimetres(kFreeFall * 1e-3 *
                            std::sqrt(in_grams(mass) * in_gram_square_millimetres(inertia)));
}

Expected<std::optional<std::size_t>> thickest_oil(const Motion& dry_motion, double drag_per_viscosity,
                                                  std::span<const OilAtCold> oils, Duration limit) {
  if (!(drag_per_viscosity >= 0)) return fail(Fault::geometry, "drag must not be below 0");
  return most_drag(dry_motion, limit).map([&](const std::optional<Drag>& most) {
    std::optional<std::size_t> best;
    if (!most) return best;
    for (std::size_t k = 0; k < oils.size(); ++k) {
      const Drag has =
          newton_millimetre_seconds(drag_per_viscosity * in_millipascal_seconds(oils[k].viscosity) * 1e-9);
      if (has <= *most && (!best || oils[k].viscosity > oils[*best].viscosity)) best = k;
    }
    return best;
  });
}

}  // namespace hingeline::movement

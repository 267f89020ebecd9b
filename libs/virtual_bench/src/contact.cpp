#include "contact.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "exact_forms.h"

namespace hingeline::virtual_bench {
namespace {

using contact::PointForm;
using contact::PointShape;
using contact::TipShape;
using reference::Real;
using reference::RealOutline;

/// Parts of a quarter circle. A chord of a 0.5 mm ball then lies within 7e-5 mm of its arc.
constexpr int kArcParts = 48;
/// Nearer than this (mm) counts as touching. Rounding of the reference is some 1e-17.
constexpr Real kTouch = 1e-9L;

/// An arc round (centre, 0) of the axis from the tip to the angle `to`, where 0 points to the tip.
void add_arc(RealOutline& o, Real radius, Real to) {
  const int parts = std::max(1, static_cast<int>(std::ceil(to / (std::numbers::pi_v<Real> / 2) * kArcParts)));
  for (int k = 0; k <= parts; ++k) {
    const Real angle = to * k / parts;
    o.along.push_back(radius * (1 - std::cos(angle)));
    o.radius.push_back(k == 0 ? 0 : radius * std::sin(angle));
  }
}

struct Point {
  RealOutline outline;
  double rounded_to = -1;  ///< how far behind the tip a rounded part reaches
};

Point outline_of(const PointForm& f) {
  Point p;
  RealOutline& o = p.outline;
  if (f.shape == PointShape::ball) {
    const Real radius = reference::real(f.ball_radius);
    add_arc(o, radius, std::numbers::pi_v<Real> - std::asin(reference::real(f.neck_radius) / radius));
  } else if (f.shape == PointShape::cone && f.tip == TipShape::round) {
    const Real half_angle = f.half_angle.raw();
    add_arc(o, reference::real(f.tip_radius), std::numbers::pi_v<Real> / 2 - half_angle);
  } else {
    o = reference::exact_point(f);
    return p;
  }
  const Real rounded_to = o.along.back();
  p.rounded_to = static_cast<double>(rounded_to);
  const Real length = reference::real(f.length);
  if (f.shape == PointShape::cone) {
    const Real slope = reference::real_tan(f.half_angle);
    const Real from = o.radius.back();
    const Real shank =
        f.shank_radius.raw() > 0 ? rounded_to + (reference::real(f.shank_radius) - from) / slope : length;
    if (shank > rounded_to && shank < length) {
      o.along.push_back(shank);
      o.radius.push_back(reference::real(f.shank_radius));
    } else if (shank >= length && length > rounded_to) {
      o.along.push_back(length);
      o.radius.push_back(from + slope * (length - rounded_to));
    }
  }
  if (length > o.along.back()) {
    o.along.push_back(length);
    o.radius.push_back(o.radius.back());
  }
  return p;
}

}  // namespace

Contact::Contact(const belief::JointGeometry& joint, double step, double reach)
    : hole_(reference::exact_hole(joint.hole)), step_(step) {
  Point point = outline_of(joint.point);
  point_ = std::move(point.outline);
  home_ = static_cast<double>(reference::exact_home(point_, hole_));
  find_what_carries(point.rounded_to);
  const auto count = static_cast<std::size_t>(std::ceil(std::max(0.0, reach) / step)) + 2;
  kept_.reserve(count);
  for (std::size_t k = 0; k < count; ++k) kept_.push_back(reckon(static_cast<double>(k) * step));
}

double Contact::reckon(double short_of_home) const {
  const double insertion = std::max(1e-12, home_ - short_of_home);
  return std::max(0.0, static_cast<double>(reference::exact_clearance(point_, hole_, insertion)));
}

double Contact::clearance(double short_of_home) const {
  const double place = short_of_home / step_;
  const double below = std::floor(place);
  if (!(below + 1 < static_cast<double>(kept_.size()))) return reckon(short_of_home);
  const auto k = static_cast<std::size_t>(below);
  return kept_[k] + (kept_[k + 1] - kept_[k]) * (place - below);
}

void Contact::find_what_carries(double rounded_to) {
  const Real t = home_;
  std::vector<Real> cuts{std::max<Real>(0, t - point_.length()), std::min<Real>(t, hole_.length())};
  const Real from = cuts[0];
  const Real to = cuts[1];
  for (const Real y : hole_.along) cuts.push_back(std::clamp(y, from, to));
  for (const Real s : point_.along) cuts.push_back(std::clamp(t - s, from, to));
  std::sort(cuts.begin(), cuts.end());
  Real length = 0;
  std::vector<Real> places;
  for (std::size_t k = 0; k + 1 < cuts.size(); ++k) {
    const Real a = cuts[k];
    const Real b = cuts[k + 1];
    if (b - a < kTouch) continue;
    const Real middle = (a + b) / 2;
    const auto touches = [&](Real y) {
      return reference::limit_at(hole_, middle, y) - reference::limit_at(point_, t - middle, t - y) <= kTouch;
    };
    const bool at_a = touches(a);
    const bool at_b = touches(b);
    if (at_a && at_b) length += b - a;
    if (at_a) places.push_back(a);
    if (at_b) places.push_back(b);
  }
  touching_ = static_cast<double>(length);
  if (length > 0) {
    carries_ = Carries::flank;
  } else if (places.empty()) {
    // Stopped end-on: the tip by a floor or ledge at its depth, else a shoulder by the end face.
    const bool ledge =
        std::any_of(hole_.along.begin(), hole_.along.end(), [&](Real y) { return std::abs(y - t) < kTouch; });
    carries_ = ledge ? Carries::tip : Carries::rim;
  } else {
    const Real place = places.front();
    carries_ = place < kTouch || t - place < rounded_to ? Carries::rim : Carries::tip;
  }
}

}  // namespace hingeline::virtual_bench

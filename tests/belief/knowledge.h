#pragma once
/// \file
/// Keys as knowledge for the belief tests: a geometry and the numbers it is made of, each with its doubt.

#include <array>
#include <random>
#include <string>

#include "hingeline/belief/key.h"

namespace hingeline::belief::samples {

inline contact::PointForm cone_point(double half_angle) {
  contact::PointForm p;
  p.shape = contact::PointShape::cone;
  p.length = millimetres(4);
  p.half_angle = degrees(half_angle);
  p.tip_radius = millimetres(0.35);
  return p;
}
inline contact::HoleForm cone_hole(double half_angle, double mouth_radius, double depth) {
  contact::HoleForm h;
  h.shape = contact::HoleShape::cone;
  h.half_angle = degrees(half_angle);
  h.mouth_radius = millimetres(mouth_radius);
  h.depth = millimetres(depth);
  return h;
}

/// What the joints of a key are like.
enum class Fit { matched, rim, tip_edge, floor, rod };
inline constexpr std::array<Fit, 5> kFits{Fit::matched, Fit::rim, Fit::tip_edge, Fit::floor, Fit::rod};
inline const char* word(Fit f) {
  switch (f) {
    case Fit::matched:
      return "matched";
    case Fit::rim:
      return "rim";
    case Fit::tip_edge:
      return "tip edge";
    case Fit::floor:
      return "floor";
    case Fit::rod:
      break;
  }
  return "rod";
}

inline KeyGeometry geometry(Fit fit, double end_play = 0.06, double stop = 0.15) {
  KeyGeometry g;
  g.key_length = millimetres(29.5);
  g.pad = mechanism::Pad{millimetres(8), millimetres(12), millimetres(10), degrees(20)};
  if (fit == Fit::rod) {
    g.kind = HingeKind::rod;
    g.span = g.key_length + millimetres(end_play);
    g.rod_diameter = millimetres(2.0);
    g.bore = millimetres(2.02);
    return g;
  }
  const double hole = fit == Fit::rim ? 10 : fit == Fit::tip_edge ? 20 : 15;
  const double depth = fit == Fit::floor ? 0.9 : 1.8;
  for (auto* j : {&g.upper, &g.lower}) {
    j->point = cone_point(15);
    j->hole = cone_hole(hole, 0.67, depth);
    j->stop = millimetres(stop);
  }
  g.span = g.key_length + millimetres(end_play + 2 * stop);
  return g;
}

inline Input input(std::string name, double value, double standard, void (*set)(KeyGeometry&, double),
                   Origin origin = Origin::read) {
  Input i;
  i.name = std::move(name);
  i.value = value;
  i.standard = standard;
  i.origin = origin;
  i.set = set;
  return i;
}
inline void set_span(KeyGeometry& g, double v) { g.span = millimetres(v); }
inline void set_key_length(KeyGeometry& g, double v) { g.key_length = millimetres(v); }
inline void set_upper_stop(KeyGeometry& g, double v) { g.upper.stop = millimetres(v); }
inline void set_lower_stop(KeyGeometry& g, double v) { g.lower.stop = millimetres(v); }

/// End play made of four straight parts: span - key length - upper stop - lower stop.
inline KeyKnowledge four_parts(double standard, Fit fit = Fit::matched, double end_play = 0.06) {
  KeyKnowledge k;
  k.geometry = geometry(fit, end_play);
  const KeyGeometry& g = k.geometry;
  k.inputs = {input("span", g.span.raw(), standard, set_span),
              input("key length", g.key_length.raw(), standard, set_key_length),
              input("upper stop", g.upper.stop.raw(), standard, set_upper_stop),
              input("lower stop", g.lower.stop.raw(), standard, set_lower_stop)};
  return k;
}

/// The same with every number of the joints in doubt too.
inline KeyKnowledge everything(Fit fit, double end_play = 0.06, double standard = 0.004) {
  KeyKnowledge k;
  k.geometry = geometry(fit, end_play);
  const KeyGeometry& g = k.geometry;
  if (fit == Fit::rod) {
    k.inputs = {
        input("span", g.span.raw(), standard, set_span),
        input("key length", g.key_length.raw(), standard, set_key_length),
        input("rod", 2.0, 0.001, [](KeyGeometry& x, double v) { x.rod_diameter = millimetres(v); }),
        input("bore", 2.02, 0.002, [](KeyGeometry& x, double v) { x.bore = millimetres(v); }),
    };
    return k;
  }
  k.inputs = four_parts(standard, fit, end_play).inputs;
  const auto add = [&](const char* name, double value, double own, void (*set)(KeyGeometry&, double),
                       bool angle) {
    Input i = input(name, value, own, set);
    i.is_angle = angle;
    k.inputs.push_back(i);
  };
  const double angle = degrees(0.3).raw();
  if (fit == Fit::matched) {
    add(
        "upper taper", g.upper.point.half_angle.raw(), angle,
        [](KeyGeometry& x, double v) { x.upper.point.half_angle = x.upper.hole.half_angle = radians(v); },
        true);
    add(
        "lower taper", g.lower.point.half_angle.raw(), angle,
        [](KeyGeometry& x, double v) { x.lower.point.half_angle = x.lower.hole.half_angle = radians(v); },
        true);
  } else {
    add(
        "upper point half angle", g.upper.point.half_angle.raw(), angle,
        [](KeyGeometry& x, double v) { x.upper.point.half_angle = radians(v); }, true);
    add(
        "lower hole half angle", g.lower.hole.half_angle.raw(), angle,
        [](KeyGeometry& x, double v) { x.lower.hole.half_angle = radians(v); }, true);
  }
  add(
      "upper tip radius", 0.35, 0.01,
      [](KeyGeometry& x, double v) { x.upper.point.tip_radius = millimetres(v); }, false);
  add(
      "lower mouth radius", 0.67, 0.01,
      [](KeyGeometry& x, double v) { x.lower.hole.mouth_radius = millimetres(v); }, false);
  add(
      "upper depth", g.upper.hole.depth.raw(), 0.02,
      [](KeyGeometry& x, double v) { x.upper.hole.depth = millimetres(v); }, false);
  return k;
}

inline Observation reading(Observation::Of of, double value, double standard) {
  Observation o;
  o.of = of;
  o.value = millimetres(value);
  o.standard = millimetres(standard);
  return o;
}

/// Normal deviates from std::mt19937_64 by Box and Muller: the library's distributions differ between
/// machines.
class Normal {
 public:
  explicit Normal(std::uint64_t seed) : engine_(seed) {}
  double uniform() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1p-53; }
  double operator()() {
    if (kept_) {
      kept_ = false;
      return next_;
    }
    const double r = std::sqrt(-2 * std::log(uniform()));
    const double a = 2 * 3.14159265358979323846 * uniform();
    next_ = r * std::sin(a);
    kept_ = true;
    return r * std::cos(a);
  }

 private:
  std::mt19937_64 engine_;
  double next_ = 0;
  bool kept_ = false;
};

}  // namespace hingeline::belief::samples

#pragma once
/// \file
/// Keys made for the plan's tests: hinges on matched cones with headed screws and every fact known,
/// and one field for each way of departing from that.

#include <array>
#include <cmath>
#include <random>
#include <stdexcept>

#include "hingeline/plan/plan.h"

namespace hingeline::plan::samples {

/// One end, lengths in mm, angles in degrees.
struct EndSpec {
  double half_angle = 15;       ///< of the point
  double hole_half_angle = 15;  ///< of the hole; another value: mismatched
  double tip_radius = 0.35;
  double insertion = 1.2;  ///< of the tip when the flanks meet (matched cones)
  double tip_floor = 0.5;  ///< from that tip to the floor
  double stop = 0.15;      ///< gap at this post where the point stops the key; below 0 the face does first
  contact::HoleShape hole = contact::HoleShape::cone;
  double bell_half_angle = 40;
  double bell_depth = 0.9;

  bool headed = true;
  double head = 4.0;
  double stands_off = 0;
  double web = 1.5;
  double engagement = 3.0;
  double pitch = 0.45;
  double post = 6.0;
  double key_end = 4.0;
  double slot = 1.0;
  double displaced = 0;
  double room_behind = 60;
  double room_around = 12;
};

struct KeySpec {
  double key_length = 29.5;
  double end_play = 0.02;
  double doubt = 0;  ///< of the end play, k = 2
  EndSpec upper;
  EndSpec lower;
  double off_centre = 0;
  double centring_allowed = 0.1;
  bool with_pad = true;
  double pad_station_share = 0.5;
};

inline MaybeLength read(double mm) { return Measured<Length>{millimetres(mm), {}, Origin::read}; }

inline belief::JointGeometry joint_of(const EndSpec& e) {
  belief::JointGeometry j;
  j.point.shape = contact::PointShape::cone;
  j.point.tip = contact::TipShape::flat;
  j.point.length = millimetres(4);
  j.point.half_angle = degrees(e.half_angle);
  j.point.tip_radius = millimetres(e.tip_radius);
  const double slope = tan(degrees(e.half_angle));
  j.hole.shape = e.hole;
  j.hole.half_angle = degrees(e.hole_half_angle);
  j.hole.mouth_radius = millimetres(e.tip_radius + e.insertion * slope);
  j.hole.depth = millimetres(e.insertion + e.tip_floor);
  j.hole.floor_half_angle = degrees(59);
  j.hole.bell_half_angle = degrees(e.bell_half_angle);
  j.hole.bell_depth = millimetres(e.bell_depth);
  if (e.hole == contact::HoleShape::bell) {
    j.hole.mouth_radius +=
        millimetres(e.bell_depth * (tan(degrees(e.bell_half_angle)) - tan(degrees(e.hole_half_angle))));
  }
  j.stop = millimetres(e.stop);
  return j;
}

inline EndFacts facts_of(const EndSpec& e) {
  EndFacts f;
  f.headed = e.headed;
  if (e.headed) {
    f.head_diameter = read(e.head);
    f.stands_off = read(e.stands_off);
    f.web = read(e.web);
  }
  f.engagement = read(e.engagement);
  f.pitch = millimetres(e.pitch);
  f.post_diameter = read(e.post);
  f.key_end_diameter = read(e.key_end);
  f.slot_left = read(e.slot);
  f.displaced = read(e.displaced);
  f.room_behind = read(e.room_behind);
  f.room_around = read(e.room_around);
  return f;
}

/// The span is made so that the end play is the one asked for.
inline belief::KeyGeometry geometry_of(const KeySpec& spec) {
  belief::KeyGeometry g;
  g.key_length = millimetres(spec.key_length);
  g.upper = joint_of(spec.upper);
  g.lower = joint_of(spec.lower);
  g.span = millimetres(spec.key_length + spec.end_play + std::max(0.0, spec.upper.stop) +
                       std::max(0.0, spec.lower.stop));
  if (spec.with_pad) {
    g.pad = mechanism::Pad{millimetres(8), millimetres(spec.key_length * spec.pad_station_share),
                           millimetres(10), degrees(20)};
  }
  return g;
}

inline belief::Estimate estimate_of(const belief::KeyGeometry& geometry, double doubt = 0) {
  belief::KeyKnowledge k;
  k.geometry = geometry;
  if (doubt > 0) {
    belief::Input span;
    span.name = "span";
    span.value = geometry.span.raw();
    span.standard = doubt / 2;
    span.origin = Origin::read;
    span.set = [](belief::KeyGeometry& g, double v) { g.span = millimetres(v); };
    k.inputs.push_back(span);
  }
  auto e = belief::estimate(k);
  if (!e) throw std::logic_error(e.error().what);
  return *e;
}

inline Tools usual_tools() {
  Tools t;
  t.cutters = {{"3.50 cutter", millimetres(3.5), true, true, true},
               {"4.00 cutter", millimetres(4.0), true, true, true},
               {"4.50 cutter", millimetres(4.5), true, true, true}};
  t.reamers = {{"15 degree reamer", degrees(15), millimetres(0.3), millimetres(3)}};
  t.drivers = {{Driver::Kind::straight, millimetres(50), millimetres(6)},
               {Driver::Kind::flexible, millimetres(20), millimetres(8)},
               {Driver::Kind::pinch, millimetres(9), millimetres(4)}};
  return t;
}

inline KeyCase case_of(const KeySpec& spec) {
  KeyCase k;
  k.estimate = estimate_of(geometry_of(spec), spec.doubt);
  k.upper = facts_of(spec.upper);
  k.lower = facts_of(spec.lower);
  k.pad_off_centre = millimetres(spec.off_centre);
  k.tools = usual_tools();
  k.limits.centring_allowed = millimetres(spec.centring_allowed);
  k.reading_uncertainty = millimetres(0.004);
  return k;
}

/// The same key once a plan has been carried out: its facts move with the steps.
inline KeyCase carried_out(const KeyCase& before, const Plan& plan, double doubt = 0) {
  KeyCase k = before;
  k.estimate = estimate_of(plan.geometry_after, doubt);
  k.pad_off_centre = plan.off_centre;
  const auto less = [](MaybeLength& l, Length by) {
    if (l) l->value -= by;
  };
  for (const Step& s : plan.steps) {
    EndFacts& f = s.side == Side::upper ? k.upper : k.lower;
    switch (s.operation) {
      case Operation::seat_cut:
        less(f.web, s.amount);
        less(f.engagement, s.amount);
        less(f.slot_left, s.amount);
        break;
      case Operation::turn_screw:
        less(f.slot_left, s.amount);
        if (s.amount.raw() < 0) less(f.engagement, -s.amount);
        break;
      case Operation::drive_home:
        f.stands_off = read(0);
        break;
      case Operation::restore_post:
        less(f.displaced, s.amount);
        break;
      case Operation::ream:
      case Operation::face:
        break;
    }
  }
  return k;
}

/// The same key seen from the other end.
inline KeyCase mirrored(const KeyCase& key) {
  KeyCase m = key;
  auto g = key.estimate.geometry;
  std::swap(g.upper, g.lower);
  if (g.pad) g.pad->station = g.key_length - g.pad->station;
  m.estimate = estimate_of(g, key.estimate[Figure::end_play].plus_minus);
  std::swap(m.upper, m.lower);
  std::swap(m.upper_taper_doubt, m.lower_taper_doubt);
  m.pad_off_centre = -key.pad_off_centre;
  return m;
}

inline double excess(Length off_centre, const Limits& limits) {
  return std::max(0.0, std::abs(off_centre.raw()) - limits.centring_allowed.raw());
}

/// Draws that are the same on every machine: the library's distributions are not.
class Draw {
 public:
  explicit Draw(std::uint64_t seed) : engine_(seed) {}
  double uniform(double low, double high) {
    return low + (high - low) * (static_cast<double>(engine_() >> 11) * 0x1p-53);
  }
  bool chance(double p) { return uniform(0, 1) < p; }

 private:
  std::mt19937_64 engine_;
};

/// A loose key: random pad offset, limits at each end, screws standing off, knocked posts, headless
/// screws and ends whose face stops the key first.
inline KeySpec loose_key(Draw& draw) {
  KeySpec s;
  if (draw.chance(0.5)) s.doubt = draw.uniform(0, 0.012);
  s.end_play = s.doubt + draw.uniform(0.031, 0.25);
  s.off_centre = draw.uniform(-0.25, 0.25);
  if (draw.chance(0.5)) s.centring_allowed = draw.uniform(0, 0.2);
  double given = 0;
  for (EndSpec* e : {&s.upper, &s.lower}) {
    e->half_angle = e->hole_half_angle = draw.uniform(10, 25);
    e->stop = draw.chance(0.25) ? draw.uniform(-0.06, 0) : draw.uniform(0, 0.3);
    e->headed = !draw.chance(0.15);
    if (draw.chance(0.7)) e->web = 0.8 + draw.uniform(-0.02, 0.18);
    if (draw.chance(0.5)) e->engagement = 3 * e->pitch + draw.uniform(0, 0.25);
    if (draw.chance(0.5)) e->slot = draw.uniform(0, 0.25);
    if (draw.chance(0.3)) e->displaced = draw.uniform(0.004, 0.08);
    if (e->headed && draw.chance(0.2)) {
      e->stands_off = std::min(draw.uniform(0.003, 0.1), 0.8 * (s.end_play - 0.015) - given);
      e->stands_off = std::max(0.0, e->stands_off);
      given += e->stands_off;
    }
  }
  return s;
}

/// A tight or binding key.
inline KeySpec tight_key(Draw& draw) {
  KeySpec s;
  s.end_play = draw.uniform(-0.2, 0.0095);
  s.off_centre = draw.uniform(-0.25, 0.25);
  if (draw.chance(0.5)) s.centring_allowed = draw.uniform(0, 0.2);
  for (EndSpec* e : {&s.upper, &s.lower}) {
    e->half_angle = e->hole_half_angle = draw.uniform(10, 25);
    e->stop = draw.uniform(0.13, 0.3);
    if (draw.chance(0.2)) e->stop = draw.uniform(0.0, 0.05) + std::max(0.0, -s.end_play);
    e->headed = !draw.chance(0.15);
    if (draw.chance(0.5)) e->tip_floor = 0.1 + draw.uniform(0, 0.2);
    if (draw.chance(0.5)) {
      const double mouth = e->tip_radius + e->insertion * std::tan(e->half_angle * 3.14159265358979 / 180);
      e->key_end = 2 * (mouth + 0.3 + draw.uniform(0, 0.06));
    }
    if (draw.chance(0.5)) e->engagement = 3 * e->pitch + draw.uniform(0, 0.25);
    if (draw.chance(0.3)) e->displaced = -draw.uniform(0.004, 0.08);
  }
  return s;
}

}  // namespace hingeline::plan::samples

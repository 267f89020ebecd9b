#pragma once
/// \file
/// Straight-sided points and holes drawn out from their measures a second time, in long double: what
/// the project's profiles would be without rounding. Takes the forms, shares no arithmetic with them.

#include <cmath>

#include "exact_contact.h"
#include "hingeline/contact/profile.h"

namespace reference {

inline Real real(hingeline::Length l) { return l.raw(); }
inline Real real_tan(hingeline::Angle a) { return std::tan(static_cast<Real>(a.raw())); }

inline RealOutline outline_of_pairs(const std::vector<hingeline::contact::Vertex>& pairs) {
  RealOutline o;
  for (const auto& v : pairs) {
    o.along.push_back(real(v.along));
    o.radius.push_back(real(v.radius));
  }
  return o;
}

/// Cone (flat or worn tip), parallel pin or pairs.
inline RealOutline exact_point(const hingeline::contact::PointForm& f) {
  using namespace hingeline::contact;
  if (f.shape == PointShape::pairs) return outline_of_pairs(f.pairs);
  if (f.shape == PointShape::parallel) {
    if (f.pin_length == f.length) return {{0, real(f.length)}, {real(f.pin_radius), real(f.pin_radius)}};
    return {{0, real(f.pin_length), real(f.pin_length), real(f.length)},
            {real(f.pin_radius), real(f.pin_radius), real(f.shoulder_radius), real(f.shoulder_radius)}};
  }
  const Real slope = real_tan(f.half_angle);
  const auto flank = [&](Real s) { return real(f.tip_radius) + slope * s; };
  RealOutline o{{0}, {real(f.tip_radius)}};
  if (f.tip == TipShape::worn) {
    o.radius[0] -= real(f.wear_depth);
    o.along.push_back(real(f.wear_length));
    o.radius.push_back(flank(real(f.wear_length)));
  }
  const Real shank = f.shank_radius.raw() > 0 ? (real(f.shank_radius) - real(f.tip_radius)) / slope
                                              : std::numeric_limits<Real>::infinity();
  if (shank < real(f.length)) {
    o.along.push_back(shank);
    o.radius.push_back(real(f.shank_radius));
  }
  o.along.push_back(real(f.length));
  o.radius.push_back(std::min(flank(real(f.length)), flank(std::min(shank, real(f.length)))));
  return o;
}

/// Any hole, with its floor.
inline RealOutline exact_hole(const hingeline::contact::HoleForm& f) {
  using namespace hingeline::contact;
  RealOutline o;
  if (f.shape == HoleShape::pairs) {
    o = outline_of_pairs(f.pairs);
    o.along.push_back(o.along.back());
    o.radius.push_back(0);
    return o;
  }
  const Real mouth = real(f.mouth_radius);
  const Real depth = real(f.depth);
  o = {{0}, {mouth}};
  if (f.shape == HoleShape::straight || f.shape == HoleShape::drilled) {
    o.along.insert(
        o.along.end(),
        {depth, f.shape == HoleShape::drilled ? depth + mouth / real_tan(f.floor_half_angle) : depth});
    o.radius.insert(o.radius.end(), {mouth, 0});
    return o;
  }
  Real from = 0;
  Real radius = mouth;
  if (f.shape == HoleShape::bell) {
    from = real(f.bell_depth);
    radius -= from * real_tan(f.bell_half_angle);
    o.along.push_back(from);
    o.radius.push_back(radius);
  }
  const Real slope = real_tan(f.half_angle);
  const Real axis = from + radius / slope;
  o.along.push_back(std::min(depth, axis));
  o.radius.push_back(axis <= depth ? 0 : radius - (depth - from) * slope);
  o.along.push_back(o.along.back());
  o.radius.push_back(0);
  return o;
}

}  // namespace reference

#pragma once
/// \file
/// Keys to inquire into.

#include "hingeline/belief/inquiry.h"

namespace hingeline::belief {

/// A middle-sized key on matched cones, nothing wrong with its parts.
inline Subject cone_subject() {
  Subject subject;
  KeyGeometry& g = subject.geometry;
  g.key_length = millimetres(40);
  g.span = millimetres(40.42);
  for (const Side side : {Side::upper, Side::lower}) {
    JointGeometry& j = g.at(side);
    j.point.shape = contact::PointShape::cone;
    j.point.half_angle = degrees(20);
    j.point.tip_radius = millimetres(0.4);
    j.point.length = millimetres(3.4);
    j.point.shank_radius = millimetres(1.15);
    j.hole.shape = contact::HoleShape::cone;
    j.hole.mouth_radius = millimetres(1.0);
    j.hole.half_angle = degrees(20);
    j.hole.depth = millimetres(2.1);
    j.stop = millimetres(0.2);
  }
  g.pad = mechanism::Pad{millimetres(20), millimetres(25), millimetres(30), {}};
  return subject;
}

inline Subject headless_subject() {
  Subject subject = cone_subject();
  subject.upper_headed = subject.lower_headed = false;
  return subject;
}

inline Subject rod_subject() {
  Subject subject;
  KeyGeometry& g = subject.geometry;
  g.kind = HingeKind::rod;
  g.key_length = millimetres(60);
  g.span = millimetres(60.02);
  g.rod_diameter = millimetres(2.00);
  g.bore = millimetres(2.016);
  g.pad = mechanism::Pad{millimetres(25), millimetres(30), millimetres(25), {}};
  return subject;
}

}  // namespace hingeline::belief

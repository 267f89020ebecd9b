#pragma once
/// \file
/// Drawn hinges of every kind, from a seed.

#include <utility>

#include "exact_hinge.h"
#include "hingeline/mechanism/hinge.h"
#include "random_joints.h"

namespace reference {

/// A hinge that is free by up to 0.5 mm, on its joints, on its faces, or on one of each; one in
/// twelve is a rod in its tube.
inline hingeline::mechanism::Hinge draw_hinge(Engine& engine, Roundness roundness) {
  using namespace hingeline;
  using mechanism::HingeEnd;
  const Length key = millimetres(uniform(engine, 10, 120));
  const Length gap = millimetres(uniform(engine, 0.05, 0.8));
  const auto end = [&]() -> HingeEnd {
    contact::Joint joint = draw_joint(engine, roundness);
    // Where the joint alone would stop the key: inside the gap, or outside it so that the face rules.
    const Length stop = gap * uniform(engine, -0.2, 0.49);
    const Length protrusion = joint.home().insertion + stop;
    return {std::move(joint), protrusion};
  };
  if (pick(engine, 12) == 0) {
    const auto rod = [&] { return contact::Joint::rod(millimetres(uniform(engine, 0.002, 0.06))); };
    HingeEnd upper{rod(), {}};
    HingeEnd lower{rod(), {}};
    return {key + gap, key, std::move(upper), std::move(lower)};
  }
  HingeEnd upper = end();
  HingeEnd lower = end();
  return {key + gap, key, std::move(upper), std::move(lower)};
}

/// The same hinge by its outlines alone.
inline PlainHinge plain(const hingeline::mechanism::Hinge& hinge) {
  using hingeline::mechanism::Side;
  PlainHinge h;
  h.span = hinge.span().raw();
  h.key = hinge.key_length().raw();
  for (const Side side : {Side::upper, Side::lower}) {
    const auto& from = hinge.end(side);
    End& to = h.ends[side == Side::upper ? 0 : 1];
    to.protrusion = from.protrusion.raw();
    if (from.joint.is_rod()) {
      to.rod_clearance = from.joint.home().clearance.raw();
    } else {
      to.point = outline(*from.joint.point());
      to.hole = outline(*from.joint.hole());
    }
  }
  return h;
}

}  // namespace reference

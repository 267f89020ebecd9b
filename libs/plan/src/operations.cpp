#include "operations.h"

namespace hingeline::plan {

using belief::HingeKind;
using belief::KeyGeometry;
using contact::HoleShape;
using contact::PointShape;

namespace {

contact::HoleForm as_pairs(const contact::HoleForm& form, const contact::Profile& profile) {
  contact::HoleForm out = form;
  out.shape = HoleShape::pairs;
  const auto v = profile.vertices();
  out.pairs.assign(v.begin(), v.end());
  out.floor_pairs = v.size() - std::min(profile.floor_begin(), v.size());
  out.depth = profile.floor_begin() < v.size() ? v[profile.floor_begin()].along : profile.length();
  out.mouth_radius = v.front().radius;
  return out;
}

}  // namespace

Length flank_radius_at_face(const KeyGeometry& key, Side side, Length insertion) {
  const auto& p = key.at(side).point;
  const double slope = tan(p.half_angle);
  if (p.shape != PointShape::cone) return key.at(side).hole.mouth_radius;
  if (p.tip == contact::TipShape::round) {
    const Length tangent_along = p.tip_radius * (1 - sin(p.half_angle));
    return p.tip_radius * cos(p.half_angle) + (insertion - tangent_along) * slope;
  }
  return p.tip_radius + insertion * slope;
}

Expected<contact::Home> home_of(const belief::JointGeometry& joint) {
  auto point = contact::make_point(joint.point);
  if (!point) return tl::unexpected(point.error());
  auto hole = contact::make_hole(joint.hole);
  if (!hole) return tl::unexpected(hole.error());
  return contact::Joint(std::move(*point), std::move(*hole)).home();
}

double frame_moved(const Step& s) {
  if (s.side != Side::upper) return 0;
  if (s.operation == Operation::restore_post) return s.amount.raw();
  return s.operation == Operation::face ? -s.amount.raw() : 0;
}

Expected<KeyGeometry> after(const KeyGeometry& key, const Step& s) {
  KeyGeometry out = key;
  auto& joint = out.at(s.side);
  switch (s.operation) {
    case Operation::drive_home:
    case Operation::turn_screw:
    case Operation::seat_cut:
      joint.stop += s.amount;
      return out;
    case Operation::restore_post:
      out.span -= s.amount;
      return out;
    case Operation::ream:
    case Operation::face:
      break;
  }
  // The pad keeps its place on the key; its station counts from the upper end.
  if (s.operation == Operation::face && s.side == Side::upper && out.pad) out.pad->station -= s.amount;
  if (key.kind == HingeKind::rod) {
    if (s.operation == Operation::ream)
      return fail(Fault::geometry, "a rod's tube is not reamed with a taper", "the next rod size");
    out.key_length -= s.amount;
    return out;
  }
  const auto before = home_of(joint);
  if (!before) return tl::unexpected(before.error());
  const Length protrusion = before->insertion + joint.stop;
  const auto hole = contact::make_hole(joint.hole);
  if (!hole) return tl::unexpected(hole.error());
  if (s.operation == Operation::ream) {
    const Angle taper = contact::fitting_taper(joint.point, joint.hole);
    if (taper.raw() <= 0)
      return fail(Fault::geometry,
                  "a straight hole with a point that has no taper cannot be reamed along its taper",
                  "a conical point or hole");
    if (joint.hole.shape == HoleShape::cone && joint.hole.half_angle == taper) {
      joint.hole.mouth_radius += s.amount * tan(taper);
    } else {
      const Length at_face = flank_radius_at_face(key, s.side, before->insertion + s.amount);
      joint.hole = as_pairs(joint.hole, contact::ream(*hole, taper, at_face));
    }
  } else {
    auto faced = contact::face(*hole, s.amount);
    if (!faced) return tl::unexpected(faced.error());
    if (joint.hole.shape == HoleShape::cone || joint.hole.shape == HoleShape::straight ||
        joint.hole.shape == HoleShape::drilled) {
      joint.hole.mouth_radius = faced->vertices().front().radius;
      joint.hole.depth -= s.amount;
    } else {
      joint.hole = as_pairs(joint.hole, *faced);
    }
    out.key_length -= s.amount;
  }
  const auto now = home_of(joint);
  if (!now) return tl::unexpected(now.error());
  joint.stop = protrusion - now->insertion;
  return out;
}

}  // namespace hingeline::plan

#include "hingeline/service/pictures.h"

#include <fmt/format.h>
#include <algorithm>

namespace hingeline::service {
namespace {

using drawing::JointView;
using mechanism::Hinge;

drawing::Outline outline_of(const contact::Profile& profile) {
  drawing::Outline out;
  for (const auto& v : profile.vertices()) out.push_back({v.along, v.radius});
  return out;
}

Length value_or_none(const plan::MaybeLength& m) { return m && m->known() ? m->value : Length{}; }

JointView joint_view(const KeyResult& key, const belief::KeyGeometry& geometry, const Hinge& hinge,
                     Side side) {
  JointView v;
  const plan::EndFacts& facts = key.key_case->facts(side);
  const record::End& end = side == Side::upper ? key.source->hinge.upper : key.source->hinge.lower;
  v.face_gap = hinge.travel().gap_at(side);
  v.key_end_radius = value_or_none(facts.key_end_diameter) / 2;
  if (end.post.thickness.known()) v.post_thickness = end.post.thickness.value;
  const auto home = mechanism::home_end(hinge, side);
  if (geometry.kind == belief::HingeKind::rod) {
    v.rod = true;
    v.rod_radius = geometry.rod_diameter / 2;
    v.bore_radius = geometry.bore / 2;
    return v;
  }
  const auto& joint = hinge.end(side).joint;
  v.point = outline_of(*joint.point());
  v.hole = outline_of(*joint.hole());
  const auto wall = joint.hole()->vertices();
  if (joint.hole()->floor_begin() < wall.size()) v.floor_depth = wall[joint.hole()->floor_begin()].along;
  const Length place = side == Side::upper ? hinge.travel().low : hinge.travel().high;
  v.insertion = hinge.insertion(side, place);
  v.headed = facts.headed;
  v.head_radius = facts.headed ? value_or_none(facts.head_diameter) / 2 : Length{};
  if (end.screw.head_height.known()) v.head_height = end.screw.head_height.value;
  if (home.stop == mechanism::StopKind::face) {
    v.regime = "face";
    return v;
  }
  v.regime = contact::word(home.regime);
  v.touch_depth = joint.home().depth;
  v.touch_radius = joint.home().radius;
  v.touch_length = joint.home().touching;
  return v;
}

std::string short_words(const plan::Step& s, LengthUnit unit) {
  using plan::Operation;
  const std::string amount = show(abs(s.amount), unit);
  switch (s.operation) {
    case Operation::drive_home:
      return "screw home " + amount;
    case Operation::turn_screw:
      return fmt::format("screw {} {}", s.amount.raw() >= 0 ? "in" : "out", amount);
    case Operation::restore_post:
      return "post back " + amount;
    case Operation::seat_cut:
      return "seat cut " + amount;
    case Operation::ream:
      return "ream " + amount;
    case Operation::face:
      break;
  }
  return "face " + amount;
}

const plan::Plan* chosen(const KeyResult& key) {
  return key.plan.plans.empty() || key.plan.plans.front().steps.empty() ? nullptr : &key.plan.plans.front();
}

}  // namespace

drawing::SectionView section_view(const KeyResult& key, LengthUnit unit) {
  drawing::SectionView v;
  v.title = fmt::format("{}: both joints in section", key.name);
  v.subtitle = fmt::format("{}. {}", word(key.plan.verdict), key.plan.because.in(unit));
  v.unit = unit;
  v.upper = joint_view(key, key.estimate().geometry, *key.hinge, Side::upper);
  v.lower = joint_view(key, key.estimate().geometry, *key.hinge, Side::lower);
  if (const plan::Plan* p = chosen(key)) {
    for (const auto& s : p->steps)
      (s.side == Side::upper ? v.work_upper : v.work_lower).push_back(short_words(s, unit));
    if (const auto hinge = belief::build_hinge(p->geometry_after)) {
      v.upper_after = joint_view(key, p->geometry_after, *hinge, Side::upper);
      v.lower_after = joint_view(key, p->geometry_after, *hinge, Side::lower);
    }
  }
  return v;
}

drawing::StripView strip_view(const KeyResult& key, LengthUnit unit) {
  drawing::StripView v;
  const auto& e = key.estimate();
  const auto& geometry = e.geometry;
  const auto& travel = key.hinge->travel();
  v.title = key.name;
  v.verdict = word(key.plan.verdict);
  v.sentence = key.plan.because.in(unit);
  v.span = geometry.span;
  v.key_length = geometry.key_length;
  v.end_play = travel.end_play();
  v.end_play_pm = millimetres(e[Figure::end_play].plus_minus);
  v.window_low = key.plan.window.low;
  v.window_high = key.plan.window.high;
  v.unit = unit;
  v.upper.gap_home = travel.gap_at(Side::upper);
  v.lower.gap_home = travel.gap_at(Side::lower);
  if (const plan::Plan* p = chosen(key)) {
    v.end_play_after = millimetres(p->after[static_cast<std::size_t>(Figure::end_play)]);
    for (const auto& s : p->steps) {
      auto& end = s.side == Side::upper ? v.upper : v.lower;
      end.work += (end.work.empty() ? "" : ", ") + short_words(s, unit);
      if (plan::takes_metal(s.operation)) end.cut += s.amount;
    }
    for (const auto& r : p->reserves) {
      auto& end = r.side == Side::upper ? v.upper : v.lower;
      if (!r.left || r.limit == "face gap" || (end.reserve && *end.reserve <= *r.left)) continue;
      end.reserve = *r.left;
      end.reserve_name = r.limit;
    }
  }
  if (geometry.pad) {
    v.has_pad = true;
    v.pad_station = geometry.pad->station;
    v.tone_hole = geometry.pad->tone_hole;
    v.side_gap = millimetres(e[Figure::side_gap].value);
    v.worst_gap = millimetres(e[Figure::worst_gap].value);
    v.pad_gap_allowed = key.key_case->window.pad_gap_allowed;
    v.pad_offset = key.key_case->pad_off_centre;
  }
  return v;
}

}  // namespace hingeline::service

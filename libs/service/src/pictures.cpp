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

drawing::CutterView cutter_view(const KeyResult& key, Side side, LengthUnit unit) {
  drawing::CutterView v;
  const plan::EndFacts& facts = key.key_case->facts(side);
  const record::End& end = side == Side::upper ? key.source->hinge.upper : key.source->hinge.lower;
  v.title = fmt::format("{}: cutter and reach at the {} post", key.name, word(side));
  v.unit = unit;
  v.post_diameter = value_or_none(facts.post_diameter);
  if (end.post.thickness.known()) v.post_thickness = end.post.thickness.value;
  if (facts.headed) v.head_diameter = value_or_none(facts.head_diameter);
  v.room_behind = value_or_none(facts.room_behind);
  v.room_around = value_or_none(facts.room_around);
  if (const plan::Cutter* cutter = plan::fitting_cutter(facts, key.key_case->tools, key.key_case->limits)) {
    v.cutter = cutter->name;
    v.cutter_diameter = cutter->diameter;
    v.driver = plan::choose_reach(facts, key.key_case->tools, cutter).name;
  }
  if (const plan::Plan* p = chosen(key)) {
    for (const plan::Step& s : p->steps) {
      if (s.operation == plan::Operation::seat_cut && s.side == side) v.cut += s.amount;
    }
  }
  return v;
}

namespace {

/// A number that a figure rests on, by its name's end.
Length given_of(const Worked& figure, std::string_view name) {
  for (const Effect& e : figure.effects) {
    if (e.given.name.ends_with(name)) return millimetres(e.given.value);
  }
  return {};
}

}  // namespace

Expected<drawing::WedgeView> wedge_view(const KeyResult& key, const KeyLeak& leak, LengthUnit unit) {
  if (!leak.nothing.empty())
    return fail(Fault::content,
                fmt::format("nothing can be said of the leak of {}: {}", key.id, leak.nothing));
  drawing::WedgeView v;
  v.title = key.name + ": pad wedge and leak";
  v.unit = unit;
  v.tone_hole = key.estimate().geometry.pad ? key.estimate().geometry.pad->tone_hole : Length{};
  v.gap = millimetres(leak.gap.value);
  v.take_up = given_of(leak.leak, "pad gives");
  v.land = given_of(leak.leak, "width of the rim");
  v.leak = show_leak(leak.leak);
  v.as_hole = "as a hole of " + show_hole(leak, unit);
  return v;
}

Expected<drawing::YearsView> years_view(const KeyWear& wear, LengthUnit unit) {
  if (wear.problem) return tl::unexpected(*wear.problem);
  drawing::YearsView v;
  v.title = wear.name + ": end play over the years";
  v.unit = unit;
  v.now = millimetres(wear.now.value);
  v.window_high = wear.edge;
  // The aim stands in the middle of the window.
  v.window_low = wear.aim * 2 - wear.edge;
  v.slow = millimetres(wear.growth.quantile(0.05));
  v.middle = millimetres(wear.growth.median);
  v.fast = millimetres(wear.growth.quantile(0.95));
  v.subtitle = fmt::format("Due again: {}.", show_years(wear.due));
  return v;
}

Expected<drawing::StackView> stack_view(const record::Stack& stack, const StackResult& result,
                                        const InstrumentResult& instrument, LengthUnit unit) {
  if (result.problem) return tl::unexpected(*result.problem);
  drawing::StackView v;
  v.title = (result.name.empty() ? result.id : result.name) + ": tubes on one rod";
  v.unit = unit;
  if (stack.rod.diameter.known()) v.rod = stack.rod.diameter.value;
  for (std::size_t i = 0; i < stack.gaps.size(); ++i) {
    const record::StackGap& g = stack.gaps[i];
    drawing::StackView::Gap gap;
    if (g.span.known()) gap.span = g.span.value;
    for (const record::StackTube& t : g.tubes) {
      drawing::StackView::Tube tube{t.name.text, t.length.known() ? t.length.value : Length{}};
      if (const auto key = find_key(instrument, t.key.text)) {
        // What the tube leaves out is its key's.
        if (tube.name.empty()) tube.name = (*key)->name;
        if (!t.length.known()) tube.length = (*key)->knowledge.geometry.key_length;
      }
      gap.tubes.push_back(std::move(tube));
    }
    if (!(gap.span > Length())) {
      // Nobody read it: as long as its tubes and their play.
      for (const auto& tube : gap.tubes) gap.span += tube.length;
      if (i < result.gaps.size()) gap.span += millimetres(std::max(0.0, result.gaps[i].end_play.value));
    }
    if (i < result.gaps.size()) {
      gap.play = millimetres(result.gaps[i].end_play.value);
      gap.window_low = result.gaps[i].low;
      gap.window_high = result.gaps[i].high;
    }
    v.gaps.push_back(std::move(gap));
  }
  return v;
}

}  // namespace hingeline::service

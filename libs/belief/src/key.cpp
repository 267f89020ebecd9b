#include "hingeline/belief/key.h"

#include <array>
#include <cmath>
#include <limits>

#include "truth.h"

namespace hingeline::belief {
namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

struct FigureName {
  Figure figure;
  const char* word;
  const char* code;
};
constexpr std::array<FigureName, kFigureCount> kNames{{
    {Figure::end_play, "end play", "end-play"},
    {Figure::gap_upper, "upper face gap, pushed home", "gap-upper"},
    {Figure::gap_lower, "lower face gap, pushed home", "gap-lower"},
    {Figure::face_gap, "face gaps together", "face-gap"},
    {Figure::rock_upper, "rock at the upper end", "rock-upper"},
    {Figure::rock_lower, "rock at the lower end", "rock-lower"},
    {Figure::rock_pad, "rock at the pad", "rock-pad"},
    {Figure::side_gap, "pad gap, side to side", "side-gap"},
    {Figure::front_gap, "pad gap, front to back", "front-gap"},
    {Figure::worst_gap, "pad gap, worst direction", "pad-gap"},
    {Figure::seat_wander, "seat wander", "seat-wander"},
    {Figure::home_rock_upper, "rock left when home, upper", "home-rock-upper"},
    {Figure::home_rock_lower, "rock left when home, lower", "home-rock-lower"},
    {Figure::insertion_upper, "upper point in the key", "insertion-upper"},
    {Figure::insertion_lower, "lower point in the key", "insertion-lower"},
    {Figure::tip_floor_upper, "upper tip to floor", "tip-floor-upper"},
    {Figure::tip_floor_lower, "lower tip to floor", "tip-floor-lower"},
}};

double& in(Figures& f, Figure which) { return f[static_cast<std::size_t>(which)]; }

Length floor_depth(const contact::Profile& hole) {
  const auto v = hole.vertices();
  return hole.floor_begin() < v.size() ? v[hole.floor_begin()].along : hole.length();
}

}  // namespace

Expected<contact::Joint> build_joint(const JointGeometry& g) {
  auto point = contact::make_point(g.point);
  if (!point) return tl::unexpected(point.error());
  auto hole = contact::make_hole(g.hole);
  if (!hole) return tl::unexpected(hole.error());
  return contact::Joint(std::move(*point), std::move(*hole));
}

mechanism::HingeEnd end_with(const JointGeometry& g, contact::Joint joint) {
  const Length protrusion = g.protrusion ? *g.protrusion : joint.home().insertion + g.stop;
  return {std::move(joint), protrusion};
}

const char* word(Figure f) { return kNames[static_cast<std::size_t>(f)].word; }
const char* code(Figure f) { return kNames[static_cast<std::size_t>(f)].code; }

const char* word(Observation::Of of) {
  using Of = Observation::Of;
  switch (of) {
    case Of::end_play:
      return "end play";
    case Of::gap_upper:
      return "upper face gap";
    case Of::gap_lower:
      return "lower face gap";
    case Of::rock:
      break;
  }
  return "rock";
}

std::optional<Figure> figure_of(const std::string& code) {
  for (const auto& n : kNames) {
    if (code == n.code) return n.figure;
  }
  return std::nullopt;
}

Expected<mechanism::Hinge> build_hinge(const KeyGeometry& key) {
  if (key.kind == HingeKind::rod) {
    const auto joint = contact::Joint::rod((key.bore - key.rod_diameter) / 2);
    return mechanism::Hinge(key.span, key.key_length, {joint, {}}, {joint, {}});
  }
  auto upper = build_joint(key.upper);
  if (!upper) return tl::unexpected(upper.error());
  auto lower = build_joint(key.lower);
  if (!lower) return tl::unexpected(lower.error());
  return mechanism::Hinge(key.span, key.key_length, end_with(key.upper, std::move(*upper)),
                          end_with(key.lower, std::move(*lower)));
}

Figures figures_of(const KeyGeometry& key, const mechanism::Hinge& hinge) {
  Figures f;
  f.fill(kNone);
  const auto& t = hinge.travel();
  in(f, Figure::end_play) = t.end_play().raw();
  in(f, Figure::gap_upper) = t.gap_at(Side::upper).raw();
  in(f, Figure::gap_lower) = t.gap_at(Side::lower).raw();
  in(f, Figure::face_gap) = t.face_gap.raw();
  const mechanism::Play play(hinge);
  in(f, Figure::rock_upper) = mechanism::rock(play, Length{}).travel.raw();
  in(f, Figure::rock_lower) = mechanism::rock(play, key.key_length).travel.raw();
  if (key.pad) {
    in(f, Figure::rock_pad) = mechanism::rock(play, key.pad->station).travel.raw();
    const auto p = mechanism::pad_play(play, *key.pad);
    in(f, Figure::side_gap) = p.side_gap.raw();
    in(f, Figure::front_gap) = p.front_gap.raw();
    in(f, Figure::worst_gap) = p.worst_gap.raw();
    in(f, Figure::seat_wander) = p.seat_wander.raw();
  }
  in(f, Figure::home_rock_upper) = mechanism::home_end(hinge, Side::upper).rock_there.raw();
  in(f, Figure::home_rock_lower) = mechanism::home_end(hinge, Side::lower).rock_there.raw();
  if (key.kind == HingeKind::pivot) {
    const auto& u = hinge.end(Side::upper).joint;
    const auto& l = hinge.end(Side::lower).joint;
    in(f, Figure::insertion_upper) = u.home().insertion.raw();
    in(f, Figure::insertion_lower) = l.home().insertion.raw();
    in(f, Figure::tip_floor_upper) = (floor_depth(*u.hole()) - u.home().insertion).raw();
    in(f, Figure::tip_floor_lower) = (floor_depth(*l.hole()) - l.home().insertion).raw();
  }
  return f;
}

}  // namespace hingeline::belief

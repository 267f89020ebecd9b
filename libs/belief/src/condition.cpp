#include "condition.h"

#include <algorithm>
#include <cmath>

#include "hingeline/numeric/statistics.h"

namespace hingeline::belief {
namespace {

using mechanism::Side;
using numeric::normal_below;

/// A size that is felt half the time at `at`.
double felt(double size, double at, double sharpness) { return normal_below((size - at) / sharpness); }

/// How surely drag is felt.
double drag_felt(double drag) { return drag * drag / (1 + drag * drag); }

struct Sticking {
  double all = 0;
  double one = 0;
};
Sticking sticking(double best, double worst, double drag, const CausePresets& p) {
  const double always = normal_below(-best / p.stick_sharpness);
  const double somewhere = std::max(always, normal_below(-worst / p.stick_sharpness));
  const double gummed = drag_felt(drag);
  return {gummed + (1 - gummed) * always, (1 - gummed) * (somewhere - always)};
}

/// What an end can be moved across by besides its joint's clearance. A key that binds cannot be rocked in its
/// joints; a screw loose in its thread still can.
double loose_at(const Bench& b, std::size_t end) { return b.slop[end] + (b.best > 0 ? b.oval[end] : 0); }

double pad_rock(const Bench& b, const Ground& ground, const std::vector<JointFacts>& joints) {
  const bool free = b.best > 0;
  if (ground.kind == HingeKind::rod) return free ? b.bore : 0;
  double rock = 0;
  if (free) {
    const auto end = [&](std::size_t e) {
      const JointFacts& j = joints[static_cast<std::size_t>(b.joint[e])];
      return mechanism::HingeEnd{j.joint, millimetres(ground.gap[e] + j.home)};
    };
    const JointFacts& upper = joints[static_cast<std::size_t>(b.joint[0])];
    const JointFacts& lower = joints[static_cast<std::size_t>(b.joint[1])];
    if (b.best <= upper.pulled && b.best <= lower.pulled) {
      // Both clearances are straight all the way, so the rock is worst with the key home on one end.
      const double s = ground.pad_share;
      const double upper_home =
          (1 - s) * upper.home_clearance + s * (lower.home_clearance + lower.widening * b.best);
      const double lower_home =
          (1 - s) * (upper.home_clearance + upper.widening * b.best) + s * lower.home_clearance;
      rock = 2 * std::max(upper_home, lower_home);
      return rock + 2 * ((1 - s) * loose_at(b, 0) + s * loose_at(b, 1));
    }
    const double span = ground.key_length + ground.gap[0] + ground.gap[1] + b.best;
    const mechanism::Hinge hinge(millimetres(span), millimetres(ground.key_length), end(0), end(1));
    rock = mechanism::rock(mechanism::Play(hinge), millimetres(ground.pad_share * ground.key_length))
               .travel.raw();
  }
  return rock + 2 * ((1 - ground.pad_share) * loose_at(b, 0) + ground.pad_share * loose_at(b, 1));
}

}  // namespace

JointFacts::JointFacts(contact::Joint j) : joint(std::move(j)) {
  const contact::Home& h = joint.home();
  home = h.insertion.raw();
  home_clearance = h.clearance.raw();
  regime = h.regime;
  flank_share = home > 0 ? h.touching.raw() / home : 0;
}

void JointFacts::look_next_to_home() {
  pulled = 0;
  widening = 0;
  if (joint.is_rod() || !(home > 0) || !std::isfinite(home)) return;
  const auto curve = joint.curve(Length{}, joint.home().insertion);
  if (curve.size() < 2) return;
  const contact::ClearanceKnot& last = curve.back();
  const contact::ClearanceKnot& before = curve[curve.size() - 2];
  const double reach = (last.insertion - before.insertion).raw();
  // A jump at home, as on a floor, is left to the whole curve.
  if (!(reach > 0) || std::abs(last.clearance.raw() - home_clearance) > 1e-12) return;
  pulled = reach;
  widening = (before.clearance - last.clearance).raw() / reach;
}

Bend bend_of(const Sizes& sizes, const Ground& ground) {
  const double chord = ground.presets.bow_chord;
  const double curvature = 8 * sizes.bow / (chord * chord + 4 * sizes.bow * sizes.bow);
  return {-(curvature * sizes.line_offset * ground.span), std::abs(curvature) * ground.span / 2};
}

std::array<double, 2> added_play(const Condition& c, Causes cured, const Ground& ground,
                                 const std::vector<JointFacts>& joints) {
  const CausePresets& p = ground.presets;
  const Sizes& s = c.sizes;
  const auto has = [&](Cause cause) { return c.causes.has(cause) && !cured.has(cause); };
  const Bend bend = has(Cause::bent_body) ? bend_of(s, ground) : Bend{};
  double added = bend.added;
  if (has(Cause::post_moved)) added += s.post;
  const double turning = has(Cause::bent_key) ? 4 * s.runout / ground.key_length : 0;
  if (ground.kind == HingeKind::rod) {
    // What is left between the faces; the bore's room is looked at beside it.
    return {added, added};
  }
  if (has(Cause::screw_off)) added += s.screw_off;
  double eaten_best = 0;
  double eaten_worst = 0;
  for (std::size_t e = 0; e < 2; ++e) {
    const JointFacts& j = joints[static_cast<std::size_t>(c.joint[e])];
    if (j.taper == 0) continue;
    const bool post_here = has(Cause::post_moved) && c.at[e].has(Cause::post_moved);
    const double lean = bend.lean + (post_here ? std::abs(s.post) / p.post_height : 0);
    const double per_lean = j.per_lean();
    if (turning > 0) {
      eaten_worst += per_lean * (lean + turning + s.residual_lean);
      eaten_best += per_lean * std::max(0.0, std::abs(lean - turning) - s.residual_lean);
    } else {
      eaten_worst += per_lean * lean;
      eaten_best += per_lean * lean;
    }
  }
  return {added - eaten_best, added - eaten_worst};
}

Bench bench_of(const Condition& c, Causes cured, double fit, const Ground& ground,
               const std::vector<JointFacts>& joints) {
  const CausePresets& p = ground.presets;
  const Sizes& s = c.sizes;
  const auto has = [&](Cause cause) { return c.causes.has(cause) && !cured.has(cause); };
  const auto has_at = [&](Cause cause, std::size_t end) { return has(cause) && c.at[end].has(cause); };
  Bench b;
  const auto added = added_play(c, cured, ground, joints);
  b.best = fit + added[0];
  b.worst = fit + added[1];
  b.end_play = b.best;
  b.bow = has(Cause::bent_body) ? s.bow : 0;
  b.runout = has(Cause::bent_key) ? s.runout : 0;
  b.drag = has(Cause::dirt) ? s.drag : p.drag_clean;
  b.climate = has(Cause::climate) ? s.climate : 0;
  b.slack = has(Cause::screw_off);
  for (std::size_t e = 0; e < 2; ++e) {
    b.post[e] = has_at(Cause::post_moved, e) ? s.post : 0;
    b.stand_off[e] = has_at(Cause::screw_off, e) ? s.screw_off : 0;
    b.slop[e] = has_at(Cause::loose_thread, e) ? s.slop : 0;
    b.oval[e] = has_at(Cause::worn_hole, e) ? s.oval : 0;
  }
  if (ground.kind == HingeKind::rod) {
    const double clearance = ground.bore_clearance + (has(Cause::worn_bore) ? s.bore_wear : 0);
    b.bore = 2 * clearance;
    if (has(Cause::bent_key)) {
      b.best = std::min(b.best, b.bore - std::max(0.0, s.runout - s.residual_runout));
      b.worst = std::min(b.worst, b.bore - s.runout - s.residual_runout);
    }
    return b;
  }
  const bool free = b.best > 0;
  bool restored = false;
  for (const Cause form :
       {Cause::worn_hole, Cause::taper_mismatch, Cause::straight_hole, Cause::tip_on_floor}) {
    restored = restored || (c.causes.has(form) && cured.has(form));
  }
  for (std::size_t e = 0; e < 2; ++e) {
    // A joint that was restored is as a sound one.
    b.joint[e] = restored ? ground.sound_joint[e] : c.joint[e];
    const JointFacts& j = joints[static_cast<std::size_t>(b.joint[e])];
    b.home_rock[e] = 2 * (loose_at(b, e) + (free ? j.home_clearance : 0));
  }
  return b;
}

std::array<double, 3> choice_chances(Check check, const Bench& b, const Ground& ground,
                                     const std::vector<JointFacts>& joints) {
  const CausePresets& p = ground.presets;
  std::array<double, 3> chance{};
  const auto yes = [&](double share) { chance = {1 - share, share, 0}; };
  const auto side = side_of(check);
  const std::size_t e = side && *side == Side::lower ? 1 : 0;
  std::size_t words = 2;
  switch (check) {
    case Check::sticks: {
      const Sticking s = sticking(b.best, b.worst, b.drag, p);
      chance = {1 - s.all - s.one, s.all, s.one};
      words = 3;
      break;
    }
    case Check::slack_upper:
    case Check::slack_lower:
      yes(b.stand_off[e] > 0 ? p.slack_if_off : p.slack_if_set);
      break;
    case Check::wobble_upper:
    case Check::wobble_lower:
      yes(felt(2 * b.slop[e], p.wobble_at, p.wobble_sharpness));
      break;
    case Check::ink_upper:
    case Check::ink_lower: {
      const JointFacts& j = joints[static_cast<std::size_t>(b.joint[e])];
      words = 3;
      if (j.regime == contact::Regime::flank) {
        // A short flank looks like an edge.
        const double flank = std::min(1.0, j.flank_share / 0.6);
        chance = {flank, 1 - flank, 0};
      } else if (j.regime == contact::Regime::rim || j.regime == contact::Regime::shoulder) {
        chance = {0, 1, 0};
      } else {
        chance = {0, 0, 1};
      }
      break;
    }
    case Check::look_upper:
    case Check::look_lower: {
      const JointFacts& j = joints[static_cast<std::size_t>(b.joint[e])];
      words = 3;
      if (j.straight) {
        chance = {0, 0, 1};
      } else {
        const double worn = 1 - std::exp(-(b.oval[e] / 0.02 + j.bell_share / 0.2));
        chance = {1 - worn, worn, 0};
      }
      break;
    }
    case Check::back_off_upper:
    case Check::back_off_lower: {
      const Sticking now = sticking(b.best, b.worst, b.drag, p);
      const Sticking then = sticking(b.best + p.back_off, b.worst + p.back_off, b.drag, p);
      const double stuck = now.all + now.one;
      yes(std::max(0.0, stuck - (then.all + then.one)));
      break;
    }
    case Check::post_upper:
    case Check::post_lower:
      yes(felt(std::abs(b.post[e]), p.lean_at, p.lean_sharpness));
      break;
    case Check::neighbours:
      yes(felt(std::abs(b.bow), p.neighbour_at, p.neighbour_sharpness));
      break;
    case Check::clean:
      yes(b.drag > p.drag_clean ? drag_felt(b.drag) : 0.02);
      break;
    case Check::warmth:
      yes(felt(std::abs(b.climate), p.warmth_at, p.warmth_sharpness));
      break;
    default:
      break;
  }
  for (std::size_t k = 0; k < words; ++k) {
    chance[k] = (1 - p.wrong_answer) * chance[k] + p.wrong_answer / static_cast<double>(words);
  }
  return chance;
}

double reading_middle(Check check, const Bench& b, const Ground& ground,
                      const std::vector<JointFacts>& joints) {
  switch (check) {
    case Check::end_play:
      return b.end_play;
    case Check::rock_upper:
      return b.home_rock[0];
    case Check::rock_lower:
      return b.home_rock[1];
    case Check::rock_pad:
      return pad_rock(b, ground, joints);
    case Check::stand_off_upper:
      return b.stand_off[0];
    case Check::stand_off_lower:
      return b.stand_off[1];
    case Check::bow:
      return b.bow;
    case Check::roll:
      return b.runout;
    default:
      return b.bore;
  }
}

std::array<double, kComplaintCount> complaint_chances(const Bench& b, const Ground& ground,
                                                      const std::vector<JointFacts>& joints) {
  const CausePresets& p = ground.presets;
  // Where it is played, the climate has its say.
  const double best = b.best + b.climate;
  const double worst = b.worst + b.climate;
  const Sticking s = sticking(best, worst, b.drag, p);
  std::array<double, kComplaintCount> chance{felt(pad_rock(b, ground, joints), p.rock_felt, p.rock_sharpness),
                                             s.all + s.one, drag_felt(b.drag),
                                             felt(b.best, p.click_at, p.click_sharpness) / 2};
  double sum = 0;
  for (double& c : chance) sum += c += p.complaint_base;
  for (double& c : chance) c /= sum;
  return chance;
}

}  // namespace hingeline::belief

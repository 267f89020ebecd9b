#include "hingeline/virtual_bench/hidden_key.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "contact.h"

namespace hingeline::virtual_bench {
namespace {

using belief::Cause;
using belief::Check;
using belief::Cure;
using belief::HingeKind;

constexpr std::array kSides{Side::upper, Side::lower};
/// A hole is never shallower than this, mm, wherever its floor is drawn.
constexpr double kLeastDepth = 0.1;
/// Chance that cleaning seems to help where there was no dirt.
constexpr double kHelpsAnyway = 0.02;
/// Share of the insertion from which a touching flank is rubbed clean of ink for sure.
constexpr double kFullInk = 0.6;
/// Oval (mm) and bell-mouthed share that each show as "worn" with the chance 1 - 1/e.
constexpr double kSeenOval = 0.02, kSeenBell = 0.2;
/// Clearances are kept ready for this much more end play than the key comes with, mm.
constexpr double kSpareReach = 0.02;

std::size_t at(Side s) { return s == Side::upper ? 0 : 1; }
std::size_t at(Cause c) { return static_cast<std::size_t>(c); }

/// Share of a standard normal below z.
double below(double z) { return std::erfc(-z / std::numbers::sqrt2) / 2; }
/// Chance that a size is felt.
double felt(double size, double from, double sharpness) {
  if (!(sharpness > 0)) return size > from ? 1 : 0;
  return below((size - from) / sharpness);
}

double lognormal(belief::Spread s, double normal) { return s.median * std::exp(s.sigma * normal); }

/// The value above `least` of a normal that a uniform deviate stands for.
double normal_above(double uniform, double mean, double sd, double least) {
  if (!(sd > 0)) return std::max(mean, least);
  const double share = uniform * below((mean - least) / sd);
  // So far out that nothing of the distribution is left to draw from.
  if (share < 1e-300) return least;
  return std::max(least, mean - sd * numeric::inverse_normal(share));
}

double sign(double uniform) { return uniform < 0.5 ? -1 : 1; }

constexpr bool is_hole_damage(Cause c) {
  return c == Cause::worn_hole || c == Cause::taper_mismatch || c == Cause::straight_hole ||
         c == Cause::tip_on_floor;
}
constexpr bool is_fit(Cause c) { return c == Cause::short_fit || c == Cause::over_cut; }
/// Whether both may be on one key.
constexpr bool go_together(Cause a, Cause b) {
  return a != b && !(is_fit(a) && is_fit(b)) && !(is_hole_damage(a) && is_hole_damage(b));
}

bool is_cone(const belief::JointGeometry& j) { return j.point.shape == contact::PointShape::cone; }
bool cone_in_cone(const belief::JointGeometry& j) {
  return is_cone(j) && j.hole.shape == contact::HoleShape::cone;
}
bool is_straight(const contact::HoleForm& h) {
  return h.shape == contact::HoleShape::straight || h.shape == contact::HoleShape::drilled;
}

/// What a key must have for there to be anything to look at.
enum class Needs { nothing, pad, pivots, head, no_head, rod };
Needs needs_of(Check check) {
  switch (check) {
    case Check::rock_pad:
      return Needs::pad;
    case Check::stand_off_upper:
    case Check::stand_off_lower:
      return Needs::head;
    case Check::slack_upper:
    case Check::slack_lower:
      return Needs::no_head;
    case Check::wobble_upper:
    case Check::wobble_lower:
    case Check::ink_upper:
    case Check::ink_lower:
    case Check::look_upper:
    case Check::look_lower:
    case Check::back_off_upper:
    case Check::back_off_lower:
      return Needs::pivots;
    case Check::bore:
      return Needs::rod;
    default:
      return Needs::nothing;
  }
}

}  // namespace

HiddenKey::HiddenKey(const belief::KeyGeometry& sound, EndHeads heads, const belief::CausePresets& presets,
                     TakeOff take_off, std::uint64_t seed, std::uint64_t number)
    : sound_(sound), heads_(heads), presets_(presets), take_off_(take_off), chance_(seed, number) {}

HiddenKey HiddenKey::draw(const belief::KeyGeometry& sound, EndHeads heads, Length window_low,
                          Length window_high, const belief::CausePresets& presets, TakeOff take_off,
                          std::uint64_t seed, std::uint64_t number) {
  HiddenKey key(sound, heads, presets, take_off, seed, number);
  key.window_low_ = window_low;
  key.window_high_ = window_high;
  key.draw_causes();
  key.draw_sizes(window_low.raw(), window_high.raw());
  key.settle_joints();
  key.settle();
  key.draw_complaint();
  return key;
}

bool HiddenKey::can_be_at(Cause cause, Side side) const {
  const bool needs_cones =
      cause == Cause::taper_mismatch || cause == Cause::straight_hole || cause == Cause::tip_on_floor;
  return !needs_cones || cone_in_cone(sound_.at(side));
}

bool HiddenKey::can_be(Cause cause) const {
  if (sound_.kind == HingeKind::rod) {
    return is_fit(cause) || cause == Cause::post_moved || cause == Cause::bent_body ||
           cause == Cause::bent_key || cause == Cause::worn_bore || cause == Cause::dirt ||
           cause == Cause::climate;
  }
  if (cause == Cause::worn_bore) return false;
  if (cause == Cause::short_fit) return heads_.upper_headed || heads_.lower_headed;
  return can_be_at(cause, Side::upper) || can_be_at(cause, Side::lower);
}

void HiddenKey::draw_causes() {
  // Every key takes as many numbers from its stream whatever comes out, so that other shares leave sizes
  // alone.
  const double is_sound = chance_.uniform();
  const double two = chance_.uniform();
  const std::array<double, 2> which{chance_.uniform(), chance_.uniform()};
  std::array<double, belief::kCauseCount> side_deviates{};
  for (double& u : side_deviates) u = chance_.uniform();

  const auto pick = [&](double uniform, const auto& allowed) {
    double total = 0;
    for (std::size_t c = 1; c < belief::kCauseCount; ++c) {
      if (allowed(static_cast<Cause>(c))) total += presets_.share[c];
    }
    double left = uniform * total;
    Cause last = Cause::sound;
    for (std::size_t c = 1; c < belief::kCauseCount; ++c) {
      const auto cause = static_cast<Cause>(c);
      if (!(presets_.share[c] > 0) || !allowed(cause)) continue;
      last = cause;
      left -= presets_.share[c];
      if (left < 0) break;
    }
    return last;
  };
  if (is_sound >= presets_.sound_share) {
    const Cause first = pick(which[0], [&](Cause c) { return can_be(c); });
    causes_.add(first);
    if (two < presets_.two_causes && first != Cause::sound) {
      causes_.add(pick(which[1], [&](Cause c) { return can_be(c) && go_together(first, c); }));
    }
  }
  for (std::size_t c = 0; c < belief::kCauseCount; ++c) {
    const auto cause = static_cast<Cause>(c);
    sides_[c] = side_deviates[c] < 0.5 ? Side::upper : Side::lower;
    if (!can_be_at(cause, sides_[c])) sides_[c] = mechanism::other(sides_[c]);
  }
}

void HiddenKey::draw_sizes(double low, double high) {
  const auto& p = presets_;
  const auto keep = [&](Cause cause, double value) { return Length::of(causes_.has(cause) ? value : 0); };
  const double fit = chance_.uniform();
  if (causes_.has(Cause::short_fit)) {
    sizes_.fit = Length::of(normal_above(fit, p.short_mean, p.short_sd, high + p.short_least));
  } else if (causes_.has(Cause::over_cut)) {
    sizes_.fit = Length::of(-normal_above(fit, -p.over_mean, p.over_sd, 0));
  } else {
    // Half a window to either side, in standard deviations: the part of the normal between.
    const double outside = below(-0.5 / p.fit_width_share);
    sizes_.fit =
        Length::of((low + high) / 2 + p.fit_width_share * (high - low) *
                                          numeric::inverse_normal(outside + (1 - 2 * outside) * fit));
  }
  sizes_.screw_off = keep(Cause::screw_off, lognormal(p.screw_off, chance_.normal()));
  sizes_.slop = keep(Cause::loose_thread, lognormal(p.thread_slop, chance_.normal()));
  const double post = normal_above(chance_.uniform(), 0, p.post_sd, p.post_least);
  sizes_.post = keep(Cause::post_moved, post * sign(chance_.uniform()));
  const double bow = lognormal(p.bow, chance_.normal());
  sizes_.bow = keep(Cause::bent_body, bow * sign(chance_.uniform()));
  sizes_.runout = keep(Cause::bent_key, lognormal(p.runout, chance_.normal()));
  sizes_.bore_wear = keep(Cause::worn_bore, lognormal(p.bore_wear, chance_.normal()));
  sizes_.oval = keep(Cause::worn_hole, lognormal(p.oval, chance_.normal()));
  const double bell = p.bell_low + (p.bell_high - p.bell_low) * chance_.uniform();
  const bool bells = causes_.has(Cause::worn_hole) &&
                     sound_.at(sides_[at(Cause::worn_hole)]).hole.shape == contact::HoleShape::cone;
  sizes_.bell = bells ? bell : 0;
  const double mismatch = p.mismatch_low + (p.mismatch_high - p.mismatch_low) * chance_.uniform();
  double mismatch_sign = sign(chance_.uniform());
  if (causes_.has(Cause::taper_mismatch)) {
    // A slim point has no room for a slimmer hole, nor a blunt one for a blunter.
    const double half_angle = sound_.at(sides_[at(Cause::taper_mismatch)]).point.half_angle.raw();
    if (half_angle - mismatch < degrees(1).raw()) mismatch_sign = 1;
    if (half_angle + mismatch > degrees(85).raw()) mismatch_sign = -1;
    sizes_.mismatch = radians(mismatch * mismatch_sign);
  }
  const double floor = p.floor_low + (p.floor_high - p.floor_low) * chance_.uniform();
  sizes_.floor = keep(Cause::tip_on_floor, floor);
  const double drag = lognormal(p.drag, chance_.normal());
  sizes_.drag = causes_.has(Cause::dirt) ? drag : p.drag_clean;
  const double climate = normal_above(chance_.uniform(), 0, p.climate_sd, p.climate_least);
  sizes_.climate = keep(Cause::climate, climate * sign(chance_.uniform()));
  sizes_.line_offset = Length::of(p.line_offset * sign(chance_.uniform()));
  sizes_.residual_lean = radians(p.residual_lean_sd * std::abs(chance_.normal()));
  sizes_.residual_runout = Length::of(p.residual_runout_sd * std::abs(chance_.normal()));
  rate_ = take_off_.per_turn * std::exp(take_off_.between * chance_.normal());
  if (causes_.has(Cause::short_fit)) least_metal_ = Length::of(std::max(0.0, sizes_.fit.raw() - high));
  if (causes_.has(Cause::over_cut)) least_metal_ = Length::of(std::max(0.0, low - sizes_.fit.raw()));
}

void HiddenKey::draw_complaint() {
  const auto& p = presets_;
  const auto weight = [&](double s) { return p.complaint_base + s; };
  const std::array<double, belief::kComplaintCount> weights{
      weight(felt(pad_rock_, p.rock_felt, p.rock_sharpness)),
      weight(sticks_chance(left_of(end_play_ + sizes_.climate.raw()))), weight(dirt_felt()),
      weight(felt(end_play().raw(), p.click_at, p.click_sharpness) / 2)};
  double total = 0;
  for (const double w : weights) total += w;
  double left = chance_.uniform() * total;
  std::size_t k = 0;
  while (k + 1 < weights.size() && left >= weights[k]) left -= weights[k++];
  complaint_ = static_cast<belief::Complaint>(k);
}

double HiddenKey::at_end(Length size, Cause cause, Side side) const {
  return sides_[at(cause)] == side ? size.raw() : 0;
}

void HiddenKey::settle_joints() {
  const belief::Causes now = causes_.without(cured_);
  const double end_play = sizes_.fit.raw() + sizes_.screw_off.raw() + std::abs(sizes_.post.raw());
  for (const Side side : kSides) {
    belief::JointGeometry& joint = joints_[at(side)];
    joint = sound_.at(side);
    if (sound_.kind == HingeKind::rod) continue;
    contact::HoleForm& hole = joint.hole;
    const auto home = [&] { return Contact(sound_.at(side), kRockStep.raw(), 0).home(); };
    const auto here = [&](Cause c) { return now.has(c) && sides_[at(c)] == side; };
    if (here(Cause::worn_hole) && sizes_.bell > 0) {
      hole.shape = contact::HoleShape::bell;
      hole.bell_depth = Length::of(sizes_.bell * home());
      hole.bell_half_angle = hole.half_angle + radians(presets_.bell_steeper);
      hole.mouth_radius += hole.bell_depth * (tan(hole.bell_half_angle) - tan(hole.half_angle));
    }
    if (here(Cause::taper_mismatch)) hole.half_angle = joint.point.half_angle + sizes_.mismatch;
    if (here(Cause::straight_hole)) hole.shape = contact::HoleShape::straight;
    if (here(Cause::tip_on_floor)) {
      hole.depth = Length::of(std::max(kLeastDepth, home() - sizes_.floor.raw()));
    }
    contacts_[at(side)] =
        std::make_shared<const Contact>(joint, kRockStep.raw(), std::max(0.0, end_play) + kSpareReach);
  }
}

double HiddenKey::bore_clearance() const {
  const double gauged = (sound_.bore.raw() - sound_.rod_diameter.raw()) / 2;
  const bool known = sound_.rod_diameter.raw() > 0 && gauged > 0;
  return (known ? gauged : presets_.bore_clearance) + sizes_.bore_wear.raw();
}

HiddenKey::Left HiddenKey::left_of(double end_play) const {
  Left left{end_play, end_play};
  if (sound_.kind == HingeKind::rod) {
    if (sizes_.runout.raw() > 0) {
      const double free = 2 * bore_clearance() - sizes_.runout.raw();
      left.easiest = std::min(end_play, free + sizes_.residual_runout.raw());
      left.worst = std::min(end_play, free - sizes_.residual_runout.raw());
    }
    return left;
  }
  const double chord = presets_.bow_chord;
  const double bow = sizes_.bow.raw();
  const double body_lean = std::abs(8 * bow / (chord * chord + 4 * bow * bow)) * sound_.span.raw() / 2;
  const double turning = 4 * sizes_.runout.raw() / sound_.key_length.raw();
  // A straight tube takes its line as it is: parts were made to fit with its residual lean in them.
  const double residual = sizes_.runout.raw() > 0 ? sizes_.residual_lean.raw() : 0;
  for (const Side side : kSides) {
    const belief::JointGeometry& joint = joints_[at(side)];
    if (!is_cone(joint)) continue;
    const double lean =
        std::abs(at_end(sizes_.post, Cause::post_moved, side)) / presets_.post_height + body_lean;
    const double eaten = contacts_[at(side)]->home() / sin(2 * joint.point.half_angle);
    left.easiest -= eaten * std::max(0.0, std::abs(lean - turning) - residual);
    left.worst -= eaten * (lean + turning + residual);
  }
  return left;
}

void HiddenKey::settle() {
  const double chord = presets_.bow_chord;
  const double bow = sizes_.bow.raw();
  const double curvature = 8 * bow / (chord * chord + 4 * bow * bow);
  end_play_ = sizes_.fit.raw() + sizes_.screw_off.raw() + sizes_.post.raw() -
              curvature * sizes_.line_offset.raw() * sound_.span.raw();
  left_ = left_of(end_play_);

  const double share = sound_.pad ? sound_.pad->station / sound_.key_length : 0.5;
  const std::array<double, 2> parts{std::abs(1 - share), std::abs(share)};
  double radius = 0;
  for (const Side side : kSides) {
    double at_joint = at_end(sizes_.slop, Cause::loose_thread, side);
    if (left_.easiest > 0) at_joint += at_end(sizes_.oval, Cause::worn_hole, side);
    radius += parts[at(side)] * at_joint;
  }
  if (left_.easiest > 0) radius += worst_pose(share);
  pad_rock_ = 2 * radius;
}

double HiddenKey::worst_pose(double share) const {
  const double upper = std::abs(1 - share);
  const double lower = std::abs(share);
  if (sound_.kind == HingeKind::rod) return (upper + lower) * bore_clearance();
  const double free = left_.easiest;
  const auto at_place = [&](double from_upper) {
    return upper * contacts_[0]->clearance(from_upper) + lower * contacts_[1]->clearance(free - from_upper);
  };
  double worst = std::max(at_place(0), at_place(free));
  for (std::size_t k = 1; static_cast<double>(k) * kRockStep.raw() < free; ++k) {
    const double step = static_cast<double>(k) * kRockStep.raw();
    // Where the one or the other clearance is kept as reckoned.
    worst = std::max({worst, at_place(step), at_place(free - step)});
  }
  return worst;
}

double HiddenKey::dirt_felt() const {
  const double square = sizes_.drag * sizes_.drag;
  return square / (1 + square);
}

double HiddenKey::sticks_chance(const Left& left) const {
  return 1 - (1 - dirt_felt()) * (1 - felt(-left.worst, 0, presets_.stick_sharpness));
}

bool HiddenKey::applies(Check check) const {
  const Side side = belief::side_of(check).value_or(Side::upper);
  const bool pivots = sound_.kind == HingeKind::pivot;
  switch (needs_of(check)) {
    case Needs::nothing:
      break;
    case Needs::pad:
      return sound_.pad.has_value();
    case Needs::pivots:
      return pivots;
    case Needs::head:
      return pivots && heads_.at(side);
    case Needs::no_head:
      return pivots && !heads_.at(side);
    case Needs::rod:
      return !pivots;
  }
  return true;
}

double HiddenKey::truth_of(Check check) const {
  switch (check) {
    case Check::end_play:
      return end_play().raw();
    case Check::rock_upper:
      return home_rock(Side::upper).raw();
    case Check::rock_lower:
      return home_rock(Side::lower).raw();
    case Check::rock_pad:
      return pad_rock_;
    case Check::stand_off_upper:
      return at_end(sizes_.screw_off, Cause::screw_off, Side::upper);
    case Check::stand_off_lower:
      return at_end(sizes_.screw_off, Cause::screw_off, Side::lower);
    case Check::bow:
      return sizes_.bow.raw();
    case Check::roll:
      return sizes_.runout.raw();
    case Check::bore:
      return 2 * bore_clearance();
    default:
      return 0;
  }
}

double HiddenKey::standard_of(Check check) const {
  switch (check) {
    case Check::end_play:
      return end_play().raw() < 0 ? presets_.bind_standard : presets_.end_play_standard;
    case Check::rock_upper:
    case Check::rock_lower:
    case Check::rock_pad:
      return presets_.rock_standard;
    case Check::stand_off_upper:
    case Check::stand_off_lower:
      return presets_.stand_off_standard;
    case Check::bow:
      return presets_.bow_standard;
    case Check::roll:
      return presets_.roll_standard;
    case Check::bore:
      return presets_.bore_standard;
    default:
      return 0;
  }
}

std::size_t HiddenKey::word_of(Check check) {
  const auto& p = presets_;
  const double u = chance_.uniform();
  const Side side = belief::side_of(check).value_or(Side::upper);
  const auto yes = [&](double chance) -> std::size_t { return u < chance ? 1 : 0; };
  const double post = std::abs(at_end(sizes_.post, Cause::post_moved, side));
  switch (check) {
    case Check::sticks: {
      const double dirt = dirt_felt();
      const double all_round = 1 - (1 - dirt) * (1 - felt(-left_.easiest, 0, p.stick_sharpness));
      // One hand feels both places, so what is felt at the easiest is felt at the worst too.
      if (u < all_round) return 1;
      return u < sticks_chance(left_) ? 2 : 0;
    }
    case Check::slack_upper:
    case Check::slack_lower:
      return yes(at_end(sizes_.screw_off, Cause::screw_off, side) > 0 ? p.slack_if_off : p.slack_if_set);
    case Check::wobble_upper:
    case Check::wobble_lower:
      return yes(felt(2 * at_end(sizes_.slop, Cause::loose_thread, side), p.wobble_at, p.wobble_sharpness));
    case Check::ink_upper:
    case Check::ink_lower: {
      const Contact& contact = *contacts_[at(side)];
      if (contact.carries() == Carries::tip) return 2;
      if (contact.carries() == Carries::rim) return 1;
      return u < contact.touching() / contact.home() / kFullInk ? 0 : 1;
    }
    case Check::look_upper:
    case Check::look_lower: {
      if (is_straight(joints_[at(side)].hole)) return 2;
      const contact::HoleForm& hole = joints_[at(side)].hole;
      const bool bells = hole.shape == contact::HoleShape::bell;
      const double share = bells ? hole.bell_depth.raw() / contacts_[at(side)]->home() : 0;
      const double oval = at_end(sizes_.oval, Cause::worn_hole, side);
      return yes(1 - std::exp(-(oval / kSeenOval + share / kSeenBell)));
    }
    case Check::back_off_upper:
    case Check::back_off_lower:
      return yes(sticks_chance(left_) - sticks_chance(left_of(end_play_ + p.back_off)));
    case Check::post_upper:
    case Check::post_lower:
      return yes(felt(post, p.lean_at, p.lean_sharpness));
    case Check::neighbours:
      return yes(felt(std::abs(sizes_.bow.raw()), p.neighbour_at, p.neighbour_sharpness));
    case Check::clean:
      return yes(dirt_felt() + kHelpsAnyway * (1 - dirt_felt()));
    case Check::warmth:
      return yes(felt(std::abs(sizes_.climate.raw()), p.warmth_at, p.warmth_sharpness));
    default:
      return 0;
  }
}

Finding HiddenKey::answer(Check check, Noise noise) {
  Finding finding{check, {}, 0};
  const double slip = chance_.uniform();
  if (belief::is_reading(check)) {
    const double deviate = chance_.uniform();
    const double error = slip < presets_.misread
                             ? presets_.misread_reach * (2 * deviate - 1)
                             : noise.scale * standard_of(check) * numeric::inverse_normal(deviate);
    double read = (applies(check) ? truth_of(check) : 0) + error;
    const bool either_sign = check == Check::end_play || check == Check::bow;
    if (noise.clamped && !either_sign) read = std::max(0.0, read);
    finding.value = Length::of(read);
    return finding;
  }
  finding.choice = applies(check) ? word_of(check) : 0;
  const auto words = belief::answers(check).size();
  const auto any = static_cast<std::size_t>(chance_.uniform() * static_cast<double>(words));
  if (slip < presets_.wrong_answer) finding.choice = std::min(any, words - 1);
  if (check == Check::clean) treat(Cure::clean);
  return finding;
}

void HiddenKey::treat(Cure cure) {
  const bool does_nothing = chance_.uniform() < presets_.stubborn;
  if (does_nothing) return;
  if (cure == Cure::cut || cure == Cure::ease) {
    // A tube on its rod is swedged or faced to length against its posts.
    const bool called_for = standing().has(cure == Cure::cut ? Cause::short_fit : Cause::over_cut);
    if (sound_.kind == HingeKind::rod && called_for) sizes_.fit = (window_low_ + window_high_) / 2;
    settle();
    return;
  }
  bool hole_changed = false;
  for (std::size_t c = 1; c < belief::kCauseCount; ++c) {
    const auto cause = static_cast<Cause>(c);
    if (is_fit(cause) || belief::cure_of(cause) != cure || !causes_.without(cured_).has(cause)) continue;
    cured_.add(cause);
    hole_changed = hole_changed || is_hole_damage(cause);
    switch (cause) {
      case Cause::worn_hole:
        sizes_.oval = {};
        sizes_.bell = 0;
        break;
      case Cause::taper_mismatch:
        sizes_.mismatch = {};
        break;
      case Cause::tip_on_floor:
        sizes_.floor = {};
        break;
      case Cause::screw_off:
        sizes_.screw_off = {};
        break;
      case Cause::loose_thread:
        sizes_.slop = {};
        break;
      case Cause::post_moved:
        sizes_.post = {};
        break;
      case Cause::bent_body:
        sizes_.bow = {};
        break;
      case Cause::bent_key:
        sizes_.runout = {};
        break;
      case Cause::worn_bore:
        sizes_.bore_wear = {};
        break;
      case Cause::dirt:
        sizes_.drag = presets_.drag_clean;
        break;
      case Cause::climate:
        sizes_.climate = {};
        break;
      default:
        break;
    }
  }
  if (hole_changed) settle_joints();
  settle();
}

double HiddenKey::bite(double turns) {
  const double nothing = chance_.uniform();
  const double scatter = chance_.normal();
  if (nothing < take_off_.nothing) return 0;
  return std::max(0.0, turns) * rate_.raw() * std::exp(take_off_.within * scatter);
}

void HiddenKey::cut(Side /*side*/, double turns) {
  const Length taken = Length::of(bite(turns));
  metal_.cut += taken;
  sizes_.fit -= taken;
  settle();
}

void HiddenKey::ream(Side /*side*/, double turns) {
  const Length taken = Length::of(bite(turns));
  metal_.reamed += taken;
  sizes_.fit += taken;
  settle();
}

void HiddenKey::turn_screw(Side side, Length inwards) {
  if (heads_.at(side) || sound_.kind == HingeKind::rod) return;
  sizes_.fit -= inwards;
  settle();
}

belief::Causes HiddenKey::standing() const {
  belief::Causes now = causes_.without(cured_);
  if (sizes_.fit <= window_high_) now.remove(Cause::short_fit);
  if (sizes_.fit >= window_low_) now.remove(Cause::over_cut);
  return now;
}

std::optional<Side> HiddenKey::side_of(Cause cause) const {
  if (!belief::at_one_end(cause) || !causes_.has(cause)) return std::nullopt;
  return sides_[at(cause)];
}

Length HiddenKey::end_play() const {
  return Length::of(sound_.kind == HingeKind::rod ? end_play_ : left_.easiest);
}
Length HiddenKey::left_easiest() const { return Length::of(left_.easiest); }
Length HiddenKey::left_worst() const { return Length::of(left_.worst); }
bool HiddenKey::in_window(Length low, Length high) const { return end_play() >= low && end_play() <= high; }

Length HiddenKey::home_rock(Side side) const {
  double radius = at_end(sizes_.slop, Cause::loose_thread, side);
  if (left_.easiest > 0) {
    radius += at_end(sizes_.oval, Cause::worn_hole, side);
    radius += sound_.kind == HingeKind::rod ? bore_clearance() : contacts_[at(side)]->clearance(0);
  }
  return Length::of(2 * radius);
}

Length HiddenKey::pad_rock() const { return Length::of(pad_rock_); }

Length HiddenKey::home_insertion(Side side) const {
  return Length::of(contacts_[at(side)] ? contacts_[at(side)]->home() : 0);
}

const belief::JointGeometry& HiddenKey::joint(Side side) const { return joints_[at(side)]; }

}  // namespace hingeline::virtual_bench

#include "paper_words.h"

#include <array>
#include <cmath>
#include <utility>

namespace hingeline::service {

Say of(plan::Verdict verdict) {
  switch (verdict) {
    case plan::Verdict::sound:
      return Say::sound;
    case plan::Verdict::loose:
      return Say::loose;
    case plan::Verdict::tight:
      return Say::tight;
    case plan::Verdict::binds:
      return Say::binds;
    case plan::Verdict::cannot_tell:
      break;
  }
  return Say::cannot_tell;
}

Say of(Origin origin) {
  switch (origin) {
    case Origin::read:
      return Say::origin_read;
    case Origin::pattern:
      return Say::origin_pattern;
    case Origin::preset:
      return Say::origin_preset;
    case Origin::unknown:
      break;
  }
  return Say::origin_unknown;
}

Say of(Side side) { return side == Side::upper ? Say::upper : Say::lower; }

Say of(belief::Cause cause) {
  static constexpr std::array kSays = {
      Say::cause_sound,          Say::cause_short_fit,     Say::cause_over_cut,     Say::cause_worn_hole,
      Say::cause_taper_mismatch, Say::cause_straight_hole, Say::cause_tip_on_floor, Say::cause_screw_off,
      Say::cause_loose_thread,   Say::cause_post_moved,    Say::cause_bent_body,    Say::cause_bent_key,
      Say::cause_worn_bore,      Say::cause_dirt,          Say::cause_climate};
  static_assert(kSays.size() == belief::kCauseCount);
  return kSays[static_cast<std::size_t>(cause)];
}

Say of_riding(const std::string& regime) {
  static const std::array<std::pair<const char*, Say>, 10> kSays = {{{"flank", Say::on_flank},
                                                                     {"rim", Say::on_rim},
                                                                     {"tip edge", Say::on_tip_edge},
                                                                     {"inner edge", Say::on_inner_edge},
                                                                     {"point edge", Say::on_point_edge},
                                                                     {"round", Say::on_round},
                                                                     {"floor", Say::on_floor},
                                                                     {"shoulder", Say::on_shoulder},
                                                                     {"face", Say::on_face},
                                                                     {"rod", Say::on_rod}}};
  for (const auto& [word, say] : kSays) {
    if (regime == word) return say;
  }
  return Say::on_nothing;
}

Say of_reach(const std::string& driver) {
  if (driver == plan::word(plan::Driver::Kind::straight)) return Say::reach_straight;
  return driver == plan::word(plan::Driver::Kind::flexible) ? Say::reach_flexible : Say::reach_pinch;
}

std::string say_step(const plan::Step& step, const Voice& voice) {
  using plan::Operation;
  const std::string end = voice(of(step.side));
  const std::string amount = voice.length(abs(step.amount));
  const bool inwards = step.amount.raw() >= 0;
  std::string out;
  switch (step.operation) {
    case Operation::drive_home:
      out = voice(Say::step_drive_home, end, amount);
      break;
    case Operation::turn_screw:
      out = voice(inwards ? Say::step_turn_in : Say::step_turn_out, end, amount);
      break;
    case Operation::restore_post:
      out = voice(inwards ? Say::step_restore_in : Say::step_restore_out, end, amount);
      break;
    case Operation::seat_cut:
      out = voice(Say::step_seat_cut, end, amount);
      break;
    case Operation::ream:
      out = voice(Say::step_ream, end, amount);
      break;
    case Operation::face:
      out = voice(Say::step_face, end, amount);
      break;
  }
  if (!step.tool.name.empty()) out += voice(Say::step_tool, step.tool.name);
  if (!step.reach.name.empty()) {
    out += voice(Say::step_reach, voice(of_reach(step.reach.name)));
  }
  if (step.turns > 0) out += voice(Say::step_turns, voice.number(step.turns, step.turns < 10 ? 1 : 0));
  return out;
}

std::string say_short(const plan::Step& step, const Voice& voice) {
  using plan::Operation;
  const std::string end = voice(of(step.side));
  const std::string amount = voice.length(abs(step.amount));
  switch (step.operation) {
    case Operation::drive_home:
      return voice(Say::short_drive_home, end);
    case Operation::turn_screw:
      return voice(step.amount.raw() >= 0 ? Say::short_turn_in : Say::short_turn_out, end, amount);
    case Operation::restore_post:
      return voice(Say::short_restore, end, amount);
    case Operation::seat_cut:
      return voice(Say::short_seat, end, amount);
    case Operation::ream:
      return voice(Say::short_ream, end, amount);
    case Operation::face:
      break;
  }
  return voice(Say::short_face, end, amount);
}

std::string say_done(const DoneWork& work, const Voice& voice) {
  static const std::array<std::pair<const char*, Say>, 18> kSays = {
      {{"seat-cut", Say::done_seat_cut},
       {"ream", Say::done_ream},
       {"face", Say::done_face},
       {"drive-home", Say::done_drive_home},
       {"turn-screw", Say::done_turn_screw},
       {"restore-post", Say::done_restore_post},
       {"clean", Say::done_clean},
       {"set-screw", Say::done_drive_home},
       {"mend-thread", Say::done_mend_thread},
       {"straighten-body", Say::done_straighten_body},
       {"straighten-key", Say::done_straighten_key},
       {"suit-climate", Say::done_suit_climate},
       {"fit-rod", Say::done_fit_rod},
       {"deepen-hole", Say::done_deepen_hole},
       {"restore-hole", Say::done_restore_hole},
       {"ease", Say::done_ease},
       {"cut", Say::done_cut},
       {"step", Say::done_step}}};
  std::string out = work.step;
  for (const auto& [code, say] : kSays) {
    if (work.step == code) out = voice(say);
  }
  if (work.side) out += ", " + voice(of(*work.side));
  if (work.turns > 0) out += ", " + voice(Say::turns, voice.number(work.turns, work.turns < 10 ? 1 : 0));
  return work.key.empty() ? out : voice(Say::done_line, work.key, out);
}

std::string say_limit(const std::string& limit, const Voice& voice) {
  static const std::array<std::pair<const char*, Say>, 7> kSays = {
      {{"thread engagement", Say::limit_engagement},
       {"wall at the key's mouth", Say::limit_wall_mouth},
       {"tip to floor", Say::limit_tip_floor},
       {"face gap", Say::limit_face_gap},
       {"metal under the head", Say::limit_web},
       {"wall round the seat", Say::limit_wall_seat},
       {"the slot's reach", Say::limit_slot}}};
  for (const auto& [word, say] : kSays) {
    if (limit == word) return voice(say);
  }
  return limit;
}

std::string say(const belief::FigureValue& value, const Voice& voice) {
  if (!std::isfinite(value.value)) return "-";
  if (value.is_range) return voice.range(millimetres(value.low), millimetres(value.high));
  return voice.length(millimetres(value.value), millimetres(value.plus_minus));
}

std::string say_window(const plan::Window& window, const Voice& voice) {
  return window.crossed ? "-" : voice.range(window.low, window.high);
}

std::string say_bare(const belief::FigureValue& value, const Voice& voice) {
  if (!std::isfinite(value.value)) return "-";
  const auto bare = [&](double mm) { return voice.bare(millimetres(mm)); };
  if (value.is_range) return voice(Say::from_to, bare(value.low), bare(value.high));
  return bare(value.value) + " ± " + bare(value.plus_minus);
}

std::string say_bare(const plan::Window& window, const Voice& voice) {
  return window.crossed ? "-" : voice(Say::from_to, voice.bare(window.low), voice.bare(window.high));
}

std::string say_cause(const belief::CauseShare& share, const Voice& voice) {
  const std::string cause = voice(of(share.cause));
  if (!belief::at_one_end(share.cause) || !(share.share > 0)) return cause;
  if (share.upper_share > 0.8) return voice(Say::cause_at, cause, voice(Say::upper));
  if (share.upper_share < 0.2) return voice(Say::cause_at, cause, voice(Say::lower));
  return cause;
}

std::string say_work(std::size_t work, const BudgetResult& budget, const InstrumentResult& result,
                     const Voice& voice) {
  const choice::Work& w = budget.candidates.works[work];
  const PossibleWork& possible = budget.works[work];
  const auto rest = [&](std::string_view before) { return w.id.substr(before.size()); };
  if (w.id.starts_with("key ")) {
    std::string id = rest("key ");
    const std::size_t blank = id.find(' ');
    const std::string what = blank == std::string::npos ? std::string() : id.substr(blank + 1);
    id.resize(std::min(blank, id.size()));
    const auto key = find_key(result, id);
    const std::string& name = key ? (*key)->name : id;
    if (what == "posts") return voice(Say::work_key, name, voice(Say::work_post));
    if (what == "home") return voice(Say::work_free, name);
    if (possible.source == WorkSource::look) return voice(Say::work_look, name);
    return voice(w.takes_metal ? Say::work_fit : Say::work_free, name);
  }
  // A stack and an own work are called as the document calls them.
  if (possible.source == WorkSource::body && !w.id.starts_with("work ")) return voice(Say::work_body);
  return possible.name;
}

}  // namespace hingeline::service

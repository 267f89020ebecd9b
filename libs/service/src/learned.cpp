#include "hingeline/service/learned.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "json_parts.h"
#include "knowledge.h"

namespace hingeline::service {
namespace {

using belief::AgainstPreset;
using record::AngleEntry;
using record::Entry;
using record::Job;
using record::Ledger;
using record::LengthEntry;
using record::MeasuredField;
using record::Subject;

constexpr std::array kOperations{plan::Operation::drive_home,   plan::Operation::turn_screw,
                                 plan::Operation::restore_post, plan::Operation::seat_cut,
                                 plan::Operation::ream,         plan::Operation::face};
/// For 95 of 100 of a normal.
constexpr double kNineteenOfTwenty = 1.959964;
/// Work nobody has a preset for: a guess, from memory of common practice.
constexpr double kMinutesGuess = 3;

plan::Minutes& minutes_in(plan::Pace& pace, plan::Operation op) {
  switch (op) {
    case plan::Operation::drive_home:
      return pace.drive_home;
    case plan::Operation::turn_screw:
      return pace.turn_screw;
    case plan::Operation::restore_post:
      return pace.restore_post;
    case plan::Operation::seat_cut:
      return pace.seat_cut;
    case plan::Operation::ream:
      return pace.ream;
    case plan::Operation::face:
      break;
  }
  return pace.face;
}

std::optional<plan::Operation> operation_of(const std::string& typed) {
  for (const plan::Operation op : kOperations) {
    if (typed == code(op)) return op;
  }
  return std::nullopt;
}

/// Preset minutes of an operation, a check or a cure by its code; absent: there are none.
std::optional<plan::Minutes> preset_minutes(const std::string& of, plan::Pace pace,
                                            const belief::CausePresets& presets) {
  std::optional<plan::Minutes> out;
  if (const auto op = operation_of(of)) {
    out = minutes_in(pace, *op);
  } else if (const auto check = belief::check_of(of)) {
    out = plan::Minutes{presets.minutes[static_cast<std::size_t>(*check)], 0};
  } else {
    for (std::size_t k = 0; k < belief::kCureCount; ++k) {
      if (of == belief::code(static_cast<belief::Cure>(k))) out = plan::Minutes{presets.cure_minutes[k], 0};
    }
  }
  if (out && !(out->set_up + out->per_turn > 0)) out.reset();
  return out;
}

/// Standard uncertainty of one reading: its own ±, else its instrument's, else the shop's where nothing is
/// said.
double standard_of(const LengthEntry& e, const record::Shop& shop) {
  if (e.plus_minus) return e.plus_minus->raw() / 2;
  for (const auto& m : shop.measuring) {
    if (m.name == e.with && m.plus_minus.known()) return m.plus_minus.value.raw() / 2;
  }
  const auto& unstated = shop.presets.plus_minus_unstated;
  return (unstated.known() ? unstated.value.raw() : 0.02) / 2;
}
double standard_of(const AngleEntry& e, const record::Shop& shop) {
  if (e.plus_minus) return e.plus_minus->raw() / 2;
  const auto& unstated = shop.presets.angle_plus_minus_unstated;
  return (unstated.known() ? unstated.value : degrees(0.5)).raw() / 2;
}

// ---- a pattern's measures --------------------------------------------------------------------------

constexpr std::array kFields{MeasuredField::point_half_angle, MeasuredField::hole_half_angle,
                             MeasuredField::tip_diameter,     MeasuredField::point_length,
                             MeasuredField::shank_diameter,   MeasuredField::head_diameter,
                             MeasuredField::head_height,      MeasuredField::slot_reach,
                             MeasuredField::mouth_diameter,   MeasuredField::hole_depth};

template <class P>
auto& angle_in(P& pattern, MeasuredField f) {
  return f == MeasuredField::point_half_angle ? pattern.screw.point.half_angle : pattern.hole.half_angle;
}
template <class P>
auto& length_in(P& pattern, MeasuredField f) {
  switch (f) {
    case MeasuredField::tip_diameter:
      return pattern.screw.point.tip_diameter;
    case MeasuredField::point_length:
      return pattern.screw.point.length;
    case MeasuredField::shank_diameter:
      return pattern.screw.point.shank_diameter;
    case MeasuredField::head_diameter:
      return pattern.screw.head_diameter;
    case MeasuredField::head_height:
      return pattern.screw.head_height;
    case MeasuredField::slot_reach:
      return pattern.screw.slot_reach;
    case MeasuredField::mouth_diameter:
      return pattern.hole.mouth_diameter;
    default:
      return pattern.hole.depth;
  }
}
/// Measures whose figure no pattern has start from the shop's range, where there is one.
const LengthEntry* range_of(const record::UnknownRanges& u, MeasuredField f) {
  switch (f) {
    case MeasuredField::tip_diameter:
      return &u.tip_diameter;
    case MeasuredField::point_length:
      return &u.point_length;
    case MeasuredField::shank_diameter:
      return &u.shank_diameter;
    case MeasuredField::mouth_diameter:
      return &u.mouth_diameter;
    case MeasuredField::hole_depth:
      return &u.depth;
    default:
      return nullptr;
  }
}
const AngleEntry* angle_range_of(const record::UnknownRanges& u, MeasuredField f) {
  return f == MeasuredField::point_half_angle ? &u.half_angle : &u.hole_half_angle;
}

/// The family's figure before anything was measured.
template <class Q>
std::optional<belief::Normal> figure_of(const Entry<Q>& own, const Entry<Q>* range,
                                        const record::Shop& shop) {
  if (own.known()) {
    double standard = standard_of(own, shop);
    Entry<Q> nothing_said;
    if (!(standard > 0)) standard = standard_of(nothing_said, shop);
    if (!(standard > 0)) return std::nullopt;
    return belief::Normal{own.value.raw(), standard};
  }
  const auto& between = own.range || range == nullptr ? own.range : range->range;
  if (!between || !(between->low < between->high)) return std::nullopt;
  const Q half = (between->high - between->low) / 2;
  return belief::Normal{(between->low + half).raw(), half.raw() / std::sqrt(3.0)};
}

template <class Q>
Measured<Q> measured(const belief::Normal& n, Origin origin) {
  return {Q::of(n.mean), Q::of(2 * n.standard), origin};
}

// ---- words -----------------------------------------------------------------------------------------

std::string counted(std::size_t n, const char* one, const char* many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}
std::string percent(double share) { return fmt::format("{:.0f} %", 100 * share); }

std::string spaced(std::string code) {
  std::replace(code.begin(), code.end(), '-', ' ');
  return code;
}

Said weighed(const belief::Lesson& lesson, const char* one, const char* many) {
  Said said;
  said << counted(lesson.readings, one, many);
  if (!lesson.jobs.empty()) said << " of " << counted(lesson.jobs.size(), "job", "jobs");
  if (lesson.others > 0) said << fmt::format(", {} of others", lesson.others);
  said << fmt::format("; together they weigh {}", percent(lesson.weight));
  return said;
}

std::string who(const std::string& person) { return person.empty() ? "" : fmt::format(", {}", person); }

}  // namespace

// ---- learning --------------------------------------------------------------------------------------

namespace {

class Learner {
 public:
  Learner(const Ledger& ledger, const record::Shop& shop, const belief::CausePresets& presets)
      : ledger_(ledger), shop_(shop), presets_(presets), pace_(pace_of(shop)) {
    if (!(pace_.take_off_per_turn > Length{})) pace_.take_off_per_turn = plan::Pace{}.take_off_per_turn;
  }

  Expected<Learned> run() {
    forgotten();
    auto take_off = belief::TakeOffPool::of(
        belief::take_off_priors(pace_.take_off_per_turn, pace_.take_off_plus_minus), bites());
    if (!take_off) return tl::unexpected(std::move(take_off.error()));
    auto minutes = belief::MinutesPool::of({}, work());
    if (!minutes) return tl::unexpected(std::move(minutes.error()));
    auto shares = belief::SharePool::of(preset_shares(), causes());
    if (!shares) return tl::unexpected(std::move(shares.error()));
    Learned out{ledger_.title,       ledger_.jobs.size(), {}, {}, {}, {}, {}, std::move(*take_off),
                std::move(*minutes), std::move(*shares)};
    put_take_off(out);
    put_minutes(out);
    if (auto put = put_patterns(out); !put) return tl::unexpected(std::move(put.error()));
    put_causes(out);
    out.notes = std::move(notes_);
    return out;
  }

 private:
  void note(std::string text) { notes_.emplace_back(std::move(text)); }

  void forgotten() {
    for (const Subject subject : {Subject::take_off, Subject::minutes, Subject::patterns, Subject::causes}) {
      const auto out = std::count_if(ledger_.jobs.begin(), ledger_.jobs.end(),
                                     [&](const Job& j) { return !record::counts(ledger_, j, subject); });
      if (out > 0) {
        note(fmt::format("{} no longer {} for {}", counted(static_cast<std::size_t>(out), "job", "jobs"),
                         out == 1 ? "counts" : "count", word(subject)));
      }
    }
  }

  std::vector<belief::BiteRecord> bites() {
    std::vector<belief::BiteRecord> out;
    std::size_t unread = 0;
    std::set<std::string> strange;
    for (const Job& job : ledger_.jobs) {
      if (!record::counts(ledger_, job, Subject::take_off)) continue;
      for (const record::JobBite& b : job.bites) {
        if (!b.turns.known() || !b.taken.known()) {
          ++unread;
          continue;
        }
        const bool has = std::any_of(shop_.cutters.begin(), shop_.cutters.end(),
                                     [&](const record::Cutter& c) { return c.name == b.cutter; });
        if (!has) strange.insert(b.cutter);
        // A ± of its own is the difference's; an instrument's is of each of the two readings.
        const double standard = standard_of(b.taken, shop_) * (b.taken.plus_minus ? 1 : std::sqrt(2.0));
        out.push_back({b.cutter, job.person, job.id, b.turns.value, b.taken.value, millimetres(standard)});
      }
    }
    if (unread > 0) note(counted(unread, "bite", "bites") + " left out: turns or take-off not known");
    for (const std::string& name : strange)
      note(fmt::format("the shop document has no cutter \"{}\"; it is taken as one more", name));
    return out;
  }

  std::vector<belief::WorkRecord> work() {
    std::vector<belief::WorkRecord> out;
    std::size_t unread = 0;
    for (const Job& job : ledger_.jobs) {
      if (!record::counts(ledger_, job, Subject::minutes)) continue;
      for (const record::JobMinutes& m : job.minutes) {
        const auto preset = preset_minutes(m.of, pace_, presets_);
        const bool needs_turns = preset && preset->per_turn > 0;
        if (!m.minutes.known() || (needs_turns && !m.turns.known())) {
          ++unread;
          continue;
        }
        const double usual =
            preset ? preset->set_up + (needs_turns ? preset->per_turn * m.turns.value : 0) : kMinutesGuess;
        out.push_back({m.of, job.person, job.id, m.minutes.value, usual, preset.has_value()});
      }
    }
    if (unread > 0)
      note(counted(unread, "piece of work", "pieces of work") + " left out: minutes or turns not known");
    return out;
  }

  std::vector<double> preset_shares() const {
    std::vector<double> out(presets_.share.begin(), presets_.share.end());
    out[0] = 0;
    double sum = 0;
    for (const double share : out) sum += share;
    for (double& share : out) share *= sum > 0 ? (1 - presets_.sound_share) / sum : 0;
    out[0] = presets_.sound_share;
    return out;
  }

  std::vector<belief::CauseRecord> causes() const {
    std::vector<belief::CauseRecord> out;
    for (const Job& job : ledger_.jobs) {
      if (!record::counts(ledger_, job, Subject::causes) || job.causes.empty()) continue;
      belief::CauseRecord r{job.pattern, job.id, {}};
      for (const record::CauseWord c : job.causes) r.causes.push_back(static_cast<std::size_t>(c));
      out.push_back(std::move(r));
    }
    return out;
  }

  void put_take_off(Learned& out) const {
    const auto put = [&](const std::string& cutter, const std::string& person) {
      LearnedTakeOff t;
      t.cutter = cutter;
      t.person = person;
      t.ratio = out.take_off_pool.rate(cutter, person);
      t.preset = pace_.take_off_per_turn;
      t.per_turn = t.preset * t.ratio.factor;
      const double reach = std::exp(kNineteenOfTwenty * t.ratio.between);
      t.low = t.per_turn / reach;
      t.high = t.per_turn * reach;
      t.said << (cutter.empty() ? "any cutter" : cutter) << who(person) << ": " << t.per_turn
             << " a turn, from job to job " << FromTo{t.low, t.high} << "; preset " << t.preset << "; "
             << weighed(t.ratio.lesson, "bite", "bites");
      out.take_off.push_back(std::move(t));
    };
    put("", "");
    for (const std::string& cutter : out.take_off_pool.cutters()) put(cutter, "");
    for (const std::string& cutter : out.take_off_pool.cutters()) {
      for (const std::string& person : out.take_off_pool.people(cutter)) put(cutter, person);
    }
  }

  void put_minutes(Learned& out) const {
    for (const std::string& of : out.minutes_pool.kinds()) {
      LearnedMinutes m;
      m.of = of;
      const auto preset = preset_minutes(of, pace_, presets_);
      m.has_preset = preset.has_value();
      m.preset = preset.value_or(plan::Minutes{kMinutesGuess, 0});
      m.ratio = out.minutes_pool.pace(of, "", m.has_preset);
      m.minutes = {m.preset.set_up * m.ratio.factor, m.preset.per_turn * m.ratio.factor};
      const auto shown = [](const plan::Minutes& v) {
        std::string text = fmt::format("{:.1f} min", v.set_up);
        if (v.per_turn > 0) text += fmt::format(" and {:.2f} a turn", v.per_turn);
        return text;
      };
      m.said << spaced(of) << ": " << shown(m.minutes) << "; "
             << (m.has_preset ? "preset " + shown(m.preset) : std::string("no preset")) << "; "
             << weighed(m.ratio.lesson, "time", "times");
      out.minutes.push_back(std::move(m));
    }
  }

  Expected<bool> put_patterns(Learned& out) {
    std::set<std::string> strange;
    std::size_t nameless = 0;
    for (const Job& job : ledger_.jobs) {
      if (job.measured.empty() || !record::counts(ledger_, job, Subject::patterns)) continue;
      const bool has = std::any_of(shop_.patterns.begin(), shop_.patterns.end(),
                                   [&](const record::Pattern& p) { return p.name == job.pattern; });
      if (job.pattern.empty()) {
        ++nameless;
      } else if (!has) {
        strange.insert(job.pattern);
      }
    }
    if (nameless > 0) note("measures of " + counted(nameless, "job", "jobs") + " left out: no pattern named");
    for (const std::string& name : strange)
      note(fmt::format("the shop document has no pattern \"{}\"; its measures are left out", name));
    for (const record::Pattern& pattern : shop_.patterns) {
      for (const MeasuredField field : kFields) {
        if (auto put = put_field(out, pattern, field); !put) return put;
      }
    }
    return true;
  }

  Expected<bool> put_field(Learned& out, const record::Pattern& pattern, MeasuredField field) {
    constexpr double kLeastStandard = 1e-6;  // mm or rad: a ± of 0 is a slip of the pen
    std::vector<belief::ScrewReading> readings;
    for (const Job& job : ledger_.jobs) {
      if (job.pattern != pattern.name || !record::counts(ledger_, job, Subject::patterns)) continue;
      for (const record::JobMeasure& m : job.measured) {
        if (m.field != field) continue;
        const bool known = is_angle(field) ? m.angle.known() : m.length.known();
        if (!known) continue;
        const double standard = is_angle(field) ? standard_of(m.angle, shop_) : standard_of(m.length, shop_);
        readings.push_back({fmt::format("{} {}", job.id, m.end ? word(*m.end) : ""), job.id,
                            is_angle(field) ? m.angle.value.raw() : m.length.value.raw(),
                            std::max(standard, kLeastStandard)});
      }
    }
    if (readings.empty()) return true;
    const auto& unknown = shop_.presets.unknown;
    const auto figure = is_angle(field)
                            ? figure_of(angle_in(pattern, field), angle_range_of(unknown, field), shop_)
                            : figure_of(length_in(pattern, field), range_of(unknown, field), shop_);
    if (!figure) {
      note(
          fmt::format("{} of \"{}\" was measured, but the shop document has no figure or range to begin with",
                      spaced(word(field)), pattern.name));
      return true;
    }
    auto learned = belief::learn_field(*figure, std::move(readings));
    if (!learned) return tl::unexpected(std::move(learned.error()));
    LearnedField f;
    f.pattern = pattern.name;
    f.field = field;
    f.learned = std::move(*learned);
    const belief::Normal now{f.learned.value, f.learned.standard};
    const Origin before =
        (is_angle(field) ? angle_in(pattern, field).known() : length_in(pattern, field).known())
            ? Origin::pattern
            : Origin::preset;
    f.said << fmt::format("{}, {}: ", pattern.name, spaced(word(field)));
    if (is_angle(field)) {
      f.angle = measured<Angle>(now, Origin::pattern);
      f.angle_before = measured<Angle>(*figure, before);
      f.said << fmt::format("{:.2f} ± {:.2f} deg; before {:.2f} ± {:.2f} deg", in_degrees(f.angle.value),
                            in_degrees(f.angle.plus_minus), in_degrees(f.angle_before.value),
                            in_degrees(f.angle_before.plus_minus));
    } else {
      f.length = measured<Length>(now, Origin::pattern);
      f.length_before = measured<Length>(*figure, before);
      f.said << WithDoubt{f.length.value, f.length.plus_minus} << "; before "
             << WithDoubt{f.length_before.value, f.length_before.plus_minus};
    }
    f.said << "; " << weighed(f.learned.lesson, "screw", "screws");
    out.patterns.push_back(std::move(f));
    return true;
  }

  static void put_causes(Learned& out) {
    const auto put = [&](const std::string& pattern, belief::ShareLesson lesson) {
      LearnedShares s;
      s.pattern = pattern;
      std::vector<std::size_t> order(lesson.share.size());
      for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
      std::stable_sort(order.begin(), order.end(),
                       [&](std::size_t a, std::size_t b) { return lesson.share[a] > lesson.share[b]; });
      s.said << (pattern.empty() ? "the shop" : pattern) << ": ";
      constexpr std::size_t kShown = 5;
      for (std::size_t i = 0; i < std::min(kShown, order.size()); ++i) {
        s.said << fmt::format("{}{} {}", i == 0 ? "" : ", ",
                              spaced(record::word(static_cast<record::CauseWord>(order[i]))),
                              percent(lesson.share[order[i]]));
      }
      s.said << fmt::format("; {} weigh {}", counted(static_cast<std::size_t>(lesson.jobs), "job", "jobs"),
                            percent(lesson.weight));
      s.lesson = std::move(lesson);
      out.causes.push_back(std::move(s));
    };
    put("", out.share_pool.shop());
    for (const std::string& family : out.share_pool.families()) put(family, out.share_pool.family(family));
  }

  const Ledger& ledger_;
  const record::Shop& shop_;
  const belief::CausePresets& presets_;
  plan::Pace pace_;
  std::vector<Said> notes_;
};

}  // namespace

Expected<Learned> learn(const Ledger& ledger, const record::Shop& shop, const belief::CausePresets& presets) {
  return Learner(ledger, shop, presets).run();
}

// ---- putting it to use -----------------------------------------------------------------------------

namespace {

/// Expanded uncertainty (k = 2) from which plan::take_off_of() gets this spread of ln again.
Length plus_minus_of(Length per_turn, double between) {
  return per_turn * (2 * std::sqrt(std::expm1(between * between)));
}

std::string from(const char* what, std::size_t n) { return fmt::format("Learned from {} {}.", n, what); }

template <class Q>
void put(Entry<Q>& entry, const Measured<Q>& m, Origin origin, const std::string& meaning) {
  const std::string unit = entry.unit;
  const auto place = entry.place;
  entry = Entry<Q>{};
  entry.present = true;
  entry.origin = origin;
  entry.value = m.value;
  entry.plus_minus = m.plus_minus;
  entry.unit = unit;
  entry.meaning = meaning;
  entry.place = place;
}

}  // namespace

record::Shop shop_with(const record::Shop& shop, const Learned& learned) {
  record::Shop out = shop;
  auto& presets = out.presets;
  const LearnedTakeOff& any = learned.take_off.front();
  if (any.ratio.lesson.readings > 0) {
    put(presets.take_off_per_turn,
        {any.per_turn, plus_minus_of(any.per_turn, any.ratio.between), Origin::preset}, Origin::preset,
        from("bites", any.ratio.lesson.readings));
  }
  const std::array<record::MinutesPreset*, kOperations.size()> slots{
      &presets.drive_home, &presets.turn_screw, &presets.restore_post,
      &presets.seat_cut,   &presets.ream,       &presets.face};
  for (const LearnedMinutes& m : learned.minutes) {
    const auto op = operation_of(m.of);
    if (!op) continue;
    record::MinutesPreset& slot = *slots[static_cast<std::size_t>(*op)];
    const auto set = [&](record::NumberEntry& entry, double value) {
      entry.present = true;
      entry.origin = Origin::preset;
      entry.value = value;
      entry.plus_minus.reset();
      entry.range.reset();
      entry.repeats.clear();
      entry.unit = "min";
      entry.meaning = from("times", m.ratio.lesson.readings);
    };
    set(slot.set_up, m.minutes.set_up);
    set(slot.per_turn, m.minutes.per_turn);
  }
  for (const LearnedField& f : learned.patterns) {
    const auto pattern = std::find_if(out.patterns.begin(), out.patterns.end(),
                                      [&](const record::Pattern& p) { return p.name == f.pattern; });
    if (pattern == out.patterns.end()) continue;
    if (is_angle(f.field)) {
      put(angle_in(*pattern, f.field), f.angle, Origin::pattern, from("screws", f.learned.screws));
    } else {
      put(length_in(*pattern, f.field), f.length, Origin::pattern, from("screws", f.learned.screws));
    }
  }
  return out;
}

plan::TakeOff take_off_for(const Learned& learned, const std::string& cutter, const std::string& person) {
  const AgainstPreset rate = learned.take_off_pool.rate(cutter, person);
  const auto& priors = learned.take_off_pool.priors();
  return {std::log(priors.per_turn.raw() * rate.factor), rate.between, priors.bite};
}

void sharpen(plan::KeyCase& key, const Learned& learned, const std::string& person) {
  std::set<std::string> cutters;
  for (const plan::EndFacts* end : {&key.upper, &key.lower}) {
    if (!end->headed) continue;
    const plan::Cutter* cutter = plan::fitting_cutter(*end, key.tools, key.limits);
    cutters.insert(cutter == nullptr ? std::string() : cutter->name);
  }
  const std::string cutter = cutters.size() == 1 ? *cutters.begin() : std::string();
  const AgainstPreset rate = learned.take_off_pool.rate(cutter, person);
  if (rate.lesson.readings + rate.lesson.others > 0) {
    key.pace.take_off_per_turn = learned.take_off_pool.median(cutter, person);
    key.pace.take_off_plus_minus = plus_minus_of(key.pace.take_off_per_turn, rate.between);
  }
  for (const LearnedMinutes& m : learned.minutes) {
    const auto op = operation_of(m.of);
    if (!op) continue;
    const double factor = learned.minutes_pool.pace(m.of, person, m.has_preset).factor;
    minutes_in(key.pace, *op) = {m.preset.set_up * factor, m.preset.per_turn * factor};
  }
}

belief::CausePresets presets_with(belief::CausePresets presets, const Learned& learned,
                                  const std::string& pattern) {
  const belief::ShareLesson lesson = learned.share_pool.family(pattern);
  if (learned.share_pool.shop().jobs == 0) return presets;
  presets.sound_share = lesson.share[0];
  for (std::size_t i = 1; i < presets.share.size(); ++i) presets.share[i] = lesson.share[i];
  return presets;
}

// ---- showing it ------------------------------------------------------------------------------------

std::vector<std::string> tell(const Learned& learned, LengthUnit unit) {
  std::vector<std::string> out;
  const auto section = [&](const char* heading, const auto& items) {
    if (items.empty()) return;
    out.emplace_back(heading);
    for (const auto& item : items) out.push_back("  " + item.said.in(unit));
  };
  section("Take-off", learned.take_off);
  section("Minutes", learned.minutes);
  section("Patterns", learned.patterns);
  section("Causes", learned.causes);
  if (!learned.notes.empty()) out.emplace_back("Notes");
  for (const Said& note : learned.notes) out.push_back("  " + note.in(unit));
  return out;
}

namespace {

Json name_json(const std::string& name) { return name.empty() ? Json(nullptr) : Json(name); }

/// What a figure rests on; ratios are to the preset.
Json ratio_json(const AgainstPreset& r) {
  const belief::Lesson& l = r.lesson;
  return {{"readings", l.readings},
          {"others", l.others},
          {"ratio_read", l.readings > 0 ? number(std::exp(l.mean)) : Json(nullptr)},
          {"ratio", number(r.factor)},
          {"spread_before", number(l.prior.standard)},
          {"spread_after", number(l.posterior.standard)},
          {"weight", number(l.weight)},
          {"jobs", l.jobs}};
}
Json minutes_json(const plan::Minutes& m) {
  return {{"set_up", number(m.set_up)}, {"per_turn", number(m.per_turn)}};
}

}  // namespace

std::string to_json(const Learned& learned, LengthUnit unit) {
  Json out = {{"ledger", learned.title},   {"jobs", learned.jobs},     {"unit", "mm"},
              {"take_off", Json::array()}, {"minutes", Json::array()}, {"patterns", Json::array()},
              {"causes", Json::array()},   {"notes", Json::array()}};
  for (const LearnedTakeOff& t : learned.take_off) {
    out["take_off"].push_back({{"cutter", name_json(t.cutter)},
                               {"person", name_json(t.person)},
                               {"per_turn", number(t.per_turn)},
                               {"low", number(t.low)},
                               {"high", number(t.high)},
                               {"preset", number(t.preset)},
                               {"from", ratio_json(t.ratio)},
                               {"said", t.said.in(unit)}});
  }
  for (const LearnedMinutes& m : learned.minutes) {
    out["minutes"].push_back({{"of", m.of},
                              {"minutes", minutes_json(m.minutes)},
                              {"preset", m.has_preset ? minutes_json(m.preset) : Json(nullptr)},
                              {"from", ratio_json(m.ratio)},
                              {"said", m.said.in(unit)}});
  }
  for (const LearnedField& f : learned.patterns) {
    const bool angle = is_angle(f.field);
    const auto shown = [&](double inner) { return number(angle ? in_degrees(radians(inner)) : inner); };
    const belief::Lesson& l = f.learned.lesson;
    out["patterns"].push_back(
        {{"pattern", f.pattern},
         {"field", word(f.field)},
         {"unit", angle ? "deg" : "mm"},
         {"value", shown(l.posterior.mean)},
         {"plus_minus", shown(2 * l.posterior.standard)},
         {"between_screws", shown(f.learned.between)},
         {"before", {{"value", shown(l.prior.mean)}, {"plus_minus", shown(2 * l.prior.standard)}}},
         {"from",
          {{"screws", f.learned.screws},
           {"mean", shown(l.mean)},
           {"weight", number(l.weight)},
           {"jobs", l.jobs}}},
         {"said", f.said.in(unit)}});
  }
  for (const LearnedShares& s : learned.causes) {
    Json shares = Json::array();
    for (std::size_t i = 0; i < s.lesson.share.size(); ++i) {
      shares.push_back({{"cause", record::word(static_cast<record::CauseWord>(i))},
                        {"share", number(s.lesson.share[i])},
                        {"before", number(s.lesson.prior[i])},
                        {"jobs", number(s.lesson.counted[i])}});
    }
    out["causes"].push_back({{"pattern", name_json(s.pattern)},
                             {"shares", std::move(shares)},
                             {"from", {{"weight", number(s.lesson.weight)}, {"jobs", s.lesson.from}}},
                             {"said", s.said.in(unit)}});
  }
  for (const Said& note : learned.notes) out["notes"].push_back(note.in(unit));
  return text_of(out);
}

}  // namespace hingeline::service

#include "hingeline/service/lead.h"

#include <fmt/format.h>
#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>

#include "hingeline/base/reading.h"
#include "json_parts.h"
#include "nearest.h"
#include "standard.h"

namespace hingeline::service {
namespace {

using belief::Answer;
using belief::Cause;
using belief::Check;
using belief::Observation;
using guide::Event;
using guide::Next;
using record::JournalEntry;

/// A post out of its place by more than this stands out of square.
constexpr Length kOutOfSquare = millimetres(0.03);
/// A rock reading so near to the pad is one at the pad.
constexpr Length kAtThePad = millimetres(2);

Answer reading(Check check, Length value, Length standard = {}) { return {check, value, standard, 0, false}; }
Answer yes_or_no(Check check, bool yes) { return {check, {}, {}, yes ? std::size_t{1} : 0, false}; }

/// Causes that the document settles, and what it says of the key already.
void take_document(const KeyResult& key, guide::Job& job) {
  const auto& geometry = job.subject.geometry;
  const record::Hinge& source = key.source->hinge;
  for (const Observation& o : key.knowledge.observations) {
    if (o.of == Observation::Of::end_play)
      job.answered.push_back(reading(Check::end_play, o.value, o.standard));
    if (o.of == Observation::Of::rock && geometry.pad &&
        abs(o.station - geometry.pad->station) <= kAtThePad) {
      job.answered.push_back(reading(Check::rock_pad, o.value, o.standard));
    }
  }
  if (geometry.kind == belief::HingeKind::rod) {
    const auto known = [](const record::LengthEntry& e) { return e.known() && e.origin == Origin::read; };
    if (known(source.bore) && known(source.rod_diameter) && geometry.bore > geometry.rod_diameter) {
      double variance = 0;
      for (const belief::Input& i : key.knowledge.inputs) {
        if (i.name == "rod diameter" || i.name == "bore of the tube") variance += i.standard * i.standard;
      }
      job.answered.push_back(
          reading(Check::bore, geometry.bore - geometry.rod_diameter, millimetres(std::sqrt(variance))));
    }
    return;
  }
  for (const Side side : {Side::upper, Side::lower}) {
    const bool upper = side == Side::upper;
    const plan::EndFacts& facts = key.key_case->facts(side);
    if (facts.headed && facts.stands_off && facts.stands_off->known() && facts.stands_off->value.raw() >= 0) {
      job.answered.push_back(reading(upper ? Check::stand_off_upper : Check::stand_off_lower,
                                     facts.stands_off->value, facts.stands_off->plus_minus / 2));
    }
    if (facts.displaced && facts.displaced->known()) {
      job.answered.push_back(yes_or_no(upper ? Check::post_upper : Check::post_lower,
                                       abs(facts.displaced->value) > kOutOfSquare));
    }
    const belief::JointGeometry& joint = geometry.at(side);
    const record::Hole& hole = upper ? source.upper.hole : source.lower.hole;
    if (joint.point.shape != contact::PointShape::cone) continue;
    const bool straight =
        joint.hole.shape == contact::HoleShape::straight || joint.hole.shape == contact::HoleShape::drilled;
    const Angle doubt = upper ? key.key_case->upper_taper_doubt : key.key_case->lower_taper_doubt;
    const auto& home = key.hinge->end(side).joint.home();
    if (straight) {
      job.subject.known.add(Cause::straight_hole);
    } else if (joint.hole.shape == contact::HoleShape::bell) {
      job.subject.known.add(Cause::worn_hole);
    } else if (home.regime == contact::Regime::floor) {
      job.subject.known.add(Cause::tip_on_floor);
    } else if (hole.half_angle.known() && hole.half_angle.origin == Origin::read &&
               abs(joint.point.half_angle - joint.hole.half_angle) >
                   std::max(key.key_case->limits.taper_match, doubt * 2)) {
      job.subject.known.add(Cause::taper_mismatch);
    }
  }
}

std::string trimmed(std::string_view text) {
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.front())) != 0) text.remove_prefix(1);
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.back())) != 0) text.remove_suffix(1);
  return std::string(text);
}
std::string lowered(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

/// The word that was meant: itself, its number from 1, or the only one that begins so.
std::optional<std::size_t> choice_of(Check check, const std::string& typed) {
  const auto& words = belief::answers(check);
  const std::string wanted = lowered(typed);
  std::optional<std::size_t> found;
  for (std::size_t k = 0; k < words.size(); ++k) {
    if (wanted == words[k] || wanted == std::to_string(k + 1)) return k;
    if (!wanted.empty() && words[k].rfind(wanted, 0) == 0) {
      if (found) return std::nullopt;
      found = k;
    }
  }
  return found;
}

std::string words_of(Check check) { return fmt::format("{}", fmt::join(belief::answers(check), ", ")); }

bool may_be_negative(Check check) { return check == Check::end_play || check == Check::bow; }

Expected<Reading<Length>> length_of(std::string_view typed, LengthUnit unit, Check check) {
  return parse_length(typed, unit, may_be_negative(check) ? Sign::any : Sign::not_negative);
}

/// The text with a unit, so that it says the same wherever it is read.
std::string with_unit(const Reading<Length>& r, LengthUnit unit) {
  std::string out = exact_text(r.value, unit);
  if (r.plus_minus) out += " ± " + exact_text(*r.plus_minus, unit);
  return out;
}

/// "0.06 with feeler" in two: what was read, and with what; the second is empty where nothing is named.
std::pair<std::string, std::string> reading_and_instrument(const std::string& typed) {
  constexpr std::string_view kWith = " with ";
  const std::size_t at = typed.find(kWith);
  if (at == std::string::npos) return {typed, {}};
  return {trimmed(typed.substr(0, at)), trimmed(typed.substr(at + kWith.size()))};
}

/// The shop's instrument of that name; null where none is named.
Expected<const record::Measuring*> instrument_named(const std::string& name, const record::Shop& shop) {
  const record::Measuring* m = measuring_of(shop, name);
  if (m != nullptr || name.empty()) return m;
  std::vector<std::string> names;
  for (const auto& x : shop.measuring) names.push_back(x.name);
  return fail(Fault::not_found, fmt::format("the shop has no measuring instrument \"{}\"", name),
              names.empty() ? "a ± in its place" : "one of " + listed(names));
}

Expected<JournalEntry> answer_entry(Check check, const std::string& typed, LengthUnit unit,
                                    const record::Shop& shop) {
  JournalEntry entry{"answered", belief::code(check), {}, {}, {}};
  if (lowered(typed) == "cannot") {
    entry.told = "could-not";
    return entry;
  }
  if (belief::is_reading(check)) {
    const auto [read, with] = reading_and_instrument(typed);
    const auto r = length_of(read, unit, check);
    if (!r) return tl::unexpected(r.error());
    if (const auto m = instrument_named(with, shop); !m) return tl::unexpected(m.error());
    entry.as = with_unit(*r, unit) + (with.empty() ? "" : " with " + with);
    return entry;
  }
  const auto choice = choice_of(check, typed);
  if (!choice) {
    return fail(Fault::content, fmt::format("\"{}\" is no answer to \"{}\"", typed, belief::word(check)),
                fmt::format("{}, or cannot", words_of(check)));
  }
  entry.as = belief::answers(check)[*choice];
  return entry;
}

Expected<JournalEntry> waiver_entry(const std::string& typed) {
  constexpr std::string_view kBecause = " because ";
  const std::size_t at = typed.find(kBecause);
  const std::string cause = trimmed(typed.substr(0, at));
  const std::string reason = at == std::string::npos ? "" : trimmed(typed.substr(at + kBecause.size()));
  if (!belief::cause_of(cause)) {
    std::vector<std::string> codes;
    for (std::size_t k = 1; k < belief::kCauseCount; ++k)
      codes.emplace_back(belief::code(static_cast<Cause>(k)));
    return fail(Fault::not_found, fmt::format("there is no cause \"{}\"", cause), "one of " + listed(codes));
  }
  if (reason.empty()) {
    return fail(Fault::content, "a cause is waived without a reason",
                "waive CAUSE because REASON: the reason is kept");
  }
  return JournalEntry{"waived", cause, reason, {}, {}};
}

/// Turns of a bite as typed: "2.5", "2.5 turns".
Expected<double> turns_of(std::string typed) {
  for (const char* tail : {"turns", "turn"}) {
    const std::string word(tail);
    if (typed.size() > word.size() && typed.compare(typed.size() - word.size(), word.size(), word) == 0) {
      typed = trimmed(typed.substr(0, typed.size() - word.size()));
    }
  }
  const auto n = parse_number(typed, Sign::positive);
  if (!n) return tl::unexpected(n.error());
  return n->value;
}

Expected<Side> side_of(const JournalEntry& e) {
  if (e.end == "upper") return Side::upper;
  if (e.end == "lower") return Side::lower;
  return fail(Fault::content, "a cut without its end", "upper or lower");
}

}  // namespace

std::string cutter_at(const KeyResult& key, Side side) {
  const plan::KeyCase& known = *key.key_case;
  const plan::Cutter* c = plan::fitting_cutter(known.facts(side), known.tools, known.limits);
  return c == nullptr ? std::string() : c->name;
}

record::Job job_of(const KeyResult& key, const InstrumentResult& instrument, const guide::Guide& guide,
                   std::optional<belief::Complaint> complaint, const std::string& id, const std::string& date,
                   const std::string& person) {
  record::Job job;
  job.id = id;
  job.date = date;
  job.instrument = instrument.kind.empty() ? instrument.title : instrument.kind;
  job.key = key.id;
  job.person = person;
  if (complaint) job.complaint = static_cast<record::Complaint>(*complaint);
  job.pattern = key.source->hinge.upper.screw.pattern.text;
  // What was likely and was cured is what it had; nothing of the kind is a sound key. Screws driven home to
  // be on the safe side are no finding.
  constexpr double kLikely = 0.5;
  for (const belief::Cure cure : guide.cures()) {
    for (const belief::CauseShare& c : guide.found()) {
      if (c.cause == Cause::sound || belief::cure_of(c.cause) != cure || c.share < kLikely) continue;
      const auto cause = static_cast<record::CauseWord>(c.cause);
      if (std::find(job.causes.begin(), job.causes.end(), cause) == job.causes.end())
        job.causes.push_back(cause);
      break;
    }
  }
  if (job.causes.empty() && guide.next().what == Next::What::done)
    job.causes.push_back(record::CauseWord::sound);
  if (guide.cutting()) {
    for (const plan::BiteTaken& b : guide.cutting()->bites()) {
      const std::string cutter = cutter_at(key, b.side);
      if (!b.taken || b.taken->raw() <= 0 || cutter.empty()) continue;
      record::JobBite bite;
      bite.cutter = cutter;
      bite.end = b.side == Side::upper ? record::WhichEnd::upper : record::WhichEnd::lower;
      bite.turns = record::entry_of(b.turns);
      bite.taken = record::entry_of(*b.taken, b.standard * 2);
      job.bites.push_back(std::move(bite));
    }
  }
  for (const guide::Waiver& w : guide.waivers()) {
    job.waivers.push_back({static_cast<record::CauseWord>(w.cause), w.reason, {}});
  }
  return job;
}

Expected<guide::Guide> guide_of(const KeyResult& key, std::optional<belief::Complaint> complaint,
                                std::uint64_t seed, unsigned threads, const Learned* learned,
                                const std::string& person, const Around& around) {
  guide::Job job;
  job.heard = around.keys;
  job.knowledge = key.knowledge;
  job.key_case = *key.key_case;
  if (learned != nullptr) {
    sharpen(job.key_case, *learned, person);
    job.presets = presets_with(job.presets, *learned, key.source->hinge.upper.screw.pattern.text);
    job.take_off = take_off_for(*learned, cutter_at(key, Side::upper), person);
  }
  job.subject.geometry = key.estimate().geometry;
  job.subject.upper_headed = key.key_case->upper.headed;
  job.subject.lower_headed = key.key_case->lower.headed;
  if (key.source->hinge.off_axis.known()) job.subject.line_offset = key.source->hinge.off_axis.value;
  job.complaint = complaint;
  job.seed = seed;
  job.threads = threads;
  take_document(key, job);
  if (around.read) {
    // The bow check's sagitta is over the presets' chord: C^2/8 of the curvature, but for a
    // hundred-thousandth.
    const double over = job.presets.bow_chord * job.presets.bow_chord / 8;
    job.answered.push_back(reading(Check::bow, millimetres(around.read->curvature * over),
                                   millimetres(around.read->standard * over)));
    job.answered.back().several = around.read->readings > 1;
  }
  return guide::Guide::begin(std::move(job));
}

Expected<JournalEntry> entry_of(const guide::Guide& guide, std::string_view line, LengthUnit unit,
                                const record::Shop& shop) {
  const std::string typed = trimmed(line);
  const std::string low = lowered(typed);
  if (typed.empty()) return fail(Fault::syntax, "nothing was typed", tell(guide, unit).reply);
  if (low.rfind("waive ", 0) == 0) return waiver_entry(trimmed(typed.substr(6)));
  if (const std::size_t colon = typed.find(':'); colon != std::string::npos) {
    const std::string name = trimmed(typed.substr(0, colon));
    const auto check = belief::check_of(lowered(name));
    if (!check) {
      std::vector<std::string> codes;
      for (std::size_t k = 0; k < belief::kCheckCount; ++k)
        codes.emplace_back(belief::code(static_cast<Check>(k)));
      const std::string near = nearest_name(lowered(name), codes);
      return fail(Fault::not_found, fmt::format("there is no check \"{}\"", name),
                  near.empty() ? "one of " + listed(codes) : fmt::format("perhaps \"{}\"", near));
    }
    return answer_entry(*check, trimmed(typed.substr(colon + 1)), unit, shop);
  }
  const Next& next = guide.next();
  switch (next.what) {
    case Next::What::look:
      return answer_entry(*next.check, typed, unit, shop);
    case Next::What::cure:
    case Next::What::step:
    case Next::What::see_cutter: {
      if (low != "done")
        return fail(Fault::content, fmt::format("\"{}\" is not understood here", typed),
                    tell(guide, unit).reply);
      const bool cutter = next.what == Next::What::see_cutter;
      return JournalEntry{
          cutter ? "cutter-seen" : "cured", next.cure ? belief::code(*next.cure) : "", {}, {}, {}};
    }
    case Next::What::bite: {
      const auto turns = low == "done" ? Expected<double>(next.turns) : turns_of(low);
      if (!turns) return tl::unexpected(turns.error());
      return JournalEntry{"bitten", {}, fmt::format("{}", *turns), word(*next.side), {}};
    }
    case Next::What::ream: {
      auto amount = low == "done" ? Expected<Reading<Length>>(Reading<Length>{next.amount, std::nullopt, {}})
                                  : parse_length(typed, unit, Sign::positive);
      if (!amount) return tl::unexpected(amount.error());
      return JournalEntry{"reamed", {}, exact_text(amount->value, unit), word(*next.side), {}};
    }
    case Next::What::done:
    case Next::What::beyond:
      break;
  }
  return fail(Fault::content, "nothing more is asked for", "CHECK: ANSWER to tell something new");
}

Expected<Event> event_of(const JournalEntry& entry, const record::Shop& shop) {
  Event event;
  using Kind = Event::Kind;
  const auto unknown = [&](const char* what) {
    return fail(Fault::content, fmt::format("\"{}\" is no {}", entry.of, what),
                fmt::format("the code of a {}", what));
  };
  if (entry.told == "answered" || entry.told == "could-not") {
    const auto check = belief::check_of(entry.of);
    if (!check) return unknown("check");
    event.check = event.answer.check = *check;
    if (entry.told == "could-not") {
      event.kind = Kind::could_not;
      return event;
    }
    if (belief::is_reading(*check)) {
      const auto [read, with] = reading_and_instrument(entry.as);
      const auto r = length_of(read, LengthUnit::mm, *check);
      if (!r) return tl::unexpected(r.error());
      const auto instrument = instrument_named(with, shop);
      if (!instrument) return tl::unexpected(instrument.error());
      event.answer.value = r->value;
      // What people type as a ± is k = 2.
      if (r->plus_minus) {
        event.answer.standard = *r->plus_minus / 2;
      } else if (*instrument != nullptr) {
        const Reckoned by = reading_by(**instrument, r->value);
        event.answer.value = millimetres(by.value);
        event.answer.standard = millimetres(by.standard);
      }
      return event;
    }
    const auto choice = choice_of(*check, entry.as);
    if (!choice)
      return fail(Fault::content,
                  fmt::format("\"{}\" is no answer to \"{}\"", entry.as, belief::word(*check)),
                  words_of(*check));
    event.answer.choice = *choice;
    return event;
  }
  if (entry.told == "waived") {
    const auto cause = belief::cause_of(entry.of);
    if (!cause) return unknown("cause");
    event.kind = Kind::waived;
    event.cause = *cause;
    event.reason = entry.as;
    return event;
  }
  if (entry.told == "cured") {
    event.kind = Kind::cured;
    return event;
  }
  if (entry.told == "cutter-seen") {
    event.kind = Kind::cutter_seen;
    return event;
  }
  const auto side = side_of(entry);
  if (!side) return tl::unexpected(side.error());
  event.side = *side;
  if (entry.told == "bitten") {
    event.kind = Kind::bitten;
    const auto turns = turns_of(entry.as);
    if (!turns) return tl::unexpected(turns.error());
    event.turns = *turns;
    return event;
  }
  event.kind = Kind::reamed;
  const auto amount = parse_length(entry.as, LengthUnit::mm, Sign::positive);
  if (!amount) return tl::unexpected(amount.error());
  event.amount = amount->value;
  return event;
}

Told tell(const guide::Guide& guide, LengthUnit unit) {
  const Next& next = guide.next();
  Told out;
  out.why = next.why.in(unit);
  for (const Said& rule : next.stop) out.stop.push_back(rule.in(unit));
  const std::string end = next.side ? word(*next.side) : "";
  switch (next.what) {
    case Next::What::look:
      out.what = belief::word(*next.check);
      out.how = belief::how(*next.check);
      out.reply = belief::is_reading(*next.check)
                      ? fmt::format("a length{}, or cannot", unit == LengthUnit::mm ? " in mm" : " in inches")
                      : fmt::format("{}, or cannot", words_of(*next.check));
      if (next.before_cut) out.reply += "; or waive CAUSE because REASON";
      break;
    case Next::What::cure:
      out.what = belief::word(*next.cure);
      if (next.side) out.what += fmt::format(", {} end", end);
      out.reply = "done";
      break;
    case Next::What::step:
      out.what = tell(*next.step, unit);
      out.how = tell_how(*next.step, unit);
      out.reply = "done";
      break;
    case Next::What::bite:
      out.what =
          fmt::format("cut the {} seat by {:g} {}", end, next.turns, next.turns == 1 ? "turn" : "turns");
      out.how = fmt::format(
          "It should take about {}; the chance that it goes too far is {:.2f} %. Keep the cutter square, "
          "turn it as a "
          "screw is tightened, clean the chips out, refit, drive the screw home.",
          show(next.amount, unit), 100 * next.risk);
      out.reply = "done, or the turns that were made";
      break;
    case Next::What::ream:
      out.what = fmt::format("ream the {} key end by {} along its axis", end, show(next.amount, unit));
      out.how = "With a reamer of the point's own taper, in small bites; clean, refit, feel.";
      out.reply = "done, or the amount that was reamed";
      break;
    case Next::What::see_cutter:
      out.what = "see to the cutter";
      out.how =
          "Look at its edge, clean it, set it square to the post; clean the chips out from under the head.";
      out.reply = "done";
      break;
    case Next::What::done:
      out.what = "done";
      break;
    case Next::What::beyond:
      out.what = "this goes no further here";
      break;
  }
  return out;
}

std::string tell(const belief::CauseShare& share) {
  std::string out = belief::word(share.cause);
  if (belief::at_one_end(share.cause) && share.share > 0) {
    if (share.upper_share > 0.8) out += ", upper end";
    if (share.upper_share < 0.2) out += ", lower end";
  }
  return out;
}

std::string tell(const belief::Evidence& e, LengthUnit unit) {
  const std::string answer = e.answer.empty() ? show(e.value, unit) : e.answer;
  const bool with = e.factor > 1;
  const double times = with ? e.factor : 1 / e.factor;
  const std::string much = times > 100   ? "over 100"
                           : times >= 10 ? fmt::format("{:.0f}", times)
                                         : fmt::format("{:.1f}", times);
  return fmt::format("{}: {}, {} times likelier {} it", belief::word(e.check), answer, much,
                     with ? "with" : "without");
}

std::string tell(const guide::Waiver& w) { return fmt::format("{}: {}", belief::word(w.cause), w.reason); }

std::string tell(const plan::BiteTaken& b, LengthUnit unit) {
  const std::string took = b.taken ? say(WithDoubt{*b.taken, b.standard * 2}).in(unit) : "not read yet";
  return fmt::format("{} seat, {:g} {}: {}{}", word(b.side), b.turns, b.turns == 1 ? "turn" : "turns", took,
                     b.nothing > 0.5 ? ", perhaps nothing" : "");
}

std::string to_json(const KeyResult& key, const guide::Guide& guide, LengthUnit unit) {
  const Next& next = guide.next();
  const Told told = tell(guide, unit);
  const belief::Inquiry& inquiry = guide.inquiry();
  Json out = {{"key", key.id}, {"finished", guide.finished()}};
  Json& n = out["next"];
  n = {{"what", guide::word(next.what)},
       {"tell", told.what},
       {"why", told.why},
       {"how", told.how},
       {"reply", told.reply}};
  if (next.check) n["check"] = belief::code(*next.check);
  if (next.check) n["answers"] = belief::answers(*next.check);
  if (next.cure) n["cure"] = belief::code(*next.cure);
  if (next.side) n["end"] = word(*next.side);
  if (next.step) {
    n["step"] = {{"work", code(next.step->operation)},
                 {"end", word(next.step->side)},
                 {"amount", number(next.step->amount)}};
  }
  if (next.what == Next::What::bite) {
    n["turns"] = number(next.turns);
    n["risk"] = number(next.risk);
  }
  if (next.what == Next::What::bite || next.what == Next::What::ream) n["amount"] = number(next.amount);
  n["stop"] = told.stop;
  out["window"] = {{"low", number(guide.window_low())}, {"high", number(guide.window_high())}};
  const auto end_play = [&](const char* name, const std::optional<guide::Guide::Reading>& r) {
    if (r) out["end_play"][name] = {{"value", number(r->value)}, {"plus_minus", number(r->standard * 2)}};
  };
  end_play("first", guide.first_end_play());
  end_play("latest", guide.latest_end_play());
  out["causes"] = Json::array();
  const auto causes = inquiry.causes();
  for (const belief::CauseShare& c : causes) {
    Json row = {{"cause", belief::code(c.cause)},
                {"tell", tell(c)},
                {"share", number(c.share)},
                {"for", Json::array()},
                {"against", Json::array()}};
    if (belief::at_one_end(c.cause)) row["upper_share"] = number(c.upper_share);
    for (const belief::Evidence& e : inquiry.evidence(c.cause)) {
      Json said = answer_of(e);
      said["tell"] = tell(e, unit);
      said["times"] = number(e.factor > 1 ? e.factor : 1 / e.factor);
      row[e.factor > 1 ? "for" : "against"].push_back(std::move(said));
    }
    out["causes"].push_back(std::move(row));
  }
  if (const auto check = inquiry.telling_apart(causes[0].cause, causes[1].cause))
    out["telling_apart"] = belief::code(*check);
  out["before_cut"] = list_of(guide.barriers());
  out["waived"] = Json::array();
  for (const guide::Waiver& w : guide.waivers())
    out["waived"].push_back({{"cause", belief::code(w.cause)}, {"reason", w.reason}});
  out["cured"] = Json::array();
  for (const belief::Cure c : guide.cures()) out["cured"].push_back(belief::code(c));
  out["bites"] = Json::array();
  if (guide.cutting()) {
    for (const plan::BiteTaken& b : guide.cutting()->bites()) {
      out["bites"].push_back({{"end", word(b.side)},
                              {"turns", number(b.turns)},
                              {"taken", b.taken ? number(*b.taken) : Json(nullptr)},
                              {"plus_minus", number(b.standard * 2)},
                              {"tell", tell(b, unit)}});
    }
    const plan::TakeOff rate = guide.cutting()->take_off(0);
    out["take_off"] = {{"per_turn", number(rate.median())}, {"spread", number(rate.between)}};
  }
  return text_of(out);
}

}  // namespace hingeline::service

#include "hingeline/service/lead.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "hingeline/base/moment.h"
#include "hingeline/service/neighbours.h"
#include "hingeline/service/outfit.h"
#include "ids.h"
#include "inside.h"
#include "led.h"

namespace hingeline::desk {
namespace {

using record::JournalEntry;
using record::Slip;
using record::SlipKind;

/// Findings that are no checks: what the key came in for, what it turned out to have.
constexpr const char* kComplaint = "complaint";
constexpr const char* kFound = "found";

/// What was told of a key, as the book has it.
struct Told {
  std::vector<JournalEntry> entries;
  std::string complaint;
  std::int64_t as_of = 0;  ///< number of the last slip that changes any of it
  std::string last_bite;   ///< thing of the last bite
};

std::string end_of(const std::optional<record::WhichEnd>& end) {
  return end ? record::word(*end) : std::string();
}

/// The entry that a slip stands for; nothing where the guide is not told of it.
std::optional<JournalEntry> entry_of_slip(const Slip& slip) {
  JournalEntry out;
  out.when = slip.at;
  if (const auto* finding = std::get_if<record::FindingSlip>(&slip.body)) {
    if (finding->of == kComplaint || finding->of == kFound) return std::nullopt;
    out.of = finding->of;
    out.told = finding->answer == kCannot ? "could-not" : "answered";
    if (out.told == "answered") out.as = finding->answer;
    return out;
  }
  if (const auto* waiver = std::get_if<record::WaiverSlip>(&slip.body)) {
    out.told = "waived";
    out.of = record::word(waiver->cause);
    out.as = waiver->reason;
    return out;
  }
  const auto* operation = std::get_if<record::OperationSlip>(&slip.body);
  if (operation == nullptr) return std::nullopt;
  if (operation->step == kBite) {
    if (!operation->turns.known()) return std::nullopt;
    out.told = "bitten";
    out.as = fmt::format("{}", operation->turns.value);
    out.end = end_of(operation->end);
  } else if (operation->step == kReam) {
    if (!operation->amount.known()) return std::nullopt;
    out.told = "reamed";
    out.as = exact_text(operation->amount.value, LengthUnit::mm);
    out.end = end_of(operation->end);
  } else if (operation->step == kCutterSeen) {
    out.told = "cutter-seen";
  } else {
    out.told = "cured";
    out.of = operation->step;
  }
  return out;
}

/// The other way: what an entry is written down as.
Answer<record::SlipBody> body_of(const JournalEntry& entry, const std::string& cutter) {
  if (entry.told == "answered" || entry.told == "could-not")
    return record::SlipBody(
        record::FindingSlip{entry.of, entry.told == "could-not" ? kCannot : entry.as, {}});
  if (entry.told == "waived") {
    record::WaiverSlip waiver;
    const auto cause = belief::cause_of(entry.of);
    if (!cause) return refuse(Kind::not_valid, fmt::format("there is no cause \"{}\"", entry.of));
    waiver.cause = static_cast<record::CauseWord>(*cause);
    waiver.reason = entry.as;
    return record::SlipBody(std::move(waiver));
  }
  record::OperationSlip operation;
  if (entry.end == "upper") operation.end = record::WhichEnd::upper;
  if (entry.end == "lower") operation.end = record::WhichEnd::lower;
  if (entry.told == "cutter-seen") {
    operation.step = kCutterSeen;
  } else if (entry.told == "cured") {
    operation.step = entry.of.empty() ? std::string("step") : entry.of;
  } else if (entry.told == "bitten") {
    operation.step = kBite;
    const auto turns = parse_number(entry.as, Sign::positive);
    if (!turns) return as_trouble(turns.error());
    operation.turns = record::entry_of(turns->value);
    operation.tool = cutter;
  } else {
    operation.step = kReam;
    const auto amount = parse_length(entry.as, LengthUnit::mm, Sign::positive);
    if (!amount) return as_trouble(amount.error());
    operation.amount = record::entry_of(amount->value);
  }
  return record::SlipBody(std::move(operation));
}

/// A seed of the key's own, the same whenever and wherever it is led (FNV-1a, 64 bits).
std::uint64_t seed_of(const std::string& visit, const std::string& key) {
  std::uint64_t out = 0xcbf29ce484222325ULL;
  for (const char c : visit + key) out = (out ^ static_cast<unsigned char>(c)) * 0x100000001b3ULL;
  return out;
}

/// The thing of a visit's key, by its id in the document.
Answer<Thing> key_thing(Book& book, const std::string& instrument, const std::string& id) {
  const auto keys = book.belonging(instrument, SlipKind::key);
  if (!keys) return as_trouble(keys.error());
  std::optional<Thing> found;
  // Two of one name cannot stand in a document; where they do all the same, the first is as good as any.
  for (const Thing& t : *keys) {
    if (std::get<record::KeySlip>(t.now.slip.body).id == id && !found) found = t;
  }
  if (found) return std::move(*found);
  return refuse(Kind::not_found, fmt::format("there is no key \"{}\"", id.substr(0, 80)),
                "the id of one of this instrument's keys");
}

Answer<Told> told_of(Book& book, const std::string& visit, const std::string& key) {
  auto things = book.belonging(visit, std::nullopt, key);
  if (!things) return as_trouble(things.error());
  Told out;
  const auto newest = book.newest_about(visit, key);
  if (!newest) return as_trouble(newest.error());
  out.as_of = *newest;
  for (const Thing& t : *things) {
    const Slip& slip = t.now.slip;
    if (const auto* f = std::get_if<record::FindingSlip>(&slip.body); f != nullptr && f->of == kComplaint)
      out.complaint = f->answer;
    if (auto entry = entry_of_slip(slip)) {
      if (entry->told == "bitten") out.last_bite = t.id;
      out.entries.push_back(std::move(*entry));
    }
  }
  return out;
}

/// How a bite is to be written down once it was read what it took.
struct BiteRead {
  bool read = false;
  record::LengthEntry taken;
};
/// What a person reads: the rest of a double's digits says nothing of the metal.
Length to_a_tenth_of_a_micrometre(Length length) {
  return millimetres(std::round(in_millimetres(length) * 1e4) / 1e4);
}

BiteRead last_bite_of(const guide::Guide& guide) {
  BiteRead out;
  if (!guide.cutting()) return out;
  const std::vector<plan::BiteTaken> bites = guide.cutting()->bites();
  if (bites.empty() || !bites.back().taken) return out;
  const plan::BiteTaken& bite = bites.back();
  out.read = true;
  out.taken = record::entry_of(to_a_tenth_of_a_micrometre(*bite.taken),
                               to_a_tenth_of_a_micrometre(bite.standard * 2));
  return out;
}

bool same(const std::vector<JournalEntry>& a, const std::vector<JournalEntry>& b, std::size_t count) {
  return a.size() >= count && b.size() >= count &&
         std::equal(a.begin(), a.begin() + static_cast<std::ptrdiff_t>(count), b.begin(),
                    [](const JournalEntry& x, const JournalEntry& y) {
                      return x.told == y.told && x.of == y.of && x.as == y.as && x.end == y.end;
                    });
}

struct Place {
  std::shared_ptr<const Bench> bench;
  const service::KeyResult* key = nullptr;
  Thing thing;  ///< of the key
  Told told;
  std::shared_ptr<const service::Learned> learned;
  std::string person;
};

Answer<std::shared_ptr<const Led>> led_to(Desk::Inside& inside, const std::string& visit,
                                          const Place& place) {
  const std::string name = visit + place.thing.id;
  const auto kept = inside.guides.look(name);
  std::shared_ptr<const Led> from;
  if (kept && (*kept)->bench == place.bench && (*kept)->complaint == place.told.complaint &&
      (*kept)->learned == place.learned && (*kept)->entries.size() <= place.told.entries.size() &&
      same((*kept)->entries, place.told.entries, (*kept)->entries.size())) {
    from = *kept;
    if (from->entries.size() == place.told.entries.size()) return from;
  }
  const service::Learned* learned = place.learned.get();
  const std::uint64_t seed = seed_of(visit, place.thing.id);
  std::shared_ptr<Led> out;
  if (from) {
    out = std::make_shared<Led>(*from);
  } else {
    const unsigned threads = inside.rules.threads;
    auto guide =
        service::guide_of(*place.key, belief::complaint_of(place.told.complaint), seed, threads, learned, {},
                          service::around(*place.key, place.bench->result, {seed, threads, learned, {}}));
    if (!guide) return as_trouble(guide.error());
    out = std::make_shared<Led>(
        Led{place.bench, place.told.complaint, place.learned, {}, std::move(*guide), {}});
  }
  for (std::size_t i = out->entries.size(); i < place.told.entries.size(); ++i) {
    const JournalEntry& entry = place.told.entries[i];
    const auto event = service::event_of(entry, place.bench->shop);
    auto told = event ? out->guide.tell(*event) : Expected<void>(tl::unexpected(event.error()));
    if (!told) {
      out->left_out.push_back(fmt::format("{} {} {}: {}", entry.told, entry.of, entry.as, told.error().what));
    }
  }
  out->entries = place.told.entries;
  inside.guides.put(name, out);
  return std::shared_ptr<const Led>(out);
}

Answer<Place> place_of(Desk::Inside& inside, const std::string& visit, const std::string& key) {
  Place out;
  auto bench = inside.bench(visit);
  if (!bench) return tl::unexpected(bench.error());
  out.bench = std::move(*bench);
  const auto found = service::find_key(out.bench->result, key);
  if (!found) return as_trouble(found.error());
  if ((*found)->problem) return as_trouble(*(*found)->problem);
  out.key = *found;
  const auto lent = inside.book();
  if (!lent) return tl::unexpected(lent.error());
  const auto thing = inside.needed(**lent, visit, SlipKind::visit);
  if (!thing) return tl::unexpected(thing.error());
  auto about = key_thing(**lent, thing->now.slip.of, key);
  if (!about) return tl::unexpected(about.error());
  out.thing = std::move(*about);
  auto told = told_of(**lent, visit, out.thing.id);
  if (!told) return tl::unexpected(told.error());
  out.told = std::move(*told);
  auto learned = inside.learned(**lent, out.bench->shop, out.bench->shop_text);
  if (!learned) return tl::unexpected(learned.error());
  out.learned = std::move(*learned);
  return out;
}

std::string state_text(const Place& place, const Led& led, LengthUnit unit) {
  Json out = {{"key_thing", place.thing.id},
              {"as_of", place.told.as_of},
              {"told", place.told.entries.size()},
              {"left_out", led.left_out},
              {"state", Json::parse(service::to_json(*place.key, led.guide, unit))}};
  return text_of(out);
}

}  // namespace

Answer<std::string> Desk::led(const Who& who, const std::string& visit, const std::string& key,
                              const std::string& unit) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto place = place_of(*inside_, visit, key);
  if (!place) return tl::unexpected(place.error());
  const auto lengths = unit_of(unit, place->bench->result.units);
  if (!lengths) return tl::unexpected(lengths.error());
  const auto led = led_to(*inside_, visit, *place);
  if (!led) return tl::unexpected(led.error());
  return state_text(*place, **led, *lengths);
}

Answer<std::string> Desk::standing(const Who& who, const std::string& visit) {
  const auto causes = ask(who, visit, Question::causes, {});
  if (!causes) return tl::unexpected(causes.error());
  std::set<std::string> told;
  {
    const auto lent = inside_->book();
    if (!lent) return tl::unexpected(lent.error());
    const auto things = (*lent)->belonging(visit);
    if (!things) return as_trouble(things.error());
    for (const Thing& t : *things) {
      if (!t.now.slip.key.empty() && entry_of_slip(t.now.slip)) told.insert(t.now.slip.key);
    }
    // In the document a key goes by its own id, among slips by its thing's.
    std::set<std::string> ids;
    for (const std::string& thing : told) {
      const auto key = (*lent)->thing(thing);
      if (!key) return as_trouble(key.error());
      if (!*key) continue;
      if (const auto* says = std::get_if<record::KeySlip>(&(*key)->now.slip.body)) ids.insert(says->id);
    }
    told = std::move(ids);
  }
  Json out = {{"keys", Json::array()}};
  Json rows = Json::parse(*causes);
  for (Json& row : rows["keys"]) {
    if (row.contains("problem")) continue;
    const std::string key = row["id"];
    Json next = nullptr;
    if (told.contains(key)) {
      const auto state = led(who, visit, key, {});
      if (!state) return tl::unexpected(state.error());
      Json led = Json::parse(*state);
      for (const char* member : {"what", "check", "cure", "end"}) {
        if (led["state"]["next"].contains(member)) next[member] = led["state"]["next"][member];
      }
      out["keys"].push_back({{"key", key},
                             {"told", led["told"]},
                             {"finished", led["state"]["finished"]},
                             {"cause", led["state"]["causes"][0]["cause"]},
                             {"share", led["state"]["causes"][0]["share"]},
                             {"next", std::move(next)},
                             {"before_cut", led["state"]["before_cut"]}});
      continue;
    }
    if (row.contains("next")) next = {{"what", "look"}, {"check", row["next"]["check"]}};
    out["keys"].push_back({{"key", key},
                           {"told", 0},
                           {"finished", false},
                           {"cause", row["causes"][0]["cause"]},
                           {"share", row["causes"][0]["share"]},
                           {"next", std::move(next)},
                           {"before_cut", std::move(row["before_cut"])}});
  }
  return text_of(out);
}

Answer<std::string> Desk::tell(const Who& who, const std::string& visit, const std::string& key,
                               const std::string& unit, std::string_view json) {
  if (auto may = must_have(who, Right::bench); !may) return tl::unexpected(may.error());
  const auto object = object_of(json);
  if (!object) return tl::unexpected(object.error());
  if (auto known = only_members(*object, {"id", "typed", "seen"}); !known)
    return tl::unexpected(known.error());
  const auto id = id_in(*object);
  if (!id) return tl::unexpected(id.error());
  const auto typed = needed_text(*object, "typed");
  if (!typed) return tl::unexpected(typed.error());
  if (typed->size() > record::kLongestJournalText)
    return refuse(Kind::not_valid, "the line is too long",
                  fmt::format("at most {} bytes", record::kLongestJournalText));
  const auto seen = object->find("seen");
  if (seen == object->end() || !seen->is_number_integer())
    return refuse(Kind::not_valid, "\"seen\" is no number", "the \"as_of\" that this answers");

  auto place = place_of(*inside_, visit, key);
  if (!place) return tl::unexpected(place.error());
  const auto lengths = unit_of(unit, place->bench->result.units);
  if (!lengths) return tl::unexpected(lengths.error());
  const auto led = led_to(*inside_, visit, *place);
  if (!led) return tl::unexpected(led.error());
  {
    // What was sent before counts once; it is answered with how things stand.
    const auto lent = inside_->book();
    if (!lent) return tl::unexpected(lent.error());
    const auto there = (*lent)->thing(*id);
    if (!there) return as_trouble(there.error());
    if (*there) {
      if ((*there)->now.slip.of != visit || (*there)->now.slip.key != place->thing.id)
        return refuse(Kind::not_valid, "another slip has this id", "an id of its own");
      return state_text(*place, **led, *lengths);
    }
  }
  if (seen->get<std::int64_t>() != place->told.as_of) {
    return refuse(Kind::overtaken, "somebody else has told something of this key meanwhile",
                  "to look at it again, then to answer what is asked now");
  }
  const auto entry = service::entry_of((*led)->guide, *typed, *lengths, place->bench->shop);
  if (!entry) return as_trouble(entry.error());
  const auto event = service::event_of(*entry, place->bench->shop);
  if (!event) return as_trouble(event.error());
  guide::Guide after = (*led)->guide;
  if (auto told = after.tell(*event); !told) return as_trouble(told.error());

  IdsFrom ids(*id);
  const auto slip = [&](record::SlipBody body) {
    Slip out;
    out.id = ids.next();
    out.at = moment_of(*id);
    out.by = who.person;
    out.of = visit;
    out.key = place->thing.id;
    out.body = std::move(body);
    return out;
  };
  auto body =
      body_of(*entry, (*led)->guide.next().side ? service::cutter_at(*place->key, *(*led)->guide.next().side)
                                                : std::string());
  if (!body) return tl::unexpected(body.error());
  std::vector<Slip> slips{slip(std::move(*body))};
  // What a bite took is known once the end play was read after it.
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const BiteRead before = last_bite_of((*led)->guide);
  const BiteRead now = last_bite_of(after);
  if (now.read && !before.read && !place->told.last_bite.empty()) {
    const auto bite = (*lent)->thing(place->told.last_bite);
    if (!bite) return as_trouble(bite.error());
    if (*bite) {
      auto operation = std::get<record::OperationSlip>((*bite)->now.slip.body);
      operation.taken = now.taken;
      slips.push_back(slip(std::move(operation)));
      slips.back().replaces = (*bite)->now.slip.id;
      slips.back().why = "end play read after it";
    }
  }
  if (!(*led)->guide.finished() && after.finished() && after.next().what == guide::Next::What::done) {
    const auto job = service::job_of(*place->key, place->bench->result, after,
                                     belief::complaint_of(place->told.complaint), "job", "2026-01-01", {});
    for (const record::CauseWord cause : job.causes)
      slips.push_back(slip(record::FindingSlip{kFound, record::word(cause), {}}));
  }
  for (Slip& s : slips) {
    auto read = sound(s);
    if (!read) return tl::unexpected(read.error());
    s = std::move(*read);
  }
  store::Writing writing;
  writing.all_or_none = true;
  writing.unless_about = store::Writing::About{visit, place->thing.id, place->told.as_of};
  const auto written = inside_->write(**lent, who, slips, writing);
  if (!written) return tl::unexpected(written.error());
  if (written->front().outcome == store::Outcome::refused)
    return refuse(Kind::overtaken, written->front().what, written->front().expected);
  auto told = told_of(**lent, visit, place->thing.id);
  if (!told) return tl::unexpected(told.error());
  place->told = std::move(*told);
  const auto state = led_to(*inside_, visit, *place);
  if (!state) return tl::unexpected(state.error());
  return state_text(*place, **state, *lengths);
}

// ---- what finished visits teach
// ----------------------------------------------------------------------------

namespace {

/// Older ones say little of today's cutters and hands.
constexpr std::int64_t kLearnedYears = 3;

/// Finished jobs out of the book: one for each key of a visit that was proved or handed back.
class Jobs {
 public:
  explicit Jobs(Book& book) : book_(book) {}

  /// `forgotten`: what the shop no longer wants to learn from them.
  Answer<record::Ledger> ledger(std::int64_t now, const std::vector<record::Forgotten>& forgotten) {
    constexpr std::int64_t kYear = 365LL * kSecondsPerDay * 1000;
    std::string after = record::slip_id(
        static_cast<std::uint64_t>(std::max<std::int64_t>(now - kLearnedYears * kYear, 0)), 0, 0);
    for (;;) {
      const auto page = book_.all_of(SlipKind::operation, 1000, after);
      if (!page) return as_trouble(page.error());
      if (page->empty()) break;
      after = page->back().id;
      for (const Thing& t : *page) {
        if (auto added = add(t.now.slip); !added) return tl::unexpected(added.error());
      }
    }
    record::Ledger out;
    out.title = "Finished visits";
    out.forgotten = forgotten;
    for (auto& [where, job] : jobs_) {
      job.id = record::free_id(out, job.date);
      out.jobs.push_back(std::move(job));
    }
    return out;
  }

 private:
  Answer<std::optional<Slip>> now_of(const std::string& id) {
    const auto known = seen_.find(id);
    if (known != seen_.end()) return known->second;
    const auto thing = book_.thing(id);
    if (!thing) return as_trouble(thing.error());
    std::optional<Slip> out;
    if (*thing && !(*thing)->now.slip.struck) out = (*thing)->now.slip;
    seen_.emplace(id, out);
    return out;
  }

  Answer<void> add(const Slip& slip) {
    const auto visit = now_of(slip.of);
    if (!visit) return tl::unexpected(visit.error());
    if (!*visit) return {};
    const auto state = std::get<record::VisitSlip>((*visit)->body).state;
    if (state != record::VisitState::proved && state != record::VisitState::handed_back) return {};
    const auto where = std::pair{slip.of, slip.key};
    if (jobs_.find(where) == jobs_.end()) {
      auto begun = begin(slip, **visit);
      if (!begun) return tl::unexpected(begun.error());
      jobs_.emplace(where, std::move(*begun));
    }
    record::Job& job = jobs_.find(where)->second;
    const auto& did = std::get<record::OperationSlip>(slip.body);
    if (did.step == kBite && did.taken.known() && did.taken.value.raw() > 0 && did.turns.known() &&
        !did.tool.empty())
      job.bites.push_back({did.tool, did.end, did.turns, did.taken, {}});
    if (did.minutes.known() && did.minutes.value > 0)
      job.minutes.push_back({did.step, did.turns, did.minutes, {}});
    return {};
  }

  Answer<record::Job> begin(const Slip& slip, const Slip& visit) {
    record::Job job;
    job.date = slip.at.substr(0, 10);
    const auto instrument = now_of(visit.of);
    if (!instrument) return tl::unexpected(instrument.error());
    if (*instrument) {
      const auto& says = std::get<record::InstrumentSlip>((*instrument)->body);
      job.instrument = says.kind.empty() ? says.title : says.kind;
    }
    const auto key = now_of(slip.key);
    if (!key) return tl::unexpected(key.error());
    if (*key) {
      const auto& says = std::get<record::KeySlip>((*key)->body);
      job.key = says.id;
      const Json document = Json::parse(says.document.json.empty() ? "{}" : says.document.json);
      const Json::json_pointer at("/hinge/upper/screw/pattern");
      if (document.contains(at) && document.at(at).is_string())
        job.pattern = document.at(at).get<std::string>();
    }
    if (!slip.by.empty()) {
      const auto person = now_of(slip.by);
      if (!person) return tl::unexpected(person.error());
      if (*person) job.person = std::get<record::PersonSlip>((*person)->body).name;
    }
    const auto findings = book_.belonging(slip.of, SlipKind::finding, slip.key);
    if (!findings) return as_trouble(findings.error());
    for (const Thing& t : *findings) {
      const auto& says = std::get<record::FindingSlip>(t.now.slip.body);
      if (says.of == kComplaint) {
        if (const auto complaint = belief::complaint_of(says.answer))
          job.complaint = static_cast<record::Complaint>(*complaint);
      }
      if (const auto cause = belief::cause_of(says.answer); cause && says.of == kFound)
        job.causes.push_back(static_cast<record::CauseWord>(*cause));
    }
    const auto waivers = book_.belonging(slip.of, SlipKind::waiver, slip.key);
    if (!waivers) return as_trouble(waivers.error());
    for (const Thing& t : *waivers) {
      const auto& says = std::get<record::WaiverSlip>(t.now.slip.body);
      job.waivers.push_back({says.cause, says.reason, {}});
    }
    return job;
  }

  Book& book_;
  std::map<std::pair<std::string, std::string>, record::Job> jobs_;
  std::map<std::string, std::optional<Slip>> seen_;
};

}  // namespace

Answer<std::shared_ptr<const service::Learned>> Desk::Inside::learned(Book& book, const record::Shop& shop,
                                                                      const std::string& shop_text) {
  // While keys are led, what was learned stands still for a while: each job would else move every other.
  constexpr std::int64_t kStands = 10LL * 60 * 1000;
  const auto last = book.last_number();
  if (!last) return as_trouble(last.error());
  const std::lock_guard lock(lesson_mutex_);
  const bool fresh = lesson_.learned && lesson_.shop_text == shop_text &&
                     (lesson_.number == *last || now() - lesson_.made < kStands);
  if (fresh) return lesson_.learned;
  auto ledger = Jobs(book).ledger(now(), shop.forgotten);
  if (!ledger) return tl::unexpected(ledger.error());
  auto learned = service::learn(*ledger, shop);
  if (!learned) return as_trouble(learned.error());
  lesson_ = {shop_text, *last, now(), std::make_shared<const service::Learned>(std::move(*learned))};
  return lesson_.learned;
}

Answer<std::string> Desk::learned(const Who& who, const std::string& unit) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto shop = inside_->shop(**lent);
  if (!shop) return tl::unexpected(shop.error());
  const auto lengths = unit_of(unit, shop->shop.units);
  if (!lengths) return tl::unexpected(lengths.error());
  const auto learned = inside_->learned(**lent, shop->shop, shop->text);
  if (!learned) return tl::unexpected(learned.error());
  return service::to_json(**learned, *lengths);
}

Answer<std::string> Desk::outfit(const Who& who) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  Book& book = **lent;
  return inside_->of_book(book, "outfit", [&]() -> Answer<std::string> {
    const auto read_shop = inside_->shop(book);
    if (!read_shop) return tl::unexpected(read_shop.error());
    const record::Shop& shop = read_shop->shop;
    std::vector<record::Instrument> instruments;
    for (std::string after;;) {
      const auto page = book.all_of(SlipKind::instrument, 1000, after);
      if (!page) return as_trouble(page.error());
      if (page->empty()) break;
      after = page->back().id;
      for (const Thing& thing : *page) {
        // Sizes of screws and tubes stand with the keys: no visit's readings are needed for them.
        const auto document = inside_->instrument_text(book, thing, {});
        if (!document) return tl::unexpected(document.error());
        auto read = record::read_instrument(*document, "instrument");
        if (!read) return as_trouble(std::move(read.error()));
        // What names a screw family that the shop no longer has says nothing of its sizes.
        if (service::names_missing(*read, shop).empty()) instruments.push_back(std::move(*read));
      }
    }
    const auto ledger = Jobs(book).ledger(inside_->now(), shop.forgotten);
    if (!ledger) return tl::unexpected(ledger.error());
    const auto result = service::outfit_of(shop, instruments, ledger->jobs.empty() ? nullptr : &*ledger);
    if (!result) return as_trouble(result.error());
    return service::to_json(*result);
  });
}

}  // namespace hingeline::desk

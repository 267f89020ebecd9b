#include "hingeline/desk/desk.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "inside.h"

namespace hingeline::desk {
namespace {

using record::Slip;
using record::SlipKind;
using record::ThingSlip;

std::optional<SlipKind> kind_of(const std::string& typed) {
  const auto at = std::find_if(record::kSlipKinds.begin(), record::kSlipKinds.end(),
                               [&](SlipKind k) { return typed == record::word(k); });
  if (at == record::kSlipKinds.end()) return std::nullopt;
  return *at;
}

std::string list_of(const char* name, const std::vector<Json>& items) {
  Json out = {{name, Json::array()}};
  for (const Json& item : items) out[name].push_back(item);
  return text_of(out);
}

/// What a thing belongs to, as far as it matters to who may see it.
Answer<std::optional<SlipKind>> kind_above(Book& book, const Slip& slip) {
  if (slip.of.empty() || slip.kind() != SlipKind::note) return std::optional<SlipKind>{};
  const auto above = book.thing(slip.of);
  if (!above) return as_trouble(above.error());
  if (!*above) return std::optional<SlipKind>{};
  return std::optional((*above)->now.slip.kind());
}

Answer<Right> right_to_see_slip(Book& book, const Slip& slip) {
  const auto above = kind_above(book, slip);
  if (!above) return tl::unexpected(above.error());
  return right_to_see(slip.kind(), *above);
}

/// A thing that who asks may see; one that they may not is not there for them.
Answer<Thing> seen(Book& book, const Who& who, const std::string& id) {
  auto thing = book.thing(id);
  if (!thing) return as_trouble(thing.error());
  if (*thing) {
    const auto right = right_to_see_slip(book, (*thing)->now.slip);
    if (!right) return tl::unexpected(right.error());
    if (who.has(*right)) return std::move(**thing);
  }
  return refuse(Kind::not_found, "there is nothing with this id", "the id of a thing's first slip");
}

/// What a batch makes of the parts of a document. What replaces a slip that is not the last of its thing does
/// not change what the thing says, or will be seen when the document is put together.
void apply(std::vector<ThingSlip>& things, const Slip& slip) {
  if (slip.replaces.empty()) {
    const bool there = std::any_of(things.begin(), things.end(), [&](const ThingSlip& t) {
      return t.thing == slip.id || t.slip.id == slip.id;
    });
    if (!there) things.push_back({slip.id, slip});
    return;
  }
  const auto at = std::find_if(things.begin(), things.end(),
                               [&](const ThingSlip& t) { return t.slip.id == slip.replaces; });
  if (at == things.end()) return;
  if (slip.struck) {
    things.erase(at);
  } else {
    at->slip = slip;
  }
}

bool of_shop(SlipKind kind) {
  return kind == SlipKind::tool || kind == SlipKind::pattern || kind == SlipKind::preset ||
         kind == SlipKind::shop;
}

}  // namespace

// ---- what a batch would make of documents
// ------------------------------------------------------------------

namespace {

/// Refuses a batch after which a document could not be put together that could be before.
class DocumentsHold {
 public:
  DocumentsHold(Desk::Inside& inside, Book& book, const std::vector<Slip>& slips)
      : inside_(inside), book_(book), slips_(slips) {}

  Answer<void> check() {
    std::set<std::string> visits;
    std::set<std::string> instruments;
    bool shop = false;
    for (const Slip& s : slips_) {
      if (s.kind() == SlipKind::reading) visits.insert(s.of);
      if (s.kind() == SlipKind::key) instruments.insert(s.of);
      if (s.kind() == SlipKind::instrument) instruments.insert(s.replaces.empty() ? s.id : s.replaces);
      shop = shop || of_shop(s.kind());
    }
    for (const std::string& visit : visits) {
      const auto instrument = above(visit);
      if (!instrument) return tl::unexpected(instrument.error());
      if (instrument->empty()) continue;
      instruments.erase(*instrument);
      if (auto held = instrument_holds(*instrument, visit); !held) return held;
    }
    for (const std::string& instrument : instruments) {
      if (auto held = instrument_holds(instrument, {}); !held) return held;
    }
    return shop ? shop_holds() : Answer<void>{};
  }

 private:
  /// What a visit is of, whether it is in the book or comes with the batch.
  Answer<std::string> above(const std::string& visit) {
    for (const Slip& s : slips_) {
      if (s.id == visit) return s.of;
    }
    const auto thing = book_.thing(visit);
    if (!thing) return as_trouble(thing.error());
    return *thing ? (*thing)->now.slip.of : std::string();
  }

  Answer<void> instrument_holds(const std::string& id, const std::string& visit) {
    const auto thing = book_.thing(id);
    if (!thing) return as_trouble(thing.error());
    record::InstrumentParts before;
    const auto first = std::find_if(slips_.begin(), slips_.end(), [&](const Slip& s) { return s.id == id; });
    const bool known = thing->has_value();
    if (known) {
      auto parts = inside_.parts_of(book_, **thing, visit);
      if (!parts) return tl::unexpected(parts.error());
      before = std::move(*parts);
    } else if (first != slips_.end() && first->kind() == SlipKind::instrument) {
      before.instrument = *first;
    } else {
      return {};  // it is not there yet: the slips will wait
    }
    record::InstrumentParts after = before;
    for (const Slip& s : slips_) {
      if (s.kind() == SlipKind::instrument && s.replaces == after.instrument.id && !s.struck)
        after.instrument = s;
      if (s.kind() == SlipKind::key && s.of == id) apply(after.keys, s);
      if (s.kind() == SlipKind::reading && s.of == visit) apply(after.readings, s);
    }
    const auto now = record::instrument_document(after);
    // What could not be put together before is not made worse, and may be on its way to be put right.
    if (now || (known && !record::instrument_document(before))) return {};
    return as_trouble(now.error());
  }

  Answer<void> shop_holds() {
    auto parts = inside_.shop_parts(book_);
    if (!parts) return tl::unexpected(parts.error());
    record::ShopParts before = *parts ? std::move(**parts) : inside_.general_parts();
    record::ShopParts after = before;
    for (const Slip& s : slips_) {
      if (s.kind() == SlipKind::shop && !s.struck) after.shop = s;
      if (s.kind() == SlipKind::tool) apply(after.tools, s);
      if (s.kind() == SlipKind::pattern) apply(after.patterns, s);
      if (s.kind() == SlipKind::preset) apply(after.presets, s);
    }
    const auto now = record::shop_document(after);
    if (now || !record::shop_document(before)) return {};
    return as_trouble(now.error());
  }

  Desk::Inside& inside_;
  Book& book_;
  const std::vector<Slip>& slips_;
};

}  // namespace

Answer<std::vector<store::Written>> Desk::Inside::write(Book& book, const Who& who,
                                                        const std::vector<Slip>& slips,
                                                        const store::Writing& writing) {
  for (const Slip& s : slips) {
    if (auto may = must_have(who, right_for(s.kind())); !may) return tl::unexpected(may.error());
    if (!who.alone() && s.by != who.person) {
      return refuse(Kind::not_allowed, "a slip is signed by somebody else",
                    "\"by\" with the id of who is logged in");
    }
    if (s.kind() == SlipKind::photo) {
      const auto bytes = book.bytes_of(std::get<record::PhotoSlip>(s.body).sha256);
      if (!bytes) return as_trouble(bytes.error());
      if (!*bytes)
        return refuse(Kind::not_valid, "the photo's bytes are not here", "to send the photo itself first");
    }
  }
  DocumentsHold hold(*this, book, slips);
  if (auto held = hold.check(); !held) return tl::unexpected(held.error());
  auto written = book.write(slips, writing);
  if (!written) return as_trouble(written.error());
  return std::move(*written);
}

namespace {

std::string outcomes(const std::vector<store::Written>& written, Json out = Json::object()) {
  out["outcomes"] = Json::array();
  for (const store::Written& w : written) out["outcomes"].push_back(json_of(w));
  return text_of(out);
}

}  // namespace

std::string Desk::Inside::outcomes_text(const std::vector<store::Written>& written, Json with) {
  return outcomes(written, std::move(with));
}

Answer<std::string> Desk::write(const Who& who, std::string_view json) {
  const auto object = object_of(json);
  if (!object) return tl::unexpected(object.error());
  if (auto known = only_members(*object, {"slips", "all_or_none", "must_be_current"}); !known)
    return tl::unexpected(known.error());
  const auto list = object->find("slips");
  constexpr std::size_t kMostAtOnce = 2000;
  if (list == object->end() || !list->is_array() || list->empty() || list->size() > kMostAtOnce) {
    return refuse(Kind::not_valid, "\"slips\" is no list of slips",
                  fmt::format("1 to {} slips", kMostAtOnce));
  }
  store::Writing writing;
  for (auto [name, into] : {std::pair{"all_or_none", &writing.all_or_none},
                            std::pair{"must_be_current", &writing.must_be_current}}) {
    const auto at = object->find(name);
    if (at == object->end()) continue;
    if (!at->is_boolean())
      return refuse(Kind::not_valid, fmt::format("\"{}\" is neither true nor false", name), "true or false");
    *into = at->get<bool>();
  }
  std::vector<Slip> slips;
  for (const Json& item : *list) {
    auto slip = record::read_slip(text_of(item), fmt::format("slips/{}", slips.size()));
    if (!slip) return as_trouble(std::move(slip.error()));
    slips.push_back(std::move(*slip));
  }
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto written = inside_->write(**lent, who, slips, writing);
  if (!written) return tl::unexpected(written.error());
  return outcomes(*written);
}

// ---- looking
// ------------------------------------------------------------------------------------------------

Answer<std::string> Desk::thing(const Who& who, const std::string& id) {
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto thing = seen(**lent, who, id);
  if (!thing) return tl::unexpected(thing.error());
  return text_of(json_of(*thing));
}

Answer<std::string> Desk::history(const Who& who, const std::string& id) {
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  if (const auto thing = seen(**lent, who, id); !thing) return tl::unexpected(thing.error());
  const auto slips = (*lent)->history(id);
  if (!slips) return as_trouble(slips.error());
  std::vector<Json> out;
  for (const store::Kept& k : *slips) out.push_back(json_of(k));
  return list_of("slips", out);
}

Answer<std::string> Desk::belonging(const Who& who, const std::string& of, const std::string& kind,
                                    const std::string& key) {
  const auto wanted = kind.empty() ? std::optional<SlipKind>{} : kind_of(kind);
  if (!kind.empty() && !wanted)
    return refuse(Kind::not_valid, fmt::format("there is no kind \"{}\"", kind.substr(0, 40)),
                  "owner, instrument, key, visit, reading, ...");
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto above = seen(**lent, who, of);
  if (!above) return tl::unexpected(above.error());
  const auto things = (*lent)->belonging(of, wanted, key);
  if (!things) return as_trouble(things.error());
  std::vector<Json> out;
  for (const Thing& t : *things) {
    if (who.has(right_to_see(t.now.slip.kind(), above->now.slip.kind()))) out.push_back(json_of(t));
  }
  return list_of("things", out);
}

Answer<std::string> Desk::all_of(const Who& who, const std::string& kind, const std::string& after,
                                 std::size_t most) {
  const auto wanted = kind_of(kind);
  if (!wanted)
    return refuse(Kind::not_found, fmt::format("there is no kind \"{}\"", kind.substr(0, 40)),
                  "owner, instrument, key, visit, reading, ...");
  if (auto may = must_have(who, right_to_see(*wanted, {})); !may) return tl::unexpected(may.error());
  // Notes of owners stand among the others.
  if (*wanted == SlipKind::note) {
    if (auto may = must_have(who, Right::counter); !may) return tl::unexpected(may.error());
  }
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto things = (*lent)->all_of(*wanted, most, after);
  if (!things) return as_trouble(things.error());
  std::vector<Json> out;
  for (const Thing& t : *things) out.push_back(json_of(t));
  return list_of("things", out);
}

Answer<std::string> Desk::visits(const Who& who, store::VisitQuery query) {
  const bool sees_owners = who.has(Right::counter);
  if (!sees_owners) {
    if (!query.owner.empty()) return tl::unexpected(must_have(who, Right::counter).error());
    query.owners_words = false;
  }
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  auto lines = (*lent)->visits(query);
  if (!lines) return as_trouble(lines.error());
  std::vector<Json> out;
  for (store::VisitLine& line : *lines) {
    if (!sees_owners) line.owner.clear();
    if (!sees_owners) line.owner_name.clear();
    out.push_back(json_of(line));
  }
  return list_of("visits", out);
}

namespace {

Answer<std::string> to_read_in(Book& book) {
  store::VisitQuery query;
  using record::VisitState;
  query.states = {VisitState::waiting, VisitState::looked_over, VisitState::quoted, VisitState::agreed,
                  VisitState::in_work};
  query.most = 1000;
  const auto lines = book.visits(query);
  if (!lines) return as_trouble(lines.error());
  std::vector<Json> out;
  for (const store::VisitLine& line : *lines) {
    const auto keys = book.belonging(line.instrument, SlipKind::key);
    if (!keys) return as_trouble(keys.error());
    std::set<std::string> read;
    for (const SlipKind kind : {SlipKind::reading, SlipKind::finding}) {
      const auto told = book.belonging(line.visit, kind);
      if (!told) return as_trouble(told.error());
      for (const Thing& t : *told) {
        const auto* reading = std::get_if<record::ReadingSlip>(&t.now.slip.body);
        const auto* finding = std::get_if<record::FindingSlip>(&t.now.slip.body);
        // "cannot" is an answer too: nobody waits for that key any longer.
        if ((reading != nullptr && reading->at == "/readings/end_play") ||
            (finding != nullptr && finding->of == belief::code(belief::Check::end_play)))
          read.insert(t.now.slip.key);
      }
    }
    const auto is_read = [&](const Thing& key) { return read.contains(key.id); };
    out.push_back({{"visit", line.visit},
                   {"keys", keys->size()},
                   {"read", std::count_if(keys->begin(), keys->end(), is_read)}});
  }
  return list_of("visits", out);
}

}  // namespace

Answer<std::string> Desk::to_read(const Who& who) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  // Every page of the day asks again after every slip.
  return inside_->of_book(**lent, "to-read", [&] { return to_read_in(**lent); });
}

Answer<std::string> Desk::visit(const Who& who, const std::string& id) {
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto visit = inside_->needed(**lent, id, SlipKind::visit);
  if (!visit) return tl::unexpected(visit.error());
  const auto instrument = (*lent)->thing(visit->now.slip.of);
  if (!instrument) return as_trouble(instrument.error());
  Json out = {{"visit", json_of(*visit)}, {"instrument", nullptr}, {"owner", nullptr}};
  if (*instrument) {
    out["instrument"] = json_of(**instrument);
    const std::string& owner = (*instrument)->now.slip.of;
    if (!owner.empty() && who.has(Right::counter)) {
      const auto person = (*lent)->thing(owner);
      if (!person) return as_trouble(person.error());
      if (*person && !(*person)->now.slip.struck) out["owner"] = json_of(**person);
    }
  }
  const auto keys = (*lent)->belonging(visit->now.slip.of, SlipKind::key);
  if (!keys) return as_trouble(keys.error());
  const auto rest = (*lent)->belonging(id);
  if (!rest) return as_trouble(rest.error());
  out["keys"] = Json::array();
  for (const Thing& t : *keys) out["keys"].push_back(json_of(t));
  for (const auto& [name, kind] :
       {std::pair{"readings", SlipKind::reading}, std::pair{"findings", SlipKind::finding},
        std::pair{"operations", SlipKind::operation}, std::pair{"waivers", SlipKind::waiver},
        std::pair{"exceptions", SlipKind::exception}, std::pair{"notes", SlipKind::note},
        std::pair{"photos", SlipKind::photo}, std::pair{"quote_lines", SlipKind::quote_line}}) {
    out[name] = Json::array();
    for (const Thing& t : *rest) {
      if (t.now.slip.kind() == kind) out[name].push_back(json_of(t));
    }
  }
  return text_of(out);
}

Answer<store::Counts> Desk::figures() {
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto counts = (*lent)->counts();
  if (!counts) return as_trouble(counts.error());
  return *counts;
}

Answer<void> Desk::answers() {
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  if (const auto last = (*lent)->last_number(); !last) return as_trouble(last.error());
  return {};
}

Answer<std::string> Desk::counts(const Who& who) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto counts = figures();
  if (!counts) return tl::unexpected(counts.error());
  return text_of({{"slips", counts->slips},
                  {"waiting", counts->waiting},
                  {"things", counts->things},
                  {"last_number", counts->last_number}});
}

Answer<std::vector<News>> Desk::news(std::int64_t after, std::size_t most) {
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto slips = (*lent)->after(after, most);
  if (!slips) return as_trouble(slips.error());
  std::vector<News> out;
  for (const store::Kept& kept : *slips) {
    const auto right = right_to_see_slip(**lent, kept.slip);
    if (!right) return tl::unexpected(right.error());
    out.push_back({kept.number, *right, text_of(json_of(kept))});
  }
  return out;
}

Answer<record::PersonSlip> Desk::person(const std::string& id) {
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto thing = inside_->needed(**lent, id, SlipKind::person);
  if (!thing) return tl::unexpected(thing.error());
  auto person = std::get<record::PersonSlip>(thing->now.slip.body);
  if (person.gone) return refuse(Kind::not_found, "this person no longer works here", "somebody who does");
  return person;
}

Answer<std::vector<Thing>> Desk::people() {
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  auto all = (*lent)->all_of(SlipKind::person);
  if (!all) return as_trouble(all.error());
  all->erase(
      std::remove_if(all->begin(), all->end(),
                     [](const Thing& t) { return std::get<record::PersonSlip>(t.now.slip.body).gone; }),
      all->end());
  return std::move(*all);
}

Expected<std::unique_ptr<Book>> Desk::own_connection() const { return Book::open(inside_->address); }

Desk::Desk(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
Desk::~Desk() = default;

Expected<std::unique_ptr<Desk>> Desk::open(const sql::Address& address, DeskRules rules) {
  rules.connections = std::max<std::size_t>(rules.connections, 1);
  auto inside = std::make_unique<Inside>(address, std::move(rules));
  // The first connection makes the book, or tells what is wrong with it.
  auto first = Book::open(address);
  if (!first) return tl::unexpected(first.error());
  inside->give_first(std::move(*first));
  return std::unique_ptr<Desk>(new Desk(std::move(inside)));
}

}  // namespace hingeline::desk

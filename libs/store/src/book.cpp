#include "hingeline/store/book.h"

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <map>
#include <set>
#include <unordered_map>

#include "forms.h"
#include "hingeline/store/sha256.h"
#include "inside.h"
#include "migration.h"
#include "visit_list.h"

namespace hingeline::store {
namespace {

using record::Slip;
using record::SlipKind;
using sql::Cell;
using sql::Mode;
using sql::Result;
using sql::Row;
using sql::Rows;

template <class T>
tl::unexpected<sql::Failure> pass(const Result<T>& failed) {
  return tl::unexpected(failed.error());
}

const std::string& text_in(const Row& row, std::size_t column) { return std::get<std::string>(row[column]); }
std::int64_t number_in(const Row& row, std::size_t column) { return std::get<std::int64_t>(row[column]); }
std::string text_or_nothing(const Row& row, std::size_t column) {
  const auto* text = std::get_if<std::string>(&row[column]);
  return text == nullptr ? std::string() : *text;
}
Cell or_null(const std::string& id) { return id.empty() ? Cell() : Cell(id); }

/// A slip out of the database, which only ever got what read_slip() took.
Slip slip_of(const std::string& line) { return *record::read_slip(line, "the book"); }

template <class T>
Expected<T> for_person(Result<T> result) {
  if (!result) return tl::unexpected(sql::as_error(result.error()));
  if constexpr (!std::is_void_v<T>) {
    return std::move(*result);
  } else {
    return {};
  }
}

/// A thing's row.
struct ThingRow {
  std::string id;
  SlipKind kind = SlipKind::note;
  std::string belongs;
  std::string about;
  bool struck = false;
};

/// The one of `all` that the book has this word for; it only ever got such words, so the last needs no look.
template <class E, std::size_t N>
E of_word(const std::string& text, const std::array<E, N>& all) {
  return *std::find_if(all.begin(), all.end() - 1, [&](E e) { return text == record::word(e); });
}

/// The newest slip about a key of a visit.
constexpr const char* kNewestAbout =
    "select coalesce(max(s.number), 0) from thing t join slip s on s.thing = t.id where t.belongs = $1 and "
    "t.about = $2";

Written refused(const Slip& slip, Refusal refusal, std::string what, std::string expected) {
  Written out;
  out.outcome = Outcome::refused;
  out.refusal = refusal;
  out.id = slip.id;
  out.what = std::move(what);
  out.expected = std::move(expected);
  return out;
}

/// A slip of an owner, or a note on one, without the person's words.
Slip forgotten_slip(Slip slip) {
  if (slip.kind() == SlipKind::owner) slip.body = record::OwnerSlip{"forgotten", {}, {}, {}};
  if (slip.kind() == SlipKind::note) slip.body = record::NoteSlip{"forgotten", {}};
  if (!slip.why.empty()) slip.why = "forgotten";
  return slip;
}

/// All that a transaction of writing needs.
class Writer {
 public:
  explicit Writer(sql::Database& database) : db_(database) {}

  Result<std::vector<Written>> run(const std::vector<Slip>& slips, const Writing& writing) {
    const auto counter = db_.run("select last from counter");
    if (!counter) return pass(counter);
    last_ = number_in(counter->front(), 0);
    const std::int64_t before = last_;
    std::vector<Written> out;
    if (writing.unless_about) {
      auto overtaken = overtaken_by_others(slips, *writing.unless_about);
      if (!overtaken) return pass(overtaken);
      if (*overtaken) {
        for (const Slip& slip : slips) {
          out.push_back(refused(slip, Refusal::overtaken,
                                "somebody else has told something of this key meanwhile",
                                "to look at it again, then to answer what is asked now"));
        }
        return out;
      }
    }
    for (const Slip& slip : slips) {
      auto written = take(slip, writing);
      if (!written) return pass(written);
      out.push_back(std::move(*written));
      if (out.back().outcome == Outcome::refused && writing.all_or_none) break;
    }
    if (auto done = refresh(); !done) return pass(done);
    if (last_ != before) {
      if (auto done = note_count(); !done) return pass(done);
    }
    return out;
  }

  /// What lists and search say of these things, made anew at the end.
  void touch(const std::string& thing) {
    if (!filling_) touched_.insert(thing);
  }
  Result<void> refresh();

  /// The book is empty and gets very many slips, none of them twice: what was seen of things is remembered,
  /// and lists and search are made by refresh_all() alone.
  void fill() { filling_ = true; }
  Result<Written> add(const Slip& slip, const std::string& line) { return place(slip, line, {}); }
  Result<void> refresh_all();
  /// Lists and search of a book that is not empty, made anew.
  Result<void> rebuild();

 private:
  Result<Rows> ask(std::string_view statement, std::vector<Cell> arguments) {
    return db_.run(statement, arguments);
  }
  Result<std::optional<ThingRow>> thing_row(const std::string& id);
  Result<Written> take(const Slip& slip, const Writing& writing);
  Result<bool> overtaken_by_others(const std::vector<Slip>& slips, const Writing::About& about);
  Result<std::optional<Written>> already(const Slip& slip, const std::string& line);
  Result<Written> place(const Slip& slip, const std::string& line, const Writing& writing);
  Result<void> insert(const Slip& slip, const std::string& line, bool forgotten, Written& out);
  Result<void> renew(const std::string& thing);
  Result<void> release(const std::string& id);
  Result<void> refresh_visit(const std::string& id);
  Result<void> refresh_words(const std::string& id);
  Result<void> add_words(const ThingRow& thing, const Slip& now);
  Result<void> flush_words(bool all);
  Result<void> note_count();
  Result<std::vector<std::pair<std::string, std::string>>> homes(const ThingRow& thing);
  Result<std::optional<Slip>> now_of(const std::string& thing);
  Result<std::vector<std::string>> ids(std::string_view statement, std::vector<Cell> arguments);

  sql::Database& db_;
  std::int64_t last_ = 0;
  std::set<std::string> touched_;
  std::vector<Cell> words_;  ///< rows of the table of words that are still to be written, one after the other
  bool filling_ = false;
  std::int64_t parked_ = 0;  ///< slips among the waiting, while filling
  std::unordered_map<std::string, ThingRow> seen_;
};

/// Things that are remembered while filling. What is looked up is mostly what was written last.
constexpr std::size_t kThingsSeen = 20'000;
/// Rows of words in one statement: a server is asked that much less often.
constexpr std::size_t kWordRows = 64;
constexpr std::size_t kWordColumns = 4;

Result<std::optional<ThingRow>> Writer::thing_row(const std::string& id) {
  if (const auto known = seen_.find(id); known != seen_.end()) return known->second;
  const auto rows = ask("select id, kind, belongs, about, struck from thing where id = $1", {id});
  if (!rows) return pass(rows);
  if (rows->empty()) return std::optional<ThingRow>{};
  const Row& row = rows->front();
  ThingRow out{text_in(row, 0), of_word(text_in(row, 1), record::kSlipKinds), text_or_nothing(row, 2),
               text_or_nothing(row, 3), number_in(row, 4) != 0};
  if (filling_) {
    if (seen_.size() >= kThingsSeen) seen_.clear();
    seen_.emplace(id, out);
  }
  return out;
}

/// Whether the batch is new and something newer stands about the key than its writer has seen.
Result<bool> Writer::overtaken_by_others(const std::vector<Slip>& slips, const Writing::About& about) {
  const auto newest = ask(kNewestAbout, {about.of, about.key});
  if (!newest) return pass(newest);
  if (number_in(newest->front(), 0) <= about.seen) return false;
  for (const Slip& slip : slips) {
    auto known = already(slip, record::write_slip(slip));
    if (!known) return pass(known);
    if (!*known) return true;
  }
  return false;
}

Result<std::optional<Written>> Writer::already(const Slip& slip, const std::string& line) {
  const auto known = ask("select line, number, thing, forgotten from slip where id = $1", {slip.id});
  if (!known) return pass(known);
  if (!known->empty()) {
    const Row& row = known->front();
    const bool forgotten = number_in(row, 3) != 0;
    if (!forgotten && text_in(row, 0) != line) {
      return refused(slip, Refusal::other_words, "another slip has this id and says something else",
                     "an id of its own");
    }
    return Written{Outcome::already, Refusal::none, slip.id, text_in(row, 2), number_in(row, 1), {}, {}};
  }
  const auto parked = ask("select line, why from waiting where id = $1", {slip.id});
  if (!parked) return pass(parked);
  if (parked->empty()) return std::optional<Written>{};
  if (text_in(parked->front(), 0) != line) {
    return refused(slip, Refusal::other_words, "another slip has this id and says something else",
                   "an id of its own");
  }
  if (const std::string why = text_in(parked->front(), 1); !why.empty())
    return refused(slip, Refusal::wrong_kind, why, {});
  return Written{Outcome::waiting, Refusal::none, slip.id, {}, 0, {}, {}};
}

Result<Written> Writer::take(const Slip& slip, const Writing& writing) {
  const std::string line = record::write_slip(slip);
  auto known = already(slip, line);
  if (!known) return pass(known);
  if (*known) return std::move(**known);
  return place(slip, line, writing);
}

/// A new slip: into the book, among the waiting, or refused.
Result<Written> Writer::place(const Slip& slip, const std::string& line, const Writing& writing) {
  const auto wait_for = [&](const std::string& needed) -> Result<Written> {
    const auto done =
        ask("insert into waiting (id, needs, line, why) values ($1, $2, $3, '')", {slip.id, needed, line});
    if (!done) return pass(done);
    ++parked_;
    return Written{Outcome::waiting, Refusal::none, slip.id, {}, 0, {}, {}};
  };
  const auto wrong = [&](std::string what, std::string expected) {
    return refused(slip, Refusal::wrong_kind, std::move(what), std::move(expected));
  };
  const SlipKind kind = slip.kind();
  const record::SlipRule rule = record::rule_of(kind);

  if (!slip.by.empty() && slip.by != slip.id) {
    const auto person = thing_row(slip.by);
    if (!person) return pass(person);
    if (!*person) return wait_for(slip.by);
    if ((*person)->kind != SlipKind::person) return wrong("\"by\" names no person", "a person's id");
  }
  std::optional<ThingRow> parent;
  if (!slip.of.empty()) {
    auto row = thing_row(slip.of);
    if (!row) return pass(row);
    if (!*row) return wait_for(slip.of);
    parent = std::move(**row);
    if (std::find(rule.of.begin(), rule.of.end(), parent->kind) == rule.of.end()) {
      return wrong(
          fmt::format("a {} does not belong to a {}", record::word(kind), record::word(parent->kind)),
          "the id of what it belongs to");
    }
  }
  if (!slip.key.empty()) {
    auto key = thing_row(slip.key);
    if (!key) return pass(key);
    if (!*key) return wait_for(slip.key);
    if ((*key)->kind != SlipKind::key) return wrong("\"key\" names no key", "the id of a key");
    // Of the visit's instrument, or of the instrument itself.
    const std::string& instrument = parent->kind == SlipKind::visit ? parent->belongs : parent->id;
    if ((*key)->belongs != instrument) return wrong("the key is of another instrument", "a key of this one");
  }
  Written out{Outcome::written, Refusal::none, slip.id, slip.id, 0, {}, {}};
  if (!slip.replaces.empty()) {
    const auto old = ask("select thing from slip where id = $1", {slip.replaces});
    if (!old) return pass(old);
    if (old->empty()) return wait_for(slip.replaces);
    out.thing = text_in(old->front(), 0);
    const auto thing = thing_row(out.thing);
    if (!thing) return pass(thing);
    if ((*thing)->kind != kind)
      return wrong(fmt::format("it replaces a {}", record::word((*thing)->kind)), "a slip of its own kind");
    // An instrument may change hands; everything else stays where it is.
    if (kind != SlipKind::instrument && (*thing)->belongs != slip.of)
      return wrong("it belongs elsewhere than what it replaces", "the same \"of\"");
    if ((*thing)->about != slip.key)
      return wrong("it is about another key than what it replaces", "the same \"key\"");
    if (writing.must_be_current) {
      const auto others = ask("select id from slip where replaces = $1", {slip.replaces});
      if (!others) return pass(others);
      if (!others->empty()) {
        return refused(slip, Refusal::overtaken, "somebody else has changed this meanwhile",
                       "to look at it again, then to change what stands there now");
      }
    }
  }
  // A bench that was away while an owner was forgotten brings words that are not to come back.
  bool forgotten = false;
  if (!slip.replaces.empty() && (kind == SlipKind::owner || kind == SlipKind::note)) {
    const auto gone = ask("select count(*) from slip where thing = $1 and forgotten = 1", {out.thing});
    if (!gone) return pass(gone);
    forgotten = number_in(gone->front(), 0) > 0;
  }
  const auto done = forgotten ? insert(slip, record::write_slip(forgotten_slip(slip)), true, out)
                              : insert(slip, line, false, out);
  if (!done) return pass(done);
  return out;
}

Result<void> Writer::insert(const Slip& slip, const std::string& line, bool forgotten, Written& out) {
  out.number = ++last_;
  if (out.thing == slip.id) {
    const auto thing =
        ask("insert into thing (id, kind, belongs, about, now_slip, struck, versions, parted) "
            "values ($1, $2, $3, $4, $1, 0, 1, 0)",
            {slip.id, std::string(record::word(slip.kind())), or_null(slip.of), or_null(slip.key)});
    if (!thing) return pass(thing);
  }
  const auto row =
      ask("insert into slip (id, number, thing, replaces, line, forgotten) "
          "values ($1, $2, $3, $4, $5, $6)",
          {slip.id, out.number, out.thing, or_null(slip.replaces), line, std::int64_t{forgotten ? 1 : 0}});
  if (!row) return pass(row);
  if (out.thing != slip.id) {
    if (auto done = renew(out.thing); !done) return done;
  }
  touch(out.thing);
  return release(slip.id);
}

/// What a thing says now: of the slips of it that none replaces, the one with the latest id. So it does not
/// depend on the order they came in.
Result<void> Writer::renew(const std::string& thing) {
  // All of a thing's slips by the one index on them, and what none replaces picked here: asked for by
  // "not exists", PostgreSQL may look through every slip of the book.
  const auto all = ask("select id, replaces from slip where thing = $1 order by id desc", {thing});
  if (!all) return pass(all);
  std::set<std::string> replaced;
  for (const Row& row : *all) replaced.insert(text_or_nothing(row, 1));
  std::vector<std::string> heads;
  for (const Row& row : *all) {
    if (!replaced.contains(text_in(row, 0))) heads.push_back(text_in(row, 0));
  }
  const auto line = ask("select line from slip where id = $1", {heads.front()});
  if (!line) return pass(line);
  const Slip now = slip_of(text_in(line->front(), 0));
  const auto old = ask("select belongs from thing where id = $1", {thing});
  if (!old) return pass(old);
  if (const std::string before = text_or_nothing(old->front(), 0); !before.empty()) touch(before);
  if (!now.of.empty()) touch(now.of);
  const auto done = ask(
      "update thing set belongs = $2, now_slip = $3, struck = $4, versions = $5, parted = $6 where id = $1",
      {thing, or_null(now.of), now.id, std::int64_t{now.struck ? 1 : 0},
       static_cast<std::int64_t>(all->size()), std::int64_t{heads.size() > 1 ? 1 : 0}});
  if (!done) return pass(done);
  seen_.erase(thing);
  return {};
}

/// Slips that waited for this one.
Result<void> Writer::release(const std::string& id) {
  if (filling_ && parked_ == 0) return {};
  const auto rows = ask("select id, line from waiting where needs = $1 order by id", {id});
  if (!rows) return pass(rows);
  for (const Row& row : *rows) {
    const std::string line = text_in(row, 1);
    const auto gone = ask("delete from waiting where id = $1", {text_in(row, 0)});
    if (!gone) return pass(gone);
    --parked_;
    const auto written = place(slip_of(line), line, {});
    if (!written) return pass(written);
    if (written->outcome != Outcome::refused) continue;
    // It was acknowledged, so it is kept; that it cannot count is told with it.
    const auto kept = ask("insert into waiting (id, needs, line, why) values ($1, '', $2, $3)",
                          {text_in(row, 0), line, written->what});
    if (!kept) return pass(kept);
    ++parked_;
  }
  return {};
}

Result<std::vector<std::string>> Writer::ids(std::string_view statement, std::vector<Cell> arguments) {
  const auto rows = ask(statement, std::move(arguments));
  if (!rows) return pass(rows);
  std::vector<std::string> out;
  for (const Row& row : *rows) out.push_back(text_in(row, 0));
  return out;
}

Result<std::optional<Slip>> Writer::now_of(const std::string& thing) {
  const auto rows =
      ask("select s.line from thing t join slip s on s.id = t.now_slip where t.id = $1 and t.struck = 0",
          {thing});
  if (!rows) return pass(rows);
  if (rows->empty()) return std::optional<Slip>{};
  return slip_of(text_in(rows->front(), 0));
}

/// Instruments and visits (empty: all of that instrument) that a thing's words find.
Result<std::vector<std::pair<std::string, std::string>>> Writer::homes(const ThingRow& thing) {
  std::vector<std::pair<std::string, std::string>> out;
  const auto of_owner = [&](const std::string& owner) -> Result<void> {
    const auto all = ids("select id from thing where belongs = $1 and kind = 'instrument'", {owner});
    if (!all) return pass(all);
    for (const std::string& id : *all) out.emplace_back(id, "");
    return {};
  };
  if (thing.kind == SlipKind::owner) {
    if (auto done = of_owner(thing.id); !done) return pass(done);
  } else if (thing.kind == SlipKind::instrument) {
    out.emplace_back(thing.id, "");
  } else if (thing.kind == SlipKind::visit) {
    out.emplace_back(thing.belongs, thing.id);
  } else if (!thing.belongs.empty()) {
    const auto parent = thing_row(thing.belongs);
    if (!parent) return pass(parent);
    return homes(**parent);
  }
  return out;
}

Result<void> Writer::refresh_words(const std::string& id) {
  const auto gone = ask("delete from found where source = $1", {id});
  if (!gone) return pass(gone);
  const auto row = thing_row(id);
  if (!row) return pass(row);
  const auto now = now_of(id);
  if (!now) return pass(now);
  if (!*now) return {};
  return add_words(**row, **now);
}

Result<void> Writer::add_words(const ThingRow& thing, const Slip& now) {
  const auto words = record::search_words(now);
  if (words.empty()) return {};
  const auto places = homes(thing);
  if (!places) return pass(places);
  for (const auto& [instrument, visit] : *places) {
    for (const std::string& word : words) {
      for (const std::string& cell : {word, instrument, visit, thing.id}) words_.emplace_back(cell);
    }
  }
  return flush_words(false);
}

/// Writes the words that were added: full statements of many rows, and with `all` the rest one by one.
Result<void> Writer::flush_words(bool all) {
  static const std::string kMany = [] {
    std::string text = "insert into found (word, instrument, visit, source) values";
    for (std::size_t row = 0; row < kWordRows; ++row) {
      const std::size_t first = row * kWordColumns;
      text += fmt::format("{}(${}, ${}, ${}, ${})", row == 0 ? " " : ", ", first + 1, first + 2, first + 3,
                          first + 4);
    }
    return text;
  }();
  std::span<const Cell> left(words_);
  for (; left.size() >= kWordRows * kWordColumns; left = left.subspan(kWordRows * kWordColumns)) {
    const auto done = db_.run(kMany, left.first(kWordRows * kWordColumns));
    if (!done) return pass(done);
  }
  for (; all && !left.empty(); left = left.subspan(kWordColumns)) {
    const auto done = db_.run("insert into found (word, instrument, visit, source) values ($1, $2, $3, $4)",
                              left.first(kWordColumns));
    if (!done) return pass(done);
  }
  words_.erase(words_.begin(), words_.end() - static_cast<std::ptrdiff_t>(left.size()));
  return {};
}

Result<void> Writer::refresh_all() {
  constexpr std::int64_t kAtOnce = 1000;
  std::string after;
  while (true) {
    const auto rows =
        ask("select t.id, t.kind, t.belongs, t.about, t.struck, s.line from thing t join slip s on s.id = "
            "t.now_slip where t.id > $1 order by t.id limit $2",
            {after, kAtOnce});
    if (!rows) return pass(rows);
    if (rows->empty()) break;
    after = text_in(rows->back(), 0);
    for (const Row& row : *rows) {
      const ThingRow thing{text_in(row, 0), of_word(text_in(row, 1), record::kSlipKinds),
                           text_or_nothing(row, 2), text_or_nothing(row, 3), number_in(row, 4) != 0};
      if (thing.struck) continue;
      if (auto done = add_words(thing, slip_of(text_in(row, 5))); !done) return done;
      if (thing.kind != SlipKind::visit) continue;
      if (auto done = refresh_visit(thing.id); !done) return done;
    }
  }
  if (auto done = flush_words(true); !done) return done;
  return note_count();
}

Result<void> Writer::rebuild() {
  const auto counter = db_.run("select last from counter");
  if (!counter) return pass(counter);
  last_ = number_in(counter->front(), 0);
  fill();
  if (auto gone = db_.run_all("delete from found; delete from visit;"); !gone) return gone;
  return refresh_all();
}

Result<void> Writer::refresh_visit(const std::string& id) {
  const auto gone = ask("delete from visit where id = $1", {id});
  if (!gone) return pass(gone);
  const auto visit = now_of(id);
  if (!visit) return pass(visit);
  if (!*visit) return {};
  const auto& says = std::get<record::VisitSlip>((*visit)->body);
  const auto instrument = now_of((*visit)->of);
  if (!instrument) return pass(instrument);
  record::InstrumentSlip what;
  std::string owner;
  std::string owner_name;
  if (*instrument) {
    what = std::get<record::InstrumentSlip>((*instrument)->body);
    owner = (*instrument)->of;
  }
  if (!owner.empty()) {
    const auto person = now_of(owner);
    if (!person) return pass(person);
    if (*person) owner_name = std::get<record::OwnerSlip>((*person)->body).name;
  }
  const auto done =
      ask("insert into visit (id, instrument, owner, state, came, promised, title, serial, owner_name, "
          "complaint) "
          "values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
          {id, (*visit)->of, owner, std::string(record::word(says.state)), says.came, says.promised,
           what.title, what.serial, owner_name, says.complaint});
  if (!done) return pass(done);
  return {};
}

Result<void> Writer::refresh() {
  // Whom a change reaches: an owner's and an instrument's visits; words where what they hang on has moved.
  std::set<std::string> visits;
  std::set<std::string> words;
  std::set<std::string> owners;
  for (const std::string& id : touched_) {
    const auto row = thing_row(id);
    if (!row) return pass(row);
    words.insert(id);
    const SlipKind kind = (*row)->kind;
    if (kind == SlipKind::visit) visits.insert(id);
    if (kind == SlipKind::owner) owners.insert(id);
    if (kind == SlipKind::instrument && !(*row)->belongs.empty()) owners.insert((*row)->belongs);
    if (kind != SlipKind::instrument && kind != SlipKind::owner) continue;
    const auto reached = kind == SlipKind::instrument
                             ? ids("select id from thing where belongs = $1 and kind = 'visit'", {id})
                             : ids("select v.id from thing v join thing i on i.id = v.belongs where "
                                   "i.belongs = $1 and v.kind = "
                                   "'visit' and i.kind = 'instrument'",
                                   {id});
    if (!reached) return pass(reached);
    visits.insert(reached->begin(), reached->end());
  }
  touched_.clear();
  for (const std::string& id : visits) {
    if (auto done = refresh_visit(id); !done) return done;
  }
  // Notes of an owner follow the owner's instruments.
  for (const std::string& id : owners) {
    const auto notes = ids("select id from thing where belongs = $1 and kind = 'note'", {id});
    if (!notes) return pass(notes);
    words.insert(id);
    words.insert(notes->begin(), notes->end());
  }
  for (const std::string& id : words) {
    if (auto done = refresh_words(id); !done) return done;
  }
  return flush_words(true);
}

/// How far the book's numbers go, and that there is something new.
Result<void> Writer::note_count() {
  if (auto done = db_.run("update counter set last = $1", std::vector<Cell>{last_}); !done) return pass(done);
  return db_.tell();
}

Kept kept_of(const Row& row) { return {number_in(row, 0), text_in(row, 1), slip_of(text_in(row, 2))}; }
constexpr const char* kKept = "s.number, s.thing, s.line";

Thing thing_of(const Row& row) {
  Thing out;
  out.now = kept_of(row);
  out.id = out.now.thing;
  out.versions = static_cast<int>(number_in(row, 3));
  out.parted = number_in(row, 4) != 0;
  return out;
}
constexpr const char* kThing = "s.number, s.thing, s.line, t.versions, t.parted";

VisitLine visit_line_of(const Row& r) {
  return {text_in(r, 0), text_in(r, 1), text_in(r, 2), of_word(text_in(r, 3), record::kVisitStates),
          text_in(r, 4), text_in(r, 5), text_in(r, 6), text_in(r, 7),
          text_in(r, 8), text_in(r, 9)};
}

/// A database's answer for a person, each row made into a T.
template <class T>
Expected<std::vector<T>> all_rows(const Result<Rows>& rows, T (*made)(const Row&)) {
  if (!rows) return tl::unexpected(sql::as_error(rows.error()));
  std::vector<T> out;
  out.reserve(rows->size());
  for (const Row& row : *rows) out.push_back(made(row));
  return out;
}

}  // namespace

const char* word(Outcome outcome) {
  switch (outcome) {
    case Outcome::written:
      return "written";
    case Outcome::already:
      return "already";
    case Outcome::waiting:
      return "waiting";
    case Outcome::refused:
      break;
  }
  return "refused";
}

Result<void> search_anew(sql::Database& database, int from) {
  // From form 3 on a key is found by its name and the patterns of its screws.
  constexpr int kSince = 3;
  return from > 0 && from < kSince ? Writer(database).rebuild() : Result<void>{};
}

int newest_form() { return static_cast<int>(forms(sql::Dialect::sqlite).size()); }

Book::Book(std::unique_ptr<sql::Database> database) : database_(std::move(database)) {}

Expected<std::unique_ptr<Book>> Book::open(const sql::Address& address, const sql::Opening& opening) {
  auto database = open_in_form(address, opening, forms(address.dialect()), search_anew);
  if (!database) return tl::unexpected(std::move(database.error()));
  return Inside::book(std::move(*database));
}

Expected<std::unique_ptr<Book>> open_as_it_is(const sql::Address& address) {
  auto database = open_to_read(address, newest_form());
  if (!database) return tl::unexpected(std::move(database.error()));
  return Inside::book(std::move(*database));
}
Expected<int> form_of_book(Book& book) { return for_person(form_of(Inside::database(book))); }

Expected<std::vector<Written>> Book::write(const std::vector<Slip>& slips, const Writing& writing) {
  // A refusal of the whole is no failure of the database, but has to undo what was written before it.
  std::optional<std::vector<Written>> undone;
  auto written = sql::in_transaction(*database_, Mode::write, [&]() -> Result<std::vector<Written>> {
    undone.reset();
    Writer writer(*database_);
    auto out = writer.run(slips, writing);
    if (out && writing.all_or_none && !out->empty() && out->back().outcome == Outcome::refused) {
      undone = std::move(*out);
      return tl::unexpected(sql::Failure{sql::Trouble::check, "refused"});
    }
    return out;
  });
  if (!undone) return for_person(std::move(written));
  for (Written& w : *undone) {
    if (w.outcome == Outcome::refused) continue;
    w = {Outcome::refused, Refusal::none, w.id, {}, 0, "another slip of the batch was refused", {}};
  }
  return std::move(*undone);
}

Expected<std::optional<Thing>> Book::thing(const std::string& id) {
  const auto rows = database_->run(
      fmt::format("select {} from thing t join slip s on s.id = t.now_slip where t.id = $1", kThing),
      std::vector<Cell>{id});
  if (!rows) return tl::unexpected(sql::as_error(rows.error()));
  if (rows->empty()) return std::optional<Thing>{};
  return thing_of(rows->front());
}

Expected<std::vector<Kept>> Book::history(const std::string& thing) {
  const auto rows =
      database_->run(fmt::format("select {} from slip s where s.thing = $1 order by s.number", kKept),
                     std::vector<Cell>{thing});
  return all_rows(rows, kept_of);
}

Expected<std::vector<Thing>> Book::belonging(const std::string& of, std::optional<SlipKind> kind,
                                             const std::string& key) {
  std::string text = fmt::format(
      "select {} from thing t join slip s on s.id = t.now_slip where t.belongs = $1 and t.struck = 0",
      kThing);
  std::vector<Cell> arguments{of};
  const auto also = [&](const char* column, const std::string& value) {
    arguments.emplace_back(value);
    text += fmt::format(" and t.{} = ${}", column, arguments.size());
  };
  if (kind) also("kind", record::word(*kind));
  if (!key.empty()) also("about", key);
  const auto rows = database_->run(text + " order by t.id", arguments);
  return all_rows(rows, thing_of);
}

Expected<std::int64_t> Book::newest_about(const std::string& of, const std::string& key) {
  const auto rows = database_->run(kNewestAbout, std::vector<Cell>{of, key});
  if (!rows) return tl::unexpected(sql::as_error(rows.error()));
  return number_in(rows->front(), 0);
}

Expected<std::vector<Thing>> Book::all_of(SlipKind kind, std::size_t most, const std::string& after) {
  const auto rows = database_->run(
      fmt::format("select {} from thing t join slip s on s.id = t.now_slip where t.kind = $1 and "
                  "t.struck = 0 and t.id > $2 order by t.id limit $3",
                  kThing),
      std::vector<Cell>{std::string(record::word(kind)), after, static_cast<std::int64_t>(most)});
  return all_rows(rows, thing_of);
}

Expected<std::vector<VisitLine>> Book::visits(const VisitQuery& query) {
  return all_rows(list_visits(*database_, query), visit_line_of);
}

Expected<std::vector<Kept>> Book::after(std::int64_t number, std::size_t most) {
  const auto rows = database_->run(
      fmt::format("select {} from slip s where s.number > $1 order by s.number limit $2", kKept),
      std::vector<Cell>{number, static_cast<std::int64_t>(most)});
  return all_rows(rows, kept_of);
}

Expected<bool> Book::wait_for_news(std::chrono::milliseconds at_most) {
  return for_person(database_->wait_for_news(at_most));
}

Expected<Counts> Book::counts() {
  const auto rows = database_->run(
      "select (select count(*) from slip), (select count(*) from waiting), (select count(*) from thing), "
      "(select last from counter)");
  if (!rows) return tl::unexpected(sql::as_error(rows.error()));
  const Row& row = rows->front();
  return Counts{number_in(row, 0), number_in(row, 1), number_in(row, 2), number_in(row, 3)};
}

Expected<std::int64_t> Book::last_number() {
  const auto rows = database_->run("select last from counter");
  if (!rows) return tl::unexpected(sql::as_error(rows.error()));
  return number_in(rows->front(), 0);
}

Expected<void> Book::forget_owner(const std::string& owner) {
  bool found = false;
  auto done = sql::in_transaction(*database_, Mode::write, [&]() -> Result<void> {
    const auto rows = database_->run(
        "select s.id, s.line, t.id from thing o join thing t on t.id = o.id or (t.belongs = o.id and t.kind "
        "= "
        "'note') join slip s on s.thing = t.id where o.id = $1 and o.kind = 'owner' order by s.id",
        std::vector<Cell>{owner});
    if (!rows) return pass(rows);
    found = !rows->empty();
    Writer writer(*database_);
    for (const Row& row : *rows) {
      const Slip slip = forgotten_slip(slip_of(text_in(row, 1)));
      const auto written = database_->run("update slip set line = $2, forgotten = 1 where id = $1",
                                          std::vector<Cell>{slip.id, record::write_slip(slip)});
      if (!written) return pass(written);
      writer.touch(text_in(row, 2));
    }
    if (auto refreshed = writer.refresh(); !refreshed) return refreshed;
    return database_->tell();
  });
  if (!done) return tl::unexpected(sql::as_error(done.error()));
  if (!found) return fail(Fault::not_found, "there is no such owner", "the id of an owner");
  return {};
}

Expected<void> Book::keep_bytes(const std::string& sha256, const sql::Bytes& bytes) {
  if (bytes.size() > kMostBytesOfOne)
    return fail(Fault::content, fmt::format("{} bytes in one photo", bytes.size()),
                fmt::format("at most {}", kMostBytesOfOne));
  if (sha256 != sha256_hex(bytes))
    return fail(Fault::content, "these bytes do not have the SHA-256 they come with",
                "the photo as it was sent");
  const auto done =
      database_->run("insert into bytes (sha256, data) values ($1, $2) on conflict (sha256) do nothing",
                     std::vector<Cell>{sha256, bytes});
  if (!done) return tl::unexpected(sql::as_error(done.error()));
  return {};
}

Expected<std::optional<sql::Bytes>> Book::bytes_of(const std::string& sha256) {
  const auto rows = database_->run("select data from bytes where sha256 = $1", std::vector<Cell>{sha256});
  if (!rows) return tl::unexpected(sql::as_error(rows.error()));
  if (rows->empty()) return std::optional<sql::Bytes>{};
  return std::get<sql::Bytes>(rows->front()[0]);
}

Expected<void> Book::check() {
  if (auto sound = database_->check(); !sound) return tl::unexpected(sql::as_error(sound.error()));
  struct Demand {
    const char* statement;
    const char* what;
  };
  static constexpr std::array kDemands{
      Demand{"select count(*) from slip s where s.number > (select last from counter)",
             "slips beyond the book's count"},
      Demand{
          "select count(*) from thing t where not exists (select 1 from slip s where s.id = t.now_slip and "
          "s.thing = t.id)",
          "things without their last slip"},
      Demand{"select count(*) from slip s where s.replaces is not null and not exists (select 1 from slip o "
             "where "
             "o.id = s.replaces and o.thing = s.thing)",
             "slips that replace one of another thing"},
      Demand{"select count(*) from thing t where t.versions <> (select count(*) from slip s where s.thing = "
             "t.id)",
             "things that count their slips wrongly"},
      Demand{"select count(*) from thing t where t.kind = 'visit' and t.struck = 0 and not exists (select 1 "
             "from "
             "visit v where v.id = t.id)",
             "visits that no list shows"}};
  for (const Demand& demand : kDemands) {
    const auto rows = database_->run(demand.statement);
    if (!rows) return tl::unexpected(sql::as_error(rows.error()));
    if (const std::int64_t wrong = number_in(rows->front(), 0); wrong != 0)
      return fail(Fault::file, fmt::format("the book has {} {}", wrong, demand.what), "a copy from before");
  }
  return {};
}

Expected<void> Book::copy_to(const std::string& path) { return for_person(database_->copy_to(path)); }

struct Filling::Inner {
  Writer writer;
};
Filling::Filling(sql::Database& database) : inner_(std::make_unique<Inner>(Inner{Writer(database)})) {
  inner_->writer.fill();
}
Filling::~Filling() = default;
Result<Written> Filling::slip(const Slip& slip, const std::string& line) {
  return inner_->writer.add(slip, line);
}
Result<void> Filling::finish() { return inner_->writer.refresh_all(); }

}  // namespace hingeline::store

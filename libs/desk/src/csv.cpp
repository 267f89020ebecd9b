#include <fmt/format.h>

#include "hingeline/base/reading.h"
#include "inside.h"

namespace hingeline::desk {
namespace {

using record::Slip;
using record::SlipKind;

/// A row of RFC 4180, with CRLF at its end.
class Row {
 public:
  /// Words: quoted where they need it. Spreadsheets take a cell that begins with one of =+-@ or a control
  /// character for something to carry out; an apostrophe in front makes it words again.
  Row& words(const std::string& text) {
    const bool carried_out =
        !text.empty() && std::string_view("=+-@\t\r\n").find(text.front()) != std::string_view::npos;
    return cell((carried_out ? "'" : "") + text);
  }
  /// What this program made: ids, numbers, codes.
  Row& plain(const std::string& text) { return cell(text); }
  [[nodiscard]] std::string text() const { return text_ + "\r\n"; }

 private:
  Row& cell(const std::string& text) {
    if (!first_) text_ += ',';
    first_ = false;
    if (text.find_first_of(",\"\r\n") == std::string::npos) {
      text_ += text;
      return *this;
    }
    text_ += '"';
    for (const char c : text) text_.append(c == '"' ? 2 : 1, c);
    text_ += '"';
    return *this;
  }
  std::string text_;
  bool first_ = true;
};

std::string header(std::initializer_list<const char*> names) {
  Row row;
  for (const char* name : names) row.plain(name);
  return row.text();
}

std::string shortest(double value) { return fmt::format("{}", value); }
std::string millimetres_of(const record::LengthEntry& entry) {
  return entry.known() ? shortest(entry.value.raw()) : std::string();
}
std::string plus_minus_of(const record::LengthEntry& entry) {
  return entry.known() && entry.plus_minus ? shortest(entry.plus_minus->raw()) : std::string();
}

/// What stands around a slip: asked for once, then kept for the rows after it.
class Around {
 public:
  explicit Around(Book& book) : book_(book) {}

  /// The visit's instrument, its key and who wrote it, as cells; and whether the slip still counts.
  Answer<void> put(Row& row, const store::Kept& kept) {
    const auto visit = now_of(kept.slip.of);
    if (!visit) return tl::unexpected(visit.error());
    const auto instrument = now_of((*visit) ? (*visit)->slip.of : std::string());
    if (!instrument) return tl::unexpected(instrument.error());
    const auto key = now_of(kept.slip.key);
    if (!key) return tl::unexpected(key.error());
    const auto person = now_of(kept.slip.by);
    if (!person) return tl::unexpected(person.error());
    const auto thing = book_.thing(kept.thing);
    if (!thing) return as_trouble(thing.error());
    row.plain(std::to_string(kept.number)).plain(kept.slip.id).plain(kept.thing).plain(kept.slip.at);
    row.words(*person ? std::get<record::PersonSlip>((*person)->slip.body).name : std::string());
    row.plain(kept.slip.of);
    const auto* says = *instrument ? &std::get<record::InstrumentSlip>((*instrument)->slip.body) : nullptr;
    row.words(says != nullptr ? says->title : std::string());
    row.words(says != nullptr ? says->serial : std::string());
    row.words(*key ? std::get<record::KeySlip>((*key)->slip.body).id : std::string());
    const bool last = *thing && (*thing)->now.slip.id == kept.slip.id;
    row.plain(kept.slip.struck ? "struck" : last ? "counts" : "replaced");
    return {};
  }

 private:
  Answer<std::optional<store::Kept>> now_of(const std::string& id) {
    if (id.empty()) return std::optional<store::Kept>{};
    if (const auto known = known_.find(id); known != known_.end()) return known->second;
    constexpr std::size_t kMostKept = 10'000;
    if (known_.size() >= kMostKept) known_.clear();
    const auto thing = book_.thing(id);
    if (!thing) return as_trouble(thing.error());
    std::optional<store::Kept> out;
    if (*thing) out = (*thing)->now;
    known_.emplace(id, out);
    return out;
  }

  Book& book_;
  std::map<std::string, std::optional<store::Kept>> known_;
};

/// Rows for the slips of one kind, from a place in the book on.
template <class Fill>
Answer<std::int64_t> rows(Book& book, SlipKind kind, std::int64_t after, std::size_t most, const Sink& sink,
                          const std::string& heading, const Fill& fill) {
  if (!sink(heading)) return std::int64_t{0};
  Around around(book);
  std::size_t written = 0;
  for (;;) {
    const auto page = book.after(after, 500);
    if (!page) return as_trouble(page.error());
    if (page->empty()) return std::int64_t{0};
    for (const store::Kept& kept : *page) {
      if (written == most) return after;
      after = kept.number;
      if (kept.slip.kind() != kind) continue;
      Row row;
      if (auto put = around.put(row, kept); !put) return tl::unexpected(put.error());
      fill(row, kept.slip);
      if (!sink(row.text())) return std::int64_t{0};
      ++written;
    }
  }
}

/// A length of an entry's object, whose value may be a number: "0.019 mm".
std::string typed_in(const Json& object, const char* member) {
  const auto value = object.find(member);
  const auto unit = object.find("unit");
  if (value == object.end() || unit == object.end() || !unit->is_string()) return {};
  const std::string digits = value->is_string() ? value->get<std::string>() : value->dump();
  return digits + " " + unit->get<std::string>();
}

/// What was typed, and as a length where it names a unit of length itself.
void put_reading(Row& row, const Slip& slip) {
  const auto& says = std::get<record::ReadingSlip>(slip.body);
  const Json value = Json::parse(says.value.json);
  row.words(says.at).words(value.is_string() ? value.get<std::string>() : says.value.json);
  const auto length = [](const std::string& text) {
    auto read = parse_length(text, LengthUnit::mm, Sign::any);
    return read && !read->unit.empty() ? std::optional(*read) : std::nullopt;
  };
  const auto read = length(value.is_string()   ? value.get<std::string>()
                           : value.is_object() ? typed_in(value, "value")
                                               : "");
  std::string plus_minus = read && read->plus_minus ? shortest(read->plus_minus->raw()) : std::string();
  if (read && value.is_object()) {
    if (const auto own = length(typed_in(value, "plus_minus"))) plus_minus = shortest(own->value.raw());
  }
  row.plain(read ? shortest(read->value.raw()) : "").plain(plus_minus);
  row.words(slip.why);
}

void put_job(Row& row, const Slip& slip) {
  const auto& says = std::get<record::OperationSlip>(slip.body);
  row.words(says.step).plain(says.end ? record::word(*says.end) : "").words(says.tool);
  row.plain(says.turns.known() ? shortest(says.turns.value) : "");
  row.plain(millimetres_of(says.amount)).plain(millimetres_of(says.taken)).plain(plus_minus_of(says.taken));
  row.plain(says.minutes.known() ? shortest(says.minutes.value) : "");
  row.words(says.note).words(slip.why);
}

}  // namespace

Answer<std::int64_t> Desk::readings_csv(const Who& who, std::int64_t after, std::size_t most,
                                        const Sink& sink) {
  if (auto may = must_have(who, Right::bench); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  return rows(**lent, SlipKind::reading, after, most, sink,
              header({"number", "slip", "thing", "at", "by", "visit", "instrument", "serial", "key", "state",
                      "pointer", "typed", "mm", "plus_minus_mm", "why"}),
              put_reading);
}

Answer<std::int64_t> Desk::jobs_csv(const Who& who, std::int64_t after, std::size_t most, const Sink& sink) {
  if (auto may = must_have(who, Right::bench); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  return rows(**lent, SlipKind::operation, after, most, sink,
              header({"number",
                      "slip",
                      "thing",
                      "at",
                      "by",
                      "visit",
                      "instrument",
                      "serial",
                      "key",
                      "state",
                      "step",
                      "end",
                      "tool",
                      "turns",
                      "amount_mm",
                      "taken_mm",
                      "taken_plus_minus_mm",
                      "minutes",
                      "note",
                      "why"}),
              put_job);
}

}  // namespace hingeline::desk

#include "hingeline/store/archive.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

#include "hingeline/base/utf8.h"
#include "hingeline/store/sha256.h"
#include "inside.h"

namespace hingeline::store {
namespace {

using sql::Cell;
using sql::Mode;
using sql::Result;
using sql::Rows;

constexpr std::string_view kHeading = R"({"format":"hingeline-archive","version":)";
constexpr std::string_view kSlip = R"({"slip":)";
constexpr std::string_view kNeeds = R"({"needs":)";
constexpr std::string_view kWhy = R"(,"why":)";
constexpr std::string_view kWaiting = R"(,"waiting":)";
constexpr std::string_view kForgotten = R"({"forgotten":")";
constexpr std::string_view kBytes = R"({"bytes":")";
constexpr std::string_view kBase64 = R"(","base64":")";
constexpr std::string_view kSum = R"({"sha256":")";
constexpr std::string_view kEndOfText = "\"}";

/// Lines between two tellings of how far it is, and rows of one page of a table.
constexpr std::int64_t kPage = 1000;
/// Longest line: a photo's bytes in base64 with what stands round them.
constexpr std::size_t kLongestLine = (kMostBytesOfOne + 2) / 3 * 4 + 200;

// ---- Texts
// -------------------------------------------------------------------------------------------------

/// JSON text with as few escapes as there may be.
std::string in_quotes(std::string_view text) {
  constexpr char kFirstPlain = 0x20;
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (c >= 0 && c < kFirstPlain) {
      out += fmt::format("\\u{:04x}", static_cast<int>(c));
    } else {
      out += c;
    }
  }
  return out + '"';
}

/// Takes what in_quotes() wrote off the front of `rest`; nothing where it did not write so.
std::optional<std::string> take_quoted(std::string_view& rest) {
  if (!rest.starts_with('"')) return {};
  std::string out;
  for (std::size_t at = 1; at < rest.size(); ++at) {
    char c = rest[at];
    if (c == '"') {
      rest.remove_prefix(at + 1);
      return out;
    }
    if (c == '\\') {
      const std::string_view code = rest.substr(at + 1, 5);
      if (code.starts_with('u')) {
        int value = 0;
        const auto [end, fault] = std::from_chars(code.data() + 1, code.data() + code.size(), value, 16);
        if (fault != std::errc{} || end != code.data() + 5) return {};
        c = static_cast<char>(value);
        at += 5;
      } else if (!code.empty()) {
        c = code.front();
        ++at;
      }
    }
    out += c;
  }
  return {};
}

std::string base64_of(std::span<const std::byte> bytes) {
  std::string out((bytes.size() + 2) / 3 * 4 + 1, '\0');
  const int size =
      EVP_EncodeBlock(reinterpret_cast<unsigned char*>(out.data()),
                      reinterpret_cast<const unsigned char*>(bytes.data()), static_cast<int>(bytes.size()));
  out.resize(static_cast<std::size_t>(size));
  return out;
}

/// Nothing where it is not base64 (RFC 4648) as base64_of() writes it.
std::optional<sql::Bytes> bytes_of_base64(std::string_view text) {
  if (text.size() % 4 != 0) return {};
  sql::Bytes out(text.size() / 4 * 3);
  if (!text.empty()) {
    const int size =
        EVP_DecodeBlock(reinterpret_cast<unsigned char*>(out.data()),
                        reinterpret_cast<const unsigned char*>(text.data()), static_cast<int>(text.size()));
    if (size < 0) return {};
    // The decoder leaves blanks out and gives zeros for what only fills up.
    out.resize(static_cast<std::size_t>(size) - (text.ends_with("==") ? 2U : text.ends_with("=") ? 1U : 0U));
  }
  return base64_of(out) == text ? std::optional(std::move(out)) : std::nullopt;
}

std::string heading_of(const Archived& counts) {
  return fmt::format(R"({}{},"slips":{},"waiting":{},"forgotten":{},"bytes":{}}})", kHeading, kArchiveVersion,
                     counts.slips, counts.waiting, counts.forgotten, counts.bytes);
}

// ---- Writing
// -----------------------------------------------------------------------------------------------

/// What stopped a transaction that was no failure of the database.
using Stopped = std::optional<Error>;

tl::unexpected<sql::Failure> stop(Stopped& stopped, Error why) {
  stopped = std::move(why);
  return tl::unexpected(sql::Failure{sql::Trouble::check, "stopped"});
}

/// Writes the archive of what a transaction under way sees.
class Writeout {
 public:
  Writeout(sql::Database& database, const Sink& sink, const Step& step, Stopped& stopped)
      : db_(database), sink_(sink), step_(step), stopped_(stopped) {}

  Result<Archived> run() {
    const auto counts = db_.run(
        "select (select count(*) from slip), (select count(*) from waiting), (select count(*) from slip "
        "where "
        "forgotten = 1), (select count(*) from bytes)");
    if (!counts) return tl::unexpected(counts.error());
    const sql::Row& row = counts->front();
    const auto count = [&](std::size_t column) { return std::get<std::int64_t>(row[column]); };
    Archived out{count(0), count(1), count(2), count(3), {}};
    all_ = out.slips + out.waiting + out.forgotten + out.bytes;
    if (auto done = line(heading_of(out)); !done) return tl::unexpected(done.error());
    for (Result<void> (Writeout::*part)() :
         {&Writeout::slips, &Writeout::waiting, &Writeout::forgotten, &Writeout::bytes}) {
      if (auto done = (this->*part)(); !done) return tl::unexpected(done.error());
    }
    out.sha256 = sum_.hex();
    if (auto done = give(fmt::format("{}{}{}\n", kSum, out.sha256, kEndOfText)); !done)
      return tl::unexpected(done.error());
    if (step_) step_(all_, all_);
    return out;
  }

 private:
  Result<void> give(std::string_view text) {
    if (auto taken = sink_(text); !taken) return stop(stopped_, taken.error());
    return {};
  }
  Result<void> line(std::string_view text) {
    page_ = text;
    page_ += '\n';
    return flush();
  }
  Result<void> flush() {
    sum_.add(page_);
    auto given = give(page_);
    page_.clear();
    if (step_) step_(done_, all_);
    return given;
  }

  /// Every row of a table, `at_once` at a time, ascending by its first column, which is told apart by it.
  template <class Each>
  Result<void> pages(std::string_view statement, std::int64_t at_once, const Each& each) {
    std::string after;
    while (true) {
      const auto rows = db_.run(statement, std::array{Cell(after), Cell(at_once)});
      if (!rows) return tl::unexpected(rows.error());
      if (rows->empty()) return {};
      after = std::get<std::string>(rows->back().front());
      for (const sql::Row& row : *rows) {
        if (auto done = each(row); !done) return done;
        ++done_;
      }
      if (auto done = flush(); !done) return done;
    }
  }
  static const std::string& text(const sql::Row& row, std::size_t column) {
    return std::get<std::string>(row[column]);
  }

  Result<void> slips() {
    return pages("select id, line from slip where id > $1 order by id limit $2", kPage,
                 [&](const sql::Row& row) -> Result<void> {
                   page_ += fmt::format("{}{}}}\n", kSlip, text(row, 1));
                   return {};
                 });
  }
  Result<void> waiting() {
    return pages("select id, needs, why, line from waiting where id > $1 order by id limit $2", kPage,
                 [&](const sql::Row& row) -> Result<void> {
                   page_ += fmt::format("{}{}{}{}{}{}}}\n", kNeeds, in_quotes(text(row, 1)), kWhy,
                                        in_quotes(text(row, 2)), kWaiting, text(row, 3));
                   return {};
                 });
  }
  Result<void> forgotten() {
    return pages("select id from slip where forgotten = 1 and id > $1 order by id limit $2", kPage,
                 [&](const sql::Row& row) -> Result<void> {
                   page_ += fmt::format("{}{}{}\n", kForgotten, text(row, 0), kEndOfText);
                   return {};
                 });
  }
  Result<void> bytes() {
    // One at a time: photos are large.
    return pages("select sha256, data from bytes where sha256 > $1 order by sha256 limit $2", 1,
                 [&](const sql::Row& row) -> Result<void> {
                   const auto& data = std::get<sql::Bytes>(row[1]);
                   if (sha256_hex(data) != text(row, 0))
                     return stop(stopped_, Error{Fault::file,
                                                 fmt::format("the photo {} is damaged", text(row, 0)),
                                                 "a copy from before",
                                                 {}});
                   page_ += fmt::format("{}{}{}", kBytes, text(row, 0), kBase64);
                   page_ += base64_of(data);
                   page_ += kEndOfText;
                   page_ += '\n';
                   return {};
                 });
  }

  sql::Database& db_;
  const Sink& sink_;
  const Step& step_;
  Stopped& stopped_;
  Sha256 sum_;
  std::string page_;
  std::int64_t done_ = 0;
  std::int64_t all_ = 0;
};

const Sink& nowhere() {
  static const Sink sink = [](std::string_view) -> Expected<void> { return {}; };
  return sink;
}

// ---- Reading
// -----------------------------------------------------------------------------------------------

/// What is done with the lines of an archive. Errors are given their place by who calls.
class Taker {
 public:
  Taker() = default;
  virtual ~Taker() = default;
  Taker(const Taker&) = delete;
  Taker& operator=(const Taker&) = delete;
  virtual Expected<void> slip(const record::Slip& slip, const std::string& line) = 0;
  virtual Expected<void> waiting(const record::Slip& slip, const std::string& line, const std::string& needs,
                                 const std::string& why) = 0;
  virtual Expected<void> forgotten(const std::string& id) = 0;
  virtual Expected<void> bytes(const std::string& sha256, const sql::Bytes& bytes) = 0;
};

/// Takes nothing.
class Nobody final : public Taker {
 public:
  Expected<void> slip(const record::Slip&, const std::string&) override { return {}; }
  Expected<void> waiting(const record::Slip&, const std::string&, const std::string&,
                         const std::string&) override {
    return {};
  }
  Expected<void> forgotten(const std::string&) override { return {}; }
  Expected<void> bytes(const std::string&, const sql::Bytes&) override { return {}; }
};

/// Parts of an archive, in their order.
enum class Part { heading, slips, waiting, forgotten, bytes, over };

/// Holds what comes in piece by piece to the archive's form, and hands its lines on.
class Reading {
 public:
  Reading(std::string name, Taker& taker, const Step& step)
      : name_(std::move(name)), taker_(taker), step_(step) {}

  Expected<void> feed(std::string_view piece) {
    while (!piece.empty()) {
      const std::size_t end = piece.find('\n');
      line_ += piece.substr(0, end);
      if (line_.size() > kLongestLine) return wrong("a line that is longer than any of an archive");
      if (end == std::string_view::npos) return {};
      piece.remove_prefix(end + 1);
      ++lines_;
      auto taken = take(line_);
      line_.clear();
      if (!taken) return taken;
    }
    return {};
  }

  /// After the last piece.
  Expected<Archived> finish() {
    if (part_ != Part::over || !line_.empty()) {
      ++lines_;
      return part_ == Part::over ? wrong("something after the archive's end")
                                 : wrong("the archive is torn: its end is not there");
    }
    return seen_;
  }

 private:
  [[nodiscard]] tl::unexpected<Error> wrong(std::string what, Fault fault = Fault::syntax) const {
    return fail(fault, std::move(what), "the archive as it was written",
                Place{name_, {}, static_cast<int>(lines_), 0});
  }
  /// An error of a line, with its place; one of the database has none there.
  [[nodiscard]] tl::unexpected<Error> placed(Error error) const {
    if (error.fault == Fault::file) return tl::unexpected(std::move(error));
    error.place.file = name_;
    error.place.line = static_cast<int>(lines_);
    return tl::unexpected(std::move(error));
  }

  Expected<void> take(std::string_view line) {
    if (part_ == Part::over) return wrong("something after the archive's end");
    if (part_ == Part::heading) return heading(line);
    if (line.starts_with(kSum)) return end(line);
    sum_.add(line);
    sum_.add("\n");
    if (step_ && (lines_ % kPage == 0 || line.starts_with(kBytes)))
      step_(seen_.slips + seen_.waiting + seen_.forgotten + seen_.bytes, all_);
    if (line.starts_with(kSlip)) return slip(line);
    if (line.starts_with(kNeeds)) return waiting(line);
    if (line.starts_with(kForgotten)) return forgotten(line);
    if (line.starts_with(kBytes)) return bytes(line);
    return wrong("this is no line of an archive");
  }

  Expected<void> heading(std::string_view line) {
    if (!line.starts_with(kHeading)) return wrong("this is no archive");
    int version = 0;
    const char* const from = line.data() + kHeading.size();
    const auto [after, fault] = std::from_chars(from, line.data() + line.size(), version);
    if (fault != std::errc{} || after == line.data() + line.size() || *after != ',' || version < 1)
      return wrong("the archive does not say its version");
    if (version > kArchiveVersion) {
      return fail(Fault::version,
                  fmt::format("this archive has version {}; this program knows versions up to {}", version,
                              kArchiveVersion),
                  "a newer program", Place{name_, {}, 1, 0});
    }
    std::string_view rest = line;
    const auto number_after = [&rest](std::string_view member) {
      const std::size_t at = rest.find(member);
      std::int64_t value = -1;
      if (at == std::string_view::npos) return value;
      rest.remove_prefix(at + member.size());
      const auto [end, none] = std::from_chars(rest.data(), rest.data() + rest.size(), value);
      if (none != std::errc{}) value = -1;
      return value;
    };
    told_.slips = number_after(R"("slips":)");
    told_.waiting = number_after(R"("waiting":)");
    told_.forgotten = number_after(R"("forgotten":)");
    told_.bytes = number_after(R"("bytes":)");
    if (std::min({told_.slips, told_.waiting, told_.forgotten, told_.bytes}) < 0 || line != heading_of(told_))
      return wrong("the archive's heading is not as it is written");
    all_ = told_.slips + told_.waiting + told_.forgotten + told_.bytes;
    sum_.add(line);
    sum_.add("\n");
    part_ = Part::slips;
    return {};
  }

  /// A line of that part with that key comes after what came before.
  Expected<void> follows(Part part, std::string_view key) {
    if (part < part_) return wrong("a line out of its part of the archive");
    if (part == part_ && key <= last_) return wrong("a line out of order or twice");
    part_ = part;
    last_ = key;
    return {};
  }

  /// The slip whose text that is, which is written as slips are.
  Expected<record::Slip> slip_in(const std::string& text) {
    auto slip = record::read_slip(text, name_);
    if (!slip) return placed(slip.error().front());
    if (record::write_slip(*slip) != text) return wrong("a slip that is not written as slips are");
    return std::move(*slip);
  }

  Expected<void> slip(std::string_view line) {
    if (!line.ends_with('}')) return wrong("this is no line of an archive");
    const std::string text(line.substr(kSlip.size(), line.size() - kSlip.size() - 1));
    const auto slip = slip_in(text);
    if (!slip) return tl::unexpected(slip.error());
    if (auto in_order = follows(Part::slips, slip->id); !in_order) return in_order;
    ++seen_.slips;
    return given(taker_.slip(*slip, text));
  }

  Expected<void> waiting(std::string_view line) {
    std::string_view rest = line.substr(kNeeds.size());
    const auto needs = take_quoted(rest);
    if (!needs || !rest.starts_with(kWhy)) return wrong("this is no line of an archive");
    rest.remove_prefix(kWhy.size());
    const auto why = take_quoted(rest);
    if (!why || !is_utf8(*why) || why->find('\0') != std::string::npos || !rest.starts_with(kWaiting) ||
        !rest.ends_with('}'))
      return wrong("this is no line of an archive");
    rest.remove_prefix(kWaiting.size());
    rest.remove_suffix(1);
    const std::string text(rest);
    if (line !=
        fmt::format("{}{}{}{}{}{}}}", kNeeds, in_quotes(*needs), kWhy, in_quotes(*why), kWaiting, text))
      return wrong("this is no line of an archive");
    if (needs->empty() == why->empty() || (!needs->empty() && !record::is_slip_id(*needs)))
      return wrong("a slip that waits needs another's id or was refused for a reason", Fault::content);
    const auto slip = slip_in(text);
    if (!slip) return tl::unexpected(slip.error());
    if (auto in_order = follows(Part::waiting, slip->id); !in_order) return in_order;
    ++seen_.waiting;
    return given(taker_.waiting(*slip, text, *needs, *why));
  }

  Expected<void> forgotten(std::string_view line) {
    const std::string id(line.substr(kForgotten.size(), record::slip_id(0, 0, 0).size()));
    if (line != fmt::format("{}{}{}", kForgotten, id, kEndOfText) || !record::is_slip_id(id))
      return wrong("this is no line of an archive");
    if (auto in_order = follows(Part::forgotten, id); !in_order) return in_order;
    ++seen_.forgotten;
    return given(taker_.forgotten(id));
  }

  Expected<void> bytes(std::string_view line) {
    constexpr std::size_t kSumSize = 64;
    const std::string sha256(line.substr(kBytes.size(), kSumSize));
    const std::size_t before = kBytes.size() + kSumSize + kBase64.size();
    if (line.size() < before + kEndOfText.size() || !is_sha256_hex(sha256) ||
        line.substr(kBytes.size() + kSumSize, kBase64.size()) != kBase64 || !line.ends_with(kEndOfText))
      return wrong("this is no line of an archive");
    const auto bytes = bytes_of_base64(line.substr(before, line.size() - before - kEndOfText.size()));
    if (!bytes) return wrong("bytes that are not written in base64");
    if (sha256_hex(*bytes) != sha256)
      return wrong("bytes that do not have the SHA-256 they come with", Fault::content);
    if (auto in_order = follows(Part::bytes, sha256); !in_order) return in_order;
    ++seen_.bytes;
    return given(taker_.bytes(sha256, *bytes));
  }

  Expected<void> end(std::string_view line) {
    if (seen_.slips != told_.slips || seen_.waiting != told_.waiting || seen_.forgotten != told_.forgotten ||
        seen_.bytes != told_.bytes)
      return wrong("the archive does not hold as much as its heading says");
    seen_.sha256 = sum_.hex();
    if (line != fmt::format("{}{}{}", kSum, seen_.sha256, kEndOfText))
      return wrong("the archive was changed: its sum is another");
    part_ = Part::over;
    if (step_) step_(all_, all_);
    return {};
  }

  Expected<void> given(Expected<void> taken) const {
    if (!taken) return placed(std::move(taken.error()));
    return taken;
  }

  std::string name_;
  Taker& taker_;
  const Step& step_;
  std::string line_;
  std::int64_t lines_ = 0;
  Part part_ = Part::heading;
  std::string last_;  ///< key of the line before
  Archived told_;
  Archived seen_;
  std::int64_t all_ = 0;
  Sha256 sum_;
};

/// Puts an archive's lines into an empty book, inside a transaction.
class Filler final : public Taker {
 public:
  explicit Filler(sql::Database& database) : db_(database), filling_(database) {}

  /// Nothing must be there.
  Expected<void> begin() {
    const auto rows = db_.run(
        "select (select count(*) from slip) + (select count(*) from waiting) + (select count(*) from bytes)");
    if (!rows) return database_failed(rows.error());
    if (std::get<std::int64_t>(rows->front().front()) != 0)
      return fail(Fault::file, "this book is not empty", "a new place, where no book is yet");
    return {};
  }

  Expected<void> slip(const record::Slip& slip, const std::string& line) override {
    const auto written = filling_.slip(slip, line);
    if (!written) return database_failed(written.error());
    if (written->outcome == Outcome::refused)
      return fail(Fault::content, fmt::format("the slip {} cannot be: {}", slip.id, written->what),
                  written->expected);
    return {};
  }
  Expected<void> waiting(const record::Slip& slip, const std::string& line, const std::string& needs,
                         const std::string& why) override {
    if (auto over = slips_over(); !over) return over;
    // A slip that waits and is in the book too would be there twice.
    const auto twice = db_.run("select count(*) from slip where id = $1", std::array{Cell(slip.id)});
    if (!twice) return database_failed(twice.error());
    if (std::get<std::int64_t>(twice->front().front()) != 0)
      return fail(Fault::content, fmt::format("the slip {} waits and counts at once", slip.id));
    return done(db_.run("insert into waiting (id, needs, line, why) values ($1, $2, $3, $4)",
                        std::array{Cell(slip.id), Cell(needs), Cell(line), Cell(why)}));
  }
  Expected<void> forgotten(const std::string& id) override {
    if (auto over = slips_over(); !over) return over;
    auto marked = done(db_.run("update slip set forgotten = 1 where id = $1", std::array{Cell(id)}));
    if (marked && db_.changed() != 1)
      return fail(Fault::content, fmt::format("the forgotten slip {} is not there", id));
    return marked;
  }
  Expected<void> bytes(const std::string& sha256, const sql::Bytes& bytes) override {
    return done(
        db_.run("insert into bytes (sha256, data) values ($1, $2)", std::array{Cell(sha256), Cell(bytes)}));
  }

  /// After the last line.
  Expected<void> finish() {
    if (auto over = slips_over(); !over) return over;
    // What a slip waits for is not there; else it would not wait.
    const auto there =
        db_.run("select w.id from waiting w join thing t on t.id = w.needs order by w.id limit 1");
    if (!there) return database_failed(there.error());
    if (!there->empty())
      return fail(Fault::content, fmt::format("the slip {} waits for one that is there",
                                              std::get<std::string>(there->front().front())));
    if (const auto made = filling_.finish(); !made) return database_failed(made.error());
    return {};
  }

 private:
  static tl::unexpected<Error> database_failed(const sql::Failure& failure) {
    return tl::unexpected(sql::as_error(failure));
  }
  static Expected<void> done(const Result<Rows>& result) {
    if (!result) return database_failed(result.error());
    return {};
  }
  /// Every slip has found what it names: none of those that count may wait.
  Expected<void> slips_over() {
    if (over_) return {};
    over_ = true;
    const auto rows = db_.run("select id from waiting order by id limit 1");
    if (!rows) return database_failed(rows.error());
    if (!rows->empty())
      return fail(Fault::content,
                  fmt::format("the slip {} cannot be: what it names is not there or does not suit it",
                              std::get<std::string>(rows->front().front())));
    return {};
  }

  sql::Database& db_;
  Filling filling_;
  bool over_ = false;
};

Expected<void> pour(const Source& source, Reading& reading) {
  constexpr std::size_t kPiece = 1U << 16U;
  std::string piece(kPiece, '\0');
  while (true) {
    const auto size = source(piece);
    if (!size) return tl::unexpected(size.error());
    if (*size == 0) return {};
    if (auto fed = reading.feed(std::string_view(piece).substr(0, *size)); !fed) return fed;
  }
}

/// Fills an empty book with what `bring` feeds, and looks whether it then gives the same archive.
Expected<Archived> fill(Book& into, const std::string& name, const Step& step,
                        const std::function<Expected<void>(Reading&)>& bring) {
  sql::Database& database = Inside::database(into);
  Stopped stopped;
  // Once: what was read cannot be read again.
  const auto done = sql::in_transaction(
      database, Mode::write,
      [&]() -> Result<Archived> {
        Filler filler(database);
        Reading reading(name, filler, step);
        const auto all = [&]() -> Expected<Archived> {
          if (auto begun = filler.begin(); !begun) return tl::unexpected(begun.error());
          if (auto brought = bring(reading); !brought) return tl::unexpected(brought.error());
          auto archive = reading.finish();
          if (!archive) return archive;
          if (auto finished = filler.finish(); !finished) {
            Error error = std::move(finished.error());
            if (error.fault != Fault::file) error.place.file = name;
            return tl::unexpected(std::move(error));
          }
          return archive;
        }();
        if (!all) return stop(stopped, all.error());
        auto again = Writeout(database, nowhere(), {}, stopped).run();
        if (again && *again != *all)
          return stop(stopped, Error{Fault::file, "the book gives another archive than it was made of",
                                     "a sound disk; nothing was kept", Place{name, {}, 0, 0}});
        return again;
      },
      1);
  if (stopped) return tl::unexpected(std::move(*stopped));
  if (!done) return tl::unexpected(sql::as_error(done.error()));
  return *done;
}

}  // namespace

Expected<Archived> write_archive(Book& book, const Sink& sink, const Step& step) {
  sql::Database& database = Inside::database(book);
  Stopped stopped;
  // Once: what was given cannot be taken back.
  auto done = sql::in_transaction(
      database, Mode::read, [&] { return Writeout(database, sink, step, stopped).run(); }, 1);
  if (stopped) return tl::unexpected(std::move(*stopped));
  if (!done) return tl::unexpected(sql::as_error(done.error()));
  return std::move(*done);
}

Expected<Archived> sum_of(Book& book, const Step& step) { return write_archive(book, nowhere(), step); }

Expected<Archived> checked_sum_of(Book& book, const Step& step) {
  Nobody nobody;
  Reading reading("the book", nobody, step);
  auto written = write_archive(book, [&](std::string_view piece) { return reading.feed(piece); });
  if (!written) return written;
  return reading.finish();
}

Expected<Archived> read_archive(Book& into, const Source& source, const std::string& name, const Step& step) {
  return fill(into, name, step, [&](Reading& reading) { return pour(source, reading); });
}

Expected<Archived> check_archive(const Source& source, const std::string& name, const Step& step) {
  Nobody nobody;
  Reading reading(name, nobody, step);
  if (auto poured = pour(source, reading); !poured) return tl::unexpected(poured.error());
  return reading.finish();
}

Expected<Moved> move_book(Book& from, Book& to, const Step& step) {
  Moved out;
  const auto filled = fill(to, "the other book", step, [&](Reading& reading) -> Expected<void> {
    auto written = write_archive(from, [&](std::string_view piece) { return reading.feed(piece); });
    if (!written) return tl::unexpected(written.error());
    out.archive = std::move(*written);
    return {};
  });
  if (!filled) return tl::unexpected(filled.error());
  for (const auto& [book, counts] : {std::pair{&from, &out.from}, std::pair{&to, &out.to}}) {
    const auto counted = book->counts();
    if (!counted) return tl::unexpected(counted.error());
    *counts = *counted;
  }
  return out;
}

}  // namespace hingeline::store

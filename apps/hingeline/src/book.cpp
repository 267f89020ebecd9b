#include "book.h"

#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "files.h"
#include "hingeline/store/copies.h"
#include "hingeline/store/look.h"
#include "progress.h"

namespace hingeline {
namespace {

using Json = nlohmann::ordered_json;
using store::Archived;
using store::Book;

const char* variable(const char* name) {
  const char* value = std::getenv(name);  // NOLINT(concurrency-mt-unsafe): read before any thread starts
  return value == nullptr ? "" : value;
}

Moment now() { return Moment::at(static_cast<std::int64_t>(std::time(nullptr))); }

store::Step shown_by(Progress& progress) {
  return [&progress](std::int64_t done, std::int64_t all) {
    progress.show(static_cast<std::size_t>(done), static_cast<std::size_t>(all));
  };
}

std::string size_text(std::uintmax_t bytes) {
  constexpr double kStep = 1000;
  const char* const units[] = {"B", "kB", "MB", "GB", "TB"};
  double value = static_cast<double>(bytes);
  std::size_t unit = 0;
  while (value >= kStep && unit + 1 < std::size(units)) {
    value /= kStep;
    ++unit;
  }
  return unit == 0 ? fmt::format("{} B", bytes) : fmt::format("{:.1f} {}", value, units[unit]);
}

std::string plural(std::int64_t count, const char* one, const char* many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}
std::string words_of(const Archived& archive) {
  std::string out = plural(archive.slips, "slip", "slips");
  if (archive.waiting > 0) out += fmt::format(", {} waiting", archive.waiting);
  if (archive.bytes > 0) out += ", " + plural(archive.bytes, "photo", "photos");
  return out;
}
Json json_of(const Archived& archive) {
  return {{"slips", archive.slips},
          {"waiting", archive.waiting},
          {"forgotten", archive.forgotten},
          {"photos", archive.bytes},
          {"sum", archive.sha256}};
}
std::string text_of(const Json& json) { return json.dump(2) + "\n"; }

/// What nearly every command says at its end.
std::string done_text(const BookAsked& asked, const std::string& what, const Archived& archive, Json json,
                      const Terminal& terminal) {
  if (asked.json) {
    json.update(json_of(archive));
    return text_of(json);
  }
  return terminal.paragraph("", what, 0) + fmt::format("  {}\n  sum {}\n", words_of(archive), archive.sha256);
}

Expected<std::unique_ptr<Book>> opened_to_read(const sql::Address& place) {
  return Book::open(place, {true, sql::Opening{}.patience});
}

}  // namespace

Expected<sql::Address> book_place(const std::string& asked) {
  if (!asked.empty()) return sql::Address{asked};
  if (const std::string set = variable("HINGELINE_BOOK"); !set.empty()) return sql::Address{set};
  // The specification takes a relative path for none.
  std::filesystem::path data = variable("XDG_DATA_HOME");
  if (!data.is_absolute()) {
    const std::filesystem::path home = variable("HOME");
    if (!home.is_absolute())
      return fail(Fault::usage, "nobody says where the book is",
                  "its place, or HINGELINE_BOOK or HOME in the environment");
    data = home / ".local" / "share";
  }
  return sql::Address{(data / "hingeline" / "book.db").string()};
}

Expected<void> folder_for_book(const sql::Address& address) {
  if (address.dialect() != sql::Dialect::sqlite) return {};
  const auto folder = std::filesystem::path(address.text).parent_path();
  return folder.empty() ? Expected<void>() : make_folder(folder);
}

Expected<std::string> book_show(const BookAsked& asked, const Terminal& terminal) {
  const auto place = book_place(asked.place);
  if (!place) return tl::unexpected(place.error());
  const auto figures = store::look_at(*place);
  if (!figures) return tl::unexpected(figures.error());
  std::string sum;
  if (asked.sum) {
    Progress progress("lines");
    const auto archive = store::sum_of_place(*place, shown_by(progress));
    if (!archive) return tl::unexpected(archive.error());
    sum = archive->sha256;
  }
  const auto& f = *figures;
  if (asked.json) {
    Json json{{"place", place->shown()},      {"form", f.form},
              {"slips", f.counts.slips},      {"waiting", f.counts.waiting},
              {"things", f.counts.things},    {"visits", f.visits},
              {"forgotten", f.forgotten},     {"photos", f.photos},
              {"photo_bytes", f.photo_bytes}, {"bytes", f.size}};
    if (asked.sum) json["sum"] = sum;
    return text_of(json);
  }
  std::string out = terminal.paint(place->shown(), Tone::strong) + "\n";
  const auto line = [&out](const char* name, const std::string& value) {
    out += fmt::format("  {:<11}{}\n", name, value);
  };
  line("slips", std::to_string(f.counts.slips));
  line("waiting", std::to_string(f.counts.waiting));
  line("things", std::to_string(f.counts.things));
  line("visits", std::to_string(f.visits));
  line("forgotten", std::to_string(f.forgotten));
  line("photos", fmt::format("{}, {}", f.photos, size_text(static_cast<std::uintmax_t>(f.photo_bytes))));
  line("size", size_text(static_cast<std::uintmax_t>(f.size)));
  line("form", std::to_string(f.form));
  if (asked.sum) line("sum", sum);
  return out;
}

Expected<std::string> book_check(const BookAsked& asked, const Terminal& terminal) {
  const auto place = book_place(asked.place);
  if (!place) return tl::unexpected(place.error());
  Progress progress("lines");
  const auto proven = store::check_place(*place, shown_by(progress));
  if (!proven) return tl::unexpected(proven.error());
  return done_text(asked, fmt::format("{} is sound", place->shown()), proven->archive,
                   {{"place", place->shown()}, {"sound", true}}, terminal);
}

Expected<std::string> book_copy(const BookAsked& asked, const Terminal& terminal) {
  std::optional<store::KeepRules> rules;
  if (!asked.keep.empty()) {
    const auto read = store::parse_keep(asked.keep);
    if (!read) return tl::unexpected(read.error());
    rules = *read;
  }
  const auto place = book_place(asked.place);
  if (!place) return tl::unexpected(place.error());
  Progress progress("lines");
  const auto made = store::make_copy(*place, asked.folder, now(), rules, shown_by(progress));
  if (!made) return tl::unexpected(made.error());
  std::string what = fmt::format("{}: {}, proven", made->copy.path, size_text(made->copy.size));
  if (!made->dropped.empty())
    what += fmt::format("; {} dropped", plural(std::ssize(made->dropped), "older copy", "older copies"));
  return done_text(asked, what, made->archive,
                   {{"copy", made->copy.path}, {"bytes", made->copy.size}, {"dropped", made->dropped}},
                   terminal);
}

Expected<std::string> book_copies(const BookAsked& asked, const Terminal& terminal) {
  const auto copies = store::copies_in(asked.folder);
  if (!copies) return tl::unexpected(copies.error());
  Table table({"made (UTC)", "book", "kind", "size", asked.check ? "state" : "file"});
  Json list = Json::array();
  std::optional<Error> first;
  for (const store::Copy& copy : *copies) {
    Json json{{"copy", copy.path},
              {"made", iso_text(copy.name.at, {})},
              {"book", copy.name.book},
              {"kind", copy.name.archive ? "archive" : "database"},
              {"bytes", copy.size}};
    Table::Cell last(std::filesystem::path(copy.path).filename().string());
    if (asked.check) {
      Progress progress("lines");
      const auto proven = store::prove_copy(copy.path, shown_by(progress));
      json["sound"] = proven.has_value();
      if (proven) {
        json.update(json_of(proven->archive));
        last = {"sound", Tone::good};
      } else {
        json["fault"] = proven.error().what;
        last = {"damaged: " + proven.error().what, Tone::bad};
        if (!first) first = proven.error();
      }
    }
    table.row({clock_text(copy.name.at, {}), copy.name.book, copy.name.archive ? "archive" : "database",
               size_text(copy.size), last});
    list.push_back(std::move(json));
  }
  const std::string out = asked.json        ? text_of({{"folder", asked.folder}, {"copies", list}})
                          : copies->empty() ? "There are no copies in this folder.\n"
                                            : table.text(terminal, 4);
  if (!first) return out;
  // All of them are shown, and the exit code says that something is wrong.
  std::fputs(out.c_str(), stdout);
  return tl::unexpected(std::move(*first));
}

Expected<std::string> book_restore(const BookAsked& asked, const Terminal& terminal) {
  Progress progress("lines");
  const sql::Address to{asked.to};
  const auto restored =
      store::restore(asked.file, to, asked.aside ? std::optional(now()) : std::nullopt, shown_by(progress));
  if (!restored) return tl::unexpected(restored.error());
  std::string what = fmt::format("{} is {} again, proven", to.shown(), asked.file);
  if (!restored->aside.empty()) what += fmt::format("; what was there is now {}", restored->aside);
  Json json{{"copy", asked.file}, {"place", to.shown()}};
  if (!restored->aside.empty()) json["aside"] = restored->aside;
  return done_text(asked, what, restored->copy.archive, std::move(json), terminal);
}

Expected<std::string> book_write_out(const BookAsked& asked, const Terminal& terminal) {
  const auto place = book_place(asked.place);
  if (!place) return tl::unexpected(place.error());
  const auto book = opened_to_read(*place);
  if (!book) return tl::unexpected(book.error());
  Progress progress("lines");
  if (asked.file == "-") {
    const auto cannot = [] { return fail(Fault::file, "standard output cannot be written", "room"); };
    const auto written = store::write_archive(
        **book,
        [&](std::string_view piece) -> Expected<void> {
          if (std::fwrite(piece.data(), 1, piece.size(), stdout) != piece.size()) return cannot();
          return {};
        },
        shown_by(progress));
    if (!written) return tl::unexpected(written.error());
    if (std::fflush(stdout) != 0) return cannot();
    return std::string();
  }
  const auto written = store::write_archive_file(**book, asked.file, shown_by(progress));
  if (!written) return tl::unexpected(written.error());
  return done_text(asked, fmt::format("{} holds all of {}", asked.file, place->shown()), *written,
                   {{"place", place->shown()}, {"archive", asked.file}}, terminal);
}

Expected<std::string> book_read_in(const BookAsked& asked, const Terminal& terminal) {
  const auto place = book_place(asked.place);
  if (!place) return tl::unexpected(place.error());
  if (auto made = folder_for_book(*place); !made) return tl::unexpected(made.error());
  auto book = Book::open(*place);
  if (!book) return tl::unexpected(book.error());
  Progress progress("lines");
  const auto from_input = [](std::span<char> into) -> Expected<std::size_t> {
    const std::size_t size = std::fread(into.data(), 1, into.size(), stdin);
    if (size == 0 && std::ferror(stdin) != 0) return fail(Fault::file, "standard input cannot be read");
    return size;
  };
  const auto read = asked.file == "-"
                        ? store::read_archive(**book, from_input, "standard input", shown_by(progress))
                        : store::read_archive_file(**book, asked.file, shown_by(progress));
  if (!read) return tl::unexpected(read.error());
  return done_text(asked, fmt::format("{} holds all of {}", place->shown(), asked.file), *read,
                   {{"place", place->shown()}, {"archive", asked.file}}, terminal);
}

Expected<std::string> book_move(const BookAsked& asked, const Terminal& terminal) {
  const sql::Address from{asked.place};
  const sql::Address to{asked.to};
  const auto old = opened_to_read(from);
  if (!old) return tl::unexpected(old.error());
  const auto made = Book::open(to);
  if (!made) return tl::unexpected(made.error());
  Progress progress("lines");
  const auto moved = store::move_book(**old, **made, shown_by(progress));
  if (!moved) return tl::unexpected(moved.error());
  return done_text(
      asked,
      fmt::format("{} holds all of {}: {} slips and {} waiting there, {} and {} here; {} stays as it "
                  "is",
                  to.shown(), from.shown(), moved->from.slips, moved->from.waiting, moved->to.slips,
                  moved->to.waiting, from.shown()),
      moved->archive,
      {{"from", {{"place", from.shown()}, {"slips", moved->from.slips}, {"waiting", moved->from.waiting}}},
       {"to", {{"place", to.shown()}, {"slips", moved->to.slips}, {"waiting", moved->to.waiting}}}},
      terminal);
}

}  // namespace hingeline

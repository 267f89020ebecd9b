#include "migration.h"

#include <fmt/format.h>

#include <charconv>
#include <cstdio>
#include <filesystem>

namespace hingeline::store {
namespace {

using sql::Cell;
using sql::Dialect;
using sql::Failure;
using sql::Mode;
using sql::Result;

constexpr int kMostCopies = 1000;

/// The first of "NAME", "NAME-2", ... (with `join` for the dash) that nothing has.
template <class Taken>
Result<std::string> free_name(const std::string& name, char join, const Taken& taken) {
  for (int n = 1; n <= kMostCopies; ++n) {
    std::string one = n == 1 ? name : fmt::format("{}{}{}", name, join, n);
    const Result<bool> is_taken = taken(one);
    if (!is_taken) return tl::unexpected(is_taken.error());
    if (!*is_taken) return one;
  }
  return tl::unexpected(
      Failure{sql::Trouble::unavailable, fmt::format("there is no room for one more \"{}\"", name)});
}

/// A copy of the file as it is while the transaction under way keeps others from writing.
Result<std::string> copy_of_file(const sql::Address& address, const sql::Opening& opening, int form) {
  auto name = free_name(fmt::format("{}.before-{}", address.text, form), '-',
                        [](const std::string& path) -> Result<bool> {
                          std::error_code unknown;
                          return std::filesystem::exists(std::filesystem::symlink_status(path, unknown));
                        });
  if (!name) return name;
  // The connection that writes would copy what it is about to change.
  const auto other = sql::open(address, {true, opening.patience});
  if (!other) return tl::unexpected(other.error());
  if (auto copied = (*other)->copy_to(*name); !copied) return tl::unexpected(copied.error());
  return name;
}

/// The same on a server: every table of the book's schema, with its keys and indexes, in a schema of its own.
/// What one table demands of another is not copied.
Result<void> copy_of_tables(sql::Database& database, int form) {
  const auto name =
      free_name(fmt::format("before_{}", form), '_', [&](const std::string& schema) -> Result<bool> {
        const auto rows =
            database.run("select count(*) from pg_namespace where nspname = $1", std::vector<Cell>{schema});
        if (!rows) return tl::unexpected(rows.error());
        return std::get<std::int64_t>(rows->front().front()) != 0;
      });
  if (!name) return tl::unexpected(name.error());
  const auto tables = database.run(
      "select cast(quote_ident(schemaname) as text), cast(quote_ident(tablename) as text) from pg_tables "
      "where schemaname = current_schema() order by tablename");
  if (!tables) return tl::unexpected(tables.error());
  std::string statements = fmt::format("create schema {};", *name);
  for (const sql::Row& row : *tables) {
    const auto& schema = std::get<std::string>(row[0]);
    const auto& table = std::get<std::string>(row[1]);
    statements += fmt::format(
        "create table {0}.{2} (like {1}.{2} including all);"
        "insert into {0}.{2} select * from {1}.{2};",
        *name, schema, table);
  }
  return database.run_all(statements);
}

Result<void> bring_forward(sql::Database& database, const sql::Address& address, const sql::Opening& opening,
                           const std::vector<std::string>& steps, const Then& then) {
  const int newest = static_cast<int>(steps.size());
  std::string copy;
  const auto discard = [&copy] {
    if (!copy.empty())
      std::remove(copy.c_str());  // NOLINT(cert-err33-c): the first failure is the one to tell
    copy.clear();
  };
  auto done = sql::in_transaction(database, Mode::write, [&]() -> Result<void> {
    discard();  // of a try before
    // Another may have done it while this one waited.
    const auto from = form_of(database);
    if (!from) return tl::unexpected(from.error());
    if (*from >= newest) return {};
    if (*from > 0 && database.dialect() == Dialect::sqlite) {
      auto made = copy_of_file(address, opening, newest);
      if (!made) return tl::unexpected(made.error());
      copy = std::move(*made);
    } else if (*from > 0) {
      if (auto made = copy_of_tables(database, newest); !made) return made;
    }
    for (std::size_t n = static_cast<std::size_t>(*from); n < steps.size(); ++n) {
      if (auto step = database.run_all(steps[n]); !step) return step;
    }
    if (auto done_then = then ? then(database, *from) : Result<void>{}; !done_then) return done_then;
    const auto forgotten = database.run("delete from meta where name = 'form'");
    if (!forgotten) return tl::unexpected(forgotten.error());
    const auto noted = database.run("insert into meta (name, value) values ('form', $1)",
                                    std::vector<Cell>{std::to_string(newest)});
    if (!noted) return tl::unexpected(noted.error());
    return {};
  });
  // The book is as it was: its copy says nothing more. Where that is not known, the copy stays.
  if (!done && done.error().trouble != sql::Trouble::lost) discard();
  return done;
}

}  // namespace

Result<int> form_of(sql::Database& database) {
  const bool postgres = database.dialect() == Dialect::postgres;
  const auto there =
      database.run(postgres ? "select 1 from information_schema.tables where table_schema = "
                              "current_schema() and table_name = 'meta'"
                            : "select 1 from sqlite_master where type = 'table' and name = 'meta'");
  if (!there) return tl::unexpected(there.error());
  if (there->empty()) return 0;
  const Failure unknown{sql::Trouble::damaged, "the book does not say its form"};
  const auto rows = database.run("select value from meta where name = 'form'");
  if (!rows) return tl::unexpected(rows.error());
  if (rows->empty()) return tl::unexpected(unknown);
  const auto& text = std::get<std::string>(rows->front().front());
  int form = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), form);
  if (fault != std::errc{} || end != text.data() + text.size() || form < 1) return tl::unexpected(unknown);
  return form;
}

namespace {

struct Opened {
  std::unique_ptr<sql::Database> database;
  int form = 0;
};
/// In a form up to `newest`; one that is only to be read is there.
Expected<Opened> opened(const sql::Address& address, const sql::Opening& opening, int newest) {
  auto database = sql::open(address, opening);
  if (!database) return tl::unexpected(sql::as_error(database.error()));
  const auto form = form_of(**database);
  if (!form) return tl::unexpected(sql::as_error(form.error()));
  const Place place{address.shown(), {}, 0, 0};
  if (*form > newest) {
    return fail(Fault::version,
                fmt::format("this book has form {}; this program knows forms up to {}", *form, newest),
                "a newer program", place);
  }
  if (opening.read_only && *form == 0)
    return fail(Fault::file, "there is no book yet", "a book that was begun", place);
  return Opened{std::move(*database), *form};
}

}  // namespace

Expected<std::unique_ptr<sql::Database>> open_in_form(const sql::Address& address,
                                                      const sql::Opening& opening,
                                                      const std::vector<std::string>& steps,
                                                      const Then& then) {
  const int newest = static_cast<int>(steps.size());
  auto book = opened(address, opening, newest);
  if (!book) return tl::unexpected(std::move(book.error()));
  if (book->form == newest) return std::move(book->database);
  if (opening.read_only)
    return fail(Fault::version, "this book has an older form", "to open it once for writing",
                Place{address.shown(), {}, 0, 0});
  if (auto done = bring_forward(*book->database, address, opening, steps, then); !done)
    return tl::unexpected(sql::as_error(done.error()));
  return std::move(book->database);
}

Expected<std::unique_ptr<sql::Database>> open_to_read(const sql::Address& address, int newest) {
  return opened(address, {true, sql::Opening{}.patience}, newest).map([](Opened&& book) {
    return std::move(book.database);
  });
}

}  // namespace hingeline::store

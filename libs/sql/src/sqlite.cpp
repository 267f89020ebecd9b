#include <fcntl.h>
#include <fmt/format.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "connection.h"

namespace hingeline::sql {

namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

/// How often a connection looks for others' commits.
constexpr milliseconds kLookForNews{20};

Trouble trouble_of(int extended, int system_error) {
  switch (extended & 0xFF) {
    case SQLITE_CONSTRAINT:
      switch (extended) {
        case SQLITE_CONSTRAINT_UNIQUE:
        case SQLITE_CONSTRAINT_PRIMARYKEY:
        case SQLITE_CONSTRAINT_ROWID:
          return Trouble::unique;
        case SQLITE_CONSTRAINT_FOREIGNKEY:
          return Trouble::reference;
        default:
          return Trouble::check;
      }
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL:  // a race for the write-ahead log
    case SQLITE_SCHEMA:    // another connection changed the tables time and again
      return Trouble::busy;
    case SQLITE_FULL:
      return Trouble::full;
    case SQLITE_IOERR:
      // Growing the log's index or a quota's end is reported as an error of the disk.
      return system_error == ENOSPC || system_error == EDQUOT ? Trouble::full : Trouble::damaged;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return Trouble::damaged;
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
    case SQLITE_NOMEM:
    case SQLITE_NOLFS:
      return Trouble::unavailable;
    default:
      return Trouble::statement;
  }
}

struct CloseHandle {
  void operator()(sqlite3* handle) const { sqlite3_close_v2(handle); }
};
using Handle = std::unique_ptr<sqlite3, CloseHandle>;

struct Finalize {
  void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
using Statement = std::unique_ptr<sqlite3_stmt, Finalize>;

Failure failure_of(sqlite3* handle) {
  return Failure{trouble_of(sqlite3_extended_errcode(handle), sqlite3_system_errno(handle)),
                 sqlite3_errmsg(handle)};
}

Result<void> execute(sqlite3* handle, const char* statements) {
  if (sqlite3_exec(handle, statements, nullptr, nullptr, nullptr) != SQLITE_OK) {
    return tl::unexpected(failure_of(handle));
  }
  return {};
}

/// Null: nothing but blanks and comments. `rest` becomes what follows the statement.
Result<Statement> prepare(sqlite3* handle, std::string_view& rest, unsigned flags) {
  sqlite3_stmt* made = nullptr;
  const char* tail = nullptr;
  const int code =
      sqlite3_prepare_v3(handle, rest.data(), static_cast<int>(rest.size()), flags, &made, &tail);
  Statement out(made);
  if (code != SQLITE_OK) {
    return tl::unexpected(failure_of(handle));
  }
  rest.remove_prefix(static_cast<std::size_t>(tail - rest.data()));
  return out;
}

Cell cell_of(sqlite3_stmt* statement, int column) {
  switch (sqlite3_column_type(statement, column)) {
    case SQLITE_INTEGER:
      return static_cast<std::int64_t>(sqlite3_column_int64(statement, column));
    case SQLITE_FLOAT:
      return sqlite3_column_double(statement, column);
    case SQLITE_TEXT: {
      const unsigned char* text = sqlite3_column_text(statement, column);
      return std::string(reinterpret_cast<const char*>(text),
                         static_cast<std::size_t>(sqlite3_column_bytes(statement, column)));
    }
    case SQLITE_BLOB: {
      const auto* bytes = static_cast<const std::byte*>(sqlite3_column_blob(statement, column));
      return Bytes(bytes, bytes + sqlite3_column_bytes(statement, column));
    }
    default:
      return std::monostate{};
  }
}

/// All rows of a statement, which is left as it was prepared.
Result<Rows> rows_of(sqlite3* handle, sqlite3_stmt* statement) {
  Rows rows;
  int code = SQLITE_OK;
  while ((code = sqlite3_step(statement)) == SQLITE_ROW) {
    const int columns = sqlite3_column_count(statement);
    Row& row = rows.emplace_back();
    row.reserve(static_cast<std::size_t>(columns));
    for (int column = 0; column < columns; ++column) {
      row.push_back(cell_of(statement, column));
    }
  }
  if (code != SQLITE_DONE) {
    Failure what = failure_of(handle);
    sqlite3_reset(statement);
    return tl::unexpected(std::move(what));
  }
  sqlite3_reset(statement);
  return rows;
}

/// Rows of a statement that is run once.
Result<Rows> query(sqlite3* handle, std::string_view statement) {
  return prepare(handle, statement, 0).and_then([&](const Statement& one) {
    return rows_of(handle, one.get());
  });
}

/// SQLite keeps what `bytes` points to only until the statement is reset.
int bind(sqlite3_stmt* statement, int index, const Cell& cell) {
  struct Bind {
    sqlite3_stmt* statement;
    int index;
    int operator()(std::monostate) const { return sqlite3_bind_null(statement, index); }
    int operator()(std::int64_t value) const { return sqlite3_bind_int64(statement, index, value); }
    // Adding zero makes minus zero zero and nothing else.
    int operator()(double value) const { return sqlite3_bind_double(statement, index, value + 0.0); }
    int operator()(const std::string& value) const {
      return sqlite3_bind_text64(statement, index, value.data(), value.size(), SQLITE_STATIC, SQLITE_UTF8);
    }
    int operator()(const Bytes& value) const {
      // No bytes are not NULL.
      return value.empty() ? sqlite3_bind_zeroblob(statement, index, 0)
                           : sqlite3_bind_blob64(statement, index, value.data(), value.size(), SQLITE_STATIC);
    }
  };
  return std::visit(Bind{statement, index}, cell);
}

/// PostgreSQL's order by bytes, under its own name.
int compare_bytes(void*, int left_size, const void* left, int right_size, const void* right) {
  const auto a = static_cast<std::size_t>(left_size);
  const auto b = static_cast<std::size_t>(right_size);
  const std::size_t common = std::min(a, b);
  const int order = common == 0 ? 0 : std::memcmp(left, right, common);
  return order != 0 ? order : static_cast<int>(a > b) - static_cast<int>(a < b);
}

int busy_milliseconds(milliseconds patience) {
  return static_cast<int>(std::clamp<milliseconds::rep>(patience.count(), 0, 1'000'000'000));
}

/// Puts a file, or a folder's list of names, on the disk.
bool sync(const std::filesystem::path& path, int flags) {
  const int file = ::open(path.c_str(), flags | O_CLOEXEC);
  if (file < 0) {
    return false;
  }
  const bool synced = ::fsync(file) == 0;
  return ::close(file) == 0 && synced;
}

/// Gives a file another name that nothing has yet. Some file systems know only the one way, some only the
/// other.
bool name_anew(const std::string& from, const std::string& to) {
  if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) {
    return true;
  }
  return errno == EINVAL && ::link(from.c_str(), to.c_str()) == 0;
}

class Sqlite final : public Connection {
 public:
  Sqlite(Handle handle, const Opening& opening) : Connection(opening), handle_(std::move(handle)) {}

  [[nodiscard]] Dialect dialect() const override { return Dialect::sqlite; }

 protected:
  Result<Done> do_run(std::string_view statement, std::span<const Cell> arguments) override {
    const Result<const Prepared*> found = prepared(statement, arguments.size());
    if (!found) {
      return tl::unexpected(found.error());
    }
    sqlite3_stmt* const one = (*found)->statement.get();
    if (Result<void> allowed = may_run(one); !allowed) {
      return tl::unexpected(std::move(allowed.error()));
    }
    for (std::size_t i = 0; i < (*found)->numbers.size(); ++i) {
      if (bind(one, static_cast<int>(i) + 1, arguments[(*found)->numbers[i]]) != SQLITE_OK) {
        return tl::unexpected(failure_of(handle_.get()));
      }
    }
    const std::int64_t before = sqlite3_total_changes64(handle_.get());
    Result<Rows> rows = rows_of(handle_.get(), one);
    sqlite3_clear_bindings(one);
    if (!rows) {
      return tl::unexpected(std::move(rows.error()));
    }
    // The count of the last insert, update or delete, which need not be this statement.
    const bool changed = sqlite3_total_changes64(handle_.get()) != before;
    return Done{std::move(*rows), changed ? sqlite3_changes64(handle_.get()) : 0};
  }

  Result<void> do_run_all(std::string_view statements) override {
    prepared_.clear();
    while (!statements.empty()) {
      const bool moves = moves_transactions(statements);
      const Result<Statement> one = prepare(handle_.get(), statements, 0);
      if (!one) {
        return tl::unexpected(one.error());
      }
      if (*one == nullptr) {
        break;
      }
      if (moves) {
        return failure(Trouble::statement, "a statement that begins or ends a transaction");
      }
      if (Result<void> allowed = may_run(one->get()); !allowed) {
        return allowed;
      }
      if (Result<Rows> rows = rows_of(handle_.get(), one->get()); !rows) {
        return tl::unexpected(std::move(rows.error()));
      }
    }
    return {};
  }

  Result<void> do_begin(Mode mode) override {
    if (mode == Mode::write) {
      return in_its_place().and_then([&] { return execute(handle_.get(), "begin immediate"); });
    }
    // The view is of the first reading.
    return execute(handle_.get(), "begin; select 1 from sqlite_schema limit 1");
  }

  Result<void> do_commit() override { return execute(handle_.get(), "commit"); }

  void do_rollback() override {
    // Some faults have rolled back already.
    if (sqlite3_get_autocommit(handle_.get()) == 0) {
      sqlite3_exec(handle_.get(), "rollback", nullptr, nullptr, nullptr);
    }
  }

  Result<void> do_tell() override {
    // Others hear of every commit that writes a page; this one writes the first page as it is.
    return query(handle_.get(), "pragma user_version").and_then([&](const Rows& rows) {
      const auto same = std::get<std::int64_t>(rows.front().front());
      return execute(handle_.get(), fmt::format("pragma user_version = {}", same).c_str());
    });
  }

  Result<bool> do_wait_for_news(milliseconds at_most) override {
    const auto until = steady_clock::now() + at_most;
    for (;;) {
      const Result<Done> seen = do_run("pragma data_version", {});
      if (!seen) {
        return tl::unexpected(seen.error());
      }
      const auto version = std::get<std::int64_t>(seen->rows.front().front());
      if (version != version_seen_) {
        version_seen_ = version;
        return true;
      }
      const auto left = std::chrono::ceil<milliseconds>(until - steady_clock::now());
      if (left <= milliseconds::zero()) {
        return false;
      }
      std::this_thread::sleep_for(std::min(left, kLookForNews));
    }
  }

  Result<void> do_check() override {
    if (Result<void> there = in_its_place(); !there) {
      return there;
    }
    const Result<Rows> integrity = query(handle_.get(), "pragma integrity_check(1)");
    if (!integrity) {
      return tl::unexpected(integrity.error());
    }
    const auto* said = integrity->empty() ? nullptr : std::get_if<std::string>(&integrity->front().front());
    if (said == nullptr || *said != "ok") {
      return failure(Trouble::damaged, said == nullptr ? "the database's integrity is not known" : *said);
    }
    const Result<Rows> references = query(handle_.get(), "pragma foreign_key_check");
    if (!references) {
      return tl::unexpected(references.error());
    }
    if (!references->empty()) {
      const Row& row = references->front();
      return failure(Trouble::damaged,
                     fmt::format("a row of {} names a row of {} that is not there",
                                 std::get<std::string>(row[0]), std::get<std::string>(row[2])));
    }
    return {};
  }

  Result<void> do_copy_to(const std::string& path) override {
    // Under another name until it is whole: a half copy is never taken for one.
    const std::string part = path + ".part";
    Result<void> copied = copy_whole(part);
    if (copied && !name_anew(part, path)) {
      copied = failure(errno == EEXIST ? Trouble::unavailable : trouble_of(SQLITE_IOERR, errno),
                       fmt::format("{}: {}", path, std::strerror(errno)));
    }
    ::unlink(part.c_str());
    if (!copied) {
      return copied;
    }
    const std::filesystem::path folder = std::filesystem::path(path).parent_path();
    if (!sync(folder.empty() ? "." : folder, O_RDONLY | O_DIRECTORY)) {
      return failure(Trouble::damaged, fmt::format("{}: {}", path, std::strerror(errno)));
    }
    return {};
  }

 private:
  struct Prepared {
    Statement statement;
    std::vector<std::size_t> numbers;  ///< of each of SQLite's places, which argument stands there, from 0
  };

  /// SQLite numbers $1, $2 by where they first stand; the argument is found by the name.
  Result<const Prepared*> prepared(std::string_view text, std::size_t count) {
    const auto found = prepared_.find(text);
    if (found != prepared_.end() && !names_exactly(text, count)) {
      return failure(Trouble::statement, fmt::format("the statement does not name $1 to ${}", count));
    }
    if (found != prepared_.end()) {
      return &found->second;
    }
    std::string_view rest = text;
    Result<Statement> one = prepare(handle_.get(), rest, SQLITE_PREPARE_PERSISTENT);
    if (!one) {
      return tl::unexpected(std::move(one.error()));
    }
    // What cannot be prepared after it is a statement too.
    const Result<Statement> more = prepare(handle_.get(), rest, 0);
    if (*one == nullptr || !more || *more != nullptr) {
      return failure(Trouble::statement, "not one statement");
    }
    Prepared made{std::move(*one), {}};
    const int places = sqlite3_bind_parameter_count(made.statement.get());
    for (int place = 1; place <= places; ++place) {
      const char* name = sqlite3_bind_parameter_name(made.statement.get(), place);
      const std::string_view digits = name == nullptr ? std::string_view() : std::string_view(name).substr(1);
      std::size_t number = 0;
      for (const char digit : digits) {
        number = digit >= '0' && digit <= '9' && number <= count
                     ? number * 10 + static_cast<std::size_t>(digit - '0')
                     : count + 1;
      }
      if (name == nullptr || *name != '$' || number == 0 || number > count) {
        return failure(Trouble::statement, fmt::format("the statement does not name $1 to ${}", count));
      }
      made.numbers.push_back(number - 1);
    }
    if (!names_exactly(text, count)) {
      return failure(Trouble::statement, fmt::format("the statement does not name $1 to ${}", count));
    }
    if (prepared_.size() >= kStatementsKept) {
      prepared_.clear();
    }
    return &prepared_.emplace(std::string(text), std::move(made)).first->second;
  }

  [[nodiscard]] Result<void> may_run(sqlite3_stmt* statement) const {
    if (sqlite3_stmt_readonly(statement) != 0) {
      return {};
    }
    if (!may_write()) {
      return failure(Trouble::statement, "a statement that changes something where only reading is allowed");
    }
    return in_transaction() ? Result<void>() : in_its_place();
  }

  /// What is written to a file that somebody has moved away or replaced would be acknowledged and then
  /// missed.
  [[nodiscard]] Result<void> in_its_place() const {
    int moved = 0;
    sqlite3_file_control(handle_.get(), "main", SQLITE_FCNTL_HAS_MOVED, &moved);
    if (moved != 0) {
      return failure(Trouble::unavailable,
                     "the database's file was moved, removed or replaced while it was open");
    }
    return {};
  }

  [[nodiscard]] Result<void> copy_whole(const std::string& part) const {
    // One left over by a program that was stopped; its log would spoil the new one.
    for (const char* ending : {"", "-journal", "-wal", "-shm"}) {
      ::unlink((part + ending).c_str());
    }
    sqlite3* made = nullptr;
    const int opened = sqlite3_open_v2(
        part.c_str(), &made, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, nullptr);
    const Handle copy(made);
    if (opened != SQLITE_OK) {
      return tl::unexpected(Failure{Trouble::unavailable, fmt::format("{}: {}", part, sqlite3_errmsg(made))});
    }
    // All pages in one step: it reads one view of the database, as any transaction that reads.
    sqlite3_busy_timeout(made, busy_milliseconds(opening().patience));
    sqlite3_backup* const backup = sqlite3_backup_init(made, "main", handle_.get(), "main");
    if (backup == nullptr) {
      return tl::unexpected(failure_of(made));
    }
    const int code = sqlite3_backup_step(backup, -1);
    sqlite3_backup_finish(backup);
    if (code != SQLITE_DONE) {
      return failure(trouble_of(code, sqlite3_system_errno(made)),
                     fmt::format("{}: {}", part, sqlite3_errstr(code)));
    }
    if (!sync(part, O_RDONLY)) {
      return failure(trouble_of(SQLITE_IOERR, errno), fmt::format("{}: {}", part, std::strerror(errno)));
    }
    return {};
  }

  Handle handle_;
  std::map<std::string, Prepared, std::less<>> prepared_;
  std::int64_t version_seen_ = -1;  ///< of others' commits; SQLite's own counting is never below 0
};

/// The file's first reading and, for writing, its write-ahead log.
Result<void> settle(sqlite3* handle, const Opening& opening) {
  if (opening.read_only) {
    return execute(handle, "select 1 from sqlite_schema limit 1");
  }
  // Two connections that change a new file to its log at once do not wait for each other by themselves.
  const auto until = steady_clock::now() + opening.patience;
  Result<Rows> mode = query(handle, "pragma journal_mode = wal");
  while (!mode && mode.error().trouble == Trouble::busy && steady_clock::now() < until) {
    std::this_thread::sleep_for(milliseconds(5));
    mode = query(handle, "pragma journal_mode = wal");
  }
  if (!mode) {
    return tl::unexpected(std::move(mode.error()));
  }
  if (sqlite3_db_readonly(handle, "main") == 1) {
    return failure(Trouble::unavailable, "it may be read only");
  }
  const auto& kind = std::get<std::string>(mode->front().front());
  if (kind != "wal" && kind != "memory") {
    return failure(Trouble::unavailable, "there can be no write-ahead log beside it");
  }
  return {};
}

}  // namespace

Result<std::unique_ptr<Database>> open_sqlite(const Address& address, const Opening& opening) {
  sqlite3* made = nullptr;
  const int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE |
                    (opening.read_only ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE);
  const int opened = sqlite3_open_v2(address.text.c_str(), &made, flags, nullptr);
  Handle handle(made);
  const auto with_name = [&](Failure what) {
    what.what = fmt::format("{}: {}", address.shown(), what.what);
    return tl::unexpected(std::move(what));
  };
  if (opened != SQLITE_OK) {
    return with_name(made == nullptr ? Failure{Trouble::unavailable, sqlite3_errstr(opened)}
                                     : failure_of(made));
  }
  sqlite3_busy_timeout(made, busy_milliseconds(opening.patience));
  // What PostgreSQL does not know either: double quotes as text, and changes to the schema's own table.
  sqlite3_db_config(made, SQLITE_DBCONFIG_DQS_DML, 0, nullptr);
  sqlite3_db_config(made, SQLITE_DBCONFIG_DQS_DDL, 0, nullptr);
  sqlite3_db_config(made, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_create_collation_v2(made, "C", SQLITE_UTF8, nullptr, compare_bytes, nullptr);

  Result<void> settled =
      execute(made, "pragma foreign_keys = on; pragma case_sensitive_like = on; pragma cell_size_check = on;")
          .and_then([&] { return settle(made, opening); })
          .and_then([&] { return execute(made, "pragma synchronous = full"); });
  if (!settled) {
    return with_name(std::move(settled.error()));
  }
  return std::make_unique<Sqlite>(std::move(handle), opening);
}

}  // namespace hingeline::sql

#pragma once
/// \file
/// One SQL text on SQLite and on PostgreSQL: typed cells, numbered arguments, transactions, and faults that
/// mean the same on both.

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <variant>
#include <vector>

#include "hingeline/base/error.h"

namespace hingeline::sql {

using Bytes = std::vector<std::byte>;
/// NULL, a whole number, a double (exact both ways), UTF-8 text without NUL, bytes.
using Cell = std::variant<std::monostate, std::int64_t, double, std::string, Bytes>;
using Row = std::vector<Cell>;
using Rows = std::vector<Row>;

enum class Trouble {
  unique,       ///< a key that is there already
  reference,    ///< something named is not there, or is still named by another
  check,        ///< another rule of the table
  busy,         ///< others held it for too long, or a deadlock: the whole transaction may be tried again
  full,         ///< no room on the disk
  lost,         ///< the connection is gone: whether a commit under way counted is not known
  damaged,      ///< the file is not sound, or not a database
  unavailable,  ///< it cannot be opened: no such file or server, no right to it
  statement     ///< the SQL text or its arguments are wrong: a fault of this program
};
/// "unique", "reference", ...
const char* word(Trouble trouble);

struct Failure {
  Trouble trouble = Trouble::statement;
  std::string what;  ///< a sentence without full stop, without argument values and passwords
  [[nodiscard]] bool may_try_again() const { return trouble == Trouble::busy || trouble == Trouble::lost; }
};
/// For a person: Fault::file, with what would help.
Error as_error(const Failure& failure);

template <class T>
using Result = tl::expected<T, Failure>;

enum class Dialect { sqlite, postgres };

/// Where the data are: a file's path (made when it is not there), or "postgresql://...". ":memory:" is a
/// SQLite database that ends with its connection.
struct Address {
  std::string text;
  [[nodiscard]] Dialect dialect() const;
  /// Without the password.
  [[nodiscard]] std::string shown() const;
};

enum class Mode {
  read,  ///< one consistent view; nothing may be changed
  write  ///< others that write wait from the beginning
};

/// One connection, used by one thread at a time.
class Database {
 public:
  virtual ~Database() = default;
  Database(const Database&) = delete;
  Database& operator=(const Database&) = delete;

  [[nodiscard]] virtual Dialect dialect() const = 0;

  /// Runs one statement with $1, $2, ... standing for the arguments; prepared once and kept. A number may
  /// stand several times. Outside a transaction it is one of its own.
  virtual Result<Rows> run(std::string_view statement, std::span<const Cell> arguments = {}) = 0;
  /// Rows changed by the last statement.
  [[nodiscard]] virtual std::int64_t changed() const = 0;
  /// Several statements without arguments, one after the other; for migrations.
  virtual Result<void> run_all(std::string_view statements) = 0;

  /// Transactions do not nest. After a failure inside one it can only be rolled back, on both.
  virtual Result<void> begin(Mode mode) = 0;
  /// What it acknowledges outlasts a power cut.
  virtual Result<void> commit() = 0;
  /// Never fails: a lost connection has rolled back too.
  virtual void rollback() = 0;

  /// Tells every connection to the same data that there is something new. Counts with the commit of the
  /// transaction it is called in.
  virtual Result<void> tell() = 0;
  /// Waits until something was told since the last call, at most so long; true: there may be something new.
  virtual Result<bool> wait_for_news(std::chrono::milliseconds at_most) = 0;

  /// Whether the file or the connection is sound: SQLite's integrity and foreign keys, PostgreSQL's answer.
  virtual Result<void> check() = 0;
  /// A sound copy in a new file while others go on writing. SQLite only; Trouble::statement on PostgreSQL,
  /// whose copies its own tools make.
  virtual Result<void> copy_to(const std::string& path) = 0;

 protected:
  Database() = default;
};

struct Opening {
  bool read_only = false;
  /// How long a writer waits for others.
  std::chrono::milliseconds patience{5000};
};

/// Opens a connection. SQLite: write-ahead log, full synchronisation, foreign keys on. PostgreSQL: UTC,
/// UTF-8, serialisable order is not asked for: writers take a lock of their own (Mode::write).
Result<std::unique_ptr<Database>> open(const Address& address, const Opening& opening = {});

/// Runs `work` in a transaction and commits it; rolled back and given back when it fails. Tried again with
/// growing pauses, at most `tries` times, while the failure is Trouble::busy; `work` must bear being run
/// again.
template <class Work>
auto in_transaction(Database& database, Mode mode, Work&& work, int tries = 5) -> decltype(work());

}  // namespace hingeline::sql

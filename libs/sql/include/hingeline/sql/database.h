#pragma once
/// \file
/// One SQL text on SQLite and on PostgreSQL: typed cells, numbered arguments, transactions, and faults that
/// mean the same on both.
///
/// What the two do not read alike, and how a statement is written so that it does not matter:
/// - Columns are `bigint`, `double precision`, `text` or `bytea`, and a cell of the same kind goes into each
///   (SQLite would keep another).
/// - A result is one of these kinds too. `sum` and `avg` of whole numbers are `cast(... as bigint)` or
///   `cast(... as double precision)`; true and false come as 1 and 0.
/// - An argument that may be NULL and stands beside no column, as in `$1 is null`, is cast as well.
/// - `order by ... collate "C"` orders by bytes; without it PostgreSQL orders as its database was made.
/// - `like` tells capitals apart and has an `escape` named.
/// - A name in double quotes is never text.

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <thread>
#include <tl/expected.hpp>
#include <type_traits>
#include <utility>
#include <variant>
#include <vector>

#include "hingeline/base/error.h"

namespace hingeline::sql {

using Bytes = std::vector<std::byte>;
/// NULL, a whole number, a double, UTF-8 text without NUL, bytes. All come back exactly as they were given,
/// but for minus zero, which becomes zero (SQLite's columns do not keep its sign). A double that is no
/// number, and text that is not UTF-8 or holds NUL, is refused (Trouble::statement).
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
  damaged,      ///< the file is not sound or not a database, or the disk does not read or write
  unavailable,  ///< it cannot be opened: no such file or server, no right to it
  statement     ///< the SQL text, its arguments or its place are wrong: a fault of this program
};
/// "unique", "reference", ...
const char* word(Trouble trouble);

struct Failure {
  Trouble trouble = Trouble::statement;
  std::string what;  ///< a sentence without full stop, without argument values and passwords
  /// Whether the whole transaction may be run again as it was: after Trouble::lost only if it bears counting
  /// twice.
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
  read,  ///< one consistent view, of the moment of `begin`; nothing may be changed
  write  ///< others that write wait from the beginning
};

/// One connection, used by one thread at a time.
class Database {
 public:
  virtual ~Database() = default;
  Database(const Database&) = delete;
  Database& operator=(const Database&) = delete;

  [[nodiscard]] virtual Dialect dialect() const = 0;

  /// Runs one statement with $1, $2, ... standing for the arguments; prepared once and kept. Each number from
  /// 1 to the count of arguments stands there once or several times, in any order. Outside a transaction it
  /// is one of its own, and has its place among the writers when it inserts, updates or deletes. What begins
  /// and ends transactions is refused: `begin`, `commit` and `rollback` here are for that.
  virtual Result<Rows> run(std::string_view statement, std::span<const Cell> arguments = {}) = 0;
  /// Rows inserted, updated or deleted by the last run itself, without what followed from it (`on delete
  /// cascade`, triggers); 0 after it failed.
  [[nodiscard]] virtual std::int64_t changed() const = 0;
  /// Several statements without arguments, one after the other, all or none; for migrations. The statements
  /// kept are forgotten.
  virtual Result<void> run_all(std::string_view statements) = 0;

  /// Transactions do not nest. After a failure inside one it can only be rolled back, on both. A connection
  /// that was lost while nothing was under way is opened anew.
  virtual Result<void> begin(Mode mode) = 0;
  /// What it acknowledges outlasts a power cut. When it fails, the transaction is over and has not counted;
  /// only after Trouble::lost that is not known.
  virtual Result<void> commit() = 0;
  /// Never fails: a lost connection has rolled back too. Nothing happens outside a transaction.
  virtual void rollback() = 0;

  /// Tells every other connection to the same data that there is something new. Counts with the commit of the
  /// transaction it is called in (Mode::write), or at once outside one.
  virtual Result<void> tell() = 0;
  /// Waits until another connection told something since the last call, at most so long; true: there may be
  /// something new. The first call begins to listen and gives true at once, and so does the first one after
  /// the connection was lost: nothing told in between is missed by who then looks. Outside a transaction
  /// only.
  virtual Result<bool> wait_for_news(std::chrono::milliseconds at_most) = 0;

  /// Whether the file or the connection is sound: SQLite's integrity and foreign keys, PostgreSQL's answer.
  /// Outside a transaction only.
  virtual Result<void> check() = 0;
  /// A sound copy in a new file while others go on writing: all that was committed when it began, and it
  /// stands there whole and on the disk, or not at all. A file that is there already is left alone
  /// (Trouble::unavailable). Outside a transaction, and SQLite only; Trouble::statement on PostgreSQL, whose
  /// copies its own tools make.
  virtual Result<void> copy_to(const std::string& path) = 0;

 protected:
  Database() = default;
};

struct Opening {
  bool read_only = false;  ///< nothing can be changed, and a file that is not there is not made
  /// How long a writer waits for others, and how long a server may take to answer the first call.
  std::chrono::milliseconds patience{5000};
};

/// Opens a connection. SQLite: write-ahead log, full synchronisation, foreign keys on. PostgreSQL: UTC,
/// UTF-8; serialisable order is not asked for: writers take a lock of their own (Mode::write).
/// Trouble::unavailable: no such folder, file or server, or no right to it. Trouble::damaged: not a database.
Result<std::unique_ptr<Database>> open(const Address& address, const Opening& opening = {});

/// Runs `work`, which gives a Result, in a transaction and commits it; rolled back and given back when it
/// fails, rolled back when it throws. Tried again with growing pauses, at most `tries` times, while the
/// failure is Trouble::busy; `work` must bear being run again.
template <class Work>
auto in_transaction(Database& database, Mode mode, Work&& work, int tries = 5) -> decltype(work()) {
  using Outcome = decltype(work());
  static_assert(std::is_same_v<typename Outcome::error_type, Failure>, "work gives a Result");

  struct Undo {
    Database& database;
    ~Undo() { database.rollback(); }  // nothing is left to do after a commit
  };
  const auto once = [&]() -> Outcome {
    if (Result<void> begun = database.begin(mode); !begun) {
      return tl::unexpected(std::move(begun.error()));
    }
    const Undo undo{database};
    Outcome outcome = work();
    if (outcome) {
      if (Result<void> kept = database.commit(); !kept) {
        return tl::unexpected(std::move(kept.error()));
      }
    }
    return outcome;
  };

  std::chrono::milliseconds pause{10};
  for (int attempt = 1;; ++attempt) {
    Outcome outcome = once();
    if (outcome || outcome.error().trouble != Trouble::busy || attempt >= tries) {
      return outcome;
    }
    std::this_thread::sleep_for(pause);
    pause *= 2;
  }
}

}  // namespace hingeline::sql

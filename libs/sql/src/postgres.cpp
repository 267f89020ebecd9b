#include <endian.h>
#include <fmt/format.h>
#include <libpq-fe.h>
#include <poll.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cerrno>
#include <cstring>

#include "connection.h"

namespace hingeline::sql {

namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

/// Writers hold this transaction lock, each in a database of its own: the letters "hingelin".
constexpr std::int64_t kWriters = 0x68696E67656C696E;

/// Types by their numbers in PostgreSQL's catalogue (pg_type.dat), which never change.
enum TypeNumber : Oid {
  kUnknown = 0,
  kBool = 16,
  kBytea = 17,
  kName = 19,
  kInt8 = 20,
  kInt2 = 21,
  kInt4 = 23,
  kText = 25,
  kOid = 26,
  kFloat8 = 701,
  kBpchar = 1042,
  kVarchar = 1043,
  kVoid = 2278
};

struct CloseSession {
  void operator()(PGconn* session) const { PQfinish(session); }
};
using Session = std::unique_ptr<PGconn, CloseSession>;

struct ClearAnswer {
  void operator()(PGresult* answer) const { PQclear(answer); }
};
using Answer = std::unique_ptr<PGresult, ClearAnswer>;

Trouble trouble_of(std::string_view state) {
  struct Meaning {
    std::string_view state;  ///< or its first letters
    Trouble trouble;
  };
  // From PostgreSQL's table of error codes (appendix A of its manual). The first that fits counts.
  constexpr std::array kMeanings = {
      Meaning{"23505", Trouble::unique},       // unique_violation
      Meaning{"23503", Trouble::reference},    // foreign_key_violation
      Meaning{"23", Trouble::check},           // integrity_constraint_violation
      Meaning{"P0001", Trouble::check},        // raise_exception: a rule written as a trigger
      Meaning{"40", Trouble::busy},            // transaction_rollback: deadlock, serialization
      Meaning{"55P03", Trouble::busy},         // lock_not_available
      Meaning{"55006", Trouble::busy},         // object_in_use
      Meaning{"57014", Trouble::busy},         // query_canceled, as a timeout does
      Meaning{"53100", Trouble::full},         // disk_full
      Meaning{"53", Trouble::busy},            // insufficient_resources
      Meaning{"57P", Trouble::lost},           // the server stops, or was stopped
      Meaning{"08", Trouble::lost},            // connection_exception
      Meaning{"58030", Trouble::damaged},      // io_error
      Meaning{"XX001", Trouble::damaged},      // data_corrupted
      Meaning{"XX002", Trouble::damaged},      // index_corrupted
      Meaning{"28", Trouble::unavailable},     // invalid_authorization_specification
      Meaning{"3D000", Trouble::unavailable},  // invalid_catalog_name
      Meaning{"42501", Trouble::unavailable},  // insufficient_privilege
  };
  const auto* const found = std::find_if(kMeanings.begin(), kMeanings.end(),
                                         [&](const Meaning& one) { return state.starts_with(one.state); });
  return found == kMeanings.end() ? Trouble::statement : found->trouble;
}

std::string_view field(const PGresult* answer, int code) {
  const char* text = PQresultErrorField(answer, code);
  return text == nullptr ? std::string_view() : std::string_view(text);
}

/// A kept statement whose columns are others since someone changed the table. It may be tried again once it
/// is prepared anew.
bool is_stale(const PGresult* answer) {
  return field(answer, PG_DIAG_SQLSTATE) == "0A000" &&
         field(answer, PG_DIAG_SOURCE_FUNCTION) == "RevalidateCachedQuery";
}

Failure failure_of(const PGconn* session, const PGresult* answer) {
  if (session == nullptr || PQstatus(session) == CONNECTION_BAD) {
    return Failure{Trouble::lost, "the connection to the database's server is gone"};
  }
  const std::string_view state = field(answer, PG_DIAG_SQLSTATE);
  if (is_stale(answer)) {
    return Failure{Trouble::busy, "a table was changed while a statement on it was kept"};
  }
  if (state.starts_with("22")) {
    // Messages of this class may quote the value.
    return Failure{Trouble::statement,
                   fmt::format("a value that does not fit where it is put (SQLSTATE {})", state)};
  }
  const std::string_view message = field(answer, PG_DIAG_MESSAGE_PRIMARY);
  return Failure{trouble_of(state),
                 message.empty() ? "the database's server gave no answer" : std::string(message)};
}

bool is_good(const PGresult* answer) {
  const ExecStatusType status = PQresultStatus(answer);
  return status == PGRES_COMMAND_OK || status == PGRES_TUPLES_OK;
}

/// The arguments of one call as libpq takes them: binary, so that every double is itself.
class Arguments {
 public:
  explicit Arguments(std::span<const Cell> cells) {
    numbers_.reserve(cells.size());  // values_ points into it
    for (const Cell& cell : cells) {
      std::visit([this](const auto& value) { add(value); }, cell);
    }
    formats_.assign(cells.size(), 1);
  }

  [[nodiscard]] int count() const { return static_cast<int>(types_.size()); }
  [[nodiscard]] const Oid* types() const { return types_.data(); }
  [[nodiscard]] const char* const* values() const { return values_.data(); }
  [[nodiscard]] const int* lengths() const { return lengths_.data(); }
  [[nodiscard]] const int* formats() const { return formats_.data(); }
  /// One letter for each type: a statement is prepared for them.
  [[nodiscard]] const std::string& kinds() const { return kinds_; }

 private:
  void add(std::monostate) { add(kUnknown, '0', nullptr, 0); }
  void add(std::int64_t value) { add_number(kInt8, 'i', static_cast<std::uint64_t>(value)); }
  // Adding zero makes minus zero zero and nothing else.
  void add(double value) { add_number(kFloat8, 'd', std::bit_cast<std::uint64_t>(value + 0.0)); }
  void add(const std::string& value) { add(kText, 't', value.data(), value.size()); }
  void add(const Bytes& value) {
    // A null pointer would be NULL.
    add(kBytea, 'b', value.empty() ? "" : reinterpret_cast<const char*>(value.data()), value.size());
  }
  void add_number(Oid type, char kind, std::uint64_t value) {
    numbers_.push_back(htobe64(value));
    add(type, kind, reinterpret_cast<const char*>(&numbers_.back()), sizeof(value));
  }
  void add(Oid type, char kind, const char* value, std::size_t length) {
    types_.push_back(type);
    kinds_ += kind;
    values_.push_back(value);
    lengths_.push_back(static_cast<int>(length));
  }

  std::vector<std::uint64_t> numbers_;
  std::vector<Oid> types_;
  std::vector<const char*> values_;
  std::vector<int> lengths_;
  std::vector<int> formats_;
  std::string kinds_;
};

template <class Number>
Number number_at(const char* bytes) {
  Number value = 0;
  std::memcpy(&value, bytes, sizeof(value));
  return value;
}

Result<Cell> cell_of(const PGresult* answer, int row, int column) {
  if (PQgetisnull(answer, row, column) != 0) {
    return Cell(std::monostate{});
  }
  const char* value = PQgetvalue(answer, row, column);
  const auto size = static_cast<std::size_t>(PQgetlength(answer, row, column));
  switch (PQftype(answer, column)) {
    case kBool:
      return Cell(std::int64_t{*value != 0});
    case kInt2:
      return Cell(std::int64_t{static_cast<std::int16_t>(be16toh(number_at<std::uint16_t>(value)))});
    case kInt4:
      return Cell(std::int64_t{static_cast<std::int32_t>(be32toh(number_at<std::uint32_t>(value)))});
    case kInt8:
      return Cell(static_cast<std::int64_t>(be64toh(number_at<std::uint64_t>(value))));
    case kOid:
      return Cell(std::int64_t{be32toh(number_at<std::uint32_t>(value))});
    case kFloat8:
      return Cell(std::bit_cast<double>(be64toh(number_at<std::uint64_t>(value))));
    case kText:
    case kVarchar:
    case kBpchar:
    case kName:
      return Cell(std::string(value, size));
    case kBytea: {
      const auto* bytes = reinterpret_cast<const std::byte*>(value);
      return Cell(Bytes(bytes, bytes + size));
    }
    case kVoid:
      return Cell(std::monostate{});
    default:
      return failure(
          Trouble::statement,
          fmt::format("column {} of the result is of no kind a cell can hold (type {}); it needs a cast",
                      PQfname(answer, column), PQftype(answer, column)));
  }
}

Result<Rows> rows_of(const PGresult* answer) {
  Rows rows;
  const int count = PQntuples(answer);
  const int columns = PQnfields(answer);
  rows.reserve(static_cast<std::size_t>(count));
  for (int row = 0; row < count; ++row) {
    Row& cells = rows.emplace_back();
    cells.reserve(static_cast<std::size_t>(columns));
    for (int column = 0; column < columns; ++column) {
      Result<Cell> cell = cell_of(answer, row, column);
      if (!cell) {
        return tl::unexpected(std::move(cell.error()));
      }
      cells.push_back(std::move(*cell));
    }
  }
  return rows;
}

/// What an answer says of rows changed; those of a `select` are not.
std::int64_t changed_by(PGresult* answer) {
  const std::string_view tag = PQcmdStatus(answer);
  const std::size_t space = tag.rfind(' ');
  if (space == std::string_view::npos || !(tag.starts_with("INSERT") || tag.starts_with("UPDATE") ||
                                           tag.starts_with("DELETE") || tag.starts_with("MERGE"))) {
    return 0;
  }
  std::int64_t count = 0;
  for (const char digit : tag.substr(space + 1)) {
    count = count * 10 + (digit - '0');
  }
  return count;
}

/// Whether a statement outside a transaction is to wait for its turn among the writers. One that begins with
/// `with` and only names such a word waits too, which is no harm.
bool writes_rows(std::string_view statement) {
  constexpr std::array<std::string_view, 4> kWords = {"insert", "update", "delete", "merge"};
  const std::string first = first_word(statement);
  if (first != "with") {
    return std::find(kWords.begin(), kWords.end(), first) != kWords.end();
  }
  std::string small(statement);
  std::transform(small.begin(), small.end(), small.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return std::any_of(kWords.begin(), kWords.end(),
                     [&](std::string_view word) { return small.find(word) != std::string::npos; });
}

void say_nothing(void*, const char*) {}

/// The server's own words without the line ends in them.
std::string one_line(std::string_view text) {
  std::string out;
  for (const char c : text) {
    out += c == '\n' || c == '\t' ? ' ' : c;
  }
  while (!out.empty() && out.back() == ' ') {
    out.pop_back();
  }
  return out;
}

Result<Session> connect(const Address& address, const Opening& opening) {
  const auto refused = [&](std::string_view why) {
    return failure(Trouble::unavailable, fmt::format("{}: {}", address.shown(), why));
  };
  char* complaint = nullptr;
  PQconninfoOption* const parsed = PQconninfoParse(address.text.c_str(), &complaint);
  PQfreemem(complaint);  // it may quote the password
  if (parsed == nullptr) {
    return refused("this is not understood as an address");
  }
  PQconninfoFree(parsed);

  // The address overrides what stands before it; a server that is gone without a word is noticed.
  const std::string seconds = std::to_string(
      std::max<std::int64_t>(2, std::chrono::ceil<std::chrono::seconds>(opening.patience).count()));
  const std::array keywords = {"connect_timeout",  "keepalives_idle",  "keepalives_interval",
                               "keepalives_count", "tcp_user_timeout", "fallback_application_name",
                               "dbname",           "client_encoding",  static_cast<const char*>(nullptr)};
  const std::array values = {seconds.c_str(),
                             "30",
                             "10",
                             "3",
                             "30000",
                             "hingeline",
                             address.text.c_str(),
                             "UTF8",
                             static_cast<const char*>(nullptr)};
  Session session(PQconnectdbParams(keywords.data(), values.data(), 1));
  if (session == nullptr || PQstatus(session.get()) != CONNECTION_OK) {
    return refused(session == nullptr ? std::string("no memory") : one_line(PQerrorMessage(session.get())));
  }
  const char* encoding = PQparameterStatus(session.get(), "server_encoding");
  if (encoding == nullptr || std::strcmp(encoding, "UTF8") != 0) {
    return refused(
        fmt::format("the database is encoded as {}, not as UTF8", encoding == nullptr ? "?" : encoding));
  }
  PQsetNoticeProcessor(session.get(), say_nothing, nullptr);

  // A lock_timeout of 0 would be for ever. A server that acknowledges before it has written does not do.
  const std::string settings = fmt::format(
      "set lock_timeout = {}; set time zone 'UTC'; set client_min_messages = error; set jit = off; "
      "set standard_conforming_strings = on; set default_transaction_isolation = 'read committed'; "
      "set default_transaction_read_only = {}; "
      "select set_config('synchronous_commit', 'on', false) where current_setting('synchronous_commit') = "
      "'off'",
      std::clamp<std::int64_t>(opening.patience.count(), 1, 1'000'000'000), opening.read_only ? "on" : "off");
  const Answer set(PQexec(session.get(), settings.c_str()));
  if (!is_good(set.get())) {
    return refused(failure_of(session.get(), set.get()).what);
  }
  return session;
}

class Postgres final : public Connection {
 public:
  Postgres(Address address, Session session, const Opening& opening)
      : Connection(opening), address_(std::move(address)), session_(std::move(session)) {}

  [[nodiscard]] Dialect dialect() const override { return Dialect::postgres; }

 protected:
  Result<Done> do_run(std::string_view statement, std::span<const Cell> arguments) override {
    if (!names_exactly(statement, arguments.size())) {
      return failure(Trouble::statement,
                     fmt::format("the statement does not name $1 to ${}", arguments.size()));
    }
    if (in_transaction()) {
      return run_here(statement, arguments);
    }
    if (opening().read_only || !writes_rows(statement)) {
      return ready().and_then([&] { return run_here(statement, arguments); });
    }
    Result<Done> done = do_begin(Mode::write).and_then([&] { return run_here(statement, arguments); });
    if (done) {
      if (Result<void> kept = do_commit(); !kept) {
        done = tl::unexpected(std::move(kept.error()));
      }
    }
    do_rollback();
    return done;
  }

  Result<void> do_run_all(std::string_view statements) override {
    if (any_moves_transactions(statements)) {
      return failure(Trouble::statement, "a statement that begins or ends a transaction");
    }
    if (Result<void> forgotten = forget(); !forgotten) {
      return forgotten;
    }
    if (PQsendQuery(session_.get(), std::string(statements).c_str()) != 1) {
      return tl::unexpected(failure_of(session_.get(), nullptr));
    }
    Result<void> out;
    while (const Answer answer{PQgetResult(session_.get())}) {
      const ExecStatusType status = PQresultStatus(answer.get());
      if (status == PGRES_COPY_IN || status == PGRES_COPY_OUT || status == PGRES_COPY_BOTH) {
        session_.reset();  // nothing else ends the exchange it waits for
        return failure(Trouble::statement, "a statement that copies from or to this program");
      }
      if (!is_good(answer.get()) && status != PGRES_EMPTY_QUERY) {
        out = tl::unexpected(failure_of(session_.get(), answer.get()));
      }
    }
    return out;
  }

  Result<void> do_begin(Mode mode) override {
    // Read committed: what a writer reads once it has the lock is what the one before it has left. The view
    // of a reader is of its first statement.
    static const std::string kWrite = fmt::format(
        "begin isolation level read committed read write; select pg_advisory_xact_lock({})", kWriters);
    static const std::string kRead = "begin isolation level repeatable read read only; select 1";
    const std::string& statements = mode == Mode::write ? kWrite : kRead;
    Result<void> begun = ready().and_then([&] { return execute(statements.c_str()); });
    if (!begun && begun.error().trouble == Trouble::lost) {
      // It was lost before; nothing was under way.
      begun = ready().and_then([&] { return execute(statements.c_str()); });
    }
    return begun;
  }

  Result<void> do_commit() override { return execute("commit"); }

  void do_rollback() override {
    if (session_ != nullptr && PQtransactionStatus(session_.get()) != PQTRANS_IDLE) {
      const Answer answer(PQexec(session_.get(), "rollback"));
    }
  }

  Result<void> do_tell() override { return execute("notify hingeline"); }

  Result<bool> do_wait_for_news(milliseconds at_most) override {
    if (Result<void> there = ready(); !there) {
      return tl::unexpected(std::move(there.error()));
    }
    if (!listening_) {
      return execute("listen hingeline").map([&] {
        listening_ = true;
        return true;
      });
    }
    const auto until = steady_clock::now() + at_most;
    for (;;) {
      if (PQconsumeInput(session_.get()) != 1) {
        return tl::unexpected(failure_of(session_.get(), nullptr));
      }
      if (told_by_another()) {
        return true;
      }
      const auto left = std::chrono::ceil<milliseconds>(until - steady_clock::now());
      if (left <= milliseconds::zero()) {
        return false;
      }
      pollfd socket{PQsocket(session_.get()), POLLIN, 0};
      ::poll(&socket, 1, static_cast<int>(std::min<milliseconds::rep>(left.count(), 1'000'000)));
    }
  }

  Result<void> do_check() override {
    return ready().and_then([&] { return execute("select 1"); });
  }

  Result<void> do_copy_to(const std::string&) override {
    return failure(Trouble::statement, "a copy of a PostgreSQL database is made with the server's own tools");
  }

 private:
  /// Opens the connection anew when it was lost. Only outside a transaction.
  Result<void> ready() {
    if (session_ != nullptr && PQstatus(session_.get()) == CONNECTION_OK) {
      return {};
    }
    session_.reset();
    prepared_.clear();
    listening_ = false;
    return connect(address_, opening()).map([&](Session&& session) { session_ = std::move(session); });
  }

  Result<void> execute(const char* statements) {
    const Answer answer(PQexec(session_.get(), statements));
    if (!is_good(answer.get())) {
      return tl::unexpected(failure_of(session_.get(), answer.get()));
    }
    return {};
  }

  Result<void> forget() {
    prepared_.clear();
    return execute("deallocate all");
  }

  Result<Done> run_here(std::string_view statement, std::span<const Cell> arguments) {
    const Arguments given(arguments);
    const Result<std::string> name = prepared(statement, given);
    if (!name) {
      return tl::unexpected(name.error());
    }
    const Answer answer(PQexecPrepared(session_.get(), name->c_str(), given.count(), given.values(),
                                       given.lengths(), given.formats(), 1));
    if (PQresultStatus(answer.get()) == PGRES_EMPTY_QUERY) {
      return failure(Trouble::statement, "not one statement");
    }
    if (!is_good(answer.get())) {
      if (is_stale(answer.get())) {
        prepared_.erase(key(statement, given));
      }
      return tl::unexpected(failure_of(session_.get(), answer.get()));
    }
    return rows_of(answer.get()).map([&](Rows&& rows) {
      return Done{std::move(rows), changed_by(answer.get())};
    });
  }

  static std::string key(std::string_view statement, const Arguments& given) {
    return fmt::format("{} {}", given.kinds(), statement);
  }

  /// Its name among the kept statements.
  Result<std::string> prepared(std::string_view statement, const Arguments& given) {
    const std::string wanted = key(statement, given);
    if (const auto found = prepared_.find(wanted); found != prepared_.end()) {
      return found->second;
    }
    if (prepared_.size() >= kStatementsKept) {
      if (Result<void> forgotten = forget(); !forgotten) {
        return tl::unexpected(std::move(forgotten.error()));
      }
    }
    const std::string name = fmt::format("s{}", ++names_);
    const Answer answer(PQprepare(session_.get(), name.c_str(), std::string(statement).c_str(), given.count(),
                                  given.types()));
    if (!is_good(answer.get())) {
      return tl::unexpected(failure_of(session_.get(), answer.get()));
    }
    prepared_.emplace(wanted, name);
    return name;
  }

  /// Takes all news that have come in.
  bool told_by_another() {
    bool told = false;
    while (PGnotify* const news = PQnotifies(session_.get())) {
      told = told || news->be_pid != PQbackendPID(session_.get());
      PQfreemem(news);
    }
    return told;
  }

  Address address_;
  Session session_;  ///< null, or one that may be lost
  std::map<std::string, std::string> prepared_;
  std::int64_t names_ = 0;
  bool listening_ = false;
};

}  // namespace

Result<std::unique_ptr<Database>> open_postgres(const Address& address, const Opening& opening) {
  return connect(address, opening).map([&](Session&& session) -> std::unique_ptr<Database> {
    return std::make_unique<Postgres>(address, std::move(session), opening);
  });
}

}  // namespace hingeline::sql

#include "hingeline/access/accounts.h"

#include <fmt/format.h>
#include <sodium.h>

#include <algorithm>
#include <array>
#include <utility>

#include "hashes.h"
#include "wording.h"

namespace hingeline::access {
namespace {

using sql::Cell;
using sql::Mode;
using sql::Result;
using sql::Row;
using sql::Rows;
using Cells = std::vector<Cell>;

const std::string& text_in(const Row& row, std::size_t column) { return std::get<std::string>(row[column]); }
std::int64_t number_in(const Row& row, std::size_t column) { return std::get<std::int64_t>(row[column]); }
Milliseconds time_in(const Row& row, std::size_t column) { return Milliseconds(number_in(row, column)); }

template <class T>
tl::unexpected<sql::Failure> pass(const Result<T>& failed) {
  return tl::unexpected(failed.error());
}
template <class T>
tl::unexpected<Error> for_person(const Result<T>& failed) {
  return tl::unexpected(sql::as_error(failed.error()));
}
template <class T>
tl::unexpected<Error> pass(const Expected<T>& failed) {
  return tl::unexpected(failed.error());
}

const char* word(Means means) { return means == Means::pin ? "pin" : "password"; }
Means means_of(const std::string& word) { return word == "pin" ? Means::pin : Means::password; }

std::string session_hash(const std::string& token) { return hash_of("session", token); }
std::string device_hash(const std::string& token) { return hash_of("device", token); }

/// Tries that are counted together.
struct Counter {
  std::string name;
  int free_tries = 0;
};

}  // namespace

const char* word(Verdict verdict) {
  switch (verdict) {
    case Verdict::admitted:
      return "admitted";
    case Verdict::wrong:
      return "wrong";
    case Verdict::wait:
      return "wait";
    case Verdict::pin_locked:
      return "pin-locked";
    case Verdict::not_enrolled:
      break;
  }
  return "not-enrolled";
}

class Accounts::Inside {
 public:
  Inside(std::unique_ptr<sql::Database> database, const Rules& rules)
      : database_(std::move(database)), rules_(rules), nothing_(fits_nothing(rules.cost)) {}

  sql::Database& database() { return *database_; }
  [[nodiscard]] const Rules& rules() const { return rules_; }
  /// What is looked at where there is no such login or PIN, so that the time does not tell.
  [[nodiscard]] const std::string& nothing() const { return nothing_; }

  Result<Rows> run(std::string_view statement, const Cells& arguments = {}) {
    return database_->run(statement, arguments);
  }
  /// Without its rows.
  Result<void> change(std::string_view statement, const Cells& arguments) {
    const auto done = database_->run(statement, arguments);
    if (!done) return pass(done);
    return {};
  }
  /// `work` in a transaction that others who write wait for.
  template <class Work>
  auto write(Work&& work) {
    return sql::in_transaction(*database_, Mode::write, std::forward<Work>(work));
  }

  Result<void> note(Milliseconds now, const std::string& person, const char* what) {
    const auto last = run("select coalesce(max(number), 0) from access_log");
    if (!last) return pass(last);
    const std::int64_t number = number_in(last->front(), 0) + 1;
    if (auto noted = change("insert into access_log (number, at, person, what) values ($1, $2, $3, $4)",
                            {number, std::int64_t{now.count()}, person, std::string(what)});
        !noted)
      return noted;
    return change("delete from access_log where number <= $1",
                  {number - static_cast<std::int64_t>(rules_.most_log_lines)});
  }

  [[nodiscard]] Counter peer_counter(const std::string& peer) const {
    return {"peer " + hash_of("peer", peer_as_counted(peer)), rules_.peer_tries};
  }
  /// Counts a try for each of the counters, or for none and gives how long to wait. Within `write`.
  Result<Milliseconds> count_try(const std::vector<Counter>& counters, Milliseconds now) {
    const auto long_ago = std::int64_t{(now - rules_.tries_forgotten_after).count()};
    if (auto forgotten = change("delete from access_tries where last <= $1", {long_ago}); !forgotten)
      return pass(forgotten);
    Milliseconds wait{0};
    for (const Counter& counter : counters) {
      const auto rows = run("select wrong, last from access_tries where counter = $1", {counter.name});
      if (!rows) return pass(rows);
      if (rows->empty()) continue;
      const Milliseconds until =
          time_in(rows->front(), 1) + delay(number_in(rows->front(), 0) - counter.free_tries);
      wait = std::max(wait, until - now);
    }
    if (wait > Milliseconds(0)) return std::min(wait, rules_.longest_delay);
    for (const Counter& counter : counters) {
      if (auto counted =
              change("insert into access_tries (counter, wrong, last) values ($1, 1, $2) on conflict "
                     "(counter) do update set wrong = access_tries.wrong + 1, last = $2",
                     {counter.name, std::int64_t{now.count()}});
          !counted)
        return pass(counted);
    }
    if (auto bounded = bound_counters(); !bounded) return pass(bounded);
    return Milliseconds(0);
  }

  /// Within `write`, as the next.
  Result<void> begin_anew(const Counter& counter) {
    return change("delete from access_tries where counter = $1", {counter.name});
  }
  /// A right try is not held against a counter that others have too; but that does not begin anew, or whoever
  /// has a password of their own could go on guessing at others'.
  Result<void> take_back(const Counter& counter) {
    return change("update access_tries set wrong = wrong - 1 where counter = $1 and wrong > 0",
                  {counter.name});
  }

  /// Whether that many wrong tries are where delays begin. Within `write`.
  Result<bool> is_slowed(const std::vector<Counter>& counters) {
    for (const Counter& counter : counters) {
      const auto rows = run("select wrong from access_tries where counter = $1", {counter.name});
      if (!rows) return pass(rows);
      if (!rows->empty() && number_in(rows->front(), 0) == counter.free_tries) return true;
    }
    return false;
  }

  /// Notes a wrong try and, where it was the one that delays begin with, that too. Within `write`.
  Result<void> note_wrong(const std::vector<Counter>& counters, const std::string& person, const char* what,
                          Milliseconds now) {
    if (auto noted = note(now, person, what); !noted) return noted;
    const auto slowed = is_slowed(counters);
    if (!slowed) return pass(slowed);
    return *slowed ? note(now, person, "slowed") : Result<void>{};
  }

  /// The id of the enrolled device that has this token; empty where none has.
  Result<std::string> device_of(const std::string& token) {
    if (token.empty()) return std::string();
    const auto rows = run("select id from access_device where token_hash = $1", {device_hash(token)});
    if (!rows) return pass(rows);
    return rows->empty() ? std::string() : text_in(rows->front(), 0);
  }

  /// Begins a session and ends those that are over or too many. Within `write`.
  Result<Admission> admit(const std::string& person, const std::string& device, Means means,
                          Milliseconds now) {
    if (auto swept = sweep(person, now); !swept) return pass(swept);
    Admission out;
    out.verdict = Verdict::admitted;
    out.token = random_token();
    out.session = {person, device, means, csrf_of(out.token), now, now};
    if (auto begun = change(
            "insert into access_session (token_hash, person, device, means, since, last_seen) values "
            "($1, $2, $3, $4, $5, $5)",
            {session_hash(out.token), person, device, std::string(word(means)), std::int64_t{now.count()}});
        !begun)
      return pass(begun);
    if (auto noted = note(now, person, means == Means::pin ? "pin-log-in" : "log-in"); !noted)
      return pass(noted);
    return out;
  }

  Result<std::optional<Session>> session_of(const std::string& token, Milliseconds now) {
    if (token.size() != kTokenSize) return std::optional<Session>{};
    const auto rows =
        run("select person, device, means, since, last_seen from access_session where token_hash = $1",
            {session_hash(token)});
    if (!rows) return pass(rows);
    if (rows->empty()) return std::optional<Session>{};
    const Row& row = rows->front();
    Session out{text_in(row, 0), text_in(row, 1), means_of(text_in(row, 2)),
                csrf_of(token),  time_in(row, 3), time_in(row, 4)};
    if (now >= out.last_seen + rules_.idle || now >= out.since + rules_.longest_session)
      return std::optional<Session>{};
    return out;
  }

  /// How a password is kept, by the login as it is kept.
  struct Kept {
    std::string person;  ///< empty: there is no such login
    std::string hash;
  };
  Result<Kept> password_of(const std::string& login) {
    const auto rows = run("select person, hash from access_password where login = $1", {login});
    if (!rows) return pass(rows);
    if (rows->empty()) return Kept{{}, nothing_};
    return Kept{text_in(rows->front(), 0), text_in(rows->front(), 1)};
  }

  /// What came of looking at a password.
  struct Looked {
    Verdict verdict = Verdict::wrong;
    Milliseconds wait{0};
    Kept kept;
    Counter of_login;
    Counter of_peer;
    std::string fresh_hash;  ///< where it has to be kept at today's cost
  };
  /// Counts the try, then looks, with no transaction open meanwhile: it takes long on purpose.
  Expected<Looked> look_at_password(const std::string& login, const std::string& device,
                                    const std::string& password, const std::string& peer, Milliseconds now) {
    Looked out;
    // A login has its own count at each enrolled device: who guesses at it from elsewhere keeps nobody out at
    // the bench.
    out.of_login = {"login " + hash_of("login", login) + " " + device, rules_.tries};
    out.of_peer = peer_counter(peer);
    const auto counted = write([&]() -> Result<Milliseconds> {
      auto kept = password_of(login);
      if (!kept) return pass(kept);
      out.kept = std::move(*kept);
      return count_try({out.of_login, out.of_peer}, now);
    });
    if (!counted) return for_person(counted);
    if (*counted > Milliseconds(0)) {
      out.verdict = Verdict::wait;
      out.wait = *counted;
      return out;
    }
    const auto right = fits(password, out.kept.hash);
    if (!right) return pass(right);
    if (*right && !out.kept.person.empty()) {
      out.verdict = Verdict::admitted;
      if (of_another_cost(out.kept.hash, rules_.cost)) {
        auto fresh = keep_secret(password, rules_.cost);
        if (!fresh) return pass(fresh);
        out.fresh_hash = std::move(*fresh);
      }
      return out;
    }
    const auto noted = write([&] {
      return note_wrong({out.of_login, out.of_peer}, out.kept.person, "wrong-password", now);
    });
    if (!noted) return for_person(noted);
    return out;
  }

  /// What follows from a right password. False where it has been changed since it was looked at. Within
  /// `write`.
  Result<bool> take_right_password(const Looked& looked, const std::string& login) {
    const auto now_kept = password_of(login);
    if (!now_kept) return pass(now_kept);
    if (now_kept->person != looked.kept.person || now_kept->hash != looked.kept.hash) return false;
    if (!looked.fresh_hash.empty()) {
      if (auto kept = change("update access_password set hash = $1 where person = $2",
                             {looked.fresh_hash, looked.kept.person});
          !kept)
        return pass(kept);
    }
    if (auto unlocked = change("update access_pin set wrong = 0 where person = $1", {looked.kept.person});
        !unlocked)
      return pass(unlocked);
    if (auto done = begin_anew(looked.of_login); !done) return pass(done);
    if (auto done = take_back(looked.of_peer); !done) return pass(done);
    return true;
  }

 private:
  [[nodiscard]] Milliseconds delay(std::int64_t too_many) const {
    if (too_many < 0) return Milliseconds(0);
    Milliseconds out = rules_.first_delay;
    for (; too_many > 0 && out < rules_.longest_delay; --too_many) out *= 2;
    return std::min(out, rules_.longest_delay);
  }

  Result<void> bound_counters() {
    const auto count = run("select count(*) from access_tries");
    if (!count) return pass(count);
    const std::int64_t too_many =
        number_in(count->front(), 0) - static_cast<std::int64_t>(rules_.most_counters);
    if (too_many <= 0) return {};
    return change(
        "delete from access_tries where counter in (select counter from access_tries order by last, counter "
        "limit $1)",
        {too_many});
  }

  Result<void> sweep(const std::string& person, Milliseconds now) {
    if (auto over = change("delete from access_session where last_seen <= $1 or since <= $2",
                           {std::int64_t{(now - rules_.idle).count()},
                            std::int64_t{(now - rules_.longest_session).count()}});
        !over)
      return over;
    const auto rows = run(
        "select token_hash from access_session where person = $1 order by since desc, token_hash", {person});
    if (!rows) return pass(rows);
    // One more is about to begin.
    for (std::size_t n = std::max<std::size_t>(rules_.most_sessions, 1) - 1; n < rows->size(); ++n) {
      if (auto ended = change("delete from access_session where token_hash = $1", {text_in((*rows)[n], 0)});
          !ended)
        return ended;
    }
    return {};
  }

  std::unique_ptr<sql::Database> database_;
  Rules rules_;
  std::string nothing_;
};

Accounts::Accounts(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
Accounts::~Accounts() = default;

Expected<std::unique_ptr<Accounts>> Accounts::open(const sql::Address& address, const Rules& rules,
                                                   const sql::Opening& opening) {
  if (sodium_init() < 0)
    return fail(Fault::file, "this machine gives no random numbers", "a system that libsodium runs on");
  auto database = sql::open(address, opening);
  if (!database) return for_person(database);
  if (const auto there = (*database)->run("select count(*) from access_session"); !there) {
    if (there.error().trouble != sql::Trouble::statement) return for_person(there);
    return fail(Fault::version, "this book has no accounts yet",
                "to open it once for writing with this program", Place{address.shown(), {}, 0, 0});
  }
  return std::unique_ptr<Accounts>(new Accounts(std::make_unique<Inside>(std::move(*database), rules)));
}

Expected<void> Accounts::set_password(const std::string& person, const std::string& login,
                                      const std::string& password, Milliseconds now,
                                      const std::string& keep) {
  if (person.empty()) return fail(Fault::content, "nobody is named", "the id of a person");
  if (auto right = check_login(login); !right) return right;
  const std::string name = login_as_kept(login);
  if (auto right = check_password(password, name, inside_->rules()); !right) return right;
  const auto hash = keep_secret(password, inside_->rules().cost);
  if (!hash) return pass(hash);
  bool taken = false;
  const auto done = inside_->write([&]() -> Result<void> {
    const auto other =
        inside_->run("select person from access_password where login = $1 and person <> $2", {name, person});
    if (!other) return pass(other);
    taken = !other->empty();
    if (taken) return {};
    if (auto kept = inside_->change(
            "insert into access_password (person, login, hash) values ($1, $2, $3) on conflict "
            "(person) do update set login = $2, hash = $3",
            {person, name, *hash});
        !kept)
      return kept;
    if (auto ended = inside_->change("delete from access_session where person = $1 and token_hash <> $2",
                                     {person, session_hash(keep)});
        !ended)
      return ended;
    return inside_->note(now, person, "password-set");
  });
  if (!done) return for_person(done);
  if (taken) return fail(Fault::content, "somebody else logs in with this name", "another name");
  return {};
}

Expected<void> Accounts::set_pin(const std::string& person, const std::string& pin, Milliseconds now) {
  if (person.empty()) return fail(Fault::content, "nobody is named", "the id of a person");
  if (auto right = check_pin(pin); !right) return right;
  const auto hash = keep_secret(pin, inside_->rules().cost);
  if (!hash) return pass(hash);
  const auto done = inside_->write([&]() -> Result<void> {
    if (auto kept =
            inside_->change("insert into access_pin (person, hash, wrong) values ($1, $2, 0) on conflict "
                            "(person) do update set hash = $2, wrong = 0",
                            {person, *hash});
        !kept)
      return kept;
    return inside_->note(now, person, "pin-set");
  });
  if (!done) return for_person(done);
  return {};
}

Expected<void> Accounts::remove(const std::string& person, Milliseconds now) {
  const auto done = inside_->write([&]() -> Result<void> {
    for (const char* table : {"access_password", "access_pin", "access_session"}) {
      if (auto gone = inside_->change(fmt::format("delete from {} where person = $1", table), {person});
          !gone)
        return gone;
    }
    return inside_->note(now, person, "removed");
  });
  if (!done) return for_person(done);
  return {};
}

Expected<std::vector<Account>> Accounts::accounts() {
  const auto rows = inside_->run(
      "select k.person, coalesce(p.login, ''), coalesce(n.wrong, -1) from (select person from "
      "access_password union "
      "select person from access_pin) k left join access_password p on p.person = k.person left join "
      "access_pin n on "
      "n.person = k.person order by k.person");
  if (!rows) return for_person(rows);
  std::vector<Account> out;
  for (const Row& row : *rows) {
    const std::int64_t wrong = number_in(row, 2);
    out.push_back({text_in(row, 0), text_in(row, 1), wrong >= 0, wrong >= inside_->rules().pin_tries});
  }
  return out;
}

Expected<Admission> Accounts::by_password(const PasswordTry& attempt, Milliseconds now) {
  const std::string login = login_as_kept(attempt.login);
  const auto device = inside_->device_of(attempt.device_token);
  if (!device) return for_person(device);
  const auto looked = inside_->look_at_password(login, *device, attempt.password, attempt.peer, now);
  if (!looked) return pass(looked);
  Admission refused;
  refused.verdict = looked->verdict;
  refused.wait = looked->wait;
  if (looked->verdict != Verdict::admitted) return refused;
  const auto admitted = inside_->write([&]() -> Result<Admission> {
    const auto right = inside_->take_right_password(*looked, login);
    if (!right) return pass(right);
    if (!*right) return Admission{};
    // It may have been withdrawn meanwhile.
    const auto still = inside_->device_of(attempt.device_token);
    if (!still) return pass(still);
    return inside_->admit(looked->kept.person, *still, Means::password, now);
  });
  if (!admitted) return for_person(admitted);
  return *admitted;
}

Expected<Verdict> Accounts::confirm(const std::string& token, const std::string& password,
                                    const std::string& peer, Milliseconds now) {
  const auto session = inside_->session_of(token, now);
  if (!session) return for_person(session);
  if (!*session) return Verdict::wrong;
  const auto rows = inside_->run("select login from access_password where person = $1", {(*session)->person});
  if (!rows) return for_person(rows);
  if (rows->empty()) return Verdict::wrong;
  const std::string login = text_in(rows->front(), 0);
  const auto looked = inside_->look_at_password(login, (*session)->device, password, peer, now);
  if (!looked) return pass(looked);
  if (looked->verdict != Verdict::admitted) return looked->verdict;
  const auto right = inside_->write([&] { return inside_->take_right_password(*looked, login); });
  if (!right) return for_person(right);
  return *right ? Verdict::admitted : Verdict::wrong;
}

Expected<Admission> Accounts::by_pin(const PinTry& attempt, Milliseconds now) {
  Admission out;
  const Rules& rules = inside_->rules();
  const auto device = inside_->device_of(attempt.device_token);
  if (!device) return for_person(device);
  if (device->empty()) {
    out.verdict = Verdict::not_enrolled;
    return out;
  }
  const std::vector<Counter> counters{{"device " + *device, rules.peer_tries},
                                      inside_->peer_counter(attempt.peer)};
  std::string hash;
  std::int64_t wrong = 0;  // with this try, should it be
  const auto counted = inside_->write([&]() -> Result<void> {
    out = {};
    hash = inside_->nothing();
    wrong = 0;
    const auto rows = inside_->run("select hash, wrong from access_pin where person = $1", {attempt.person});
    if (!rows) return pass(rows);
    if (!rows->empty() && number_in(rows->front(), 1) >= rules.pin_tries) {
      out.verdict = Verdict::pin_locked;
      return {};
    }
    const auto wait = inside_->count_try(counters, now);
    if (!wait) return pass(wait);
    if (*wait > Milliseconds(0)) {
      out.verdict = Verdict::wait;
      out.wait = *wait;
      return {};
    }
    if (rows->empty()) return {};
    hash = text_in(rows->front(), 0);
    wrong = number_in(rows->front(), 1) + 1;
    return inside_->change("update access_pin set wrong = $1 where person = $2", {wrong, attempt.person});
  });
  if (!counted) return for_person(counted);
  if (out.verdict != Verdict::wrong) return out;

  const auto right = fits(attempt.pin, hash);
  if (!right) return pass(right);
  const bool known = wrong > 0;
  if (!*right || !known) {
    const auto noted = inside_->write([&]() -> Result<void> {
      const std::string person = known ? attempt.person : std::string();
      if (auto done = inside_->note_wrong(counters, person, "wrong-pin", now); !done) return done;
      return known && wrong >= rules.pin_tries ? inside_->note(now, person, "pin-locked") : Result<void>{};
    });
    if (!noted) return for_person(noted);
    return out;
  }
  std::string fresh = hash;
  if (of_another_cost(hash, rules.cost)) {
    auto kept = keep_secret(attempt.pin, rules.cost);
    if (!kept) return pass(kept);
    fresh = std::move(*kept);
  }
  const auto admitted = inside_->write([&]() -> Result<Admission> {
    // Withdrawn, changed or removed while it was looked at: then it opens nothing.
    const auto still = inside_->device_of(attempt.device_token);
    if (!still) return pass(still);
    const auto rows =
        inside_->run("select 1 from access_pin where person = $1 and hash = $2", {attempt.person, hash});
    if (!rows) return pass(rows);
    Admission refused;
    if (rows->empty()) return refused;
    // Right it was in any case, and counts for none of the wrong ones.
    if (auto done = inside_->change("update access_pin set wrong = 0, hash = $1 where person = $2",
                                    {fresh, attempt.person});
        !done)
      return pass(done);
    for (const Counter& counter : counters) {
      if (auto done = inside_->take_back(counter); !done) return pass(done);
    }
    if (still->empty()) {
      refused.verdict = Verdict::not_enrolled;
      return refused;
    }
    return inside_->admit(attempt.person, *still, Means::pin, now);
  });
  if (!admitted) return for_person(admitted);
  return *admitted;
}

Expected<Enrolled> Accounts::enrol(const std::string& name, const std::string& by, Milliseconds now) {
  if (auto right = check_name(name); !right) return pass(right);
  constexpr std::size_t kIdBytes = 16;
  const Enrolled out{{random_hex(kIdBytes), name, by, now}, random_token()};
  const auto done = inside_->write([&]() -> Result<void> {
    if (auto kept = inside_->change(
            "insert into access_device (id, token_hash, name, enrolled_by, since) values ($1, $2, "
            "$3, $4, $5)",
            {out.device.id, device_hash(out.token), name, by, std::int64_t{now.count()}});
        !kept)
      return kept;
    return inside_->note(now, by, "enrolled");
  });
  if (!done) return for_person(done);
  return out;
}

namespace {

Device device_in(const Row& row) {
  return {text_in(row, 0), text_in(row, 1), text_in(row, 2), time_in(row, 3)};
}

}  // namespace

Expected<std::vector<Device>> Accounts::devices() {
  const auto rows = inside_->run("select id, name, enrolled_by, since from access_device order by since, id");
  if (!rows) return for_person(rows);
  std::vector<Device> out;
  for (const Row& row : *rows) out.push_back(device_in(row));
  return out;
}

Expected<std::optional<Device>> Accounts::device(const std::string& token) {
  if (token.size() != kTokenSize) return std::optional<Device>{};
  const auto rows = inside_->run(
      "select id, name, enrolled_by, since from access_device where token_hash = $1", {device_hash(token)});
  if (!rows) return for_person(rows);
  if (rows->empty()) return std::optional<Device>{};
  return device_in(rows->front());
}

Expected<void> Accounts::withdraw(const std::string& device, const std::string& by, Milliseconds now) {
  bool found = false;
  const auto done = inside_->write([&]() -> Result<void> {
    if (auto gone = inside_->change("delete from access_device where id = $1", {device}); !gone) return gone;
    found = inside_->database().changed() == 1;
    if (!found) return {};
    if (auto ended = inside_->change("delete from access_session where device = $1", {device}); !ended)
      return ended;
    return inside_->note(now, by, "withdrawn");
  });
  if (!done) return for_person(done);
  if (!found) return fail(Fault::not_found, "there is no such device", "the id of an enrolled one");
  return {};
}

Expected<std::optional<Session>> Accounts::session(const std::string& token, Milliseconds now) {
  auto out = inside_->session_of(token, now);
  if (!out) return for_person(out);
  if (*out && now - (*out)->last_seen >= inside_->rules().renewed_every) {
    // Of several at once the latest stays.
    const auto renewed =
        inside_->change("update access_session set last_seen = $1 where token_hash = $2 and last_seen < $1",
                        {std::int64_t{now.count()}, session_hash(token)});
    if (!renewed) return for_person(renewed);
    (*out)->last_seen = now;
  }
  return std::move(*out);
}

Expected<void> Accounts::end(const std::string& token, Milliseconds now) {
  const auto done = inside_->write([&]() -> Result<void> {
    const auto rows =
        inside_->run("select person from access_session where token_hash = $1", {session_hash(token)});
    if (!rows) return pass(rows);
    if (rows->empty()) return {};
    if (auto ended =
            inside_->change("delete from access_session where token_hash = $1", {session_hash(token)});
        !ended)
      return ended;
    return inside_->note(now, text_in(rows->front(), 0), "log-out");
  });
  if (!done) return for_person(done);
  return {};
}

Expected<void> Accounts::end_all(const std::string& person, Milliseconds now) {
  const auto done = inside_->write([&]() -> Result<void> {
    if (auto ended = inside_->change("delete from access_session where person = $1", {person}); !ended)
      return ended;
    return inside_->note(now, person, "all-ended");
  });
  if (!done) return for_person(done);
  return {};
}

Expected<std::vector<LogLine>> Accounts::log(std::size_t most) {
  const auto rows = inside_->run("select at, person, what from access_log order by number desc limit $1",
                                 {static_cast<std::int64_t>(most)});
  if (!rows) return for_person(rows);
  std::vector<LogLine> out;
  for (const Row& row : *rows) out.push_back({time_in(row, 0), text_in(row, 1), text_in(row, 2)});
  return out;
}

}  // namespace hingeline::access

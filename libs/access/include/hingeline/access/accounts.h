#pragma once
/// \file
/// Who may come in: passwords, PINs, enrolled devices, sessions. They stand in the same database as the
/// shop's book, in tables of their own (`access_...`), which the book makes when it is opened for writing.
///
/// Passwords and PINs are kept as Argon2id strings; of tokens only a hash (BLAKE2b, 256 bits) is kept. Who
/// reads the database, or a copy of it, has no session and no device. A PIN is too short to stand that alone:
/// it opens nothing without the token of an enrolled device, which is not in there.
///
/// Tries are counted before a password or PIN is looked at, in the database, so any number of server
/// processes and of tries at once cannot guess more often than one after the other could.
///
/// What a person may do is not known here (it stands in the person's slip), nor whether a person still works
/// in the shop: whoever sees that somebody has gone calls `remove`.
///
/// Nothing here asks a clock. `now` is the time since 1970-01-01T00:00:00Z.

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/access/secrets.h"
#include "hingeline/base/error.h"
#include "hingeline/sql/database.h"

namespace hingeline::access {

using Milliseconds = std::chrono::milliseconds;

/// What a guess costs. RFC 9106, section 4, second recommended option: three passes over 64 MiB; its four
/// lanes are one in libsodium.
struct Cost {
  std::uint64_t passes = 3;         ///< from 1
  std::size_t memory = 64U << 20U;  ///< bytes, from 8 KiB; taken for every password looked at at a time
};

struct Rules {
  Cost cost;
  /// NIST SP 800-63B, 5.1.1.2 (from memory): at least 8 characters, at least 64 allowed, no rule on which.
  std::size_t shortest_password = 10;  ///< characters (code points)
  std::size_t longest_password = 128;

  int tries = 5;        ///< wrong passwords of a login before the first delay
  int peer_tries = 20;  ///< wrong tries from an address, or at a device, before the first delay
  Milliseconds first_delay{std::chrono::seconds(2)};  ///< doubles with every further wrong try
  Milliseconds longest_delay{std::chrono::minutes(15)};
  Milliseconds tries_forgotten_after{std::chrono::hours(24)};  ///< after the last one
  int pin_tries = 5;  ///< wrong PINs in a row, on all devices, before it is locked

  Milliseconds idle{std::chrono::hours(12)};  ///< a session ends when it was not used for so long
  Milliseconds longest_session{std::chrono::hours(24 * 14)};
  Milliseconds renewed_every{std::chrono::minutes(1)};  ///< `last_seen` is written no oftener
  std::size_t most_sessions = 32;                       ///< of a person; the one begun first then ends

  std::size_t most_counters = 20'000;  ///< logins and addresses under count; those tried longest ago go first
  std::size_t most_log_lines = 10'000;
};

/// How somebody came in.
enum class Means { password, pin };

struct Session {
  std::string person;
  std::string device;  ///< id; empty: none that is enrolled
  Means means = Means::password;
  /// To be sent along with whatever changes something. Follows from the token and is kept nowhere.
  std::string csrf;
  Milliseconds since{0};
  Milliseconds last_seen{0};
};

enum class Verdict {
  admitted,
  wrong,        ///< login, password, person or PIN: which is not told
  wait,         ///< too many wrong tries: this one was not looked at
  pin_locked,   ///< until the person comes in by password
  not_enrolled  ///< a PIN on a device that is not, or no longer, enrolled
};
/// "admitted", "wrong", "wait", "pin-locked", "not-enrolled".
const char* word(Verdict verdict);

struct Admission {
  Verdict verdict = Verdict::wrong;
  Milliseconds wait{0};  ///< with Verdict::wait: not sooner than in so long
  std::string token;     ///< of the new session; this is the only time it is told
  Session session;
};

struct PasswordTry {
  std::string login;
  std::string password;
  std::string peer;  ///< address it comes from, IPv4 or IPv6 as text (the latter counts by its first 64 bits)
  std::string device_token;  ///< empty: none; one that is not enrolled counts as none
};
struct PinTry {
  std::string person;
  std::string pin;
  std::string peer;
  std::string device_token;
};

struct Device {
  std::string id;
  std::string name;
  std::string by;  ///< person who enrolled it
  Milliseconds since{0};
};
struct Enrolled {
  Device device;
  std::string token;  ///< to be kept on the device; this is the only time it is told
};

/// Who has something to come in by.
struct Account {
  std::string person;
  std::string login;  ///< empty: no password
  bool pin = false;
  bool pin_locked = false;
};

struct LogLine {
  Milliseconds at{0};
  std::string person;  ///< whom it was about; empty where no such login is known, and for devices who did it
  std::string
      what;  ///< "log-in", "pin-log-in", "wrong-password", "wrong-pin", "slowed", "pin-locked",
             ///< "password-set", "pin-set", "removed", "enrolled", "withdrawn", "log-out", "all-ended"
};

/// One connection, used by one thread at a time. Faults are the database's (Fault::file) where nothing else
/// is said.
class Accounts {
 public:
  /// Fault::version where the book has no such tables yet: it has to be opened once for writing.
  static Expected<std::unique_ptr<Accounts>> open(const sql::Address& address, const Rules& rules = {},
                                                  const sql::Opening& opening = {});
  ~Accounts();
  Accounts(const Accounts&) = delete;
  Accounts& operator=(const Accounts&) = delete;

  /// Sets or changes it, and the name to log in with: 1 to 64 characters without blanks at the ends, capitals
  /// A to Z as small letters. All sessions of the person end but that of `keep` (a token; may be empty).
  /// Fault::content for a name that another has, or a password that is too short, too long, or easily
  /// guessed.
  Expected<void> set_password(const std::string& person, const std::string& login,
                              const std::string& password, Milliseconds now, const std::string& keep = {});
  /// 4 to 8 digits. Fault::content for others, and for one digit repeated or a run.
  Expected<void> set_pin(const std::string& person, const std::string& pin, Milliseconds now);
  /// Nothing opens for this person any more.
  Expected<void> remove(const std::string& person, Milliseconds now);
  /// Ascending by person.
  Expected<std::vector<Account>> accounts();

  /// A right one begins a session, unlocks the PIN, and is kept at today's cost.
  Expected<Admission> by_password(const PasswordTry& attempt, Milliseconds now);
  Expected<Admission> by_pin(const PinTry& attempt, Milliseconds now);
  /// Whether this is the password of a session's own person, for what is asked for once more. Counts as a
  /// try; a right one begins no session.
  Expected<Verdict> confirm(const std::string& token, const std::string& password, const std::string& peer,
                            Milliseconds now);

  /// `name`: 1 to 80 characters, for people. Fault::content for another.
  Expected<Enrolled> enrol(const std::string& name, const std::string& by, Milliseconds now);
  /// In the order they were enrolled.
  Expected<std::vector<Device>> devices();
  /// Nothing where its token is not that of an enrolled device.
  Expected<std::optional<Device>> device(const std::string& token);
  /// Ends its sessions too. Fault::not_found where there is no such device.
  Expected<void> withdraw(const std::string& device, const std::string& by, Milliseconds now);

  /// Nothing for a token that is none, has ended or expired: a session counts while now < last_seen + idle
  /// and now < since + longest_session.
  Expected<std::optional<Session>> session(const std::string& token, Milliseconds now);
  Expected<void> end(const std::string& token, Milliseconds now);
  Expected<void> end_all(const std::string& person, Milliseconds now);

  /// Last first.
  Expected<std::vector<LogLine>> log(std::size_t most = 100);

 private:
  class Inside;
  explicit Accounts(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace hingeline::access

#pragma once
/// \file
/// A shop's book: every slip it ever wrote, in one SQLite file or one PostgreSQL database, with what is found
/// by search and in lists kept up to date beside them.
///
/// Slips come in any order and as often as anybody sends them: each counts once, one that names what is not
/// there yet waits for it, and the book says the same in the end whatever the order was. What is acknowledged
/// outlasts a power cut.

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/record/slip.h"
#include "hingeline/sql/database.h"

namespace hingeline::store {

/// What became of a slip that was sent.
enum class Outcome {
  written,
  already,  ///< it was there, word for word
  waiting,  ///< kept; it counts as soon as what it names is there
  refused
};
const char* word(Outcome outcome);

/// Why a slip can never be taken as it is.
enum class Refusal {
  none,
  other_words,  ///< another slip has its id
  wrong_kind,   ///< what it names is of another kind, or belongs elsewhere
  overtaken     ///< what it replaces has been replaced by another meanwhile (only where that was asked)
};

struct Written {
  Outcome outcome = Outcome::written;
  Refusal refusal = Refusal::none;
  std::string id;           ///< of the slip
  std::string thing;        ///< what it is about; empty where not written
  std::int64_t number = 0;  ///< its place in the book; 0 where not written
  std::string what;         ///< of a refusal, as a sentence
  std::string expected;     ///< what would be right
};

struct Writing {
  bool all_or_none = false;      ///< one refusal, and nothing of the batch is written
  bool must_be_current = false;  ///< refuse to replace what another has replaced meanwhile
  /// What the writer has seen of one key of a visit.
  struct About {
    std::string of;
    std::string key;
    std::int64_t seen = 0;  ///< newest_about() then
  };
  /// Refuse all of it (Refusal::overtaken) when something newer stands there; what is there already, word for
  /// word, is as always.
  std::optional<About> unless_about{};
};

/// A slip with its place in the book.
struct Kept {
  std::int64_t number = 0;
  std::string thing;  ///< id of its first slip
  record::Slip slip;
};

/// A thing as it is now.
struct Thing {
  std::string id;
  Kept now;             ///< its last slip
  int versions = 1;     ///< slips of it
  bool parted = false;  ///< two replaced the same slip without knowing of one another; the later id counts
};

/// Which visits are wanted; what is left out does not narrow.
struct VisitQuery {
  std::string words;         ///< each must begin a word of the visit, its instrument, owner or keys
  bool owners_words = true;  ///< false: words of owners, and of notes on them, find nothing
  std::vector<record::VisitState> states;  ///< empty: any
  std::string promised_from;               ///< day, inclusive
  std::string promised_to;
  std::string owner;       ///< id of a thing
  std::string instrument;  ///< the same
  std::size_t most = 100;
  std::size_t from = 0;  ///< skips so many
};
/// A line of a list of visits.
struct VisitLine {
  std::string visit;
  std::string instrument;
  std::string owner;  ///< empty: none
  record::VisitState state = record::VisitState::waiting;
  std::string came;
  std::string promised;
  std::string title;
  std::string serial;
  std::string owner_name;
  std::string complaint;
  friend bool operator==(const VisitLine&, const VisitLine&) = default;
};

/// Most bytes of one photo.
inline constexpr std::size_t kMostBytesOfOne = 64U << 20U;

struct Counts {
  std::int64_t slips = 0;
  std::int64_t waiting = 0;
  std::int64_t things = 0;
  std::int64_t last_number = 0;
};

/// One connection to the book, used by one thread at a time. Several, of several programs, may be open at
/// once.
class Book {
 public:
  /// Opens it; makes it where there is none. An older form is brought forward to form N, a copy kept first
  /// in the file "PATH.before-N" or, on PostgreSQL, in the schema "before_N". Fault::version for one written
  /// by a newer program, Fault::file where it cannot be opened or is damaged, or is only to be read and not
  /// there.
  static Expected<std::unique_ptr<Book>> open(const sql::Address& address, const sql::Opening& opening = {});

  /// In the order given, in one transaction. Faults are the database's; refusals are in the result.
  Expected<std::vector<Written>> write(const std::vector<record::Slip>& slips, const Writing& writing = {});

  /// Nothing where there is none.
  Expected<std::optional<Thing>> thing(const std::string& id);
  /// All slips of a thing, first to last written.
  Expected<std::vector<Kept>> history(const std::string& thing);
  /// Things that belong to another and still count, ascending by id; `kind` and `key` narrow.
  Expected<std::vector<Thing>> belonging(const std::string& of, std::optional<record::SlipKind> kind = {},
                                         const std::string& key = {});
  /// Number of the newest slip of all that belongs to `of` and is about `key`; 0: there is none.
  Expected<std::int64_t> newest_about(const std::string& of, const std::string& key);
  /// All things of a kind that still count, ascending by id.
  Expected<std::vector<Thing>> all_of(record::SlipKind kind, std::size_t most = 1000,
                                      const std::string& after = {});
  /// Promised first, then those without a promise; each by id.
  Expected<std::vector<VisitLine>> visits(const VisitQuery& query);

  /// Slips after that place in the book, in its order.
  Expected<std::vector<Kept>> after(std::int64_t number, std::size_t most = 1000);
  /// Waits until something was written by anyone since the last call, at most so long.
  Expected<bool> wait_for_news(std::chrono::milliseconds at_most);
  Expected<Counts> counts();
  /// Number of the newest slip; 0: there is none. Quick, however many there are.
  Expected<std::int64_t> last_number();

  /// Takes a person's words out of every slip of an owner, and of every note on one; the slips stay, and what
  /// hangs on them. What a bench that was away brings later of the same slips' things comes in without words.
  /// Fault::not_found where there is no such owner.
  Expected<void> forget_owner(const std::string& owner);

  /// Bytes of photos and the like, by their SHA-256. Written once. Fault::content where that is not the sum
  /// of the bytes, or they are more than kMostBytesOfOne.
  Expected<void> keep_bytes(const std::string& sha256, const sql::Bytes& bytes);
  Expected<std::optional<sql::Bytes>> bytes_of(const std::string& sha256);

  /// Whether the database is sound and what is kept beside the slips follows from them.
  Expected<void> check();
  /// A sound copy in a new file, while others write (SQLite).
  Expected<void> copy_to(const std::string& path);

 private:
  friend struct Inside;
  explicit Book(std::unique_ptr<sql::Database> database);
  std::unique_ptr<sql::Database> database_;
};

/// Newest form of the database.
int newest_form();

}  // namespace hingeline::store

#pragma once
/// \file
/// What a shop asks of its book: slips written and read, an instrument worked out, a key led, papers in and
/// out. Text goes in and comes out, mostly JSON; who asks is said each time. Nothing here knows of HTTP.
///
/// Any thread; each call has a connection to the book for itself while it needs one.

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/desk/rights.h"
#include "hingeline/desk/trouble.h"
#include "hingeline/store/book.h"

namespace hingeline::desk {

struct DeskRules {
  std::size_t connections = 4;    ///< to the book; more callers than that wait for one another
  std::size_t kept_results = 32;  ///< instruments worked out and keys led that are kept for the next question
  unsigned threads = 1;           ///< for one instrument
  std::size_t photo_bytes = 12U << 20U;
  /// The clock: milliseconds since 1970. None: the machine's.
  std::function<std::int64_t()> milliseconds;
};

/// What can be worked out of an instrument.
enum class Question { fit, causes, leak, bow, season, stack, action, regulate, wear, budget };
inline constexpr std::array kQuestions{
    Question::fit,   Question::causes, Question::leak,     Question::bow,  Question::season,
    Question::stack, Question::action, Question::regulate, Question::wear, Question::budget};
/// "fit", "causes", ...
const char* word(Question question);

/// How it is asked. What a question has no use for is left alone.
struct Asking {
  std::string key;      ///< id in the instrument document; empty: all keys
  std::string unit;     ///< "mm", "in"; empty: the document's
  std::string service;  ///< season: a service range of the shop's; empty: the document's
  std::string minutes;  ///< budget: as typed; empty: the document's
  std::string money;
  bool quick = false;  ///< budget: keys without readings by their look
  bool inputs = true;  ///< false: figures without the numbers they rest on, for a page that shows many
};

/// A photo as it is kept.
struct Picture {
  std::string type;  ///< "image/jpeg", ...
  std::string sha256;
  sql::Bytes bytes;
};

/// How a paper is asked for, as typed.
struct PaperWanted {
  std::string kind;      ///< "card", "quote", "report", "lesson", "readings", "drawings", "tag"
  std::string key;       ///< id in the instrument document; empty: all
  std::string language;  ///< "en", "de"; empty: "en"
  std::string sheet;     ///< "a4", "letter"; empty: the shop's
  std::string unit;      ///< "mm", "in"; empty: the document's
  std::string day;       ///< that stands on it; empty: today
  std::string scale;     ///< drawings: 1 for 1:1, 10 for 10:1; empty: the largest that fits
  std::string minutes;   ///< quote: as typed; empty: the document's
  std::string money;
  bool quick = false;    ///< quote: keys without readings by their look
  bool answers = false;  ///< lesson: with them
};
/// A paper as a PDF file.
struct PaperMade {
  std::string name;  ///< for the file
  std::string bytes;
  std::size_t pages = 0;
  std::size_t visits = 0;           ///< it was made of
  std::vector<std::string> failed;  ///< visits it could not be made of, each with why
};
/// How far a long list is; false: it is not wanted any longer.
using Pace = std::function<bool(std::size_t done, std::size_t all)>;

/// A slip for whoever listens, and from which right on it may be seen.
struct News {
  std::int64_t number = 0;
  Right right = Right::look;
  std::string json;  ///< on one line
};

/// Takes a piece of a long text; false: it is not wanted any longer.
using Sink = std::function<bool(std::string_view)>;

class Desk {
 public:
  class Inside;  ///< the desk's own
  /// Opens the book, or makes it.
  static Expected<std::unique_ptr<Desk>> open(const sql::Address& address, DeskRules rules = {});
  ~Desk();
  Desk(const Desk&) = delete;
  Desk& operator=(const Desk&) = delete;

  // ---- slips
  // -----------------------------------------------------------------------------------------------
  /// {"slips": [...], "all_or_none": bool, "must_be_current": bool} → {"outcomes": [...]}. Nothing is written
  /// when one is malformed, when one may not be written by who asks, or when a document that could be put
  /// together before could not be any more.
  Answer<std::string> write(const Who& who, std::string_view json);
  /// {"thing", "number", "versions", "parted", "slip"}
  Answer<std::string> thing(const Who& who, const std::string& id);
  /// {"slips": [...]}, first to last
  Answer<std::string> history(const Who& who, const std::string& id);
  /// {"things": [...]}; `kind` and `key` empty: all
  Answer<std::string> belonging(const Who& who, const std::string& of, const std::string& kind,
                                const std::string& key);
  /// {"things": [...]} of a kind, after that id
  Answer<std::string> all_of(const Who& who, const std::string& kind, const std::string& after,
                             std::size_t most);
  /// {"visits": [...]}
  Answer<std::string> visits(const Who& who, store::VisitQuery query);
  /// A visit with all that belongs to it, its instrument, keys and owner.
  Answer<std::string> visit(const Who& who, const std::string& id);
  /// What there still is to read: {"visits": [{"visit", "keys", "read"}]} of all that are not proved, handed
  /// back or called off; a key is read once its end play is.
  Answer<std::string> to_read(const Who& who);
  /// {"slips", "waiting", "things", "last_number"}
  Answer<std::string> counts(const Who& who);
  /// The same for the program itself.
  Answer<store::Counts> figures();
  /// Whether the book answers.
  Answer<void> answers();
  /// Slips after that number, at most so many; for one listener who then gives them to many.
  Answer<std::vector<News>> news(std::int64_t after, std::size_t most);

  // ---- documents
  // -------------------------------------------------------------------------------------------
  /// {"id", "owner", "day", "complaint", "promised", "document"} → {"instrument", "visit", "outcomes"}. The
  /// slips' ids follow from "id": sent twice, it counts once.
  Answer<std::string> take_in(const Who& who, std::string_view json);
  /// The instrument document of a visit.
  Answer<std::string> document(const Who& who, const std::string& visit);
  /// The shop document; the general one where the book has none.
  Answer<std::string> shop(const Who& who);
  /// {"as_of", "time_zone", "paper"}: what a page has to know before it shows anything. "as_of": the number
  /// of the last slip, from which on its news are; the shop's words are empty where it does not say.
  Answer<std::string> beginning(const Who& who);
  /// {"id", "document"} → {"outcomes"}: takes the place of what was there.
  Answer<std::string> put_shop(const Who& who, std::string_view json);
  /// {"settings": [{"at", "meaning", "limits", "value", "general", "origin"}]}: what the shop document can
  /// say.
  Answer<std::string> settings(const Who& who);
  /// {"id", "at", "value"}; value null: as the shop document has it.
  Answer<std::string> set(const Who& who, std::string_view json);

  // ---- working out
  // -----------------------------------------------------------------------------------------
  Answer<std::string> ask(const Who& who, const std::string& visit, Question question, const Asking& asking);
  /// One figure of one key explained.
  Answer<std::string> why(const Who& who, const std::string& visit, const std::string& key,
                          const std::string& figure, const std::string& unit);
  /// "section" or "strip", as SVG.
  Answer<std::string> drawing(const Who& who, const std::string& visit, const std::string& key,
                              const std::string& picture, const std::string& unit);
  /// Where a key stands: causes, what to do next, what was done. `key`: id in the document.
  Answer<std::string> led(const Who& who, const std::string& visit, const std::string& key,
                          const std::string& unit);
  /// Where all keys stand, shorter: {"keys": [{"key", "told", "finished", "cause", "share", "next",
  /// "before_cut"}]}; keys that cannot be worked out are not among them. Those that nobody has told anything
  /// of are not led for it: causes as of Question::causes.
  Answer<std::string> standing(const Who& who, const std::string& visit);
  /// {"id", "typed", "seen"}: a line as typed at the bench, and the "as_of" it was an answer to. Overtaken
  /// when somebody else has told something of this key since.
  Answer<std::string> tell(const Who& who, const std::string& visit, const std::string& key,
                           const std::string& unit, std::string_view json);
  /// What the shop's finished visits teach, against its presets.
  Answer<std::string> learned(const Who& who, const std::string& unit);
  /// Which sizes of cutters, reamers and rods serve what this shop's instruments and finished visits met.
  Answer<std::string> outfit(const Who& who);
  /// {"document", "now"} → {"document", "state"}: an endurance rig as it stands at that moment (ISO 8601 with
  /// offset, as all its times are shown). With {"act": {"do": "start", "pause", "rate" or "inspect", ...}}
  /// what is done there is one more line of the document first. Nothing is kept here: the document has it
  /// all.
  Answer<std::string> rig(const Who& who, std::string_view json);
  /// {"seed", "kind", "acts", "show"} → a pupil's bench with a hidden key, after all that was done there:
  /// found anew each time, nothing is kept (practice/practice.h). "show": "hint" or "truth" besides.
  Answer<std::string> practise(const Who& who, std::string_view json);

  // ---- papers
  // ----------------------------------------------------------------------------------------------
  /// One visit's paper.
  Answer<PaperMade> paper(const Who& who, const std::string& visit, const PaperWanted& wanted);
  /// The same of every visit that is asked for, in their order, in one file; a visit it cannot be made of is
  /// named and left out. Kind::not_found where no visit is.
  Answer<PaperMade> papers(const Who& who, store::VisitQuery query, const PaperWanted& wanted,
                           const Pace& pace = {});
  /// {"visits", "left_out", "quoted", "actual", "ratio", ..., "advice"}: agreed quotes held against the
  /// minutes that were written down, of all visits.
  Answer<std::string> quoted(const Who& who);
  /// The same as a paper; of what is wanted, language, sheet and day.
  Answer<PaperMade> quoted_paper(const Who& who, const PaperWanted& wanted);

  // ---- photos
  // ----------------------------------------------------------------------------------------------
  /// Cleans and keeps it, and writes its slip. `of`: a visit, instrument or owner.
  Answer<std::string> add_photo(const Who& who, const std::string& id, const std::string& of,
                                const std::string& key, const std::string& caption, std::string_view bytes);
  Answer<Picture> photo(const Who& who, const std::string& thing);

  // ---- owners
  // ----------------------------------------------------------------------------------------------
  /// All the book has of an owner, for them to take along.
  Answer<std::string> owner_all(const Who& who, const std::string& owner);
  /// {"id"}: takes the person's words out for good; the bench's figures stay, and a note with that id says
  /// who did it.
  Answer<std::string> forget_owner(const Who& who, const std::string& owner, std::string_view json);

  // ---- lists for other programs
  // ----------------------------------------------------------------------------
  /// docs/formats/csv.md: a header, then a row for each slip after that place in the book, at most so many.
  /// Gives the place to go on from; 0: there are no more.
  Answer<std::int64_t> readings_csv(const Who& who, std::int64_t after, std::size_t most, const Sink& sink);
  Answer<std::int64_t> jobs_csv(const Who& who, std::int64_t after, std::size_t most, const Sink& sink);

  /// A person's role and name; Kind::not_found where there is no such person, or they have gone.
  Answer<record::PersonSlip> person(const std::string& id);
  /// Things of people who work here, ascending by id.
  Answer<std::vector<store::Thing>> people();

  /// A connection for who listens to the book (one thread), and its fault where there is none.
  Expected<std::unique_ptr<store::Book>> own_connection() const;

 private:
  explicit Desk(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace hingeline::desk

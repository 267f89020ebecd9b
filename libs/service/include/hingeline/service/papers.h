#pragma once
/// \file
/// Papers of an instrument: what the bench works from, what the owner takes home, what an apprentice learns
/// from.
///
/// Pure functions of results: the day comes in, no clock is asked. A paper that leads metal work, torch or
/// solvents carries the cautions.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/reading.h"
#include "hingeline/papers/paper.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/neighbours.h"
#include "hingeline/service/quote.h"
#include "hingeline/service/wear.h"

namespace hingeline::service {

enum class PaperKind {
  card,      ///< bench card: of one key, or of the whole instrument
  quote,     ///< options, what each buys, what it costs
  report,    ///< to the owner: found, done, before and after, what to expect
  lesson,    ///< teaching sheet of one key: the drawing with numbers, lines to write on
  readings,  ///< certificate of readings
  drawings,  ///< of one key, to scale
  tag        ///< to hang on the instrument
};
inline constexpr std::array kPaperKinds{PaperKind::card,   PaperKind::quote,    PaperKind::report,
                                        PaperKind::lesson, PaperKind::readings, PaperKind::drawings,
                                        PaperKind::tag};
/// "card", "quote", ...
const char* word(PaperKind kind);
/// Fault::usage with the kinds there are.
Expected<PaperKind> paper_kind_of(const std::string& typed);

/// What is asked of a paper.
struct PaperAsked {
  PaperKind kind = PaperKind::card;
  std::string key;  ///< id; empty: the whole instrument. A lesson and drawings need one
  papers::Language language = papers::Language::english;
  std::optional<papers::Sheet> sheet;  ///< absent: the shop's, else A4
  LengthUnit unit = LengthUnit::mm;
  std::string day;       ///< that stands on it, ISO
  double scale = 0;      ///< of drawings: 0: the largest that fits; 1 and 10: true to that
  bool answers = false;  ///< of a lesson: with its answers on a second page
  BudgetAsked budget;    ///< of a quote
  unsigned threads = 1;
};
/// "en", "de"; "a4", "letter" in any case, empty for none. Fault::usage otherwise.
Expected<papers::Language> language_of(const std::string& typed);
Expected<std::optional<papers::Sheet>> sheet_of(const std::string& typed);

/// What of a paper is typed in words.
struct PaperTyped {
  std::string kind;
  std::string language;  ///< empty: English
  std::string sheet;
  std::string minutes;  ///< of a quote, as read_limits() has it
  std::string money;
};
/// Those words read, the rest as it is when nothing is said. Errors as of the readers above.
Expected<PaperAsked> paper_asked(const PaperTyped& typed);

/// Work that was written down of a key: all of one kind at one end.
struct DoneWork {
  std::string key;   ///< its name; empty: of the whole instrument
  std::string step;  ///< code: "seat-cut", "ream", ...; another as it was written
  std::optional<Side> side;
  double turns = 0;  ///< 0: not counted
};

/// The end play of a key that was worked on, as it was read first and last.
struct ReadPlay {
  std::string key;        ///< its id in the document
  Reading<Length> first;  ///< its doubt with coverage 2; none: as the presets have it
  Reading<Length> last;
};

/// What is known of the visit beyond the documents. All may be empty.
struct PaperFacts {
  std::string owner;
  std::string complaint;
  std::string came;               ///< day
  std::string promised;           ///< day
  std::string code;               ///< what the tag's code says: the visit's id or address
  std::vector<std::string> done;  ///< works done, as somebody put them
  std::vector<DoneWork> works;    ///< works done, as the book has them
  std::vector<ReadPlay> plays;    ///< of keys that were worked on and read again
  std::vector<std::string> left;  ///< left as it is, with the reason
};

/// The documents and what was worked out of them. All must outlive the call.
struct PaperOf {
  const record::Instrument& instrument;
  const record::Shop& shop;
  const InstrumentResult& result;
  const InstrumentResult* before = nullptr;  ///< of a report: the instrument as it came
  PaperFacts facts;
  /// Where many of its keys are to have cards: what paper_causes() says, once for all. None: worked out for
  /// each.
  const InstrumentCauses* causes = nullptr;
};

/// The causes that a key's card names, as the program has them where nothing else is asked for.
InstrumentCauses paper_causes(const InstrumentResult& result, unsigned threads);

/// The paper as a PDF file. Fault::not_found for a key there is not; Fault::usage for a kind that needs a
/// key, a day that is none; Fault::content and geometry where what it should show cannot be worked out.
Expected<std::string> paper_file(const PaperOf& of, const PaperAsked& asked);
/// Its pages, before they are a file.
Expected<std::vector<drawing::Scene>> paper_pages(const PaperOf& of, const PaperAsked& asked);
/// Agreed quotes held against what was done, and what to change: for the shop itself.
Expected<std::vector<drawing::Scene>> against_pages(const Against& against, const record::Shop& shop,
                                                    const PaperAsked& asked);
/// "Bench card: Demonstration alto": what the file says it is, in the paper's language; of one instrument, or
/// without.
std::string paper_title(const PaperAsked& asked, const std::string& instrument = {});
/// "card-low-c.pdf": a name for the file, of letters, digits and hyphens.
std::string paper_file_name(const PaperAsked& asked);

}  // namespace hingeline::service

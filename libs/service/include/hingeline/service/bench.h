#pragma once
/// \file
/// The main job: from an instrument document and a shop document to a verdict, a plan and the
/// figures of every key, each with how sure it is and where it comes from.

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "hingeline/base/said.h"
#include "hingeline/belief/key.h"
#include "hingeline/belief/propagate.h"
#include "hingeline/plan/plan.h"
#include "hingeline/record/document.h"

namespace hingeline::service {

using belief::Figure;
using mechanism::Side;

/// One key, worked out.
struct KeyResult {
  std::string id;
  std::string name;
  std::string note;  ///< as it stands in the document
  belief::KeyKnowledge knowledge;
  std::optional<plan::KeyCase> key_case;  ///< absent when `problem` is set
  std::optional<mechanism::Hinge> hinge;  ///< as estimated; absent when `problem` is set
  const record::Key* source = nullptr;    ///< the key's document, which must outlive the result
  plan::KeyPlan plan;
  std::vector<Said> notes;       ///< readings that contradict, what was assumed
  std::optional<Error> problem;  ///< geometry that cannot be, or a needed figure nobody gave a range for

  [[nodiscard]] const belief::Estimate& estimate() const { return key_case->estimate; }
};

/// A bent body, as its readings say.
struct BodyBend {
  double curvature = 0;  ///< of its neutral axis, 1/mm; above 0: hollow on the side where off_axis is above 0
  double standard = 0;   ///< standard uncertainty
  std::size_t readings = 0;
};

/// All keys of one instrument, in the document's order.
struct InstrumentResult {
  std::string title;
  std::string kind;
  std::string serial;
  LengthUnit units = LengthUnit::mm;
  std::vector<KeyResult> keys;
  std::optional<BodyBend> bend;  ///< absent without bow readings, or where they cannot be a bent body's
};

/// Names in the instrument that the shop does not have: patterns, measuring instruments, body and key
/// materials without an expansion of their own. Each with its place and the nearest name there is.
record::Errors names_missing(const record::Instrument& instrument, const record::Shop& shop);

/// Works out every key. The same bytes come out for any number of threads (0: as many as the
/// machine has). Both documents must outlive the result.
InstrumentResult work_out(const record::Instrument& instrument, const record::Shop& shop, unsigned threads);
/// One key by its id; Fault::not_found names the nearest id.
Expected<const KeyResult*> find_key(const InstrumentResult& result, const std::string& id);
/// One figure by its code; Fault::not_found lists them all.
Expected<Figure> find_figure(const std::string& code);

/// The shop used when a document names none: presets and patterns only, no tools.
const record::Shop& general_shop();

/// Why a figure is what it is.
struct Explanation {
  struct Line {
    std::string name;
    std::string value;    ///< with unit and ±
    std::string origin;   ///< "read", "pattern", "preset", "unknown"
    std::string pointer;  ///< in the document; empty when it does not stand there
    double effect = 0;    ///< mm: how far it moves the figure within its own uncertainty (k = 2)
    std::string said;     ///< readings: what the rest predicts, and whether it was taken in
  };
  Figure figure = Figure::end_play;
  std::string formula;               ///< in words and symbols
  std::vector<std::string> working;  ///< the formula with this key's numbers
  std::string value;
  std::vector<Line> inputs;    ///< largest effect first; those that do not move it are left out
  std::vector<Line> readings;  ///< taken in or left out, with what the rest predicted
  /// The same by drawing (JCGM 101:2008), when it was asked for.
  std::optional<belief::Propagation> propagation;
};
/// `key` without a problem.
Explanation explain(const KeyResult& key, Figure figure, LengthUnit unit);

/// Which numbers make a figure uncertain, by its draws: each with its share of the variance, largest first;
/// shares below one in a hundred are left out. Empty without draws.
std::vector<std::pair<std::string, double>> shares_of(const KeyResult& key, const Explanation& explanation);

/// How a figure is shown: "0.085 ± 0.004 mm", a range "0.030 to 0.210 mm", or "-" where it does not
/// apply.
std::string show(const belief::FigureValue& value, LengthUnit unit);
/// A length of a plan: "0.085 mm".
std::string show(Length length, LengthUnit unit);

/// What the key rides on at that end when pushed home there: a regime's word, "face", or "rod".
std::string rides_on(const KeyResult& key, Side side);

/// How far the first seat cut of the best plan may go now; absent when it has none.
std::optional<plan::Bite> first_bite(const KeyResult& key);

/// One step as the person at the bench is told it: "cut the upper seat 0.056 mm deeper".
std::string tell(const plan::Step& step, LengthUnit unit);
/// The tool, the reach and the turns of a step; empty when there is nothing to say.
std::string tell_how(const plan::Step& step, LengthUnit unit);

/// Results as JSON text (UTF-8, two spaces of indent). Lengths are numbers in mm rounded to six
/// decimals; sentences use `unit`. `only_key` empty: all keys.
std::string to_json(const InstrumentResult& result, LengthUnit unit, const std::string& only_key = {});
std::string to_json(const KeyResult& key, const Explanation& explanation);
/// A drawing of that key, with its SVG as text.
std::string to_json(const KeyResult& key, const std::string& picture, const std::string& svg);
std::string to_json(const record::Errors& problems);

}  // namespace hingeline::service

#pragma once
/// \file
/// The whole instrument within minutes and money: which works are worth doing, in which order, what stays
/// undone and why, and what the next improvement costs.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/money.h"
#include "hingeline/choice/budget.h"
#include "hingeline/record/ledger.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

/// Where a work comes from.
enum class WorkSource {
  readings,  ///< the plan of a key that was measured
  look,      ///< a key only looked over, by what such keys usually take and give
  stack,     ///< the plan of a stack
  body,      ///< the straightedge, and the readings of posts
  own        ///< the document's own works
};
/// "readings", "look", "stack", "body", "own".
const char* word(WorkSource source);

/// One work that could be done.
struct PossibleWork {
  WorkSource source = WorkSource::readings;
  std::string name;   ///< "low-c: both seats"
  std::string about;  ///< id of its key; empty: of none
  std::string doing;  ///< code: an approach's word, "screws home", "posts", "straighten", "by its look";
                      ///< empty: its name says it
  std::vector<std::string> steps;  ///< what to do
  Worked feel;                     ///< gained; 1 is one key from hopeless to right
  Worked leak;                     ///< cured, mL/s
  Worked minutes;
  std::string money_from;  ///< how its price came about
  std::string place;       ///< JSON pointer
};

/// What is asked beyond the documents; what is absent is taken from them.
struct BudgetAsked {
  std::optional<Duration> minutes;
  std::optional<Money> money;
  std::optional<double> weight_leak;
  std::optional<double> weight_feel;
  bool quick = false;  ///< keys without readings by their look
  const record::Ledger* ledger = nullptr;
};
/// Minutes and money as typed; empty leaves what is there. Fault::usage for what is no number of minutes (0
/// to 100000) or no amount.
Expected<void> read_limits(const std::string& minutes, const std::string& money, BudgetAsked& into);

struct BudgetResult {
  std::string title;
  std::string currency;  ///< the shop's word; may be empty
  bool priced = false;   ///< the shop says what an hour costs, or a work has a price
  choice::Budget budget;
  choice::Weights weights;
  choice::Points least_step;
  std::string leak_meaning;  ///< what the weights stand for
  std::string feel_meaning;
  bool quick = false;
  choice::Candidates candidates;
  std::vector<PossibleWork> works;  ///< in the candidates' order
  choice::Choice choice;
  std::vector<choice::Rung> ladder;
  std::vector<std::string> notes;  ///< keys that could not be taken in, what was assumed
};

/// `result` is of the same two documents. Fault::content where works need each other in a circle, where
/// something is too large, or nothing could be proven.
Expected<BudgetResult> budget_of(const InstrumentResult& result, const record::Instrument& instrument,
                                 const record::Shop& shop, const BudgetAsked& asked);

/// How much of a key's feel is lost, 0 (right) to 1 (it binds): x / (1 + x), where x is how far the end play
/// lies outside the window in window widths, or the rock above what is allowed in times of that, whichever is
/// more. All in mm; a rock that does not apply is NaN. 1 where the key binds.
double feel_lost(double end_play, double rock, double window_low, double window_high, double rock_allowed);

/// "24 ± 9 min", "30 ± 20 s" below a minute.
std::string show_time(const choice::Time& time);
/// Why a work is done or not, in a few words.
std::string tell(const choice::Done& done, const BudgetResult& result);
std::string tell(const choice::LeftOut& left, const BudgetResult& result);
/// The price of the next improvement and the like, in sentences.
std::vector<std::string> tell(const BudgetResult& result);

/// Minutes, mL/s, points; money as text with two decimals.
std::string to_json(const BudgetResult& result);

}  // namespace hingeline::service

#pragma once
/// \file
/// Which works an instrument gets when the minutes and the money are given, and in which order.
///
/// **What is chosen.** Each work takes minutes and money and gains points: its leak cured and its feel
/// gained, each times its weight. The choice is the set with the most points whose expected minutes and money
/// stay within the budget; among such sets the one with the fewest minutes, then the least money, then the
/// fewest works. A work may need others, belong to a group that is done whole or not at all, stand as one of
/// several alternatives of which at most one is done, and share a set-up whose minutes and money are spent
/// once for all that use it.
///
/// **Exact.** Minutes are rounded to whole seconds, money is whole hundredths, points are rounded to
/// thousandths, each once for each work; on these whole numbers the choice is a proven optimum (CBC, checked
/// here in whole numbers). Against points that were not rounded it can fall short by a thousandth of a point
/// a work at most.
///
/// **Deterministic** for one build of CBC.

#include <compare>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/money.h"
#include "hingeline/base/quantity.h"

namespace hingeline::choice {

/// Gain in thousandths of a point.
struct Points {
  std::int64_t thousandths = 0;
  [[nodiscard]] double value() const { return static_cast<double>(thousandths) / 1000; }
  friend auto operator<=>(Points a, Points b) = default;
};

/// The trade's order of work: a stage is done before the ones after it (common practice).
enum class Stage {
  free_check,  ///< screws home, cleaned, oiled: what costs little and can be undone
  straighten,  ///< the body
  posts,       ///< posts brought back, turned, set
  stack,       ///< rods and tubes several keys share
  fit,         ///< seats, key ends, screws of one key
  finish       ///< what waits for the fit: regulation, pads
};

/// A length of time with the expanded uncertainty of its *one* doing (k = 2), not of its average.
struct Time {
  Duration mean;
  Duration plus_minus;
};

struct Work {
  std::string id;
  Stage stage = Stage::fit;
  bool takes_metal = false;  ///< cannot be undone: comes after what can, within its stage
  Time time;
  Money money;
  Flow leak;                         ///< leak it cures at the shop's pressure; below 0 where it makes one
  Flow leak_plus_minus;              ///< k = 2
  double feel = 0;                   ///< feel it gains: 1 brings one key from hopeless to right
  double feel_plus_minus = 0;        ///< k = 2
  std::vector<std::string> needs;    ///< ids of the works that must be done before it
  std::string together;              ///< name of its group: all of it or nothing of it; empty: none
  std::string instead;               ///< name of its alternatives: at most one of them; empty: none
  std::vector<std::string> set_ups;  ///< ids of the set-ups it shares with others
};

/// What is spent once for all works that use it: a cutter and its driver got out, the rig built up.
struct SetUp {
  std::string id;
  Time time;
  Money money;
};

struct Candidates {
  std::vector<Work> works;
  std::vector<SetUp> set_ups;
};

/// Nothing: no limit. A budget of 0 is one.
struct Budget {
  std::optional<Duration> minutes;
  std::optional<Money> money;
};

struct Weights {
  double leak = 1;  ///< points for each millilitre a second cured
  double feel = 1;  ///< points for each key's feel
};

/// Why a work was chosen.
enum class In {
  gains,    ///< for its own points
  needed,   ///< it gains nothing itself, but something chosen needs it
  together  ///< its group gains, not it
};
/// Why a work was left out.
enum class Out {
  gains_nothing,  ///< itself, or with all it needs
  alternative,    ///< another way to the same end, or to that of something it needs, was chosen
  no_better,      ///< left out with an alternative of it that is no worse in anything
  too_long,       ///< it, with what it needs, takes more than all the minutes
  too_dear,       ///< it, with what it needs, costs more than all the money
  crowded_out     ///< its minutes or money do more elsewhere
};

struct Done {
  std::size_t work = 0;  ///< place among the candidates
  In why = In::gains;
  Points points;
  std::vector<std::size_t> needed_by;  ///< chosen works that name it in their needs
};
struct LeftOut {
  std::size_t work = 0;
  Out why = Out::gains_nothing;
  Points points;                     ///< its own
  std::optional<std::size_t> other;  ///< the alternative that was chosen, or is no worse
  /// Crowded out: so many points fewer would be had with it in; 0 where it would only take more minutes or
  /// money for the same. Nothing where no choice within the budget has it, or no reasons were asked for.
  std::optional<Points> lost_with_it;
  /// It, what it needs and the set-ups of these: all, where that is too long or too dear; else what of it is
  /// not chosen.
  Time time_with_needs;
  Money money_with_needs;  ///< of the same
};

/// Works done together, with what they take and gain.
struct Total {
  Time time;
  Money money;
  Points points;
  Points plus_minus;  ///< k = 2, works taken as independent
  Flow leak;
  Flow leak_plus_minus;
  double feel = 0;
  double feel_plus_minus = 0;
};

/// The cheapest way to a noticeably better choice; of several as cheap the one that changes fewest works.
struct Improvement {
  Duration extra_minutes;
  Money extra_money;
  Points more;
  std::vector<std::size_t> added;
  std::vector<std::size_t> dropped;
};

struct Choice {
  std::vector<Done> done;         ///< in the order of work
  std::vector<LeftOut> left_out;  ///< most points first
  std::vector<std::size_t> set_ups;
  Total total;
  /// That the minutes are enough, their spread taken as independent between works; nothing without a budget.
  std::optional<double> chance_within;
  /// So many minutes are enough nine times in ten.
  Duration nine_in_ten;
  /// Least extra minutes, the money as it is; nothing where no minutes help.
  std::optional<Improvement> by_minutes;
  /// Least extra money, the minutes as they are; nothing where no money helps.
  std::optional<Improvement> by_money;
};

struct Options {
  /// An improvement is one by at least as much; above 0.
  Points least_step{1};
  /// Whether to work out `lost_with_it` (one more program for each work left out).
  bool reasons = true;
};

/// What can be wrong with the candidates (Fault::content): an id twice or empty, a need, group or set-up that
/// is not there, works that need each other in a circle, times below 0 or not finite, money below 0, a weight
/// below 0 or not finite, sums too large to be proven (over 10^8 of their largest common unit).
Expected<Choice> choose(const Candidates& candidates, const Budget& budget, const Weights& weights,
                        const Options& options = {});

/// One rung: the least minutes that bring at least `least_step` more than the rung below, and the most points
/// that these minutes can bring.
struct Rung {
  Total total;
  std::vector<std::size_t> works;  ///< ascending
};

/// The curve of points against minutes, from nothing to all that can be gained within the money. Every rung
/// is a proven optimum: no choice has its points in fewer minutes, nor more points in its minutes. Works of
/// one rung need not be part of the next. Options::reasons is not looked at.
Expected<std::vector<Rung>> ladder(const Candidates& candidates, const std::optional<Money>& money,
                                   const Weights& weights, const Options& options);

/// Chance that a sum of independent times with this mean and expanded uncertainty stays within `limit`: a
/// lognormal with their mean and variance (Fenton-Wilkinson; exact for one lognormal time, the normal one's
/// for many). Without spread 0 or 1.
double chance_within(Time sum, Duration limit);
/// The time that such a sum stays within with that chance, strictly between 0 and 1.
Duration enough_for(Time sum, double chance);

}  // namespace hingeline::choice

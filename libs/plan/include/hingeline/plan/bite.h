#pragma once
/// \file
/// How far to cut now: the bite that all but cannot go too far, and what each bite teaches about the next.

#include "hingeline/base/quantity.h"

namespace hingeline::plan {

/// What one turn of a cutter takes off, as a lognormal: nobody knows it for this hand, this cutter and this
/// metal before the first bite, and no two bites are alike.
struct TakeOff {
  double log_median = 0;  ///< ln of mm per turn
  double between = 0;     ///< standard deviation of ln from one job to another: what bites teach
  double within = 0;      ///< the same from one bite to the next of a job: what stays

  /// mm per turn that half of all bites stay under.
  [[nodiscard]] Length median() const;
};

/// From a shop's figure with its expanded uncertainty (k = 2). per_turn > 0.
TakeOff take_off_of(Length per_turn, Length plus_minus);

/// The same after a bite of so many turns took so much off the end play, as the difference of two readings of
/// this standard uncertainty each. A bite that took nothing, or less, teaches that the rate may be far lower
/// (a dull or tilted cutter, chips under the head), within what the readings can tell. turns > 0.
TakeOff learned(const TakeOff& before, double turns, Length taken, Length reading_standard);

/// The risk a bite may take of passing the window's lower edge.
inline constexpr double kBiteRisk = 0.002;

/// Worst error of risk_of() where the take-off's ln varies by 0.1 and more and the end play's standard
/// uncertainty is more than a thousandth of the room to the window's edge; a smaller one counts as none.
inline constexpr double kRiskWorstError = 1e-10;

struct Bite {
  double turns = 0;  ///< 0: no bite is safe; read the end play closer
  Length expected;   ///< what it takes off, median
  double risk = 0;   ///< that end play falls below the window
};

/// Chance that a bite of so many turns brings end play below `low`: end play normal with this mean and
/// standard uncertainty, the take-off lognormal.
double risk_of(double turns, Length end_play, Length standard, Length low, const TakeOff& take_off);

/// The most turns whose risk stays within `risk` and whose median does not go past `aim`, to a hundredth of a
/// turn.
Bite next_bite(Length end_play, Length standard, Length low, Length aim, const TakeOff& take_off,
               double risk = kBiteRisk);

}  // namespace hingeline::plan

#pragma once
/// \file
/// The first look at a bite: how far one may cut so that it all but cannot go too far, from one figure of end
/// play and the shop's take-off. cutting.h leads on from there, with all that was read and cut.

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

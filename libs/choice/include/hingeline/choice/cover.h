#pragma once
/// \file
/// Which sizes of a tool to own, so that what the shop meets is served within its clearance limits.
///
/// First what serves what, by kind of tool; then, on that table alone, the fewest tools to buy, how the cover
/// grows with each one bought, and what of the tools owned is worn, spare or never used. Every number of
/// tools and every count served is a proven optimum (CBC, checked in whole numbers).

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/money.h"
#include "hingeline/base/quantity.h"

namespace hingeline::choice {

/// Sizes of a tool that serve, both ends included.
struct SizeRange {
  Length from;
  Length to;
};
/// Cutters that serve a screw head: no more than `under` smaller and `over` larger than it.
SizeRange cutters_for(Length head, Length under, Length over);
/// Rods that serve a tube's bore: with a clearance (bore less rod) from `least` to `most`.
SizeRange rods_for(Length bore, Length least, Length most);
/// Both ends included, with a hundred-thousandth of a millimetre for the reckoning.
bool serves(Length size, const SizeRange& range);

/// A reamer: its flank's half angle and the diameters between which it cuts.
struct Reamer {
  Angle half_angle;
  Length narrow;
  Length wide;
};
/// A key end's taper: half angles within `tolerance` serve, if the reamer cuts from `narrow` to `wide`.
struct Taper {
  Angle half_angle;
  Angle tolerance;
  Length narrow;
  Length wide;
};
bool serves(const Reamer& reamer, const Taper& taper);

struct Tool {
  bool owned = false;               ///< else it can be bought
  bool worn = false;                ///< owned, but not to be counted on
  std::int64_t uses = 0;            ///< how often it was used, as far as is known
  std::optional<Money> price;       ///< of one that can be bought
  std::vector<std::size_t> serves;  ///< demands, each once
};

struct Task {
  std::vector<std::int64_t> counts;  ///< how often each demand was met, above 0
  std::vector<Tool> tools;
};

/// The most that can be served with so many tools bought, at the least price for that.
struct Step {
  std::vector<std::size_t> bought;  ///< ascending; steps need not contain the ones before them
  std::int64_t served = 0;          ///< counts, with what is owned and not worn
  Money price;                      ///< of those with a price
  bool priced = true;               ///< all of them have one
};

struct Cover {
  std::int64_t all = 0;               ///< counts of all demands
  std::vector<std::size_t> missing;   ///< demands that nothing owned and sound serves
  std::vector<std::size_t> hopeless;  ///< of these: what nothing on offer serves either
  /// From nothing bought to the fewest tools that serve all but the hopeless (of these the cheapest), one
  /// more each step; only one step where nothing is to be bought.
  std::vector<Step> steps;
  /// The fewest tools that would serve the same as the last step, with nothing owned; owned ones first.
  std::vector<std::size_t> from_nothing;
  std::vector<std::size_t> worn;        ///< owned and worn, that serve something
  std::vector<std::size_t> worn_alone;  ///< demands that only a worn tool of those owned serves
  std::vector<std::size_t> never_used;  ///< owned, sound, not used once
  /// Owned and sound, without which the others owned still serve as much: all of them together can go. The
  /// most used are kept.
  std::vector<std::size_t> spare;
};

enum class Steps {
  all,            ///< one for each number of tools bought
  first_and_last  ///< nothing bought, and everything needed: the others take one program each
};

/// Faults (Fault::content): a count of 0 or less, a demand that is not there, sums too large to be proven.
Expected<Cover> cover(const Task& task, Steps steps = Steps::all);

}  // namespace hingeline::choice

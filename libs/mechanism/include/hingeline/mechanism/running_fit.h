#pragma once
/// \file
/// Running fits of a rod in its tube: how much smaller the rod has to be.
///
/// Source: ISO 286-1 (grades IT6, IT7, IT8) and ISO 286-2 (H7, H8, g6, f7), as tables. The
/// standard's own formula for the grades does not give the tabled micrometres in small sizes, so
/// nothing here is computed from it. Values are whole micrometres and come out as the nearest
/// millimetre number; diameters above 0 up to 10 mm.

#include <string_view>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline::mechanism {

enum class BoreClass { H7, H8 };
enum class RodClass { g6, f7, h6, h7 };

struct RunningFit {
  BoreClass bore = BoreClass::H7;
  RodClass rod = RodClass::g6;
  friend bool operator==(const RunningFit&, const RunningFit&) = default;
};

/// "H7", "H8".
const char* word(BoreClass bore);
/// "g6", "f7", "h6", "h7".
const char* word(RodClass rod);
/// Reads "H7/g6" and the like; spaces do not matter, case does (it tells bore from rod).
Expected<RunningFit> parse_running_fit(std::string_view text);

/// Limits of a part's diameter, from its nominal.
struct Deviation {
  Length lower;
  Length upper;
};
/// Fault::geometry for a nominal diameter outside (0, 10] mm.
Expected<Deviation> deviation(BoreClass bore, Length nominal);
Expected<Deviation> deviation(RodClass rod, Length nominal);

/// Least and most clearance on the diameter; half of it is the radial clearance of the joint.
struct FitClearance {
  Length least;
  Length most;
};
/// Fault::geometry for a nominal diameter outside (0, 10] mm.
Expected<FitClearance> fit_clearance(RunningFit fit, Length nominal);

}  // namespace hingeline::mechanism

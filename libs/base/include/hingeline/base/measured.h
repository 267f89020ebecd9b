#pragma once
/// \file
/// A number together with where it came from and how far it may be off.

#include "hingeline/base/quantity.h"

namespace hingeline {

/// Where a number came from, best first.
enum class Origin {
  read,     ///< measured on this instrument
  pattern,  ///< the screw family's own figure
  preset,   ///< the shop's general figure
  unknown   ///< not known: only the range it must lie in
};

/// A quantity with its uncertainty.
/// For read, pattern and preset: `value` with `plus_minus` the expanded uncertainty (k = 2, about
/// 95 %). For unknown: `value` is the middle and `plus_minus` the half-width of the range it must
/// lie in, taken as rectangular.
template <class Q>
struct Measured {
  Q value{};
  Q plus_minus{};
  Origin origin = Origin::unknown;

  /// Standard uncertainty: plus_minus / 2, or half-width / sqrt(3) for a rectangular range
  /// (JCGM 100:2008, 4.3.7).
  [[nodiscard]] constexpr Q standard() const {
    return origin == Origin::unknown ? plus_minus / 1.7320508075688772 : plus_minus / 2.0;
  }
  [[nodiscard]] constexpr bool known() const { return origin != Origin::unknown; }
};

/// "read", "pattern", "preset" or "unknown".
constexpr const char* word(Origin o) {
  switch (o) {
    case Origin::read:
      return "read";
    case Origin::pattern:
      return "pattern";
    case Origin::preset:
      return "preset";
    case Origin::unknown:
      break;
  }
  return "unknown";
}

}  // namespace hingeline

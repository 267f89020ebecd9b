#pragma once
/// \file
/// Lengths as nobody should measure them, for properties.

#include <rapidcheck.h>

#include <limits>

#include "hingeline/base/quantity.h"

namespace hingeline::drawing {

inline double any_number() {
  const auto pick = *rc::gen::inRange(0, 12);
  switch (pick) {
    case 0:
      return std::numeric_limits<double>::quiet_NaN();
    case 1:
      return std::numeric_limits<double>::infinity();
    case 2:
      return -std::numeric_limits<double>::infinity();
    case 3:
      return 0;
    case 4:
      return 1e300;
    case 5:
      return -1e-300;
    case 6:
      return *rc::gen::inRange(-1000, 1000) * 1e3;
    default:
      return *rc::gen::inRange(-2000, 20000) * 1e-3;
  }
}

inline Length any_length() { return Length::of(any_number()); }

}  // namespace hingeline::drawing

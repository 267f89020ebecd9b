#pragma once
/// \file
/// A key under a finger as a cone program's data, for a general solver (tests/reference/pressed_oracle.py).

#include <nlohmann/json.hpp>

#include "random_presses.h"

namespace reference {

/// Lengths mm, angles rad, N, N mm. The rim has to have dips: one spring at each.
inline nlohmann::json press_problem(const PressCase& c) {
  nlohmann::json dips = nlohmann::json::array();
  for (const hingeline::Length dip : c.seat.dips) dips.push_back(dip.raw());
  return {{"key_length", c.freedom.key_length.raw()},
          {"upper", c.freedom.upper_clearance.raw()},
          {"lower", c.freedom.lower_clearance.raw()},
          {"pad",
           {{"tone_hole", c.seat.pad.tone_hole.raw()},
            {"station", c.seat.pad.station.raw()},
            {"arm", c.seat.pad.arm.raw()},
            {"clock", c.seat.pad.clock.raw()}}},
          {"stiffness", c.seat.stiffness.raw()},
          {"side", c.seat.side.raw()},
          {"front", c.seat.front.raw()},
          {"dips", dips},
          {"touch",
           {{"station", c.push.station.raw()}, {"arm", c.push.arm.raw()}, {"clock", c.push.clock.raw()}}},
          {"finger", c.push.finger.raw()},
          {"spring", c.push.spring.raw()}};
}

}  // namespace reference

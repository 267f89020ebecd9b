#pragma once
/// \file
/// A finger presses a key and corks and felts give: what turns, what closes, which force goes where.

#include <span>
#include <vector>

#include "hingeline/regulation/chain.h"

namespace hingeline::regulation {

/// What cork or felt of a link gives: it is squeezed by force / stiffness. Springs hold keys open.
struct Gives {
  std::vector<Stiffness> links;  ///< for each link, above 0
  std::vector<Torque> springs;   ///< for each key, about its hinge line, 0 or more, taken as constant
};

/// How a chain stands under load. Pads seat hard: on what a pad itself takes up see the room `seal`.
struct Pressed {
  std::vector<Angle> turned;                ///< each key
  std::vector<std::optional<Length>> open;  ///< each pad, 0 when seated
  std::vector<Force> at_pad;                ///< each pad on its tone hole, 0 when open or without a pad
  std::vector<Force> at_link;               ///< through each link, 0 when it does not carry
  std::vector<Length> squeezed;             ///< each link's cork or felt
};

/// The pose under `moment` about the pressed key's hinge line, springs against it: the minimum of a convex
/// energy, found by Newton steps on its quadratic pieces. Moments balance on every key to 1e-10 of the
/// largest and what the stiffest cork makes of 1e-14 rad.
///
/// Refused: lists of the wrong length, stiffness not above 0, springs or a moment below 0, a pressed key
/// without any pad that could stop it.
Expected<Pressed> press(const Chain& chain, std::size_t driver, Torque moment, const Gives& gives);

}  // namespace hingeline::regulation

#pragma once
/// \file
/// How a key lies when it is pressed: finger, spring, pad and the two ends' play in balance.
///
/// The key is rigid. At one place along its hinge line its ends may stand off the line by a (upper) and b
/// (lower), |a| <= upper clearance, |b| <= lower clearance, and it turns freely about the line (the frame of
/// mechanism/hinge.h; displacements small). The pad is a ring of springs round the tone hole's rim, each of
/// which pushes but never pulls (a one-sided Winkler foundation). The finger pushes at its touch across the
/// arm there, in the direction that closes; the spring turns. There is no friction: where the key sits is
/// where its energy is least,
///
///   minimise  k/2 integral of max(0, compression)^2 - finger . travel of the touch - torque x turn
///   subject to  |a| <= c_u, |b| <= c_l,
///
/// a convex problem in five numbers with two second-order cones. The ring's energy is a closed form.
///
/// **Left out.** Friction in the joints and of the pad's skin; bending of the key's arm and tube; how far the
/// pad's face is from the plane of hinge line and arm; what the needle spring pushes sideways.

#include <span>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"
#include "hingeline/mechanism/hinge.h"
#include "hingeline/seal/leak.h"

namespace hingeline::seal {

/// What one key can do at one place along its line.
struct Freedom {
  Length key_length;       ///< > 0
  Length upper_clearance;  ///< >= 0; radial, of the upper end
  Length lower_clearance;  ///< >= 0
};

/// Where and how the key is pushed.
struct Push {
  Length station;  ///< of the finger, from the key's upper end face; may lie beyond either end
  Length arm;      ///< hinge axis to where the finger presses, >= 0
  Angle clock;     ///< direction of that arm
  Force finger;    ///< across the arm, towards closing; >= 0
  Torque spring;   ///< about the hinge line, towards closing; below 0 where the spring opens the key
};

/// A pad over its tone hole.
struct Seat {
  mechanism::Pad pad;
  Stiffness stiffness;  ///< of the whole ring, > 0: force that presses it deeper everywhere by a mm
  /// How the pad stands off its rim with the key centred on its line and turned to touch: 0 all round for a
  /// level pad.
  Length side;   ///< opening at the rim's lower-post side less that at its upper-post side
  Length front;  ///< opening at the far side from the hinge line less that at the near side
  /// How much lower the rim lies at equal steps, from the side of the lower post outwards round; empty:
  /// level. Else at least 3.
  std::vector<Length> dips;
};

struct Pressed {
  /// Whether anything closes it: finger and spring together turn it down.
  bool closes = false;
  mechanism::Across upper{};  ///< mm: a, along clock angle 0 and a quarter turn on
  mechanism::Across lower{};  ///< mm: b
  Angle turn;                 ///< towards closing, from where a level pad just touches
  double energy = 0;          ///< N mm, of everything; 0 with nothing pressed and the key centred
  Force pad;                  ///< that the pad carries
  Length deepest;             ///< compression where it is most
  Length widest;              ///< gap that remains, where it is most; 0 when closed all round
  double contact_share = 0;   ///< of the rim that carries, 0 to 1
  /// What remains open; below 0 is compression. A level rim's gap is this wedge; one with dips has gaps.
  Wedge gap;
  std::vector<Length> gaps;  ///< at the dips' places; empty without dips
  int steps = 0;             ///< of Newton's method that it took
};
/// Worst relative error of `energy`; gaps and compressions are right to kPressedGapError.
inline constexpr double kPressedEnergyError = 1e-9;
inline constexpr Length kPressedGapError = millimetres(1e-7);

/// Where the key lies. Fault::geometry when numbers cannot belong to a key, or lie so many powers of ten
/// apart that the search does not settle (never among keys; 5 of 20000 draws over eight powers of ten of
/// each). Where two poses cost the same (an end that nothing pushes) the one nearest the line is given. Same
/// bytes for same input.
Expected<Pressed> press(const Freedom& freedom, const Seat& seat, const Push& push);

/// The leak that is left in it.
Expected<Leak> leak(const Pressed& pressed, const Rim& rim, const Conditions& conditions);

/// What a key can do at one place along its line.
struct PlaceOfKey {
  Length place;
  Freedom freedom;
};
/// Every knot of the key's play; empty when its hinge binds (it has no poses).
std::vector<PlaceOfKey> places_of(const mechanism::Play& play);

/// A key pressed wherever it may sit along its line.
struct PressedAnywhere {
  Pressed pressed;  ///< at the place where it leaks most
  Length place;     ///< that place
  Leak leak;        ///< there
  Leak least;       ///< at the place where it leaks least
};
/// One pose for every place: Fault::geometry when there is none, and as press().
Expected<std::vector<Pressed>> press_everywhere(std::span<const PlaceOfKey> places, const Seat& seat,
                                                const Push& push);
/// Of those poses, as press_everywhere() gave them. Fault::geometry as leak().
Expected<PressedAnywhere> leakiest(std::span<const PlaceOfKey> places, std::span<const Pressed> pressed,
                                   const Rim& rim, const Conditions& conditions);
/// Both, one after the other.
Expected<PressedAnywhere> press_anywhere(std::span<const PlaceOfKey> places, const Seat& seat,
                                         const Push& push, const Rim& rim, const Conditions& conditions);

}  // namespace hingeline::seal

#pragma once
/// \file
/// A rod in its tube: clearance, rock, what a bowed rod does, which size comes next, and what squeezing a
/// tube does to its length and bore.
///
/// Everything is a pure function. What people can type wrongly is answered with Fault::geometry; every
/// length given must be finite.

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"
#include "hingeline/mechanism/running_fit.h"

namespace hingeline::rods {

// ---- clearance and rock ----------------------------------------------------------------------------

/// Half of what the bore is wider than the rod. Below 0: the rod does not enter.
constexpr Length radial_clearance(Length bore, Length rod) { return (bore - rod) / 2.0; }

/// Travel across from one extreme to the other at a station, from the tube's upper end: each end of the tube
/// may stand off the rod by the radial clearance c either way, so 2 c (|1 - s| + |s|) with s = station /
/// length. Within the tube that is the whole clearance on the diameter; beyond an end it grows. 0 for a
/// clearance of 0 or less. The tube's length above 0; exact but for three roundings.
Expected<Length> rock_at(Length radial_clearance, Length tube_length, Length station);

// ---- a bowed rod -----------------------------------------------------------------------------------

/// A rod, bowed evenly (as an arc).
struct RodShaft {
  Length diameter;                    ///< above 0
  Length bow;                         ///< sagitta, 0 or more
  Length over;                        ///< chord that the bow was read over; above 0 where there is a bow
  Pressure modulus = pascals(207e9);  ///< of elasticity, above 0; steel
};
/// How the tube holds it.
struct Bearing {
  Length length;  ///< of the tube, above 0
  Length bore;    ///< above 0
  /// How far in from each end the bore carries; absent, or half of the tube's length or more: all along.
  std::optional<Length> each_end;
};

enum class BowRegime {
  free,          ///< the clearance takes the bow up
  three_points,  ///< both ends on one wall, the middle (or the inner edges of the bearings) on the other
  lies_flat,     ///< bent so far that its middle lies along the wall
  no_room        ///< no clearance at all
};
/// "free", "three points", "lies flat", "no room".
const char* word(BowRegime regime);

/// What the bow does in this tube.
struct BowInTube {
  BowRegime regime = BowRegime::free;
  Length
      bow;  ///< of the part that bears: 4 f b (1 - b), f scaled to the tube's length by its square, b = a/L
  Length room;    ///< clearance on the diameter, D - d
  Length excess;  ///< bow - room; the rod is bent straight by that much. Below 0: still free by that much
  /// On the bowed-out side; the ends give as much again. Absent: no room, and no force is finite.
  std::optional<Force> middle;
  std::optional<Torque> friction;  ///< to turn the tube: friction x rod radius x all forces (2 x middle)
};

/// Model: an evenly curved elastic rod, curvature k0 = 8 f / C^2, in a stiff straight bore that carries over
/// the length a at each end (a = L/2: all along). Small deflections, no friction along the rod, tube and
/// walls stiff: forces are therefore an upper end. With e = bow - room > 0 and E I = E pi d^4 / 64,
///  three points: each of the four forces is R = 6 E I e / (a^2 (3 L - 4 a)); with a = L/2 the middle force
///  is
///    2 R = 48 E I e / L^3;
///  lies flat: once R a reaches E I k0 (all along: room below a third of the bow) the contact moves out from
///    there, R = E I k0 / m with m = sqrt(6 room / k0).
/// Both agree where they meet. Source: simply supported beam with two loads ("Mechanics of Materials"
/// formulas); the second derived from it. The torque is `friction` (0 or more) x d/2 x 4 R: half of it comes
/// from the middle, mu F r, half from the ends.
Expected<BowInTube> bow_in_tube(const RodShaft& rod, const Bearing& tube, double friction);

// ---- swedging --------------------------------------------------------------------------------------

/// A tube as round and even.
struct TubeWall {
  Length outside;  ///< diameter, above the bore
  Length bore;     ///< diameter, above 0
  [[nodiscard]] constexpr Length wall() const { return (outside - bore) / 2.0; }
  /// Diameter in the middle of the wall.
  [[nodiscard]] constexpr Length mean() const { return (outside + bore) / 2.0; }
};

/// What squeezing does. Volume is kept exactly: mean diameter x wall x length stays.
struct Swedged {
  Length growth;  ///< of the tube's length
  TubeWall tube;  ///< over the squeezed length, afterwards
  Length closes;  ///< bore before - after: the squeeze and what the wall grew by
};

/// Over `length` the mean diameter goes down by `squeeze` (D to D - delta). What is displaced goes into
/// length and wall: length x q^share and wall x q^(1 - share), with q = D/(D - delta). `share` 1: all of it
/// into length, growth l delta/(D - delta) (to first order l delta/D); 0: all into the wall. Which it is
/// depends on tool and metal; between 0 and 1 bounds it. Fault::geometry: not a tube, length 0 or less, a
/// squeeze below 0, share outside 0 to 1, or a squeeze that leaves no bore.
Expected<Swedged> swedge(const TubeWall& tube, Length length, Length squeeze, double share);

/// The squeeze that lengthens by `growth`, 0 or more; the other way round of swedge(), in closed form.
/// `share` above 0.
Expected<Swedged> swedge_to_grow(const TubeWall& tube, Length length, Length growth, double share);

/// The squeeze that closes the bore by `closes`, 0 or more and less than the bore: what gives a worn bore its
/// clearance back, and what length that makes. Within 1e-12 of the bore.
Expected<Swedged> swedge_to_close(const TubeWall& tube, Length length, Length closes, double share);

// ---- the next rod ----------------------------------------------------------------------------------

/// Clearance on the diameter that is wanted.
struct ClearanceWindow {
  Length least;  ///< above 0
  Length most;   ///< `least` or more
};
/// Of a class of running fit (ISO 286) at that rod's size. Fault::geometry outside (0, 10] mm.
Expected<ClearanceWindow> clearance_window(mechanism::RunningFit fit, Length rod);

/// One tube that has to run on the rod.
struct RunningTube {
  TubeWall tube;
  Length length;         ///< above 0
  bool may_ream = true;  ///< its bore may be opened
};
/// What choosing a rod is judged by.
struct RodQuestion {
  std::vector<RunningTube> tubes;  ///< at least one: all that share the rod
  Length now;                      ///< diameter of the rod that is in there
  Length least_wall;               ///< that must remain, 0 or more
  Length guard;                    ///< how far inside the window a reamed bore aims; at most to its middle
  Duration rod_change;             ///< another rod made and fitted
  Duration ream_set_up;            ///< each tube
};

enum class RodTrouble {
  none,
  too_thin,  ///< a bore is already wider than this rod may have
  may_not,   ///< a tube would have to be reamed and may not be
  wall       ///< reaming leaves too little wall
};
/// One tube on the rod chosen.
struct TubeOnRod {
  Length ream;       ///< on the diameter; 0: leave it
  Length clearance;  ///< on the diameter, afterwards
  Length wall;       ///< afterwards
};
/// One rod and what it asks for.
struct RodChoice {
  std::size_t rod = 0;  ///< place in the list given
  Length diameter;
  bool changes = false;  ///< not the size that is in there
  ClearanceWindow window;
  std::vector<TubeOnRod> tubes;  ///< in their order
  double metal = 0;              ///< reamed away, mm3
  Duration minutes;              ///< spent, in seconds as every duration
  RodTrouble trouble = RodTrouble::none;
  std::size_t tube = 0;  ///< that has the trouble, the worst by `by`
  Length by;             ///< how far over the limit
};

/// Every rod of the list judged with the window of its own size. A bore only grows: a tube whose clearance is
/// in the window is left alone, a narrower one is reamed to the least that gets there (and the guard), a
/// wider one rules the rod out. Rods that will do come first: least metal, then least time, then thinnest;
/// then those that will not, nearest first. Optimal, since tubes do not depend on one another once the rod is
/// chosen. Fault::geometry when something is not a tube or a rod.
Expected<std::vector<RodChoice>> choose_rod(const RodQuestion& question, std::span<const Length> rods,
                                            mechanism::RunningFit fit);
/// The same with one window for every size.
Expected<std::vector<RodChoice>> choose_rod(const RodQuestion& question, std::span<const Length> rods,
                                            const ClearanceWindow& window);

}  // namespace hingeline::rods

#pragma once
/// \file
/// One joint: a point in a key end, both solids of revolution on one axis direction.
///
/// Radial clearance at insertion t (depth of the tip inside the hole):
///   c(t) = min over the overlap of r_h(y) - r_p(t - y),
/// home t* = the largest insertion that can be reached from outside with c >= 0 all the way (for
/// monotone profiles the same as the largest t with c(t) >= 0), and the regime that decided it.
/// Both are found at the profiles' vertices, never by sampling: t* is the first of finitely many
/// vertex-on-line contacts, each one division.
///
/// Worst error for profiles of straight parts, lengths up to 100 mm: kHomeWorstError in t*,
/// kClearanceWorstError in c. Rounded parts add kRoundedWorstError (profile.h) to c, and that
/// divided by the sine of the angle between the touching surface and the axis to t*.

#include <limits>
#include <optional>
#include <vector>

#include "hingeline/base/quantity.h"
#include "hingeline/contact/profile.h"

namespace hingeline::contact {

/// Rounding error of home insertion for half angles of 1 degree and more.
inline constexpr Length kHomeWorstError = millimetres(1e-12);
/// Rounding error of radial clearance.
inline constexpr Length kClearanceWorstError = millimetres(1e-13);
/// Contacts closer together than this along the axis count as one (a flank on a flank).
inline constexpr Length kSameContact = millimetres(1e-9);

/// What stops a point from going further in.
enum class Regime {
  flank,       ///< flank on flank, over a length
  rim,         ///< the hole's mouth on the point's flank
  tip_edge,    ///< the edge of the tip on the hole's wall
  inner_edge,  ///< an edge inside the hole (end of a bell-mouth) on the point
  point_edge,  ///< an edge behind the tip (end of wear, of a shank) on the hole's wall
  round,       ///< a rounded part on the hole's wall or rim
  floor,       ///< the tip on the floor
  shoulder,    ///< the point's shoulder on the key's end face
  none         ///< nothing: a rod in its tube
};
/// "flank", "rim", "tip edge", ...
const char* word(Regime regime);
/// True where the key is carried on the sides and is centred when home.
bool centres(Regime regime);

struct Home {
  Length insertion;  ///< t*; infinite for a rod
  Regime regime = Regime::none;
  Length depth;       ///< where it touches, from the key's end face (middle of the length for a flank)
  Length radius;      ///< radius where it touches
  Length touching;    ///< length of the touching flank along the axis; 0 for edges
  Length clearance;   ///< c(t*): 0 when carried on the sides, more when floor or shoulder stopped it
  Length until_next;  ///< how much further in the next different contact would come
};

/// A knot of the clearance curve: c is straight between knots. Two knots at one insertion make a jump.
struct ClearanceKnot {
  Length insertion;
  Length clearance;
};

class Joint {
 public:
  Joint(Profile point, Profile hole);
  /// A rod in its tube: constant clearance, no axial stop.
  static Joint rod(Length radial_clearance);

  [[nodiscard]] bool is_rod() const { return rod_clearance_.has_value(); }
  [[nodiscard]] const Home& home() const { return home_; }
  /// c(t) for t in [0, home]; below 0 the value at 0; infinite past the floor is never asked for:
  /// t beyond home is taken as given and may come out negative.
  [[nodiscard]] Length clearance(Length insertion) const;
  /// c over [from, to], exact: first knot at `from`, last at `to`. from <= to. Insertions below 0
  /// get the clearance at 0 (the point has left the hole; see Hinge for how that is reported).
  [[nodiscard]] std::vector<ClearanceKnot> curve(Length from, Length to) const;

  /// Empty for a rod.
  [[nodiscard]] const std::optional<Profile>& point() const { return point_; }
  [[nodiscard]] const std::optional<Profile>& hole() const { return hole_; }

 private:
  Joint() = default;
  std::optional<Profile> point_;
  std::optional<Profile> hole_;
  std::optional<Length> rod_clearance_;
  Home home_;
};

}  // namespace hingeline::contact

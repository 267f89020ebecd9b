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
/// Worst error, from the measures of the forms to the result, for straight parts whose flanks stand at 1 to
/// 80 degrees to the axis and lengths and radii up to 100 mm: kHomeWorstError in t*, kClearanceWorstError in
/// c, also between the knots of curve(). A test fails when one is exceeded, and when the worst found is less
/// than half of it. Rounded parts add kRoundedWorstError (profile.h), divided by the sine of the angle
/// between the touching surfaces and the axis to t*, and by its cosine to c.

#include <memory>
#include <optional>
#include <vector>

#include "hingeline/base/quantity.h"
#include "hingeline/contact/profile.h"

namespace hingeline::contact {

/// Rounding error of home insertion.
inline constexpr Length kHomeWorstError = millimetres(1.5e-12);
/// Rounding error of radial clearance.
inline constexpr Length kClearanceWorstError = millimetres(8e-14);
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
  floor,       ///< the tip on the floor, or on a ledge inside the hole
  shoulder,    ///< the point's shoulder on the key's end face, or on an edge inside the hole
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
  /// c(t) for t in [0, home]; below 0 the value at 0. Beyond home on the sides it comes out negative; on a
  /// floor or shoulder it stays home().clearance.
  [[nodiscard]] Length clearance(Length insertion) const;
  /// c over [from, to], exact: first knot at `from`, last at `to`. from <= to. Insertions below 0
  /// get the clearance at 0 (the point has left the hole; see Hinge for how that is reported).
  [[nodiscard]] std::vector<ClearanceKnot> curve(Length from, Length to) const;

  /// Null for a rod.
  [[nodiscard]] const Profile* point() const { return point_.get(); }
  [[nodiscard]] const Profile* hole() const { return hole_.get(); }

 private:
  Joint() = default;
  // Shared between copies: a joint is often carried from one hinge to the next unchanged.
  std::shared_ptr<const Profile> point_;
  std::shared_ptr<const Profile> hole_;
  std::optional<Length> rod_clearance_;
  Home home_;
};

}  // namespace hingeline::contact

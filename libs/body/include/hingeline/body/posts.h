#pragma once
/// \file
/// Posts that lean, are turned or stand aside: what that does to the distance between the points, how far
/// each point is out of line with its hole, and what this costs.
///
/// Frame of one hinge: z along the hinge line from the upper post to the lower, v away from the body, w
/// across, v and w square to z. Angles and offsets are against a post that stands as it should.

#include "hingeline/base/measured.h"
#include "hingeline/base/quantity.h"

namespace hingeline::body {

/// A conical point riding in a hole of its own taper.
struct ConeJoint {
  Length engaged;     ///< of the point inside the hole when home, > 0
  Angle half_angle;   ///< of the flank, above 0, below 90 degrees
  Length tip_radius;  ///< of the point's flat tip, >= 0
};

/// How much less deep the point goes when its axis stands at an angle to the hole's: the end play lost in
/// this joint. With T = tan a, U = tan(a + gamma), engaged length h and tip radius r:
///   (h (U - T) - 2 r (1 - cos gamma) + r sin gamma (U - T)) / (T + U).
/// Exact for two straight cones of one taper, the key free to shift across: the point is then held by the
/// hole's rim on one side and its tip's edge on the other, both in the plane of the tilt. For small angles
/// gamma h / sin 2a; the book's gamma h / (2 tan a) leaves out that the flank itself turns and is smaller
/// by cos^2 a. Never below 0. The sign of gamma does not matter; at a + |gamma| of 90 degrees or more the
/// point does not go in: the engaged length.
Length tilt_cost(const ConeJoint& joint, Angle gamma);

/// How one post stands.
struct Posture {
  Measured<Angle> lean;     ///< above 0: outward, away from the key
  Measured<Angle> turn;     ///< about its own axis; above 0: its point swings towards +w
  Measured<Length> across;  ///< its foot's offset sideways, along +w
  Length height;            ///< from where it leans to the hinge line, >= 0
};

/// What two posts do to a hinge, against posts that stand as they should.
struct PostEffect {
  Measured<Length> span_change;  ///< of the distance between the points; above 0: farther apart
  Measured<Angle> upper;         ///< between the point's axis and the key's, >= 0
  Measured<Angle> lower;
};

/// Both posts at once, in three dimensions; span is the distance as it should be, above 0. Uncertainty by
/// steps of one standard deviation of every input both ways, the larger of each, added by squares.
PostEffect post_effect(const Posture& upper, const Posture& lower, Length span);

/// How far a lean moves the tip along the hinge line: height x sin(lean), same sign.
Length tip_travel(Angle lean, Length height);

// ---- a rod through the posts -----------------------------------------------------------------------

/// Young's modulus, N/mm^2, has the size of a pressure; 1 GPa = 1000 N/mm^2.
struct ModulusKind;
using Modulus = Quantity<ModulusKind>;
constexpr Modulus gigapascals(double v) { return Modulus::of(v * 1000); }

struct RodJoint {
  Length rod;   ///< diameter, > 0
  Length bore;  ///< of the tube, > 0
  Length span;  ///< between the posts, > 0
};

/// A rod that the posts' bores bend.
struct RodBinding {
  Length bow;        ///< farthest from the straight line between its ends
  Length clearance;  ///< bore less rod, on the diameter
  bool binds = false;
  Force force;    ///< that presses it straight to the clearance, at midspan: 48 E I (bow - clearance)/L^3
  Torque torque;  ///< friction x force x rod radius
};

/// The rod is held in each post at the angle the post's bore stands at, between them it takes the shape of
/// a beam without load (a cubic); farthest distance to 1e-6 of it. Lean and turn both count.
RodBinding rod_binding(const RodJoint& joint, const Posture& upper, const Posture& lower, Modulus modulus,
                       double friction);

}  // namespace hingeline::body

#pragma once
/// \file
/// Radius profiles of points and key ends, and the forms they are made from.
///
/// A profile is a polyline of (distance along the axis, radius). For a point the distance runs from
/// the tip backwards; for a hole it runs inwards from the key's end face. Two vertices at the same
/// distance make a step (a flat tip, a shoulder, a flat floor).
///
/// Straight parts are exact. Rounded parts (ball points, rounded tips) are polylines that stay
/// within kRoundedWorstError of the true arc, measured square to it; the two ends of an arc lie on
/// it exactly.

#include <cstddef>
#include <span>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline::contact {

/// Worst distance between a rounded part and its polyline, square to the arc. A test fails when
/// this is exceeded, and when the worst found is less than half of it.
inline constexpr Length kRoundedWorstError = millimetres(5e-5);

/// Most vertices a profile may have.
inline constexpr std::size_t kMostVertices = 4096;

struct Vertex {
  Length along;
  Length radius;
  friend bool operator==(const Vertex&, const Vertex&) = default;
};

/// A radius profile over [0, length()].
class Profile {
 public:
  /// Any profile given as pairs. Needs 2 to kMostVertices vertices, the first at 0, distances not
  /// decreasing, radii >= 0, everything finite, length > 0. Otherwise Fault::geometry, naming the
  /// vertex counted from 1.
  static Expected<Profile> from_vertices(std::span<const Vertex> vertices);

  [[nodiscard]] std::span<const Vertex> vertices() const { return vertices_; }
  [[nodiscard]] Length length() const { return vertices_.back().along; }
  /// The radius there; at a step, the larger one. Outside [0, length()]: that of the nearer end.
  [[nodiscard]] Length radius_at(Length along) const;
  /// A hole that ends in a floor: nothing passes length().
  [[nodiscard]] bool closed() const { return closed_; }
  /// First vertex of the floor (its outer edge); vertices().size() when there is none.
  [[nodiscard]] std::size_t floor_begin() const { return floor_begin_; }
  /// Whether this vertex belongs to the polyline of a rounded part.
  [[nodiscard]] bool rounded(std::size_t vertex) const {
    return vertex >= round_begin_ && vertex < round_end_;
  }

  friend bool operator==(const Profile&, const Profile&) = default;

 private:
  friend class ProfileBuilder;
  std::vector<Vertex> vertices_;
  bool closed_ = false;
  std::size_t floor_begin_ = 0;
  std::size_t round_begin_ = 0;
  std::size_t round_end_ = 0;
};

enum class PointShape { cone, ball, parallel, pairs };
enum class TipShape { flat, round, worn };

/// A screw's point by its measures. Fields that a shape does not use are ignored.
struct PointForm {
  PointShape shape = PointShape::cone;
  TipShape tip = TipShape::flat;
  Length length;      ///< tip to the end of what is described, > 0
  Angle half_angle;   ///< cone: of the flank, in (0, 90 deg)
  Length tip_radius;  ///< cone, flat or worn: radius of the tip as made, >= 0; round: radius of the rounding,
                      ///< > 0
  Length shank_radius;        ///< cone: where the flank ends and the shank begins; 0: flank to the end
  Length wear_length;         ///< worn: how far back from the tip the wear reaches, in (0, length]
  Length wear_depth;          ///< worn: radius lost at the tip, falling to nothing at wear_length
  Length ball_radius;         ///< ball, > 0
  Length neck_radius;         ///< ball: of the neck behind it, in [0, ball_radius)
  Length pin_radius;          ///< parallel, > 0
  Length pin_length;          ///< parallel: tip to shoulder, in (0, length]; equal to length: no shoulder
  Length shoulder_radius;     ///< parallel, >= pin_radius
  std::vector<Vertex> pairs;  ///< pairs: the profile itself
  friend bool operator==(const PointForm&, const PointForm&) = default;
};

enum class HoleShape { cone, straight, drilled, bell, pairs };

/// A key end's hole by its measures. Fields that a shape does not use are ignored.
struct HoleForm {
  HoleShape shape = HoleShape::cone;
  Length mouth_radius;        ///< at the end face, > 0
  Length depth;               ///< to the floor (drilled: to the floor's outer edge), > 0
  Angle half_angle;           ///< cone, bell (inner flank): in (0, 90 deg)
  Angle floor_half_angle;     ///< drilled: of the floor's cone, in (0, 90 deg); a 118 deg drill leaves 59 deg
  Angle bell_half_angle;      ///< bell: of the worn mouth, steeper than half_angle
  Length bell_depth;          ///< bell: how deep the worn mouth reaches
  std::vector<Vertex> pairs;  ///< pairs: the profile; its end is a floor
  std::size_t floor_pairs =
      0;  ///< pairs: how many of the last pairs are the floor itself; 0: flat at the end
  friend bool operator==(const HoleForm&, const HoleForm&) = default;
};

/// The profile of a point. Fault::geometry names the measure that cannot be.
Expected<Profile> make_point(const PointForm& form);
/// The profile of a hole, closed by its floor. Conical flanks that reach the axis before `depth`
/// end there.
Expected<Profile> make_hole(const HoleForm& form);

/// The flank's half angle a reamer has to have: the point's if it is a cone, else that of the
/// hole's first flank (0 for a straight hole).
Angle fitting_taper(const PointForm& point, const HoleForm& hole);

/// The hole after a conical reamer of this half angle has opened it: at each depth the larger of
/// the old radius and `radius_at_face - depth * tan(half_angle)`. The floor stays where it is; a hole without
/// one, whose flank runs out on the axis, gets as deep as the reamer.
Profile ream(const Profile& hole, Angle half_angle, Length radius_at_face);
/// The hole after `amount` has been faced off the key's end. Fault::geometry when nothing of the
/// hole would be left.
Expected<Profile> face(const Profile& hole, Length amount);

}  // namespace hingeline::contact

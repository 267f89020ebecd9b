#pragma once
/// \file
/// A key between two joints: how far it can move along its hinge line, and everything it can do
/// when it is loose.
///
/// Frame: z runs from the upper post's inner face (0) to the lower post's inner face (span). The key
/// occupies [g, g + key length]; g is its place. Upper insertion is P_u - g, lower P_l - (G - g) with
/// G = span - key length. Free range: g >= 0, G - g >= 0, both insertions <= home.

#include <array>
#include <optional>
#include <vector>

#include "hingeline/base/quantity.h"
#include "hingeline/contact/joint.h"

namespace hingeline::mechanism {

/// The upper post is the one nearer the mouthpiece, the lower one nearer the bell.
enum class Side { upper, lower };
constexpr Side other(Side s) { return s == Side::upper ? Side::lower : Side::upper; }
/// "upper" or "lower".
constexpr const char* word(Side s) { return s == Side::upper ? "upper" : "lower"; }

struct HingeEnd {
  contact::Joint joint;
  Length protrusion;  ///< of the point past the post's inner face; not used by a rod
};

/// What stops the key at one end of its travel.
enum class StopKind {
  joint,  ///< the point, see its home regime
  face    ///< the key's end on the post's face
};

struct Travel {
  Length low;   ///< g with the key pushed home towards the upper post
  Length high;  ///< g with the key pushed home towards the lower post
  StopKind low_stop = StopKind::face;
  StopKind high_stop = StopKind::face;
  Length face_gap;  ///< G, both gaps together
  /// End play; negative: bind, by how much the parts would overlap.
  [[nodiscard]] Length end_play() const { return high - low; }
  /// Gap between post face and key end with the key pushed home that way; negative never happens
  /// while the key is free.
  [[nodiscard]] Length gap_at(Side side) const { return side == Side::upper ? low : face_gap - high; }
};

/// Worst error of the two ends of the travel, for the joints of contact/joint.h and lengths up to 100 mm:
/// that of home insertion plus three roundings. A test fails when one of the two is exceeded, and when the
/// worst found is less than half of it.
inline constexpr Length kPlaceWorstError = millimetres(1.6e-12);
/// Worst error of end play, to which both ends add.
inline constexpr Length kEndPlayWorstError = millimetres(2.8e-12);

/// The hinge.
class Hinge {
 public:
  Hinge(Length span, Length key_length, HingeEnd upper, HingeEnd lower);

  [[nodiscard]] Length span() const { return span_; }
  [[nodiscard]] Length key_length() const { return key_length_; }
  [[nodiscard]] const HingeEnd& end(Side side) const { return side == Side::upper ? upper_ : lower_; }
  [[nodiscard]] const Travel& travel() const { return travel_; }
  /// How deep the tip is in the key with the key at place g.
  [[nodiscard]] Length insertion(Side side, Length g) const;
  /// Where the point would stop the key if there were no face: signed gap at that post.
  [[nodiscard]] Length point_stop(Side side) const;
  /// Whether the point can leave the key's hole within the free range.
  [[nodiscard]] bool can_drop_out() const;

 private:
  Length span_;
  Length key_length_;
  HingeEnd upper_;
  HingeEnd lower_;
  Travel travel_;
};

/// Two components across the hinge line, mm per mm: along clock angle 0 and a quarter turn on.
using Across = std::array<double, 2>;

/// One place of a loose key: where along the line, and how far its axis is off at each end.
struct Pose {
  Length place;                   ///< g
  std::array<Length, 2> upper{};  ///< displacement across at the key's upper end
  std::array<Length, 2> lower{};
};

/// A linear question about a pose: axial * (g - middle) + upper . a + lower . b.
struct Question {
  double axial = 0;
  Across upper{};
  Across lower{};
};
struct Answer {
  Length worst;  ///< the largest value over all poses
  Pose pose;     ///< a pose that attains it
};

/// All poses of a loose hinge, prepared for questions: knots of both clearances over the free
/// range. Exact: the worst case of a question lies at a knot, and there in closed form.
/// A hinge that binds has no poses: `empty()`, and every answer is 0 with the pose in the middle.
class Play {
 public:
  explicit Play(const Hinge& hinge);

  [[nodiscard]] bool empty() const { return knots_.empty(); }
  [[nodiscard]] Length key_length() const { return Length::of(key_length_); }
  /// Middle of the free range.
  [[nodiscard]] Length middle() const { return Length::of(middle_); }
  [[nodiscard]] std::size_t knots() const { return knots_.size(); }
  [[nodiscard]] Length place(std::size_t k) const { return Length::of(knots_[k].place); }
  [[nodiscard]] Length clearance(Side side, std::size_t k) const {
    return Length::of(side == Side::upper ? knots_[k].upper : knots_[k].lower);
  }

  /// The largest value of the question, without its pose: the fast way.
  [[nodiscard]] Length worst(const Question& question) const;
  /// The same with a pose that attains it.
  [[nodiscard]] Answer answer(const Question& question) const;

 private:
  double key_length_;
  double middle_;
  /// One place and both clearances there, mm.
  struct Knot {
    double place, upper, lower;
  };
  std::vector<Knot> knots_;
};

/// Rock at a station: travel across from one extreme to the other, twice the worst displacement.
/// station: from the key's upper end along the line.
struct Rock {
  Length travel;
  Pose pose;
};
Rock rock(const Play& play, Length station);

/// A pad on its arm.
struct Pad {
  Length tone_hole;  ///< diameter
  Length station;    ///< from the key's upper end face along the hinge line
  Length arm;        ///< hinge axis to pad centre, > 0
  Angle clock;       ///< direction of the arm round the axis
};

/// What the play does to the pad. Gaps are at the rim of the tone hole while the opposite rim
/// touches: diameter x tilt. The pad stops the key's rotation.
struct PadPlay {
  Length side_gap;  ///< side to side, along the hinge line: tone hole x (c_u + c_l) / key length
  Pose side_pose;
  Length front_gap;  ///< front to back, across it: tone hole x lift of the hinge at the pad's station / arm
  Pose front_pose;
  Length worst_gap;  ///< both at once, in the worst direction round the rim
  Pose worst_pose;
  Length seat_wander;  ///< farthest apart two places of the pad's centre on its tone hole can be
};
PadPlay pad_play(const Play& play, const Pad& pad);

/// The key pushed home on one end: a sound cone joint has no rock there. Rock that stays does not
/// come from end play.
struct HomeEnd {
  Length rock_there;  ///< twice the clearance at that end
  StopKind stop = StopKind::joint;
  contact::Regime regime = contact::Regime::none;
};
HomeEnd home_end(const Hinge& hinge, Side side);

}  // namespace hingeline::mechanism

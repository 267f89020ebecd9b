#pragma once
/// \file
/// A joint's measures made ready for drawing: what is missing is filled in with what is likely, what
/// is out of bounds is cut off. Plain millimetres of the real thing.
///
/// Along: u, from the post's inner face into the key; the post lies at negative u.

#include <string>
#include <vector>

#include "hingeline/drawing/pen.h"
#include "hingeline/drawing/section.h"

namespace hingeline::drawing {

/// x: along, y: radius.
using HalfContour = std::vector<Point>;

/// Radius of a half contour there; of its nearer end outside; at a step the later one.
double radius_at(const HalfContour& contour, double along);

struct JointShape {
  bool rod = false;
  HalfContour point;  ///< from the tip; empty: not known
  HalfContour hole;   ///< from the key's end face; empty: not known
  double floor = 0;   ///< depth of the floor's outer edge
  double gap = 0;
  double insertion = 0;
  double key_radius = 0;
  bool key_radius_known = false;
  double post_length = 0;
  bool post_length_known = false;
  bool post_broken = false;  ///< too long to be drawn whole
  double post_radius = 0;
  double body_radius = 0;  ///< of the screw in its post
  bool headed = false;
  double head_radius = 0, head_height = 0;
  double seat = 0;  ///< how deep the head lies in the post
  double rod_radius = 0, bore_radius = 0;
  double key_shown = 0;      ///< how much of the key's length is drawn
  bool floor_shown = false;  ///< whether the hole's end lies in it

  [[nodiscard]] bool empty() const { return !rod && point.empty() && hole.empty(); }
  [[nodiscard]] double protrusion() const { return gap + insertion; }
  [[nodiscard]] double hole_depth() const { return hole.empty() ? 0 : hole.back().x; }
  /// Along of the outermost and of the innermost drawn thing.
  [[nodiscard]] double first() const;
  [[nodiscard]] double last() const { return gap + key_shown; }
  [[nodiscard]] double half_height() const;
};

JointShape shape_of(const JointView& view);

/// Breaks off what reaches farther than that on either side of the post's face, mm of the real thing; both >
/// 0.
void break_off(JointShape& shape, double most_post, double most_key);

/// Gives the joint after the work the likely measures of the one before, so that nothing jumps.
void keep_guesses(const JointShape& before, JointShape& after);

/// What the work took off, as far as two views tell.
struct Taken {
  double seat = 0;       ///< seat deeper by
  double faced = 0;      ///< key end shorter by
  HalfContour hole_was;  ///< the old hole's contour, from the new end face; empty: not opened
  double opened = 0;     ///< largest growth of the hole's radius
  double opened_from = 0, opened_to = 0;  ///< over these depths from the new end face
};
Taken taken_between(const JointShape& before, const JointShape& after);

}  // namespace hingeline::drawing

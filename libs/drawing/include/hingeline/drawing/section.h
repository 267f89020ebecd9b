#pragma once
/// \file
/// Both joints of a key cut open along the hinge line, to scale.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/quantity.h"
#include "hingeline/base/reading.h"
#include "hingeline/drawing/scene.h"
#include "hingeline/drawing/words.h"

namespace hingeline::drawing {

struct OutlinePoint {
  Length along;
  Length radius;
};
/// Half of a contour. Of a point: from the tip backwards. Of a hole: from the key's end face
/// inwards, closed by its last vertex, the floor.
using Outline = std::vector<OutlinePoint>;

/// One end of a key, pushed home on that end. A measure that is 0, negative or not finite counts as
/// not known, except `face_gap` and the touch, which may be 0.
struct JointView {
  Outline point;
  Outline hole;
  Length insertion;       ///< of the tip past the key's end face
  Length floor_depth;     ///< from the key's end face to the floor's outer edge; 0: the end of the outline
  Length face_gap;        ///< between post face and key end in that place
  Length key_end_radius;  ///< outside of the tube; not known: a likely one, dashed
  Length post_thickness;  ///< not known: a likely one, dashed
  Length head_radius, head_height;
  bool headed = false;
  bool rod = false;  ///< a rod in its tube instead of a point
  Length rod_radius, bore_radius;
  std::string regime;   ///< what it rides on: "flank", "rim", "tip edge", ...; empty: nothing
  Length touch_depth;   ///< where it rides, from the key's end face (middle of the length)
  Length touch_radius;  ///< its distance from the axis
  Length touch_length;  ///< along the axis; 0: an edge
};

struct SectionView {
  std::string title;
  std::string subtitle;
  JointView upper, lower;
  /// After the plan. Metal that is gone is hatched and its amount said.
  std::optional<JointView> upper_after, lower_after;
  /// The plan's steps at that end in short words, e.g. "seat cut 0.065 mm".
  std::vector<std::string> work_upper, work_lower;
  LengthUnit unit = LengthUnit::mm;
  double scale = 0;  ///< 10: 10:1; 0 or less: the largest there is room for
  Tongue tongue;
  bool only_after = false;  ///< the joints as they are now are left out
  /// One joint alone has the sheet's whole width.
  enum class Sides { both, upper, lower } sides = Sides::both;
};

/// A part of a joint, to be named by who learns.
enum class JointPart { post, seat, head, point, key_end, mouth, floor, gap, contact, rod, bore };

/// The sheet is 180 mm wide. The upper post stands on the left, the lower one on the right; "now"
/// above "after the work". One scale for everything, said on the sheet: the largest of 1:10 to 50:1
/// at which all joints find room. Parts are coaxial; thread, seat depth and post outline are drawn
/// as signs. Where the view asks for a scale the drawing is true to that: joints that find no room beside
/// each other stand one below the other, and what finds none then is broken off. Tip to floor is measured on
/// the axis. An `after` where only one end has one keeps the other as it is.
Scene draw_section(const SectionView& view);

/// One joint as it is now (the upper one, where both are asked for), without words or figures; a numbered
/// circle for each part instead.
struct Numbered {
  Scene scene;
  std::vector<JointPart> parts;  ///< number 1 first
};
Numbered draw_numbered_section(const SectionView& view);

}  // namespace hingeline::drawing

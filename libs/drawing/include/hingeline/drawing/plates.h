#pragma once
/// \file
/// Further drawings: tubes on a rod, a cutter at its post, a pad's wedge and what leaks, play over the years.
///
/// All sheets are 180 mm wide. A measure that is 0, negative or not finite counts as not known and is left
/// out, but play and cut, which may be any. Scales are said on the sheet.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/quantity.h"
#include "hingeline/base/reading.h"
#include "hingeline/drawing/scene.h"
#include "hingeline/drawing/words.h"

namespace hingeline::drawing {

/// Tubes between posts on one rod, from the upper end down.
struct StackView {
  struct Tube {
    std::string name;
    Length length;
  };
  struct Gap {
    Length span;  ///< between its posts' inner faces
    std::vector<Tube> tubes;
    std::optional<Length> play;  ///< of them together
    Length window_low, window_high;
  };
  std::string title, subtitle;
  Length rod;  ///< diameter
  std::vector<Gap> gaps;
  LengthUnit unit = LengthUnit::mm;
  Tongue tongue;
};
/// Lengths along the rod are to one scale, what lies across it too; posts' widths are signs. A gap's play is
/// said, not drawn larger than it is.
Scene draw_stack(const StackView& view);

/// A post seen along its screw and from the side, with the cutter that goes to its seat.
struct CutterView {
  std::string title, subtitle;
  Length post_diameter, post_thickness;
  Length head_diameter;
  Length cutter_diameter;
  std::string cutter;  ///< its name; empty: none fits
  Length cut;          ///< by how much the seat gets deeper
  Length room_behind, room_around;
  std::string driver;
  LengthUnit unit = LengthUnit::mm;
  Tongue tongue;
};
/// Both views to one scale. The wall round the seat is dimensioned, room behind and around dashed.
Scene draw_cutter(const CutterView& view);

/// A pad that stands crooked over its tone hole.
struct WedgeView {
  std::string title, subtitle;
  Length tone_hole;
  Length land;          ///< width of the rim
  Length gap;           ///< at the rim's widest place
  Length take_up;       ///< what the pad gives
  std::string leak;     ///< "3.2 ± 0.8 mL/s"; empty: not said
  std::string as_hole;  ///< "as a hole of 0.8 mm"; empty: not said
  LengthUnit unit = LengthUnit::mm;
  Tongue tongue;
};
/// Across: to one scale; the gap to a larger one. Beside it the gap round the rim: half a wave from nothing
/// to the widest place, of which the pad takes up its share; what stays open is hatched.
Scene draw_wedge(const WedgeView& view);

/// End play as it grows.
struct YearsView {
  std::string title, subtitle;
  Length now;
  Length window_low, window_high;
  Length slow, middle, fast;  ///< growth in a year: exceeded 95, 50 and 5 times in 100
  LengthUnit unit = LengthUnit::mm;
  Tongue tongue;
};
/// Straight lines from today on, as far as the middle one takes to reach the window's edge and half as far
/// again, at least one year and at most thirty.
Scene draw_years(const YearsView& view);

}  // namespace hingeline::drawing

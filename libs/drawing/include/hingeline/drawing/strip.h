#pragma once
/// \file
/// The hinge strip: a whole key between its two posts, to scale, with a lens on each gap.

#include <optional>
#include <string>

#include "hingeline/base/quantity.h"
#include "hingeline/base/reading.h"
#include "hingeline/drawing/scene.h"
#include "hingeline/drawing/words.h"

namespace hingeline::drawing {

struct StripEnd {
  Length gap_home;                ///< face gap with the key pushed home that way
  Length cut;                     ///< metal to take there; 0: none
  std::optional<Length> reserve;  ///< what remains of the tightest limit there after the work
  std::string reserve_name;       ///< of that limit
  std::string work;               ///< the step in short words
};

/// Measures that are not finite are left out of the drawing.
struct StripView {
  std::string title, verdict, sentence;
  Length span;                     ///< between the posts' inner faces, > 0
  Length key_length;               ///< > 0
  Length end_play;                 ///< negative: bind
  Length end_play_pm;              ///< expanded uncertainty; 0: not said
  Length window_low, window_high;  ///< the end play aimed at
  std::optional<Length> end_play_after;
  StripEnd upper, lower;
  bool has_pad = false;
  Length pad_station;      ///< pad centre from the key's upper end
  Length tone_hole;        ///< diameter
  Length side_gap;         ///< play's gap side to side, along the hinge line
  Length worst_gap;        ///< in the worst direction
  Length pad_gap_allowed;  ///< 0: not said
  Length pad_offset;       ///< of the pad's centre from that of its tone hole, + towards the lower post
  LengthUnit unit = LengthUnit::mm;
  Tongue tongue;
};

/// The sheet is 180 mm wide, the upper post on the left. The key stands in the middle of its free
/// range; span, key, pad and tone hole are to one scale, the lenses to another, both said. Posts, and
/// everything across the hinge line, are drawn as signs. The hatched strip in a lens is as wide as
/// the metal to take and lies where the work moves the key's stop.
Scene draw_hinge_strip(const StripView& view);

}  // namespace hingeline::drawing

#pragma once
/// \file
/// The words that stand in drawings, so that a drawing can speak another language than English.

#include <array>
#include <cstddef>
#include <string_view>

namespace hingeline::drawing {

/// Each with the number of gaps ("{}") that its English has.
enum class Word {
  now,
  after_the_work,
  upper_joint_home,
  lower_joint_home,
  upper_joint,
  lower_joint,
  not_measured,
  post,
  key_end,
  screw_rod,
  metal_gone,
  rides_here,
  scale,
  no_work,
  and_more,
  seat_deeper,
  end_shorter,
  hole_wider,
  face_gap,
  insertion,
  protrusion,
  tip_to_floor,
  on_rod,
  on_flank,
  on_rim,
  on_tip_edge,
  on_inner_edge,
  on_point_edge,
  on_round,
  on_floor,
  on_shoulder,
  on_face,
  on_other,
  rod,
  bore,
  clearance,
  over,
  from_the_end,
  key_long,
  between_posts,
  upper_end,
  lower_end,
  lens,
  gap_home,
  take,
  reserve_left,
  no_reserve,
  side_gap,
  worst_gap,
  allowed,
  too_much,
  within_it,
  pad_off,
  towards_lower,
  towards_upper,
  gap_drawn,
  tone_hole,
  end_play,
  now_figure,
  binds,
  after_figure,
  aimed_at,
  key,
  free_range,
  overlap,
  metal_to_take,
  reserve,
  across_scale,
  play,
  post_of,
  head_of,
  cutter_of,
  no_cutter,
  wall_left,
  room_behind,
  room_around,
  by_driver,
  cut_by,
  land,
  pad_gives,
  gap_round,
  stays_open,
  leaks,
  years,
  today,
  likely_growth,
  last = likely_growth
};
inline constexpr std::size_t kWordCount = static_cast<std::size_t>(Word::last) + 1;
using Words = std::array<std::string_view, kWordCount>;

const Words& english_words();

/// How a drawing speaks. `words` must outlive the drawing of it.
struct Tongue {
  const Words* words = &english_words();
  bool decimal_comma = false;
};

}  // namespace hingeline::drawing

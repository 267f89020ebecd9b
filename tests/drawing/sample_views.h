#pragma once
/// \file
/// Views to draw in tests: plainly invented keys, one for each way a joint rides.

#include <cmath>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

#include "hingeline/drawing/section.h"
#include "hingeline/drawing/strip.h"

namespace hingeline::drawing::samples {

inline Length mm(double v) { return millimetres(v); }
inline double slope(double degrees_half) { return std::tan(degrees_half * std::numbers::pi / 180.0); }

inline Outline cone_point(double tip_radius, double length, double half_angle) {
  return {{mm(0), mm(0)}, {mm(0), mm(tip_radius)}, {mm(length), mm(tip_radius + length * slope(half_angle))}};
}
inline Outline cone_hole(double mouth_radius, double depth, double half_angle) {
  return {{mm(0), mm(mouth_radius)},
          {mm(depth), mm(mouth_radius - depth * slope(half_angle))},
          {mm(depth), mm(0)}};
}

inline JointView common_joint() {
  JointView j;
  j.key_end_radius = mm(2.2);
  j.post_thickness = mm(3.6);
  j.headed = true;
  j.head_radius = mm(2.0);
  j.head_height = mm(1.2);
  return j;
}

/// A point of 12 degrees in a hole of the same taper.
inline JointView matched_cone(double insertion_home = 2.8, double gap = 0.30) {
  JointView j = common_joint();
  j.point = cone_point(0.45, 3.4, 12);
  j.hole = cone_hole(0.45 + insertion_home * slope(12), 3.3, 12);
  j.insertion = mm(insertion_home);
  j.face_gap = mm(gap);
  j.regime = "flank";
  j.touch_depth = mm(insertion_home / 2);
  j.touch_length = mm(insertion_home);
  j.touch_radius = mm(0.45 + insertion_home / 2 * slope(12));
  return j;
}

/// A cone in a straight hole touches only the rim.
inline JointView straight_hole() {
  JointView j = common_joint();
  j.point = cone_point(0.4, 3.4, 14);
  j.hole = {{mm(0), mm(0.95)}, {mm(3.0), mm(0.95)}, {mm(3.0), mm(0)}};
  const double insertion = 0.55 / slope(14);
  j.insertion = mm(insertion);
  j.face_gap = mm(0.22);
  j.regime = "rim";
  j.touch_depth = mm(0);
  j.touch_radius = mm(0.95);
  return j;
}

/// The hole ends before the flanks meet.
inline JointView tip_on_floor() {
  JointView j = matched_cone();
  j.hole = cone_hole(0.45 + 2.9 * slope(12), 2.6, 12);
  j.insertion = mm(2.6);
  j.regime = "floor";
  j.touch_depth = mm(2.6);
  j.touch_length = mm(0);
  j.touch_radius = mm(0.45);
  return j;
}

/// A ball on a neck in a conical hole.
inline JointView ball_point() {
  JointView j = common_joint();
  const double radius = 0.8;
  const double neck = 0.45;
  const double neck_angle = std::asin(neck / radius);
  constexpr int kParts = 24;
  for (int i = 0; i <= kParts; ++i) {
    const double a = (std::numbers::pi - neck_angle) * i / kParts;
    j.point.push_back({mm(radius * (1 - std::cos(a))), mm(radius * std::sin(a))});
  }
  j.point.push_back({mm(3.2), mm(neck)});
  j.hole = cone_hole(1.2, 3.4, 15);
  // The circle touches the wall square to it, at 15 degrees before its widest place.
  const double angle = 15 * std::numbers::pi / 180;
  const double centre = (1.2 - radius / std::cos(angle)) / slope(15);
  j.insertion = mm(centre + radius);
  j.face_gap = mm(0.15);
  j.regime = "round";
  j.touch_depth = mm(centre + radius * std::sin(angle));
  j.touch_radius = mm(radius * std::cos(angle));
  return j;
}

/// A worn mouth, steeper than the point: it rides on the edge where the mouth's wear ends.
inline JointView bell_mouth() {
  JointView j = common_joint();
  j.point = cone_point(0.45, 3.4, 14);
  j.hole = {{mm(0), mm(1.45)}, {mm(0.8), mm(1.05)}, {mm(3.6), mm(1.05 - 2.8 * slope(8))}, {mm(3.6), mm(0)}};
  const double insertion = 0.8 + (1.05 - 0.45) / slope(14);
  j.insertion = mm(insertion);
  j.face_gap = mm(0.18);
  j.regime = "inner edge";
  j.touch_depth = mm(0.8);
  j.touch_radius = mm(1.05);
  return j;
}

inline JointView rod_joint() {
  JointView j;
  j.rod = true;
  j.rod_radius = mm(1.0);
  j.bore_radius = mm(1.04);
  j.key_end_radius = mm(1.75);
  j.post_thickness = mm(3.0);
  j.face_gap = mm(0.05);
  return j;
}

/// The same joint after its seat was cut: the point stands out farther, the key stops sooner.
inline JointView seat_cut(JointView j, double depth) {
  j.face_gap += mm(depth);
  return j;
}

/// The same joint after a reamer of the point's taper: the key comes closer by `axial`.
inline JointView reamed(JointView j, double axial, double half_angle) {
  const double wider = axial * slope(half_angle);
  for (std::size_t i = 0; i + 1 < j.hole.size(); ++i) j.hole[i].radius += mm(wider);
  j.insertion += mm(axial);
  j.face_gap -= mm(axial);
  j.touch_depth += mm(axial / 2);
  j.touch_length += mm(axial);
  return j;
}

inline SectionView section(std::string title, JointView upper, JointView lower) {
  SectionView v;
  v.title = std::move(title);
  v.upper = std::move(upper);
  v.lower = std::move(lower);
  return v;
}

inline SectionView loose_matched_cone() {
  SectionView v = section("G sharp key, loose on its pivot screws", matched_cone(), matched_cone(2.7, 0.25));
  v.subtitle = "End play 0.160 mm; 0.030 to 0.060 mm is aimed at. Both seats take the same cut.";
  v.upper_after = seat_cut(v.upper, 0.065);
  v.lower_after = seat_cut(v.lower, 0.05);
  v.work_upper = {"seat cut 0.065 mm, 4.00 mm cutter"};
  v.work_lower = {"seat cut 0.050 mm, 4.00 mm cutter"};
  return v;
}

inline SectionView binding_reamed() {
  SectionView v = section("Low C key, binds", matched_cone(2.8, 0.2), matched_cone(2.7, 0.16));
  v.subtitle = "Binds by 0.030 mm. The upper key end is opened with a reamer of the point's taper.";
  v.upper_after = reamed(v.upper, 0.1, 12);
  v.work_upper = {"ream the key end until it runs, 0.100 mm"};
  return v;
}

inline StripView loose_strip() {
  StripView v;
  v.title = "G sharp key";
  v.verdict = "Loose: 0.160 mm end play";
  v.sentence =
      "It rattles and its pad can lift at one side. Cut both seats, the upper one a little more; that leaves "
      "enough for the next time.";
  v.span = mm(58.05);
  v.key_length = mm(57.34);
  v.end_play = mm(0.160);
  v.end_play_pm = mm(0.012);
  v.window_low = mm(0.030);
  v.window_high = mm(0.060);
  v.end_play_after = mm(0.045);
  v.upper = {mm(0.30), mm(0.065), mm(0.42), "wall under the seat", "seat cut 0.065 mm"};
  v.lower = {mm(0.25), mm(0.050), mm(0.61), "tip to floor", "seat cut 0.050 mm"};
  v.has_pad = true;
  v.pad_station = mm(34);
  v.tone_hole = mm(14.5);
  v.side_gap = mm(0.021);
  v.worst_gap = mm(0.034);
  v.pad_gap_allowed = mm(0.025);
  v.pad_offset = mm(0.03);
  return v;
}

inline StripView binding_strip() {
  StripView v = loose_strip();
  v.title = "Low C key";
  v.verdict = "Binds by 0.030 mm";
  v.sentence = "Open the upper key end with a reamer of the point's taper.";
  v.span = mm(57.67);
  v.end_play = mm(-0.030);
  v.end_play_pm = mm(0.010);
  v.end_play_after = mm(0.045);
  v.upper = {mm(0.20), mm(0.075), mm(0.30), "tip to floor", "ream 0.075 mm along the axis"};
  v.lower = {mm(0.16), mm(0), mm(0.35), "tip to floor", ""};
  v.pad_offset = mm(0);
  return v;
}

/// A key of a low instrument: 400 mm.
inline StripView long_strip() {
  StripView v = loose_strip();
  v.title = "Low B flat key of a long instrument";
  v.span = mm(400.6);
  v.key_length = mm(399.8);
  v.pad_station = mm(372);
  v.tone_hole = mm(46);
  return v;
}

inline StripView short_strip_in_inches() {
  StripView v = loose_strip();
  v.title = "Trill key";
  v.verdict = "Loose";
  v.span = mm(12);
  v.key_length = mm(11.3);
  v.pad_station = mm(6);
  v.tone_hole = mm(5);
  v.unit = LengthUnit::inch;
  return v;
}

}  // namespace hingeline::drawing::samples

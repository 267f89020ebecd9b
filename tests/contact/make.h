#pragma once
// Forms in few words, lengths in mm and half angles in degrees.

#include <utility>
#include <vector>

#include "hingeline/contact/joint.h"
#include "hingeline/contact/profile.h"

namespace hingeline::contact {

inline PointForm cone_point(double half_angle, double tip_radius, double length) {
  PointForm f;
  f.half_angle = degrees(half_angle);
  f.tip_radius = millimetres(tip_radius);
  f.length = millimetres(length);
  return f;
}
inline PointForm round_point(double half_angle, double rounding, double length) {
  PointForm f = cone_point(half_angle, rounding, length);
  f.tip = TipShape::round;
  return f;
}
inline PointForm worn_point(double half_angle, double tip_radius, double length, double wear_length,
                            double wear_depth) {
  PointForm f = cone_point(half_angle, tip_radius, length);
  f.tip = TipShape::worn;
  f.wear_length = millimetres(wear_length);
  f.wear_depth = millimetres(wear_depth);
  return f;
}
inline PointForm ball_point(double radius, double neck, double length) {
  PointForm f;
  f.shape = PointShape::ball;
  f.ball_radius = millimetres(radius);
  f.neck_radius = millimetres(neck);
  f.length = millimetres(length);
  return f;
}
inline PointForm pin(double radius, double pin_length, double shoulder, double length) {
  PointForm f;
  f.shape = PointShape::parallel;
  f.pin_radius = millimetres(radius);
  f.pin_length = millimetres(pin_length);
  f.shoulder_radius = millimetres(shoulder);
  f.length = millimetres(length);
  return f;
}
inline std::vector<Vertex> vertices_of(const std::vector<std::pair<double, double>>& pairs) {
  std::vector<Vertex> out;
  for (const auto& [along, radius] : pairs) out.push_back({millimetres(along), millimetres(radius)});
  return out;
}
inline PointForm point_pairs(const std::vector<std::pair<double, double>>& pairs) {
  PointForm f;
  f.shape = PointShape::pairs;
  f.pairs = vertices_of(pairs);
  return f;
}

inline HoleForm cone_hole(double half_angle, double mouth_radius, double depth) {
  HoleForm f;
  f.half_angle = degrees(half_angle);
  f.mouth_radius = millimetres(mouth_radius);
  f.depth = millimetres(depth);
  return f;
}
inline HoleForm straight_hole(double radius, double depth) {
  HoleForm f = cone_hole(0, radius, depth);
  f.shape = HoleShape::straight;
  return f;
}
inline HoleForm drilled_hole(double radius, double depth, double floor_half_angle) {
  HoleForm f = cone_hole(0, radius, depth);
  f.shape = HoleShape::drilled;
  f.floor_half_angle = degrees(floor_half_angle);
  return f;
}
inline HoleForm bell_hole(double half_angle, double mouth_radius, double depth, double bell_half_angle,
                          double bell_depth) {
  HoleForm f = cone_hole(half_angle, mouth_radius, depth);
  f.shape = HoleShape::bell;
  f.bell_half_angle = degrees(bell_half_angle);
  f.bell_depth = millimetres(bell_depth);
  return f;
}
inline HoleForm hole_pairs(const std::vector<std::pair<double, double>>& pairs, std::size_t floor_pairs) {
  HoleForm f;
  f.shape = HoleShape::pairs;
  f.pairs = vertices_of(pairs);
  f.floor_pairs = floor_pairs;
  return f;
}

inline Joint joint_of(const PointForm& point, const HoleForm& hole) {
  return {make_point(point).value(), make_hole(hole).value()};
}

}  // namespace hingeline::contact

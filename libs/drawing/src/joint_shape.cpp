#include "joint_shape.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace hingeline::drawing {
namespace {

/// Differences below this are rounding, not work, mm.
constexpr double kLeastTaken = 1e-4;
/// Lengths beyond this are no joint's, mm.
constexpr double kLongest = 100.0;

double sized(Length v) { return known(v) && in_millimetres(v) <= kLongest ? in_millimetres(v) : 0.0; }
double at_least_0(Length v) { return is_finite(v) ? std::clamp(in_millimetres(v), 0.0, kLongest) : 0.0; }

HalfContour contour_of(const Outline& outline) {
  HalfContour out;
  for (const OutlinePoint& p : outline) {
    if (!is_finite(p.along) || !is_finite(p.radius)) continue;
    const double along = at_least_0(p.along);
    if (!out.empty() && along < out.back().x) continue;
    out.push_back({along, at_least_0(p.radius)});
  }
  if (out.size() < 2 || out.back().x <= 0) out.clear();
  return out;
}

double largest_radius(const HalfContour& contour) {
  double r = 0;
  for (const Point& p : contour) r = std::max(r, p.y);
  return r;
}

HalfContour up_to(const HalfContour& contour, double limit) {
  HalfContour out;
  for (const Point& p : contour) {
    if (p.x > limit) {
      out.push_back({limit, radius_at(contour, limit)});
      break;
    }
    out.push_back(p);
  }
  return out;
}

bool same(const HalfContour& a, const HalfContour& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const Point& p, const Point& q) {
    return std::abs(p.x - q.x) < kLeastTaken && std::abs(p.y - q.y) < kLeastTaken;
  });
}

}  // namespace

double radius_at(const HalfContour& contour, double along) {
  if (contour.empty()) return 0;
  if (along < contour.front().x) return contour.front().y;
  for (std::size_t i = contour.size() - 1; i > 0; --i) {
    const Point& a = contour[i - 1];
    const Point& b = contour[i];
    if (along >= b.x) return b.y;
    if (along >= a.x) return b.x > a.x ? a.y + (b.y - a.y) * (along - a.x) / (b.x - a.x) : b.y;
  }
  return contour.front().y;
}

double JointShape::first() const {
  return headed && !post_broken ? std::min(-post_length, -(post_length - seat) - head_height) : -post_length;
}

double JointShape::half_height() const { return std::max(post_radius, key_radius); }

JointShape shape_of(const JointView& view) {
  JointShape s;
  s.rod = view.rod;
  s.gap = at_least_0(view.face_gap);
  if (s.rod) {
    s.rod_radius = sized(view.rod_radius);
    s.bore_radius = sized(view.bore_radius);
    if (s.rod_radius == 0) s.rod_radius = s.bore_radius;
    if (s.rod_radius == 0) s.rod_radius = sized(view.key_end_radius) / 2;
    if (s.rod_radius == 0) s.rod_radius = 1;
    s.bore_radius = std::max(s.bore_radius, s.rod_radius);
  } else {
    s.point = contour_of(view.point);
    s.hole = contour_of(view.hole);
    s.insertion = at_least_0(view.insertion);
    s.floor =
        sized(view.floor_depth) > 0 ? std::min(sized(view.floor_depth), s.hole_depth()) : s.hole_depth();
  }

  const double inner_radius =
      s.rod ? s.bore_radius : std::max(largest_radius(s.hole), largest_radius(s.point));
  if (inner_radius == 0) {
    s.point.clear();
    s.hole.clear();
    return s;
  }
  s.key_radius_known = sized(view.key_end_radius) > 0;
  s.key_radius = s.key_radius_known ? std::max(sized(view.key_end_radius), inner_radius) : 1.5 * inner_radius;

  // Of a very deep hole only the part round the point matters.
  const double deepest = s.rod ? 3 * s.rod_radius : 2.5 * std::max(s.insertion, s.key_radius);
  s.floor_shown = !s.hole.empty() && s.hole_depth() <= deepest;
  const double depth = s.floor_shown || s.hole.empty() ? s.hole_depth() : deepest;
  s.key_shown = s.rod ? deepest : 1.2 * std::max(depth, s.insertion) + 0.15 * s.key_radius;
  if (!s.floor_shown && !s.hole.empty()) s.key_shown = depth;

  s.post_length = sized(view.post_thickness);
  s.post_length_known = s.post_length > 0;
  if (!s.post_length_known) s.post_length = 0.7 * (s.gap + s.key_shown);
  const double longest_post = 2.5 * (s.gap + s.key_shown);
  s.post_broken = s.post_length > longest_post;
  if (s.post_broken) s.post_length = longest_post;

  s.body_radius = s.rod ? s.rod_radius : largest_radius(s.point);
  s.headed = view.headed && !s.rod && !s.point.empty();
  if (s.headed) {
    s.head_radius = sized(view.head_radius);
    s.head_height = sized(view.head_height);
    if (s.head_radius == 0) s.head_radius = 1.5 * s.body_radius;
    s.head_radius = std::max(s.head_radius, s.body_radius);
    if (s.head_height == 0) s.head_height = 0.6 * s.head_radius;
    s.seat = std::min(0.7 * s.head_height, 0.35 * s.post_length);
  }
  // Behind that the screw's body is as thick as its point gets.
  s.point = up_to(s.point, s.protrusion() + 0.85 * (s.post_length - s.seat));
  s.post_radius = 1.2 * std::max({s.key_radius, s.headed ? 1.1 * s.head_radius : 0.0, 1.5 * s.body_radius});
  return s;
}

void break_off(JointShape& shape, double most_post, double most_key) {
  if (shape.empty()) return;
  constexpr double kRounding = 1e-9;
  if (-shape.first() > most_post + kRounding) {
    shape.post_broken = true;
    shape.post_length = std::min(shape.post_length, most_post);
  }
  if (shape.last() > most_key + kRounding) {
    shape.gap = std::min(shape.gap, most_key);
    shape.key_shown = most_key - shape.gap;
    shape.floor_shown = shape.floor_shown && shape.hole_depth() <= shape.key_shown;
  }
}

void keep_guesses(const JointShape& before, JointShape& after) {
  if (before.empty() || after.empty()) return;
  if (!before.post_length_known || before.post_broken) {
    after.post_length = before.post_length;
    after.post_broken = before.post_broken;
  }
  if (!before.key_radius_known && !after.key_radius_known) after.key_radius = before.key_radius;
  after.post_radius = std::max(before.post_radius, after.post_radius);
  if (after.headed && before.headed) {
    const Taken taken = taken_between(before, after);
    after.seat = before.seat + taken.seat;
  }
}

Taken taken_between(const JointShape& before, const JointShape& after) {
  Taken t;
  if (before.rod || after.rod || before.empty() || after.empty()) return t;
  if (before.headed && after.headed && !before.post_broken && same(before.point, after.point)) {
    const double deeper = after.protrusion() - before.protrusion();
    if (deeper > kLeastTaken && deeper < before.post_length - before.seat) t.seat = deeper;
  }
  if (before.hole.empty() || after.hole.empty()) return t;
  const double shorter = before.hole_depth() - after.hole_depth();
  // More than that is another key, not a facing.
  if (shorter > kLeastTaken && shorter < after.gap + after.post_length) t.faced = shorter;

  HalfContour was;
  for (const Point& p : before.hole) was.push_back({p.x - t.faced, p.y});
  // Both contours are straight between all their knots.
  std::vector<double> knots;
  for (const Point& p : was) knots.push_back(p.x);
  for (const Point& p : after.hole) knots.push_back(p.x);
  std::sort(knots.begin(), knots.end());
  const double end = std::min(was.back().x, after.hole.back().x);
  bool any = false;
  double previous = 0;
  for (const double x : knots) {
    if (x < 0 || x >= end) continue;
    const double more = radius_at(after.hole, x) - radius_at(was, x);
    if (more > kLeastTaken) {
      if (!any) t.opened_from = previous;
      any = true;
      t.opened = std::max(t.opened, more);
      t.opened_to = x;
    }
    previous = x;
  }
  if (any) {
    const auto next = std::upper_bound(knots.begin(), knots.end(), t.opened_to);
    if (next != knots.end()) t.opened_to = std::min(*next, end);
    t.hole_was = was;
    // Only what is drawn of the key.
    t.opened_to = std::min(t.opened_to, after.key_shown);
    if (t.opened_to <= t.opened_from) t.opened = 0;
  }
  return t;
}

}  // namespace hingeline::drawing

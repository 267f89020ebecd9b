#include "hingeline/mechanism/hinge.h"

#include <algorithm>
#include <cmath>

namespace hingeline::mechanism {
namespace {

double norm(const Across& v) { return v[1] == 0 ? std::abs(v[0]) : std::hypot(v[0], v[1]); }

std::array<Length, 2> along(const Across& direction, double length) {
  const double n = norm(direction);
  if (n == 0) return {};
  return {Length::of(length * direction[0] / n), Length::of(length * direction[1] / n)};
}

Travel travel_of(Length face_gap, const HingeEnd& upper, const HingeEnd& lower) {
  Travel t;
  t.face_gap = face_gap;
  const Length low = upper.protrusion - upper.joint.home().insertion;
  const Length low_gap = lower.protrusion - lower.joint.home().insertion;
  t.low = std::max(Length{}, low);
  t.high = std::min(face_gap, face_gap - low_gap);
  t.low_stop = low.raw() >= 0 ? StopKind::joint : StopKind::face;
  t.high_stop = low_gap.raw() >= 0 ? StopKind::joint : StopKind::face;
  return t;
}

/// A place of the pad's centre in the plane of its tone hole.
struct Spot {
  double axial;
  double outward;
};

/// Largest distance between two spots: between two corners of their convex hull.
double farthest_apart(std::vector<Spot> spots) {
  std::sort(spots.begin(), spots.end(), [](const Spot& a, const Spot& b) {
    return a.axial < b.axial || (a.axial == b.axial && a.outward < b.outward);
  });
  const auto turns_left = [](const Spot& o, const Spot& a, const Spot& b) {
    return (a.axial - o.axial) * (b.outward - o.outward) - (a.outward - o.outward) * (b.axial - o.axial) > 0;
  };
  std::vector<Spot> hull;
  hull.reserve(spots.size() + 2);
  for (int pass = 0; pass < 2; ++pass) {
    const std::size_t start = hull.size();
    for (const Spot& spot : spots) {
      while (hull.size() >= start + 2 && !turns_left(hull[hull.size() - 2], hull.back(), spot))
        hull.pop_back();
      hull.push_back(spot);
    }
    std::reverse(spots.begin(), spots.end());
  }
  double squared = 0;
  for (std::size_t i = 0; i < hull.size(); ++i) {
    for (std::size_t j = i + 1; j < hull.size(); ++j) {
      const double axial = hull[i].axial - hull[j].axial;
      const double outward = hull[i].outward - hull[j].outward;
      squared = std::max(squared, axial * axial + outward * outward);
    }
  }
  return std::sqrt(squared);
}

}  // namespace

Hinge::Hinge(Length span, Length key_length, HingeEnd upper, HingeEnd lower)
    : span_(span),
      key_length_(key_length),
      upper_(std::move(upper)),
      lower_(std::move(lower)),
      travel_(travel_of(span - key_length, upper_, lower_)) {}

Length Hinge::insertion(Side side, Length g) const {
  return side == Side::upper ? upper_.protrusion - g : lower_.protrusion - (travel_.face_gap - g);
}

Length Hinge::point_stop(Side side) const { return end(side).protrusion - end(side).joint.home().insertion; }

bool Hinge::can_drop_out() const {
  const auto leaves = [&](Side side, Length g) {
    return !end(side).joint.is_rod() && insertion(side, g).raw() <= 0;
  };
  return leaves(Side::upper, travel_.high) || leaves(Side::lower, travel_.low);
}

Play::Play(const Hinge& hinge)
    : key_length_(hinge.key_length().raw()), middle_(((hinge.travel().low + hinge.travel().high) / 2).raw()) {
  const Travel& t = hinge.travel();
  if (t.end_play().raw() < 0) return;
  const double low = t.low.raw();
  const double high = t.high.raw();
  const double gap = t.face_gap.raw();
  const double upper_tip = hinge.end(Side::upper).protrusion.raw();
  const double lower_tip = hinge.end(Side::lower).protrusion.raw();
  // Upper insertion falls as g grows: turn its curve round. A curve begins and ends where the free range
  // does, whatever rounding in the change of frame says, and its other places are kept inside.
  auto u = hinge.end(Side::upper).joint.curve(Length::of(upper_tip - high), Length::of(upper_tip - low));
  std::reverse(u.begin(), u.end());
  const auto l = hinge.end(Side::lower)
                     .joint.curve(Length::of(lower_tip - gap + low), Length::of(lower_tip - gap + high));
  const auto kept = [&](std::size_t k, std::size_t size, double place) {
    return k == 0 ? low : k + 1 == size ? high : std::clamp(place, low, high);
  };
  const auto u_place = [&](std::size_t k) { return kept(k, u.size(), upper_tip - u[k].insertion.raw()); };
  const auto l_place = [&](std::size_t k) {
    return kept(k, l.size(), l[k].insertion.raw() - lower_tip + gap);
  };

  // Every knot of either clearance becomes a place; between places both are straight. At a jump the
  // larger value stands: the worst case never lies on the lower side.
  knots_.reserve(u.size() + l.size());
  for (std::size_t k = 0; k < u.size(); ++k) knots_.push_back({u_place(k), 0, 0});
  for (std::size_t k = 0; k < l.size(); ++k) knots_.push_back({l_place(k), 0, 0});
  std::sort(knots_.begin(), knots_.end(), [](const Knot& a, const Knot& b) { return a.place < b.place; });
  const auto same_place = [](const Knot& a, const Knot& b) { return a.place == b.place; };
  knots_.erase(std::unique(knots_.begin(), knots_.end(), same_place), knots_.end());
  const auto follow = [&](const auto& knots, const auto& place, double Knot::*clearance) {
    std::size_t k = 0;
    for (Knot& knot : knots_) {
      const double x = knot.place;
      while (k + 1 < knots.size() && place(k + 1) < x) ++k;
      double c = -std::numeric_limits<double>::infinity();
      if (k + 1 < knots.size() && place(k + 1) > x && place(k) < x) {
        const double share = (x - place(k)) / (place(k + 1) - place(k));
        c = knots[k].clearance.raw() + (knots[k + 1].clearance - knots[k].clearance).raw() * share;
      } else {
        for (std::size_t n = k; n < knots.size() && place(n) <= x; ++n) {
          if (place(n) == x) c = std::max(c, knots[n].clearance.raw());
        }
        // A range so short that a curve had one knot only.
        if (!std::isfinite(c)) c = knots[k].clearance.raw();
      }
      knot.*clearance = std::max(0.0, c);
    }
  };
  follow(u, u_place, &Knot::upper);
  follow(l, l_place, &Knot::lower);
}

Length Play::worst(const Question& q) const {
  const double wa = norm(q.upper);
  const double wb = norm(q.lower);
  double best = empty() ? 0.0 : -std::numeric_limits<double>::infinity();
  for (const Knot& k : knots_)
    best = std::max(best, q.axial * (k.place - middle_) + wa * k.upper + wb * k.lower);
  return Length::of(best);
}

Answer Play::answer(const Question& q) const {
  Answer a;
  a.pose.place = middle();
  if (empty()) return a;
  const double wa = norm(q.upper);
  const double wb = norm(q.lower);
  const Knot* best = nullptr;
  double value = -std::numeric_limits<double>::infinity();
  for (const Knot& k : knots_) {
    const double v = q.axial * (k.place - middle_) + wa * k.upper + wb * k.lower;
    if (v > value) {
      value = v;
      best = &k;
    }
  }
  a.worst = Length::of(value);
  a.pose = {Length::of(best->place), along(q.upper, best->upper), along(q.lower, best->lower)};
  return a;
}

Rock rock(const Play& play, Length station) {
  const double s = station / play.key_length();
  const Answer a = play.answer({0, {1 - s, 0}, {s, 0}});
  return {a.worst * 2, a.pose};
}

PadPlay pad_play(const Play& play, const Pad& pad) {
  PadPlay out;
  const double key = in_millimetres(play.key_length());
  const double s = pad.station / play.key_length();
  const double phi = in_radians(pad.clock);
  const Across radial{std::cos(phi), std::sin(phi)};
  const Across turning{-radial[1], radial[0]};
  const auto times = [](const Across& v, double k) { return Across{v[0] * k, v[1] * k}; };

  // Tilt about the arm is (a - b) . e_t / K; times the tone hole it is a length.
  const double side_weight = pad.tone_hole.raw() / key;
  const Answer side = play.answer({0, times(turning, side_weight), times(turning, -side_weight)});
  out.side_gap = side.worst;
  out.side_pose = side.pose;
  const double front_weight = pad.tone_hole / pad.arm;
  const Answer front =
      play.answer({0, times(turning, front_weight * (1 - s)), times(turning, front_weight * s)});
  out.front_gap = front.worst;
  out.front_pose = front.pose;

  // Both at once is convex in the pose, so its worst lies at a knot with each end at its limit.
  double worst = -1;  // squared
  for (std::size_t k = 0; k < play.knots(); ++k) {
    const double cu = play.clearance(Side::upper, k).raw();
    const double cl = play.clearance(Side::lower, k).raw();
    for (const double sign : {1.0, -1.0}) {
      const double tilt = side_weight * (cu - sign * cl);
      const double lift = front_weight * ((1 - s) * cu + sign * s * cl);
      const double gap = tilt * tilt + lift * lift;
      if (gap <= worst) continue;
      worst = gap;
      out.worst_pose = {play.place(k),
                        {Length::of(turning[0] * cu), Length::of(turning[1] * cu)},
                        {Length::of(sign * turning[0] * cl), Length::of(sign * turning[1] * cl)}};
    }
  }
  out.worst_gap = Length::of(std::sqrt(std::max(0.0, worst)));
  if (play.empty()) out.worst_pose.place = play.middle();

  // Places of the pad's centre on the tone hole: at each knot a parallelogram about (g, 0). The
  // farthest pair lies at corners of the whole.
  std::vector<Spot> spots;
  spots.reserve(4 * play.knots());
  for (std::size_t k = 0; k < play.knots(); ++k) {
    const double cu = play.clearance(Side::upper, k).raw();
    const double cl = play.clearance(Side::lower, k).raw();
    const double g = play.place(k).raw();
    const double swing = pad.arm.raw() / key;
    for (const double a : {cu, -cu}) {
      for (const double b : {cl, -cl}) spots.push_back({g - swing * (b - a), (1 - s) * a + s * b});
    }
  }
  out.seat_wander = Length::of(farthest_apart(std::move(spots)));
  return out;
}

HomeEnd home_end(const Hinge& hinge, Side side) {
  const Travel& t = hinge.travel();
  HomeEnd h;
  h.stop = side == Side::upper ? t.low_stop : t.high_stop;
  h.regime = hinge.end(side).joint.home().regime;
  const Length place = side == Side::upper ? t.low : t.high;
  const Length c = h.stop == StopKind::joint ? hinge.end(side).joint.home().clearance
                                             : hinge.end(side).joint.clearance(hinge.insertion(side, place));
  h.rock_there = std::max(Length{}, c) * 2;
  return h;
}

}  // namespace hingeline::mechanism

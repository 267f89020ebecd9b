#pragma once
/// \file
/// A hinge as the reference sees it: outlines and protrusions, free range from exact_contact.h, clearances as
/// the straight lines whose least they are. No project header is included here.

#include <array>

#include "exact_contact.h"

namespace reference {

struct PlainHinge {
  double span = 0;
  double key = 0;
  std::array<End, 2> ends;  // upper, lower
  [[nodiscard]] Real gap() const { return static_cast<Real>(span) - key; }
  /// How deep a tip is in with the key at place g.
  [[nodiscard]] Real insertion(std::size_t end, Real g) const {
    return end == 0 ? ends[0].protrusion - g : ends[1].protrusion - (gap() - g);
  }
  /// The place at which a tip is that deep in.
  [[nodiscard]] Real place(std::size_t end, Real insertion) const {
    return end == 0 ? ends[0].protrusion - insertion : insertion - ends[1].protrusion + gap();
  }
};

struct Range {
  Real low = 0;
  Real high = 0;
};

inline Range free_range(const PlainHinge& h) {
  Range r{0, h.gap()};
  for (std::size_t end = 0; end < 2; ++end) {
    if (h.ends[end].is_rod()) continue;
    const Real stop = h.place(end, exact_home(h.ends[end].point, h.ends[end].hole));
    if (end == 0) r.low = std::max(r.low, stop);
    if (end == 1) r.high = std::min(r.high, stop);
  }
  return r;
}

/// The places inside the free range where a vertex of a point passes a vertex of its hole, and the range's
/// ends. Between two of them each clearance is the least of a few straight lines.
inline std::vector<Real> break_places(const PlainHinge& h) {
  const Range r = free_range(h);
  std::vector<Real> places{r.low, r.high};
  for (std::size_t end = 0; end < 2; ++end) {
    for (const double y : h.ends[end].hole.along) {
      for (const double s : h.ends[end].point.along) {
        const Real g = h.place(end, static_cast<Real>(y) + s);
        if (g > r.low && g < r.high) places.push_back(g);
      }
    }
  }
  std::sort(places.begin(), places.end());
  return places;
}

/// A straight line over a piece of the free range: its values at the piece's two ends.
struct LinePiece {
  Real at_from;
  Real at_to;
};

/// The lines whose least is the clearance of an end for places between `from` and `to`, which are neighbours
/// among break_places. A point that has left its hole keeps the clearance it had at the mouth.
inline std::vector<LinePiece> clearance_lines(const PlainHinge& h, std::size_t end, Real from, Real to) {
  const End& e = h.ends[end];
  if (e.is_rod()) return {{e.rod_clearance, e.rod_clearance}};
  const Real middle = h.insertion(end, (from + to) / 2);
  if (middle <= 0) {
    const Real at_mouth = exact_clearance(e.point, e.hole, 1e-15L);
    return {{at_mouth, at_mouth}};
  }
  std::vector<LinePiece> lines;
  const auto on = [&](const Outline& o, Real inside, Real at) { return limit_at<Outline>(o, inside, at); };
  const Real t[2] = {h.insertion(end, from), h.insertion(end, to)};
  for (std::size_t i = 0; i < e.hole.along.size(); ++i) {
    const Real y = e.hole.along[i];
    if (y >= middle || middle - y >= e.point.length()) continue;
    const auto value = [&](Real at) { return e.hole.radius[i] - on(e.point, middle - y, at - y); };
    lines.push_back({value(t[0]), value(t[1])});
  }
  for (std::size_t j = 0; j < e.point.along.size(); ++j) {
    const Real s = e.point.along[j];
    if (s >= middle || middle - s >= e.hole.length()) continue;
    const auto value = [&](Real at) { return on(e.hole, middle - s, at - s) - e.point.radius[j]; };
    lines.push_back({value(t[0]), value(t[1])});
  }
  // Those that are nowhere the least add nothing.
  std::vector<LinePiece> kept;
  for (std::size_t a = 0; a < lines.size(); ++a) {
    bool needed = true;
    for (std::size_t b = 0; b < lines.size() && needed; ++b) {
      const bool same = lines[a].at_from == lines[b].at_from && lines[a].at_to == lines[b].at_to;
      needed =
          a == b || lines[b].at_from > lines[a].at_from || lines[b].at_to > lines[a].at_to || (same && a < b);
    }
    if (needed) kept.push_back(lines[a]);
  }
  return kept;
}

}  // namespace reference

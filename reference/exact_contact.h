#pragma once
/// \file
/// Clearance and home of straight-sided profiles by another road than the project's, in long
/// double: home as the least of small linear programs, one for each pair of segments; clearance from
/// the limits on every open interval. No project header is included here. Both take an Outline, whose
/// numbers are then taken as they stand, or a RealOutline.

#include <algorithm>
#include <limits>
#include <vector>

#include "brute_force.h"

namespace reference {

using Real = long double;

/// An Outline with the reference's own number.
struct RealOutline {
  std::vector<Real> along;
  std::vector<Real> radius;
  [[nodiscard]] Real length() const { return along.back(); }
};

/// Least y + s over all pairs of places (y in the hole, s behind the tip) where the point is wider
/// than the hole. For each pair of segments, with u and v in [0, 1] along them, the places form the
/// part of a square on one side of a line; the least lies at one of its corners.
template <class Line>
Real exact_home(const Line& point, const Line& hole) {
  Real best = std::numeric_limits<Real>::infinity();
  for (std::size_t i = 0; i + 1 < hole.along.size(); ++i) {
    const Real y[2] = {hole.along[i], hole.along[i + 1]};
    const Real h[2] = {hole.radius[i], hole.radius[i + 1]};
    for (std::size_t j = 0; j + 1 < point.along.size(); ++j) {
      const Real s[2] = {point.along[j], point.along[j + 1]};
      const Real p[2] = {point.radius[j], point.radius[j + 1]};
      if (y[0] + s[0] >= best || std::max(p[0], p[1]) <= std::min(h[0], h[1])) continue;
      const auto over = [&](int u, int v) { return p[v] - h[u]; };
      for (int a = 0; a < 2; ++a) {
        for (int b = 0; b < 2; ++b) {
          if (over(a, b) >= 0) best = std::min(best, y[a] + s[b]);
        }
        // Edges of the square: u fixed at a, and v fixed at a.
        const Real f0 = over(a, 0);
        const Real f1 = over(a, 1);
        if ((f0 < 0) != (f1 < 0)) best = std::min(best, y[a] + s[0] + (s[1] - s[0]) * (f0 / (f0 - f1)));
        const Real g0 = over(0, a);
        const Real g1 = over(1, a);
        if ((g0 < 0) != (g1 < 0)) best = std::min(best, s[a] + y[0] + (y[1] - y[0]) * (g0 / (g0 - g1)));
      }
    }
  }
  // Past the end of the hole there is nothing to go into.
  return std::min(best, static_cast<Real>(hole.length()));
}

/// Value that the straight part holding `inside` has at `at`.
template <class Line>
Real limit_at(const Line& o, Real inside, Real at) {
  for (std::size_t k = 0; k + 1 < o.along.size(); ++k) {
    const Real from = o.along[k];
    const Real to = o.along[k + 1];
    if (from >= to || inside < from || inside > to) continue;
    return o.radius[k] + (static_cast<Real>(o.radius[k + 1]) - o.radius[k]) * ((at - from) / (to - from));
  }
  return o.radius.back();
}

template <class Line>
Real exact_clearance(const Line& point, const Line& hole, Real t) {
  const Real from = std::max<Real>(0, t - point.length());
  const Real to = std::min<Real>(t, hole.length());
  std::vector<Real> cuts{from, to};
  for (const Real y : hole.along) cuts.push_back(std::clamp<Real>(y, from, to));
  for (const Real s : point.along) cuts.push_back(std::clamp<Real>(t - s, from, to));
  std::sort(cuts.begin(), cuts.end());
  Real least = std::numeric_limits<Real>::infinity();
  for (std::size_t k = 0; k + 1 < cuts.size(); ++k) {
    // Cuts this close are one place seen through rounding.
    if (cuts[k + 1] - cuts[k] < 1e-17L) continue;
    const Real middle = (cuts[k] + cuts[k + 1]) / 2;
    for (const Real at : {cuts[k], cuts[k + 1]}) {
      least = std::min(least, limit_at(hole, middle, at) - limit_at(point, t - middle, t - at));
    }
  }
  return least;
}

}  // namespace reference

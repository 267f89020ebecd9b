#pragma once
/// \file
/// BlockWork on lanes. Include after everything else but lanes.h's macros.

#include <limits>

#include "block.h"
#include "hingeline/numeric/lane_functions.h"

namespace hingeline::belief::HINGELINE_LANES_NAME {

namespace lanes = numeric::lanes;

/// Clearances are lines in the insertion within the free range; there are at most this many.
inline constexpr std::size_t kMostLines = 4;
/// Beyond every clearance: a line that does not apply.
inline constexpr double kFar = 1e30;
/// Two lines closer than this may cross unseen, mm: an eighth of the error of clearance.
inline constexpr double kCrossing = 1e-14;

/// One joint of a vector of truths: a point and a hole of up to two straight parts each. The point's radius
/// is tip + s a_rise to s = wear, shoulder + (s - wear) b_rise from there; the hole's mouth - y a_fall to y =
/// bend, inner - (y - bend) b_fall from there to its end.
template <class L>
struct JointLanes {
  using V = typename L::V;
  using M = typename L::M;
  V tip, a_rise, wear, shoulder, b_rise;
  V mouth, a_fall, bend, inner, b_fall;
  V reach;  ///< of the point, as far as it is described here
  V home;
  V on_floor;  ///< insertion left at home to a flat floor or a face
  M regular;
};

/// Depth at which the hole gets narrower than r, r at most as wide as the mouth.
template <class L>
HINGELINE_INLINE typename L::V depth_of(const EndPlan& end, const JointLanes<L>& j, typename L::V a_run,
                                        typename L::V b_run, typename L::V r) {
  switch (end.hole) {
    case contact::HoleShape::drilled:
      return j.bend + (j.inner - r) * b_run;
    case contact::HoleShape::bell:
      return L::choose(L::at_most(r, j.inner), j.bend + (j.inner - r) * b_run, (j.mouth - r) * a_run);
    case contact::HoleShape::straight:
      return L::all(kFar);
    default:
      return (j.mouth - r) * a_run;
  }
}

template <class L>
HINGELINE_INLINE JointLanes<L> joint_of(const EndPlan& end, const double* rows, std::size_t k) {
  using V = typename L::V;
  using M = typename L::M;
  using contact::HoleShape;
#define HINGELINE_ROW(name) L::load(rows + (name)*kTile + k)
  const V zero = L::all(0);
  const V quarter = L::all(1.5707963267948966);
  JointLanes<L> j;
  const V length = HINGELINE_ROW(kPointLength);
  M regular = L::less(zero, length);
  V point_run = zero;
  V wear_run = zero;
  j.wear = zero;
  j.shoulder = j.b_rise = zero;
  if (end.parallel) {
    j.tip = HINGELINE_ROW(kPinRadius);
    j.a_rise = zero;
    j.reach = HINGELINE_ROW(kPinLength);
    regular = L::both(
        regular, L::both(L::less(zero, j.tip), L::both(L::less(zero, j.reach), L::at_most(j.reach, length))));
    regular = L::both(regular, L::at_most(j.tip, HINGELINE_ROW(kShoulderRadius)));
  } else {
    const V angle = HINGELINE_ROW(kHalfAngle);
    const V tip = HINGELINE_ROW(kTipRadius);
    const V shank = HINGELINE_ROW(kShankRadius);
    const V rise = HINGELINE_ROW(kPointTangent);
    point_run = HINGELINE_ROW(kPointCotangent);
    regular = L::both(regular, L::both(L::less(zero, angle), L::less(angle, quarter)));
    regular = L::both(regular, L::both(L::at_most(zero, tip), L::at_most(zero, shank)));
    V flank_from = zero;
    V flank_radius = tip;
    j.tip = tip;
    j.a_rise = rise;
    if (end.worn) {
      j.wear = HINGELINE_ROW(kWearLength);
      const V depth = HINGELINE_ROW(kWearDepth);
      regular = L::both(regular, L::both(L::less(zero, j.wear), L::at_most(j.wear, length)));
      regular = L::both(regular, L::both(L::at_most(zero, depth), L::at_most(depth, tip)));
      j.tip = tip - depth;
      j.shoulder = tip + j.wear * rise;
      j.b_rise = rise;
      j.a_rise = (j.shoulder - j.tip) / j.wear;
      wear_run = j.wear / (j.shoulder - j.tip);
      flank_from = j.wear;
      flank_radius = j.shoulder;
    }
    const M bare = L::at_most(shank, zero);
    regular = L::both(regular, L::either(bare, L::at_most(flank_radius, shank)));
    j.reach = L::choose(bare, length, L::least(length, flank_from + (shank - flank_radius) * point_run));
  }

  j.mouth = HINGELINE_ROW(kMouthRadius);
  const V depth = HINGELINE_ROW(kDepth);
  regular = L::both(regular, L::both(L::less(zero, j.mouth), L::less(zero, depth)));
  j.a_fall = j.b_fall = j.bend = zero;
  j.inner = j.mouth;
  V a_run = zero;
  V b_run = zero;
  V hole_end = depth;
  V floor = depth;  // where a flat floor lies, far away without one
  switch (end.hole) {
    case HoleShape::straight:
      break;
    case HoleShape::drilled: {
      const V angle = HINGELINE_ROW(kFloorAngle);
      regular = L::both(regular, L::both(L::less(zero, angle), L::less(angle, quarter)));
      j.bend = depth;
      j.b_fall = HINGELINE_ROW(kFloorTangent);
      b_run = HINGELINE_ROW(kFloorCotangent);
      hole_end = depth + j.mouth * b_run;
      floor = L::all(kFar);
      break;
    }
    default: {
      const V angle = HINGELINE_ROW(kHoleAngle);
      const V fall = HINGELINE_ROW(kHoleTangent);
      const V run = HINGELINE_ROW(kHoleCotangent);
      regular = L::both(regular, L::both(L::less(zero, angle), L::less(angle, quarter)));
      V flank_end = j.mouth * run;
      if (end.hole == HoleShape::bell) {
        const V bell = HINGELINE_ROW(kBellAngle);
        regular = L::both(regular, L::both(L::less(angle, bell), L::less(bell, quarter)));
        j.bend = HINGELINE_ROW(kBellDepth);
        regular = L::both(regular, L::both(L::less(zero, j.bend), L::less(j.bend, depth)));
        j.a_fall = HINGELINE_ROW(kBellTangent);
        a_run = HINGELINE_ROW(kBellCotangent);
        j.inner = j.mouth - j.bend * j.a_fall;
        regular = L::both(regular, L::less(zero, j.inner));
        j.b_fall = fall;
        b_run = run;
        flank_end = j.bend + j.inner * run;
      } else {
        j.a_fall = fall;
        a_run = run;
      }
      hole_end = L::least(depth, flank_end);
      floor = L::choose(L::less(depth, flank_end), depth, L::all(kFar));
    }
  }

  // Every vertex that can be stopped by the other's line. The tip first, on wall or floor.
  V home = L::least(hole_end, depth_of<L>(end, j, a_run, b_run, j.tip));
  if (end.parallel) {
    regular = L::both(regular, L::at_most(j.tip, j.mouth));
    if (end.shouldered) {
      const M stops = L::less(j.mouth, HINGELINE_ROW(kShoulderRadius));
      const V shoulder = L::choose(stops, j.reach, L::all(kFar));
      home = L::least(home, shoulder);
      floor = L::least(floor, shoulder);
    }
  } else {
    const V rim = end.worn ? L::choose(L::less(j.mouth, j.shoulder), (j.mouth - j.tip) * wear_run,
                                       j.wear + (j.mouth - j.shoulder) * point_run)
                           : (j.mouth - j.tip) * point_run;
    home = L::least(home, rim);
    if (end.worn) {
      home = L::least(home, j.wear + L::most(zero, depth_of<L>(end, j, a_run, b_run, j.shoulder)));
    }
    if (end.hole == HoleShape::bell) {
      const V on_flank = end.worn ? L::choose(L::less(j.inner, j.shoulder), (j.inner - j.tip) * wear_run,
                                              j.wear + (j.inner - j.shoulder) * point_run)
                                  : (j.inner - j.tip) * point_run;
      home = L::least(home, j.bend + L::most(zero, on_flank));
    }
  }
#undef HINGELINE_ROW
  j.home = home;
  j.on_floor = floor - home;
  j.regular = L::both(regular, L::both(L::less(zero, home), L::at_most(home, j.reach)));
  return j;
}

static constexpr std::size_t count_of_lines(const EndPlan& end) {
  return 2 + (end.hole == contact::HoleShape::bell ? 1u : 0u) + (end.worn ? 1u : 0u);
}

/// The lines of a clearance at an insertion, those that apply to the deepest one.
template <class L>
HINGELINE_INLINE void lines_at(const EndPlan& end, const JointLanes<L>& j, typename L::V t,
                               typename L::V deepest, typename L::V (&lines)[kMostLines]) {
  using V = typename L::V;
  using M = typename L::M;
  const bool bent = end.hole == contact::HoleShape::bell || end.hole == contact::HoleShape::drilled;
  const bool bell = end.hole == contact::HoleShape::bell;
  std::size_t n = 0;
  const M past_wear = L::less(j.wear, deepest);
  const M past_bend = L::less(j.bend, deepest);
  const M past_both = L::less(j.wear + j.bend, deepest);
  V radius = j.tip + j.a_rise * t;
  if (end.worn) radius = L::choose(past_wear, j.shoulder + j.b_rise * (t - j.wear), radius);
  lines[n++] = j.mouth - radius;
  V wall = j.mouth - j.a_fall * t;
  if (bent) wall = L::choose(past_bend, j.inner - j.b_fall * (t - j.bend), wall);
  lines[n++] = wall - j.tip;
  if (bell) {
    const V s = t - j.bend;
    V there = j.tip + j.a_rise * s;
    if (end.worn) there = L::choose(past_both, j.shoulder + j.b_rise * (s - j.wear), there);
    lines[n++] = L::choose(past_bend, j.inner - there, L::all(kFar));
  }
  if (end.worn) {
    const V y = t - j.wear;
    V there = j.mouth - j.a_fall * y;
    if (bent) there = L::choose(past_both, j.inner - j.b_fall * (y - j.bend), there);
    lines[n++] = L::choose(past_wear, there - j.shoulder, L::all(kFar));
  }
}

template <class L>
HINGELINE_INLINE typename L::V lowest(const typename L::V (&lines)[kMostLines], std::size_t n) {
  typename L::V c = L::least(lines[0], lines[1]);
#pragma GCC unroll 4
  for (std::size_t k = 2; k < n; ++k) c = L::least(c, lines[k]);
  return c;
}

/// Whether no line bends between two insertions.
template <class L>
HINGELINE_INLINE typename L::M straight_between(const EndPlan& end, const JointLanes<L>& j,
                                                typename L::V from, typename L::V to) {
  using M = typename L::M;
  const bool bent = end.hole == contact::HoleShape::bell || end.hole == contact::HoleShape::drilled;
  M straight = L::less(L::all(0), from);
  if (end.worn) straight = L::both(straight, L::either(L::at_most(to, j.wear), L::at_most(j.wear, from)));
  if (bent) straight = L::both(straight, L::either(L::at_most(to, j.bend), L::at_most(j.bend, from)));
  if (end.worn && bent) {
    const typename L::V both = j.wear + j.bend;
    straight = L::both(straight, L::either(L::at_most(to, both), L::at_most(both, from)));
  }
  return straight;
}

/// The worst of everything over the places of a loose key, one place after another.
template <class L>
struct PlaceLanes {
  using V = typename L::V;
  static constexpr std::size_t kMost = 2 + 2 * (kMostLines * (kMostLines - 1) / 2);
  V lower_share, upper_share;                ///< of the pad's station: s and 1 - s
  V lower_weight, upper_weight;              ///< their sizes
  V side_weight, front_weight, swing, play;  ///< tone hole / key, tone hole / arm, arm / key, end play
  V rock, tilt, gap, wander;                 ///< halves, and squares of the last two
  std::size_t count = 0;
  V share[kMost];
  V corner[kMost][2][2];  ///< two corners of each place's parallelogram: axial, outward; the others opposite

  HINGELINE_INLINE void start(PlaceLanes& p) {
    p.rock = p.tilt = p.gap = p.wander = L::all(0);
    p.count = 0;
  }
  HINGELINE_INLINE void take(PlaceLanes& p, V at, V upper, V lower) {
    p.rock = L::most(p.rock, p.upper_weight * upper + p.lower_weight * lower);
    const V sum = upper + lower;
    const V apart = lower - upper;
    p.tilt = L::most(p.tilt, sum);
    const V u = p.upper_share * upper;
    const V l = p.lower_share * lower;
    const V with = u + l;
    const V against = l - u;
    const V lift_1 = p.front_weight * with;
    const V tilt_1 = p.side_weight * apart;
    const V lift_2 = p.front_weight * against;
    const V tilt_2 = p.side_weight * sum;
    p.gap = L::most(p.gap, L::most(tilt_1 * tilt_1 + lift_1 * lift_1, tilt_2 * tilt_2 + lift_2 * lift_2));
    const std::size_t n = p.count++;
    p.share[n] = at;
    V(&c)[2][2] = p.corner[n];
    c[0][0] = p.swing * apart;
    c[0][1] = with;
    c[1][0] = p.swing * sum;
    c[1][1] = against;
    const V zero = L::all(0);
    for (std::size_t a = 0; a < 2; ++a) {
      const V own = c[a][0] * c[a][0] + c[a][1] * c[a][1];
      p.wander = L::most(p.wander, L::all(4) * own);
      for (std::size_t other = 0; other < n; ++other) {
        const V way = p.play * (at - p.share[other]);
        const V far = L::most(way, zero - way);
        for (std::size_t b = 0; b < 2; ++b) {
          const V(&d)[2] = p.corner[other][b];
          const V sum_axial = c[a][0] + d[0];
          const V sum_outward = c[a][1] + d[1];
          const V difference_axial = c[a][0] - d[0];
          const V difference_outward = c[a][1] - d[1];
          const V one = far + L::most(sum_axial, zero - sum_axial);
          const V two = far + L::most(difference_axial, zero - difference_axial);
          p.wander = L::most(p.wander, L::most(one * one + sum_outward * sum_outward,
                                               two * two + difference_outward * difference_outward));
        }
      }
    }
  }
};

/// What one step of the work on a tile leaves to the next, as rows. Each step goes over the whole tile: its
/// long chains of operations that wait for one another then overlap from vector to vector.
struct alignas(64) Halfway {
  double high[kTile];
  double on_floor[2][kTile];      ///< insertion left to a flat floor or face, of each end at home
  double clearance[2][2][kTile];  ///< [end][place]
  std::uint64_t irregular = 0;
  std::uint64_t bends = 0;  ///< truths with a clearance that bends within the free range
};

#define HINGELINE_ROW(name) L::load(rows + (name)*kTile + k)
#define HINGELINE_FIGURE(name) (figures + static_cast<std::size_t>(Figure::name) * kTile + k)

template <class L>
HINGELINE_INLINE std::uint64_t bits_at(typename L::M mask, std::size_t k) {
  return std::uint64_t{L::bits_of(mask)} << k;
}

/// Where a joint is home.
template <class L>
HINGELINE_INLINE void home_step(const EndPlan& end, std::size_t e, const double* rows, double* figures,
                                Halfway& halfway) {
  using V = typename L::V;
  double* const insertion =
      figures + static_cast<std::size_t>(e == 0 ? Figure::insertion_upper : Figure::insertion_lower) * kTile;
  double* const tip_floor =
      figures + static_cast<std::size_t>(e == 0 ? Figure::tip_floor_upper : Figure::tip_floor_lower) * kTile;
  const std::size_t first = end_row(e);
  for (std::size_t k = 0; k < kTile; k += L::kWidth) {
    const JointLanes<L> joint = joint_of<L>(end, rows + first * kTile, k);
    const V to_floor = HINGELINE_ROW(first + kDepth);
    V floor = to_floor;
    if (end.hole == contact::HoleShape::cone) {
      floor = L::least(to_floor, HINGELINE_ROW(first + kMouthRadius) * HINGELINE_ROW(first + kHoleCotangent));
    } else if (end.hole == contact::HoleShape::bell) {
      floor = L::least(to_floor, joint.bend + joint.inner * HINGELINE_ROW(first + kHoleCotangent));
    }
    L::store(insertion + k, joint.home);
    L::store(tip_floor + k, floor - joint.home);
    L::store(halfway.on_floor[e] + k, joint.on_floor);
    halfway.irregular |= bits_at<L>(L::not_in(joint.regular), k);
  }
}

/// How far out a point stands when home on its screw or pivot.
template <class L>
HINGELINE_INLINE typename L::V protrusion_of(const EndPlan& end, std::size_t e, const double* rows,
                                             typename L::V home, std::size_t k) {
  const typename L::V given = HINGELINE_ROW(end_row(e) + kStop);
  return end.by_protrusion ? given : home + given;
}

/// The free range.
template <class L>
HINGELINE_INLINE void play_step(const Forms& forms, const double* rows, double* figures, Halfway& halfway) {
  using V = typename L::V;
  const V zero = L::all(0);
  for (std::size_t k = 0; k < kTile; k += L::kWidth) {
    const V key = HINGELINE_ROW(kKeyLength);
    const V gap = HINGELINE_ROW(kSpan) - key;
    V low = zero;
    V high = gap;
    if (!forms.rod) {
      const V upper_home = L::load(HINGELINE_FIGURE(insertion_upper));
      const V lower_home = L::load(HINGELINE_FIGURE(insertion_lower));
      low = L::most(protrusion_of<L>(forms.ends[0], 0, rows, upper_home, k) - upper_home, zero);
      high = L::least(gap - (protrusion_of<L>(forms.ends[1], 1, rows, lower_home, k) - lower_home), gap);
    }
    L::store(HINGELINE_FIGURE(end_play), high - low);
    L::store(HINGELINE_FIGURE(gap_upper), low);
    L::store(HINGELINE_FIGURE(gap_lower), gap - high);
    L::store(HINGELINE_FIGURE(face_gap), gap);
    L::store(halfway.high + k, high);
    halfway.irregular |= bits_at<L>(L::not_in(L::less(zero, key)), k);
  }
}

/// Lines of the clearance at one end at the two ends of the free range, and the deepest insertion.
template <class L>
struct RangeLanes {
  typename L::V lines[2][kMostLines];  ///< [place]
  typename L::V shallow, deepest;
};
template <class L>
HINGELINE_INLINE RangeLanes<L> range_of(const EndPlan& end, std::size_t e, const JointLanes<L>& joint,
                                        const double* rows, const double* figures, const Halfway& halfway,
                                        std::size_t k) {
  using V = typename L::V;
  const V home = L::load(e == 0 ? HINGELINE_FIGURE(insertion_upper) : HINGELINE_FIGURE(insertion_lower));
  const V out = protrusion_of<L>(end, e, rows, home, k);
  const V low = L::load(HINGELINE_FIGURE(gap_upper));
  RangeLanes<L> range;
  V at[2];
  if (e == 0) {
    at[0] = out - low;
    at[1] = out - L::load(halfway.high + k);
  } else {
    at[0] = out - (L::load(HINGELINE_FIGURE(face_gap)) - low);
    at[1] = out - L::load(HINGELINE_FIGURE(gap_lower));
  }
  range.deepest = at[e];
  range.shallow = at[1 - e];
  lines_at<L>(end, joint, at[0], range.deepest, range.lines[0]);
  lines_at<L>(end, joint, at[1], range.deepest, range.lines[1]);
  return range;
}

/// Where two lines of one clearance cross within the free range it bends.
template <class L>
HINGELINE_INLINE typename L::M crosses(const RangeLanes<L>& range, std::size_t i, std::size_t other) {
  using V = typename L::V;
  using M = typename L::M;
  const V from = range.lines[0][i] - range.lines[0][other];
  const V to = range.lines[1][i] - range.lines[1][other];
  const V most = L::all(kCrossing);
  const V least = L::all(-kCrossing);
  const M falls = L::both(L::less(most, from), L::less(to, least));
  const M rises = L::both(L::less(from, least), L::less(most, to));
  return L::either(falls, rises);
}

/// Clearances at both ends of the free range, and the rocks.
template <class L>
HINGELINE_INLINE void clearance_step(const EndPlan& end, std::size_t e, const double* rows, double* figures,
                                     Halfway& halfway) {
  using V = typename L::V;
  using M = typename L::M;
  const V zero = L::all(0);
  const std::size_t n = count_of_lines(end);
  double* const rock =
      figures + static_cast<std::size_t>(e == 0 ? Figure::rock_upper : Figure::rock_lower) * kTile;
  double* const home_rock =
      figures + static_cast<std::size_t>(e == 0 ? Figure::home_rock_upper : Figure::home_rock_lower) * kTile;
  for (std::size_t k = 0; k < kTile; k += L::kWidth) {
    const JointLanes<L> joint = joint_of<L>(end, rows + end_row(e) * kTile, k);
    const RangeLanes<L> range = range_of<L>(end, e, joint, rows, figures, halfway, k);
    const V clearance[2] = {L::most(lowest<L>(range.lines[0], n), zero),
                            L::most(lowest<L>(range.lines[1], n), zero)};
    L::store(halfway.clearance[e][0] + k, clearance[0]);
    L::store(halfway.clearance[e][1] + k, clearance[1]);
    const M binds = L::less(L::load(HINGELINE_FIGURE(end_play)), zero);
    const M regular =
        L::both(L::less(zero, range.deepest),
                L::either(binds, straight_between<L>(end, joint, range.shallow, range.deepest)));
    halfway.irregular |= bits_at<L>(L::not_in(regular), k);
#pragma GCC unroll 4
    for (std::size_t i = 0; i < n; ++i) {
#pragma GCC unroll 4
      for (std::size_t other = i + 1; other < n; ++other)
        halfway.bends |= bits_at<L>(crosses<L>(range, i, other), k);
    }
    // Held by the sides it is centred; by a floor or a face not.
    const V home = L::load(e == 0 ? HINGELINE_FIGURE(insertion_upper) : HINGELINE_FIGURE(insertion_lower));
    const M on_joint = L::at_most(zero, protrusion_of<L>(end, e, rows, home, k) - home);
    const M on_end = L::at_most(L::load(halfway.on_floor[e] + k), L::all(contact::kSameContact.raw()));
    const M centred = L::both(on_joint, L::not_in(on_end));
    L::store(home_rock + k, L::choose(centred, zero, clearance[e] + clearance[e]));
    // No clearance grows inwards: each end rocks most where its own point is farthest out.
    L::store(rock + k, L::choose(binds, zero, clearance[1 - e] + clearance[1 - e]));
  }
}

/// A rod's: the same clearance everywhere.
template <class L>
HINGELINE_INLINE void rod_step(const double* rows, double* figures, Halfway& halfway) {
  using V = typename L::V;
  using M = typename L::M;
  const V zero = L::all(0);
  const V none = L::all(std::numeric_limits<double>::quiet_NaN());
  for (std::size_t k = 0; k < kTile; k += L::kWidth) {
    const V bore = L::most(zero, (HINGELINE_ROW(kBore) - HINGELINE_ROW(kRodDiameter)) * L::all(0.5));
    for (std::size_t e = 0; e < 2; ++e) {
      L::store(halfway.clearance[e][0] + k, bore);
      L::store(halfway.clearance[e][1] + k, bore);
    }
    const M binds = L::less(L::load(HINGELINE_FIGURE(end_play)), zero);
    const V rock = L::choose(binds, zero, bore + bore);
    L::store(HINGELINE_FIGURE(rock_upper), rock);
    L::store(HINGELINE_FIGURE(rock_lower), rock);
    L::store(HINGELINE_FIGURE(home_rock_upper), bore + bore);
    L::store(HINGELINE_FIGURE(home_rock_lower), bore + bore);
    L::store(HINGELINE_FIGURE(insertion_upper), none);
    L::store(HINGELINE_FIGURE(insertion_lower), none);
    L::store(HINGELINE_FIGURE(tip_floor_upper), none);
    L::store(HINGELINE_FIGURE(tip_floor_lower), none);
  }
}

/// Places within the free range where a clearance bends.
template <class L>
HINGELINE_INLINE void take_bends(const Forms& forms, const double* rows, const double* figures,
                                 const Halfway& halfway, std::size_t k, PlaceLanes<L>& places) {
  using V = typename L::V;
  using M = typename L::M;
  const V zero = L::all(0);
  RangeLanes<L> range[2];
  for (std::size_t e = 0; e < 2; ++e) {
    const JointLanes<L> joint = joint_of<L>(forms.ends[e], rows + end_row(e) * kTile, k);
    range[e] = range_of<L>(forms.ends[e], e, joint, rows, figures, halfway, k);
  }
  for (std::size_t e = 0; e < 2; ++e) {
    const std::size_t n = count_of_lines(forms.ends[e]);
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t other = i + 1; other < n; ++other) {
        const M here = crosses<L>(range[e], i, other);
        if (L::bits_of(here) == 0) continue;
        const V from = range[e].lines[0][i] - range[e].lines[0][other];
        const V to = range[e].lines[1][i] - range[e].lines[1][other];
        const V share = L::choose(here, from / (from - to), zero);
        V there[2];
        for (std::size_t x = 0; x < 2; ++x) {
          V c = L::all(kFar);
          for (std::size_t l = 0; l < count_of_lines(forms.ends[x]); ++l) {
            const V start = range[x].lines[0][l];
            c = L::least(c, start + (range[x].lines[1][l] - start) * share);
          }
          there[x] = L::most(c, zero);
        }
        PlaceLanes<L>::take(places, share, there[0], there[1]);
      }
    }
  }
}

/// What the pad does.
template <class L>
HINGELINE_INLINE void pad_step(const Forms& forms, const double* rows, double* figures, Halfway& halfway) {
  using V = typename L::V;
  using M = typename L::M;
  const V zero = L::all(0);
  for (std::size_t k = 0; k < kTile; k += L::kWidth) {
    const V play = L::load(HINGELINE_FIGURE(end_play));
    const M binds = L::less(play, zero);
    const V per_key = L::all(1) / HINGELINE_ROW(kKeyLength);
    const V arm = HINGELINE_ROW(kArm);
    const V tone_hole = HINGELINE_ROW(kToneHole);
    PlaceLanes<L> places;
    places.lower_share = HINGELINE_ROW(kStation) * per_key;
    places.upper_share = L::all(1) - places.lower_share;
    places.lower_weight = L::most(places.lower_share, zero - places.lower_share);
    places.upper_weight = L::most(places.upper_share, zero - places.upper_share);
    places.side_weight = tone_hole * per_key;
    places.front_weight = tone_hole / arm;
    places.swing = arm * per_key;
    places.play = play;
    PlaceLanes<L>::start(places);
    PlaceLanes<L>::take(places, zero, L::load(halfway.clearance[0][0] + k),
                        L::load(halfway.clearance[1][0] + k));
    PlaceLanes<L>::take(places, L::all(1), L::load(halfway.clearance[0][1] + k),
                        L::load(halfway.clearance[1][1] + k));
    constexpr std::uint64_t kThese = ~std::uint64_t{0} >> (kTile - L::kWidth);
    if ((halfway.bends >> k & kThese) != 0) take_bends<L>(forms, rows, figures, halfway, k, places);
    L::store(HINGELINE_FIGURE(rock_pad), L::choose(binds, zero, places.rock + places.rock));
    L::store(HINGELINE_FIGURE(side_gap), L::choose(binds, zero, places.side_weight * places.tilt));
    L::store(HINGELINE_FIGURE(front_gap), L::choose(binds, zero, places.front_weight * places.rock));
    L::store(HINGELINE_FIGURE(worst_gap), L::choose(binds, zero, L::root(places.gap)));
    L::store(HINGELINE_FIGURE(seat_wander), L::choose(binds, zero, L::root(places.wander)));
    halfway.irregular |= bits_at<L>(L::not_in(L::both(L::less(zero, arm), L::at_most(zero, tone_hole))), k);
  }
}

/// Figures of a tile of truths; the irregular ones' bits.
template <class L>
HINGELINE_INLINE std::uint64_t figures_of_forms(const Forms& forms, const double* rows, double* figures) {
  Halfway halfway;
  if (!forms.rod) {
    home_step<L>(forms.ends[0], 0, rows, figures, halfway);
    home_step<L>(forms.ends[1], 1, rows, figures, halfway);
  }
  play_step<L>(forms, rows, figures, halfway);
  if (forms.rod) {
    rod_step<L>(rows, figures, halfway);
  } else {
    clearance_step<L>(forms.ends[0], 0, rows, figures, halfway);
    clearance_step<L>(forms.ends[1], 1, rows, figures, halfway);
  }
  if (forms.pad) {
    pad_step<L>(forms, rows, figures, halfway);
  } else {
    const auto none = L::all(std::numeric_limits<double>::quiet_NaN());
    for (std::size_t k = 0; k < kTile; k += L::kWidth) {
      L::store(HINGELINE_FIGURE(rock_pad), none);
      L::store(HINGELINE_FIGURE(side_gap), none);
      L::store(HINGELINE_FIGURE(front_gap), none);
      L::store(HINGELINE_FIGURE(worst_gap), none);
      L::store(HINGELINE_FIGURE(seat_wander), none);
    }
  }
  return halfway.irregular;
}
#undef HINGELINE_FIGURE
#undef HINGELINE_ROW

template <class L>
HINGELINE_INLINE void draw_tile(const BlockPlan& plan, const double* deviates, double* rows) {
  using V = typename L::V;
  for (const DrawnRow& drawn : plan.drawn) {
    double* const row = rows + drawn.row * kTile;
    const Term* const terms = drawn.terms.data();
    const std::size_t count = drawn.terms.size();
    for (std::size_t n = 0; n < count; ++n) {
      const double* const deviate = deviates + terms[n].deviate * kTile;
      const V step = L::all(terms[n].step);
      const V mean = L::all(drawn.mean);
#pragma GCC unroll 8
      for (std::size_t k = 0; k < kTile; k += L::kWidth)
        L::store(row + k, (n == 0 ? mean : L::load(row + k)) + step * L::load(deviate + k));
    }
  }
  using Many = lanes::Several<L, 4>;
  for (const AngleRow& angle : plan.angles) {
    for (std::size_t k = 0; k < kTile; k += Many::kWidth) {
      typename Many::V tangent, cotangent;
      const typename Many::V x = Many::load(rows + angle.angle * kTile + k);
      if (angle.near) {
        lanes::tangents_near<Many>(x - Many::all(angle.mean), Many::all(angle.mean_tangent), tangent,
                                   cotangent);
      } else {
        lanes::tangents<Many>(x, tangent, cotangent);
      }
      Many::store(rows + angle.tangent * kTile + k, tangent);
      Many::store(rows + (angle.tangent + 1) * kTile + k, cotangent);
    }
  }
  for (const auto& [row, from] : plan.same) {
    for (std::size_t k = 0; k < 2 * kTile; k += L::kWidth)
      L::store(rows + row * kTile + k, L::load(rows + from * kTile + k));
  }
}

template <class L>
HINGELINE_INLINE std::uint64_t figures_tile(const BlockPlan& plan, const double* rows, double* figures) {
  // The commonest forms have code of their own: what is known of them when it is compiled need not be asked.
  constexpr Forms kFlatTipsInCones{false, true, {}};
  if (plan.forms == kFlatTipsInCones) return figures_of_forms<L>(kFlatTipsInCones, rows, figures);
  return figures_of_forms<L>(plan.forms, rows, figures);
}

template <class L>
HINGELINE_INLINE void add_counts(typename L::U counted, std::uint64_t* to) {
  typename L::U sum;
  __builtin_memcpy(&sum, to, sizeof sum);
  sum = sum + counted;
  __builtin_memcpy(to, &sum, sizeof sum);
}

/// Vectors of a tile's figures that hold something for a bracket, as sieve x kTile + first truth.
struct Hits {
  std::uint16_t at[kFigureCount * kTile];
  std::size_t count = 0;
};

template <class L>
HINGELINE_INLINE typename L::M in_bracket(typename L::V x, typename L::M below, typename L::V high) {
  return L::both(L::at_most(x, high), L::not_in(below));
}

/// Takes what a hit holds.
template <class L>
HINGELINE_INLINE void catch_hit(typename L::V x, Sieve& sieve) {
  for (std::size_t end = 0; end < 2; ++end) {
    const Bracket& bracket = sieve.brackets[end];
    Caught& caught = sieve.caught[end];
    const typename L::M in = in_bracket<L>(x, L::less(x, L::all(bracket.low)), L::all(bracket.high));
    if (bracket.low == bracket.high) {
      caught.alike += static_cast<std::size_t>(__builtin_popcount(L::bits_of(in)));
    } else {
      caught.kept += L::pack(sieve.kept[end] + caught.kept, in, x);
    }
  }
}

/// Sums and counts; only notes what is in a bracket.
template <class L>
HINGELINE_INLINE void sift_tile(const double* row, bool whole, std::size_t number, Sieve& sieve, Hits& hits) {
  using V = typename L::V;
  using U = typename L::U;
  using M = typename L::M;
  const V zero = L::all(0);
  const V origin = L::all(sieve.origin);
  const V low_0 = L::all(sieve.brackets[0].low);
  const V high_0 = L::all(sieve.brackets[0].high);
  const V low_1 = L::all(sieve.brackets[1].low);
  const V high_1 = L::all(sieve.brackets[1].high);
  std::size_t count = hits.count;
  for (std::size_t part = 0; part < 8; part += L::kWidth) {
    V first = L::load(sieve.sums.first.data() + part);
    V second = L::load(sieve.sums.second.data() + part);
    U below_0 = L::all_bits(0);
    U below_1 = L::all_bits(0);
#pragma GCC unroll 8
    for (std::size_t k = part; k < kTile; k += 8) {
      const V x = L::load(row + k);
      V d = x - origin;
      if (!whole) d = L::choose(L::at_most(x, x), d, zero);
      first = first + d;
      second = second + d * d;
      const M under_0 = L::less(x, low_0);
      const M under_1 = L::less(x, low_1);
      below_0 = L::count(below_0, under_0);
      below_1 = L::count(below_1, under_1);
      const M in = L::either(in_bracket<L>(x, under_0, high_0), in_bracket<L>(x, under_1, high_1));
      // No question whether there are any: the answer could not be foreseen.
      hits.at[count] = static_cast<std::uint16_t>(number * kTile + k);
      count += L::bits_of(in) != 0 ? 1u : 0u;
    }
    L::store(sieve.sums.first.data() + part, first);
    L::store(sieve.sums.second.data() + part, second);
    add_counts<L>(below_0, sieve.caught[0].below.data() + part);
    add_counts<L>(below_1, sieve.caught[1].below.data() + part);
  }
  hits.count = count;
}

template <class L>
HINGELINE_INLINE void centre_tile(double* row, double origin) {
  using V = typename L::V;
  for (std::size_t k = 0; k < kTile; k += L::kWidth) {
    const V x = L::load(row + k);
    L::store(row + k, L::choose(L::at_most(x, x), x - L::all(origin), L::all(0)));
  }
}

template <class L>
HINGELINE_INLINE void combine_tile(const std::vector<Term>& terms, const double* deviates, double* row) {
  using V = typename L::V;
  for (std::size_t k = 0; k < kTile; k += L::kWidth) {
    V sum = L::all(0);
    for (const Term& term : terms)
      sum = sum + L::all(term.step) * L::load(deviates + term.deviate * kTile + k);
    L::store(row + k, sum);
  }
}

template <class L>
HINGELINE_INLINE void add_powers_tile(const double* row, Sums& sums, Sums& square_sums) {
  using V = typename L::V;
  for (std::size_t part = 0; part < 8; part += L::kWidth) {
    V first = L::load(sums.first.data() + part);
    V second = L::load(sums.second.data() + part);
    V fourth = L::load(square_sums.second.data() + part);
    for (std::size_t k = part; k < kTile; k += 8) {
      const V x = L::load(row + k);
      const V square = x * x;
      first = first + x;
      second = second + square;
      fourth = fourth + square * square;
    }
    L::store(sums.first.data() + part, first);
    L::store(sums.second.data() + part, second);
    L::store(square_sums.first.data() + part, second);
    L::store(square_sums.second.data() + part, fourth);
  }
}

template <class L>
HINGELINE_INLINE void add_products_tile(const double* row, const double* other, Sums& sums) {
  using V = typename L::V;
  for (std::size_t part = 0; part < 8; part += L::kWidth) {
    V first = L::load(sums.first.data() + part);
    V second = L::load(sums.second.data() + part);
#pragma GCC unroll 8
    for (std::size_t k = part; k < kTile; k += 8) {
      const V x = L::load(other + k);
      const V product = L::load(row + k) * x;
      first = first + product;
      second = second + product * x;
    }
    L::store(sums.first.data() + part, first);
    L::store(sums.second.data() + part, second);
  }
}

static inline void draw(const BlockPlan& plan, const double* deviates, double* rows) {
  draw_tile<lanes::Lanes>(plan, deviates, rows);
}
static inline std::uint64_t figures(const BlockPlan& plan, const double* rows, double* out) {
  return figures_tile<lanes::Lanes>(plan, rows, out);
}
template <class L>
HINGELINE_INLINE void sift_figures(const double* figures, bool whole, std::span<Sieve> sieves) {
  Hits hits;
  for (std::size_t n = 0; n < sieves.size(); ++n)
    sift_tile<L>(figures + sieves[n].row * kTile, whole, n, sieves[n], hits);
  for (std::size_t h = 0; h < hits.count; ++h) {
    Sieve& sieve = sieves[hits.at[h] / kTile];
    catch_hit<L>(L::load(figures + sieve.row * kTile + hits.at[h] % kTile), sieve);
  }
}

static inline void sift(const double* figures, bool whole, std::span<Sieve> sieves) {
  if (whole) {
    sift_figures<lanes::Lanes>(figures, true, sieves);
  } else {
    sift_figures<lanes::Lanes>(figures, false, sieves);
  }
}
static inline void centre(double* row, double origin) { centre_tile<lanes::Lanes>(row, origin); }
static inline void combine(const std::vector<Term>& terms, const double* deviates, double* row) {
  combine_tile<lanes::Lanes>(terms, deviates, row);
}
static inline void add_powers(const double* row, Sums& sums, Sums& square_sums) {
  add_powers_tile<lanes::Lanes>(row, sums, square_sums);
}
static inline void add_products(const double* figures, std::span<const std::size_t> rows, const double* x,
                                Sums* sums) {
  for (std::size_t n = 0; n < rows.size(); ++n)
    add_products_tile<lanes::Lanes>(figures + rows[n] * kTile, x, sums[rows[n]]);
}

}  // namespace hingeline::belief::HINGELINE_LANES_NAME

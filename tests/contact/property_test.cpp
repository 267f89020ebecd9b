// What holds for every joint.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "exact_contact.h"
#include "make.h"
#include "random_joints.h"

namespace hingeline::contact {
namespace {

using reference::Engine;
using reference::Roundness;
using reference::uniform;

bool has_inner_step(const Profile& p) {
  const auto v = p.vertices();
  for (std::size_t k = 0; k + 1 < v.size(); ++k) {
    const bool floor = p.closed() && k >= p.floor_begin();
    if (v[k].along == v[k + 1].along && !floor) return true;
  }
  return false;
}
bool never_thinner(const Profile& p) {
  const auto v = p.vertices();
  return std::is_sorted(v.begin(), v.end(),
                        [](const Vertex& a, const Vertex& b) { return a.radius < b.radius; });
}
bool never_wider(const Profile& p) {
  const auto v = p.vertices();
  return std::is_sorted(v.begin(), v.end(),
                        [](const Vertex& a, const Vertex& b) { return a.radius > b.radius; });
}
double steepest(const Profile& p) {
  const auto v = p.vertices();
  double most = 0;
  for (std::size_t k = 0; k + 1 < v.size(); ++k) {
    if (v[k].along < v[k + 1].along)
      most = std::max(most, std::abs((v[k + 1].radius - v[k].radius) / (v[k + 1].along - v[k].along)));
  }
  return most;
}

RC_GTEST_PROP(Clearance, HasNoJumpsWhereThereAreNoSteps, (std::uint64_t seed)) {
  Engine engine(seed);
  const Joint j = reference::draw_joint(engine, Roundness::any);
  const Length home = j.home().insertion;
  const auto knots = j.curve(Length{}, home);
  const bool steps = has_inner_step(*j.point()) || has_inner_step(*j.hole());
  RC_CLASSIFY(steps, "with steps");
  for (std::size_t k = 0; k + 1 < knots.size(); ++k) {
    RC_ASSERT(knots[k].insertion <= knots[k + 1].insertion);
    if (steps) continue;
    const double slope = steepest(*j.point()) + steepest(*j.hole());
    const double run = in_millimetres(knots[k + 1].insertion - knots[k].insertion);
    RC_ASSERT(std::abs(in_millimetres(knots[k + 1].clearance - knots[k].clearance)) <= slope * run + 1e-12);
  }
}

// A jump stands only where a step of the point passes a vertex of the hole, or the other way round.
RC_GTEST_PROP(Clearance, JumpsWhereAStepPassesACorner, (std::uint64_t seed)) {
  Engine engine(seed);
  const Joint j = reference::draw_joint(engine, Roundness::straight_only);
  const auto knots = j.curve(Length{}, j.home().insertion);
  for (std::size_t k = 0; k + 1 < knots.size(); ++k) {
    if (knots[k].insertion != knots[k + 1].insertion) continue;
    bool found = false;
    const auto p = j.point()->vertices();
    const auto h = j.hole()->vertices();
    const auto step_at = [](std::span<const Vertex> v, std::size_t i) {
      return (i > 0 && v[i - 1].along == v[i].along) || (i + 1 < v.size() && v[i].along == v[i + 1].along);
    };
    for (std::size_t a = 0; a < p.size(); ++a) {
      for (std::size_t b = 0; b < h.size(); ++b) {
        // The point's own ends come into and out of the hole like steps.
        const bool step = step_at(p, a) || step_at(h, b) || a == 0 || a + 1 == p.size();
        found = found || (step && p[a].along + h[b].along == knots[k].insertion);
      }
    }
    RC_ASSERT(found);
  }
}

RC_GTEST_PROP(Clearance, NeverGrowsInMonotoneProfiles, (std::uint64_t seed)) {
  Engine engine(seed);
  const Joint j = reference::draw_joint(engine, Roundness::any);
  RC_PRE(never_thinner(*j.point()) && never_wider(*j.hole()));
  const auto knots = j.curve(Length{}, j.home().insertion);
  for (std::size_t k = 0; k + 1 < knots.size(); ++k) {
    RC_ASSERT(knots[k + 1].clearance <= knots[k].clearance + kClearanceWorstError);
  }
  RC_ASSERT(knots.back().clearance >= -kClearanceWorstError);
}

RC_GTEST_PROP(Clearance, IsNotNegativeBeforeHome, (std::uint64_t seed)) {
  Engine engine(seed);
  const Joint j = reference::draw_joint(engine, Roundness::any);
  for (const auto& knot : j.curve(Length{}, j.home().insertion)) {
    RC_ASSERT(knot.clearance >= -kClearanceWorstError);
  }
}

RC_GTEST_PROP(Clearance, CurveIsClearance, (std::uint64_t seed)) {
  Engine engine(seed);
  const Joint j = reference::draw_joint(engine, Roundness::any);
  const Length home = j.home().insertion;
  RC_PRE(home > Length{});
  const Length from = home * uniform(engine, -0.2, 0.6);
  const Length to = from + (home - from) * uniform(engine, 0.1, 1);
  const auto knots = j.curve(from, to);
  RC_ASSERT(knots.front().insertion == from);
  RC_ASSERT(knots.back().insertion == to);
  const auto same = [](Length a, Length b) {
    return abs(a - b) <= kClearanceWorstError * 2;  // either may be off by that
  };
  for (std::size_t k = 0; k < knots.size(); ++k) {
    // On a step itself clearance() counts both its sides.
    const bool jump = (k > 0 && knots[k - 1].insertion == knots[k].insertion) ||
                      (k + 1 < knots.size() && knots[k + 1].insertion == knots[k].insertion);
    const Length here = j.clearance(knots[k].insertion);
    if (jump || (has_inner_step(*j.point()) || has_inner_step(*j.hole()))) {
      RC_ASSERT(here <= knots[k].clearance + kClearanceWorstError * 2);
    } else {
      RC_ASSERT(same(here, knots[k].clearance));
    }
    if (k + 1 == knots.size() || knots[k + 1].insertion <= knots[k].insertion) continue;
    const double share = uniform(engine, 0.01, 0.99);
    const Length at = knots[k].insertion + (knots[k + 1].insertion - knots[k].insertion) * share;
    if (at <= knots[k].insertion || at >= knots[k + 1].insertion) continue;
    const Length between = knots[k].clearance + (knots[k + 1].clearance - knots[k].clearance) * share;
    RC_ASSERT(same(j.clearance(at), between));
  }
}

template <class Form>
Form scaled_lengths(Form f, double k);
template <>
PointForm scaled_lengths(PointForm f, double k) {
  for (Length* l : {&f.length, &f.tip_radius, &f.shank_radius, &f.wear_length, &f.wear_depth, &f.ball_radius,
                    &f.neck_radius, &f.pin_radius, &f.pin_length, &f.shoulder_radius})
    *l = *l * k;
  for (Vertex& v : f.pairs) v = {v.along * k, v.radius * k};
  return f;
}
template <>
HoleForm scaled_lengths(HoleForm f, double k) {
  for (Length* l : {&f.mouth_radius, &f.depth, &f.bell_depth}) *l = *l * k;
  for (Vertex& v : f.pairs) v = {v.along * k, v.radius * k};
  return f;
}

RC_GTEST_PROP(Scaling, ScalesEverything, (std::uint64_t seed)) {
  Engine engine(seed);
  const auto forms = reference::draw_forms(engine, Roundness::straight_only);
  const auto point = make_point(forms.point);
  const auto hole = make_hole(forms.hole);
  RC_PRE(point && hole);
  const Joint j(*point, *hole);
  // Doubling moves exponents only: the same bits. An inch for a millimetre rounds.
  for (const double k : {2.0, 0.5, 25.4}) {
    const Joint big = joint_of(scaled_lengths(forms.point, k), scaled_lengths(forms.hole, k));
    const double allowed = k == 25.4 ? in_millimetres(kHomeWorstError) : 0.0;
    RC_ASSERT(std::abs(in_millimetres(big.home().insertion - j.home().insertion * k)) <= allowed);
    RC_ASSERT(big.home().regime == j.home().regime);
    const Length t = j.home().insertion * uniform(engine, 0, 1);
    RC_ASSERT(std::abs(in_millimetres(big.clearance(t * k) - j.clearance(t) * k)) <= allowed);
  }
}

struct MatchedCone {
  double half_angle;
  double tip;
  double mouth;
  double home;
  explicit MatchedCone(Engine& engine)
      : half_angle(uniform(engine, 3, 60)),
        tip(uniform(engine, 0.1, 0.5)),
        mouth(tip + uniform(engine, 0.2, 0.8)),
        home((mouth - tip) / std::tan(half_angle * std::numbers::pi / 180)) {}
  [[nodiscard]] PointForm point() const { return cone_point(half_angle, tip, 3 * home); }
  [[nodiscard]] HoleForm hole() const { return cone_hole(half_angle, mouth, 1.2 * home); }
};

RC_GTEST_PROP(Work, ReamingByEMovesHomeByE, (std::uint64_t seed)) {
  Engine engine(seed);
  const MatchedCone m(engine);
  const double e = uniform(engine, 0, 0.15) * m.home;
  const Profile hole = make_hole(m.hole()).value();
  const Angle taper = degrees(m.half_angle);
  const Joint j(make_point(m.point()).value(), ream(hole, taper, millimetres(m.mouth + e * tan(taper))));
  RC_ASSERT(std::abs(in_millimetres(j.home().insertion) - (m.home + e)) <= 1e-12);
  RC_ASSERT(j.home().regime == Regime::flank);
}

RC_GTEST_PROP(Work, FacingByFMovesHomeByF, (std::uint64_t seed)) {
  Engine engine(seed);
  const MatchedCone m(engine);
  const double f = uniform(engine, 0, 0.5) * m.home;
  const auto faced = face(make_hole(m.hole()).value(), millimetres(f));
  RC_ASSERT(faced.has_value());
  const Joint j(make_point(m.point()).value(), *faced);
  RC_ASSERT(std::abs(in_millimetres(j.home().insertion) - (m.home - f)) <= 1e-12);
  RC_ASSERT(j.home().regime == Regime::flank);
}

// Reamed with the point's taper past the damage, a mismatched cone carries on its flank again.
RC_GTEST_PROP(Work, ReamingRestoresAMismatchedCone, (std::uint64_t seed)) {
  Engine engine(seed);
  const MatchedCone m(engine);
  HoleForm worn = m.hole();
  worn.half_angle = degrees(m.half_angle * uniform(engine, 0.3, 1.3));
  const Profile hole = make_hole(worn).value();
  const double depth = in_millimetres(hole.vertices()[hole.floor_begin()].along);
  const Angle taper = degrees(m.half_angle);
  // The least reamer that touches the whole wall.
  const double radius =
      std::max(m.mouth, in_millimetres(hole.vertices()[hole.floor_begin()].radius) + depth * tan(taper));
  const Joint j(make_point(m.point()).value(), ream(hole, taper, millimetres(radius + 1e-6)));
  const double home = (radius + 1e-6 - m.tip) / tan(taper);
  RC_PRE(home < depth);  // else the floor stops it
  RC_ASSERT(j.home().regime == Regime::flank);
  RC_ASSERT(std::abs(in_millimetres(j.home().insertion) - home) <= 1e-12);
  const double t = uniform(engine, 0, 1) * home;
  RC_ASSERT(std::abs(in_millimetres(j.clearance(millimetres(t))) - (home - t) * tan(taper)) <= 1e-13);
}

RC_GTEST_PROP(Work, ReamingNeverTakesClearance, (std::uint64_t seed)) {
  Engine engine(seed);
  const Joint j = reference::draw_joint(engine, Roundness::any);
  const Profile reamed =
      ream(*j.hole(), degrees(uniform(engine, 0, 60)), millimetres(uniform(engine, 0.1, 3)));
  RC_ASSERT(reamed.vertices().size() >= 2U);
  RC_ASSERT(reamed.length() >= j.hole()->length());
  const Joint after(*j.point(), reamed);
  RC_ASSERT(after.home().insertion >= j.home().insertion - kHomeWorstError);
  const Length t = j.home().insertion * uniform(engine, 0, 1);
  RC_ASSERT(after.clearance(t) >= j.clearance(t) - kClearanceWorstError);
}

// Brute force knows nothing of vertices: dense samples, and home by bisection.
RC_GTEST_PROP(Home, IsWhereBruteForceFindsIt, (std::uint64_t seed)) {
  Engine engine(seed);
  const Joint j = reference::draw_joint(engine, Roundness::any);
  const auto point = reference::outline(*j.point());
  const auto hole = reference::outline(*j.hole());
  const double home = in_millimetres(j.home().insertion);
  // Samples can only miss an overlap, so the sampled clearance is never less than the true one.
  for (const double share : {0.2, 0.6, 0.99}) {
    if (home <= 0) break;
    const double c = in_millimetres(j.clearance(millimetres(share * home)));
    const double sampled = reference::sampled_clearance(point, hole, share * home, 400);
    RC_ASSERT(sampled >= c - 1e-12);
  }
  // Just past home there is an overlap or the floor.
  const double past = home + 1e-6;
  RC_ASSERT(past > hole.length() || static_cast<double>(reference::exact_clearance(
                                        point, hole, static_cast<long double>(past))) < 1e-12);
}

}  // namespace
}  // namespace hingeline::contact

// What holds for every key, by generated cases. A case is made from one number, so a failure names it.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <map>

#include "cases.h"

namespace hingeline::plan {
namespace {

using samples::Draw;
using samples::EndSpec;
using samples::KeySpec;

KeySpec any_key(std::uint64_t seed) {
  Draw draw(seed);
  return draw.chance(0.6) ? samples::loose_key(draw) : samples::tight_key(draw);
}
std::uint64_t any_seed() { return *rc::gen::resize(1000, rc::gen::arbitrary<std::uint64_t>()); }

/// A share of keys with damaged holes too, for what holds whatever the joint is.
KeySpec any_key_at_all(std::uint64_t seed) {
  KeySpec s = any_key(seed);
  Draw draw(seed ^ 0x9e3779b97f4a7c15ULL);
  for (EndSpec* e : {&s.upper, &s.lower}) {
    if (draw.chance(0.1)) e->hole_half_angle = e->half_angle + draw.uniform(-5, 5);
    if (draw.chance(0.1)) e->hole = contact::HoleShape::bell;
    if (draw.chance(0.05)) e->hole = contact::HoleShape::straight;
    if (draw.chance(0.05)) e->tip_floor = -0.05;
    if (draw.chance(0.3)) e->stop += 0.4;
  }
  return s;
}

/// Amounts by operation and end, whatever their order.
std::map<std::pair<Operation, Side>, double> amounts(const Plan& p, bool swapped = false) {
  std::map<std::pair<Operation, Side>, double> out;
  for (const Step& s : p.steps)
    out[{s.operation, swapped ? mechanism::other(s.side) : s.side}] += s.amount.raw();
  return out;
}

RC_GTEST_PROP(Plans, AreSortedByTheStatedPreference, ()) {
  const KeyCase k = samples::case_of(any_key_at_all(any_seed()));
  const KeyPlan p = plan_key(k);
  const auto rank = [&](const Plan& x) {
    const auto rounded = [](double v) { return std::round(v * 1e6); };
    return std::array<double, 4>{rounded(x.metal.raw()), rounded(samples::excess(x.off_centre, k.limits)),
                                 rounded(x.minutes), rounded(std::abs(x.off_centre.raw()))};
  };
  for (std::size_t n = 1; n < p.plans.size(); ++n) {
    const auto a = rank(p.plans[n - 1]);
    const auto b = rank(p.plans[n]);
    bool sorted = true;  // in order, but for a unit of rounding
    for (std::size_t i = 0; i < a.size(); ++i) {
      if (std::abs(a[i] - b[i]) <= 1) continue;
      sorted = a[i] < b[i];
      break;
    }
    RC_ASSERT(sorted);
  }
}

RC_GTEST_PROP(Plans, BreachNoLimitAndLandInTheWindow, ()) {
  const KeySpec spec = any_key_at_all(any_seed());
  const KeyCase k = samples::case_of(spec);
  const KeyPlan p = plan_key(k);
  for (const Plan& plan : p.plans) {
    if (plan.steps.empty()) continue;
    auto g = k.estimate.geometry;
    std::map<Side, double> cut, in, out, ream;
    double metal = 0;
    for (const Step& s : plan.steps) {
      const double a = s.amount.raw();
      if (takes_metal(s.operation)) {
        RC_ASSERT(a > 0);
        metal += a;
      }
      if (s.operation == Operation::seat_cut) cut[s.side] += a;
      if (s.operation == Operation::ream) ream[s.side] += a;
      if (s.operation == Operation::turn_screw) (a > 0 ? in : out)[s.side] += std::abs(a);
      auto next = after(g, s);
      RC_ASSERT(next.has_value());
      g = *next;
    }
    RC_ASSERT(std::abs(metal - plan.metal.raw()) < 1e-9);
    const auto hinge = belief::build_hinge(g);
    RC_ASSERT(hinge.has_value());
    const auto& t = hinge->travel();
    RC_ASSERT(t.end_play().raw() >= p.window.low.raw() - 1e-6);
    RC_ASSERT(t.end_play().raw() <= p.window.high.raw() + 1e-6);
    const auto now = belief::figures_of(g, *hinge);
    for (std::size_t f = 0; f < belief::kFigureCount; ++f) {
      RC_ASSERT((std::isnan(now[f]) ? std::isnan(plan.after[f]) : now[f] == plan.after[f]));
    }
    // The pad's offset, from the body's own frame: the lower post stands still.
    const auto start = belief::build_hinge(k.estimate.geometry)->travel();
    const auto from_lower = [](const mechanism::Travel& x) { return (x.low + x.high) / 2 - x.face_gap; };
    double moved = (from_lower(t) - from_lower(start)).raw();
    for (const Step& s : plan.steps) {
      if (s.operation == Operation::restore_post && s.side == Side::lower) moved -= s.amount.raw();
      RC_ASSERT(s.operation != Operation::face);
    }
    RC_ASSERT(std::abs(plan.shift.raw() - moved) < 1e-9);
    for (const Side side : {Side::upper, Side::lower}) {
      const EndSpec& e = side == Side::upper ? spec.upper : spec.lower;
      const double c = cut[side];
      if (c > 0) {
        RC_ASSERT(e.headed);
        RC_ASSERT(e.web - c >= 0.8 - 1e-6);
        RC_ASSERT(e.engagement - c >= 3 * e.pitch - 1e-6);
        RC_ASSERT(e.slot - c >= -1e-6);
      }
      if (in[side] > 0) RC_ASSERT(e.slot - in[side] >= -1e-6);
      if (out[side] > 0) RC_ASSERT(e.engagement - out[side] >= 3 * e.pitch - 1e-6);
      const auto tip = side == Side::upper ? Figure::tip_floor_upper : Figure::tip_floor_lower;
      if (ream[side] > 0) {
        RC_ASSERT(e.key_end / 2 - g.at(side).hole.mouth_radius.raw() >= 0.3 - 1e-6);
        RC_ASSERT(now[static_cast<std::size_t>(tip)] >= 0.1 - 1e-6);
      }
      RC_ASSERT(t.gap_at(side).raw() >= -1e-9);
    }
  }
}

RC_GTEST_PROP(Plans, OfTheMirroredKeyAreTheMirroredPlans, ()) {
  const KeyCase k = samples::case_of(any_key_at_all(any_seed()));
  const KeyPlan p = plan_key(k);
  const KeyPlan q = plan_key(samples::mirrored(k));
  RC_ASSERT(p.verdict == q.verdict);
  RC_ASSERT(std::abs((p.window.high - q.window.high).raw()) < 1e-9);
  RC_ASSERT(p.refusals.size() == q.refusals.size());
  RC_ASSERT(p.plans.empty() == q.plans.empty());
  if (p.plans.empty()) return;
  const Plan& a = p.plans.front();
  const Plan& b = q.plans.front();
  RC_ASSERT(std::abs((a.metal - b.metal).raw()) < 1e-9);
  RC_ASSERT(std::abs((a.off_centre + b.off_centre).raw()) < 1e-9);
  RC_ASSERT(std::abs(a.minutes - b.minutes) < 1e-6);
  const auto x = amounts(a);
  const auto y = amounts(b, true);
  RC_ASSERT(x.size() == y.size());
  for (const auto& [what, amount] : x)
    RC_ASSERT((y.count(what) == 1 && std::abs(y.at(what) - amount) < 1e-9));
}

RC_GTEST_PROP(Plans, OfAGoodKeyAreToLeaveIt, ()) {
  KeySpec s = any_key(any_seed());
  s.end_play = 0.010 + 0.020 * *rc::gen::inRange(0, 1001) / 1000.0;
  const KeyPlan p = plan_key(samples::case_of(s));
  RC_ASSERT(p.verdict == Verdict::sound);
  RC_ASSERT(p.plans.size() == 1U);
  RC_ASSERT(p.plans.front().approach == Approach::leave_it);
  RC_ASSERT(p.plans.front().steps.empty());
  RC_ASSERT(p.plans.front().metal.raw() == 0.0);
  RC_ASSERT(p.plans.front().minutes == 0.0);
}

RC_GTEST_PROP(Plans, OnceCarriedOutLeaveNothingToDo, ()) {
  const KeyCase k = samples::case_of(any_key(any_seed()));
  const KeyPlan p = plan_key(k);
  for (const Plan& plan : p.plans) {
    const KeyPlan again = plan_key(samples::carried_out(k, plan));
    RC_ASSERT(again.verdict == Verdict::sound);
    RC_ASSERT(again.plans.size() == 1U);
    RC_ASSERT(again.plans.front().approach == Approach::leave_it);
  }
}

RC_GTEST_PROP(Plans, WithMoreMetalToSpareTakeNoMore, ()) {
  KeySpec s = any_key(any_seed());
  const KeyPlan p = plan_key(samples::case_of(s));
  for (EndSpec* e : {&s.upper, &s.lower}) {
    e->web += 0.05 * *rc::gen::inRange(0, 4);
    e->engagement += 0.05 * *rc::gen::inRange(0, 4);
    e->slot += 0.05 * *rc::gen::inRange(0, 4);
    e->key_end += 0.05 * *rc::gen::inRange(0, 4);
  }
  const KeyPlan q = plan_key(samples::case_of(s));
  if (p.plans.empty()) return;
  RC_ASSERT(!q.plans.empty());
  RC_ASSERT(q.plans.front().metal.raw() <= p.plans.front().metal.raw() + 1e-9);
}

RC_GTEST_PROP(After, ADeeperSeatNeverGivesEndPlay, ()) {
  const auto g = samples::geometry_of(any_key_at_all(any_seed()));
  const Side side = *rc::gen::element(Side::upper, Side::lower);
  double before = belief::build_hinge(g)->travel().end_play().raw();
  for (const double cut : {0.01, 0.03, 0.1, 0.3}) {
    const auto h = after(g, {Operation::seat_cut, side, millimetres(cut), 0, {}, {}, {}});
    RC_ASSERT(h.has_value());
    const double now = belief::build_hinge(*h)->travel().end_play().raw();
    RC_ASSERT(now <= before + 1e-12);
    before = now;
  }
}

RC_GTEST_PROP(After, AWiderHoleNeverTakesEndPlay, ()) {
  const auto g = samples::geometry_of(any_key_at_all(any_seed()));
  const Side side = *rc::gen::element(Side::upper, Side::lower);
  double before = belief::build_hinge(g)->travel().end_play().raw();
  for (const double amount : {0.01, 0.03, 0.1, 0.3}) {
    const auto h = after(g, {Operation::ream, side, millimetres(amount), 0, {}, {}, {}});
    RC_ASSERT(h.has_value());
    const double now = belief::build_hinge(*h)->travel().end_play().raw();
    RC_ASSERT(now >= before - 1e-12);
    before = now;
  }
}

/// Every length of a case times k.
KeyCase scaled(const KeyCase& given, double k) {
  KeyCase c = given;
  const auto times = [&](Length& l) { l = l * k; };
  const auto maybe = [&](MaybeLength& l) {
    if (l) l->value = l->value * k;
  };
  auto g = given.estimate.geometry;
  times(g.span);
  times(g.key_length);
  for (auto* j : {&g.upper, &g.lower}) {
    for (Length* l : {&j->stop, &j->point.length, &j->point.tip_radius, &j->hole.mouth_radius, &j->hole.depth,
                      &j->hole.bell_depth})
      times(*l);
  }
  if (g.pad) {
    times(g.pad->tone_hole);
    times(g.pad->station);
    times(g.pad->arm);
  }
  c.estimate = samples::estimate_of(g, k * given.estimate[Figure::end_play].plus_minus);
  for (EndFacts* f : {&c.upper, &c.lower}) {
    for (MaybeLength* l :
         {&f->head_diameter, &f->stands_off, &f->web, &f->engagement, &f->post_diameter, &f->key_end_diameter,
          &f->slot_left, &f->displaced, &f->room_behind, &f->room_around})
      maybe(*l);
    if (f->pitch) times(*f->pitch);
  }
  times(c.pad_off_centre);
  times(c.reading_uncertainty);
  for (Length* l : {&c.window.window_low, &c.window.window_high, &c.window.pad_gap_allowed,
                    &c.window.rock_allowed, &c.window.moisture, &c.window.roundness, &c.window.oil_film})
    times(*l);
  for (Length* l :
       {&c.limits.web_min, &c.limits.wall_seat_min, &c.limits.wall_mouth_min, &c.limits.tip_floor_min,
        &c.limits.face_gap_min, &c.limits.centring_allowed, &c.limits.cutter_over_max,
        &c.limits.cutter_under_max, &c.limits.aim_guard, &c.limits.least_cut})
    times(*l);
  times(c.pace.take_off_per_turn);
  for (Cutter& t : c.tools.cutters) times(t.diameter);
  for (Reamer& t : c.tools.reamers) {
    times(t.small_diameter);
    times(t.large_diameter);
  }
  for (Driver& t : c.tools.drivers) {
    times(t.room_behind);
    times(t.room_around);
  }
  return c;
}

RC_GTEST_PROP(Plans, OfAKeyKTimesAsLargeAreKTimesAsLarge, ()) {
  const KeyCase k = samples::case_of(any_key_at_all(any_seed()));
  const double by = *rc::gen::element(0.5, 1.5, 2.0, 4.0);
  const KeyPlan p = plan_key(k);
  const KeyPlan q = plan_key(scaled(k, by));
  RC_ASSERT(p.verdict == q.verdict);
  RC_ASSERT(std::abs(q.window.high.raw() - by * p.window.high.raw()) < 1e-7);
  RC_ASSERT(p.plans.empty() == q.plans.empty());
  if (p.plans.empty()) return;
  const Plan& a = p.plans.front();
  const Plan& b = q.plans.front();
  RC_ASSERT(std::abs(b.metal.raw() - by * a.metal.raw()) < 1e-6);
  RC_ASSERT(std::abs(samples::excess(b.off_centre, scaled(k, by).limits) -
                     by * samples::excess(a.off_centre, k.limits)) < 1e-6);
  RC_ASSERT(std::abs(b.minutes - a.minutes) < 1e-3);
}

TEST(Plans, AreTheSameEveryTime) {
  const KeyCase k = samples::case_of(any_key_at_all(7));
  const KeyPlan p = plan_key(k);
  const KeyPlan q = plan_key(k);
  ASSERT_EQ(p.plans.size(), q.plans.size());
  for (std::size_t n = 0; n < p.plans.size(); ++n) {
    EXPECT_EQ(p.plans[n].metal.raw(), q.plans[n].metal.raw());
    EXPECT_EQ(amounts(p.plans[n]), amounts(q.plans[n]));
  }
}

}  // namespace
}  // namespace hingeline::plan

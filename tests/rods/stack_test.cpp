// Stacks by hand, their properties, and care.

#include "hingeline/rods/stack.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "hingeline/numeric/random.h"

namespace hingeline::rods {
namespace {

using numeric::Stream;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

StackPrices prices() {
  StackPrices p;
  p.swedge = {seconds(300), seconds(600), seconds(600)};
  p.face = {seconds(240), seconds(600), seconds(3000)};
  p.move_post = {seconds(900), seconds(600), {}};
  p.ream_swedged = seconds(480);
  p.apart = seconds(600);
  p.least = millimetres(0.005);
  return p;
}

TubePart part(double swedge, double free, double face) {
  return {millimetres(swedge), millimetres(free), millimetres(face)};
}

/// One tube, 0.12 of play, pad in the middle.
Stack loose() {
  Stack s;
  StackTube tube;
  tube.pad = PadOnTube{{}, millimetres(0.2)};
  tube.upper = tube.lower = part(0.3, 0.3, 0.3);
  s.gaps = {{millimetres(0.12), millimetres(0.01), millimetres(0.03), {}, {tube}}};
  s.posts.resize(2);
  return s;
}

TEST(Stack, OneLooseTube) {
  const auto answer = plan_stack(loose(), prices());
  ASSERT_TRUE(answer);
  ASSERT_FALSE(answer->plans.empty());
  const StackPlan& best = answer->plans[0];
  // One swedging by 0.09, to the window's upper edge: 5 min and 10 min a mm, and as much again as metal.
  ASSERT_EQ(best.steps.size(), 1u);
  EXPECT_EQ(best.steps[0].work, StackWork::swedge);
  EXPECT_NEAR(in_millimetres(best.steps[0].amount), 0.09, 1e-12);
  EXPECT_NEAR(in_seconds(best.time), 600 + 300 + 54, 1e-9);
  EXPECT_NEAR(in_seconds(best.metal), 54, 1e-9);
  EXPECT_NEAR(in_millimetres(best.gaps[0].end_play), 0.03, 1e-12);
  // Upper part: the pad goes down by the growth, from -0.06 pushed up.
  ASSERT_EQ(best.steps[0].side, Side::upper);
  EXPECT_NEAR(in_millimetres(best.gaps[0].pads[0]->up), 0.03, 1e-12);
  EXPECT_NEAR(in_millimetres(best.gaps[0].pads[0]->down), 0.06, 1e-12);
  ASSERT_EQ(best.ruling.size(), 1u);
  EXPECT_EQ(best.ruling[0].limit, StackLimit::play_most);
  // The runner-up is the other part.
  ASSERT_GE(answer->plans.size(), 2u);
  EXPECT_EQ(answer->plans[1].steps[0].side, Side::lower);
  EXPECT_TRUE(answer->refusals.empty());
}

TEST(Stack, PadDecidesThePart) {
  Stack s = loose();
  // Already far down: growth above it would carry it over.
  s.gaps[0].tubes[0].pad = PadOnTube{millimetres(0.15), millimetres(0.2)};
  const auto answer = plan_stack(s, prices(), 1);
  ASSERT_EQ(answer->plans.size(), 1u);
  ASSERT_EQ(answer->plans[0].steps.size(), 1u);
  EXPECT_EQ(answer->plans[0].steps[0].side, Side::lower);
  EXPECT_NEAR(in_millimetres(answer->plans[0].gaps[0].pads[0]->down), 0.12, 1e-12);
}

TEST(Stack, NothingToDo) {
  Stack s = loose();
  s.gaps[0].end_play = millimetres(0.02);
  const auto answer = plan_stack(s, prices());
  ASSERT_EQ(answer->plans.size(), 1u);
  EXPECT_TRUE(answer->plans[0].steps.empty());
  EXPECT_EQ(answer->plans[0].cost(), Duration{});
  EXPECT_TRUE(answer->plans[0].ruling.empty());
}

TEST(Stack, BindingIsFaced) {
  Stack s = loose();
  s.gaps[0].end_play = millimetres(-0.05);
  const auto pads = as_it_stands(s);
  EXPECT_EQ(pads[0].pads[0]->up, pads[0].pads[0]->down);
  const auto answer = plan_stack(s, prices(), 1);
  ASSERT_EQ(answer->plans[0].steps.size(), 1u);
  EXPECT_EQ(answer->plans[0].steps[0].work, StackWork::face);
  EXPECT_NEAR(in_millimetres(answer->plans[0].steps[0].amount), 0.06, 1e-12);
}

TEST(Stack, ReamsOnlyWhereTheBoreCloses) {
  Stack s = loose();
  StackTube& t = s.gaps[0].tubes[0];
  t.upper = t.lower = part(0.3, 0.05, 0);
  // Two parts by 0.045 each or one by 0.09 and reamed: 5 min of a second set-up against 8 of reaming.
  auto answer = plan_stack(s, prices(), 1);
  EXPECT_EQ(answer->plans[0].steps.size(), 2u);
  EXPECT_FALSE(answer->plans[0].steps[0].ream_after);
  StackPrices cheap = prices();
  cheap.ream_swedged = seconds(120);
  answer = plan_stack(s, cheap, 1);
  ASSERT_EQ(answer->plans[0].steps.size(), 1u);
  EXPECT_TRUE(answer->plans[0].steps[0].ream_after);
  EXPECT_NEAR(in_seconds(answer->plans[0].time), 600 + 300 + 54 + 120, 1e-9);
}

TEST(Stack, AMovedPostServesTwoGaps) {
  // The first gap is loose by what the second one lacks.
  Stack s = loose();
  s.gaps.push_back(s.gaps[0]);
  s.gaps[0].end_play = millimetres(0.10);
  s.gaps[1].end_play = millimetres(-0.06);
  s.posts = {{}, {millimetres(0.5), millimetres(0.5)}, {}};
  // Swedging one tube and facing the other costs 384 s and 492 s with their metal.
  StackPrices p = prices();
  p.move_post.set_up = seconds(800);
  const auto answer = plan_stack(s, p, 1);
  ASSERT_EQ(answer->plans.size(), 1u);
  ASSERT_EQ(answer->plans[0].steps.size(), 1u);
  EXPECT_EQ(answer->plans[0].steps[0].work, StackWork::move_post);
  EXPECT_EQ(answer->plans[0].steps[0].tube, 1u);
  EXPECT_EQ(answer->plans[0].steps[0].side, Side::upper);
  EXPECT_NEAR(in_millimetres(answer->plans[0].steps[0].amount), 0.07, 1e-12);
}

TEST(Stack, SaysWhatStandsInTheWay) {
  Stack s = loose();
  s.gaps.push_back(s.gaps[0]);
  s.posts.resize(3);
  StackTube& t = s.gaps[1].tubes[0];
  t.upper = part(0.04, 0.04, 0);
  t.lower = part(0.03, 0.03, 0.3);
  const auto answer = plan_stack(s, prices());
  ASSERT_TRUE(answer);
  EXPECT_TRUE(answer->plans.empty());
  ASSERT_EQ(answer->refusals.size(), 1u);
  EXPECT_EQ(answer->refusals[0].first_gap, 1u);
  EXPECT_EQ(answer->refusals[0].last_gap, 1u);
  // 0.12 less 0.07 is still over 0.03: the window's edge and both parts, nothing else.
  const std::vector<LimitAt> expected{{StackLimit::play_most, 1, 0, Side::upper, millimetres(0.03)},
                                      {StackLimit::swedge_most, 1, 0, Side::lower, millimetres(0.03)},
                                      {StackLimit::swedge_most, 1, 0, Side::upper, millimetres(0.04)}};
  EXPECT_EQ(answer->refusals[0].limits, expected);
}

TEST(Stack, PlayWiderThanThePadAllows) {
  Stack s = loose();
  s.gaps[0].play_least = millimetres(0.05);
  s.gaps[0].play_most = millimetres(0.08);
  s.gaps[0].tubes[0].pad->allowed = millimetres(0.02);
  const auto answer = plan_stack(s, prices());
  ASSERT_EQ(answer->refusals.size(), 1u);
  const std::vector<LimitAt> expected{{StackLimit::play_least, 0, 0, Side::upper, millimetres(0.05)},
                                      {StackLimit::pad_up, 0, 0, Side::upper, millimetres(0.02)},
                                      {StackLimit::pad_down, 0, 0, Side::lower, millimetres(0.02)}};
  EXPECT_EQ(answer->refusals[0].limits, expected);
}

TEST(Stack, EasingALimitSaves) {
  const LimitAt edge{StackLimit::play_most, 0, 0, Side::upper, millimetres(0.03)};
  // 0.01 mm less to swedge, at 20 min a mm with metal.
  auto saved = saved_by_easing(loose(), prices(), edge, millimetres(0.01));
  ASSERT_TRUE(saved);
  ASSERT_TRUE(*saved);
  EXPECT_NEAR(in_seconds(**saved), 12, 1e-9);
  // As much as it takes to leave it alone.
  saved = saved_by_easing(loose(), prices(), edge, millimetres(0.09));
  EXPECT_NEAR(in_seconds(**saved), 600 + 300 + 108, 1e-9);
  EXPECT_EQ(**saved_by_easing(loose(), prices(), {StackLimit::pad_up, 0, 0, Side::upper, {}}, millimetres(1)),
            Duration{});
  EXPECT_FALSE(saved_by_easing(loose(), prices(), edge, Length{}));
  EXPECT_FALSE(
      saved_by_easing(loose(), prices(), {StackLimit::pad_up, 3, 0, Side::upper, {}}, millimetres(1)));
  EXPECT_FALSE(
      saved_by_easing(loose(), prices(), {StackLimit::post_most, 0, 7, Side::upper, {}}, millimetres(1)));
}

TEST(Stack, RefusesNonsense) {
  Stack s = loose();
  EXPECT_FALSE(plan_stack({}, prices()));
  EXPECT_FALSE(plan_stack(s, prices(), 0));
  s.posts.resize(3);
  EXPECT_FALSE(plan_stack(s, prices()));
  s = loose();
  s.gaps[0].tubes.clear();
  EXPECT_FALSE(plan_stack(s, prices()));
  s = loose();
  s.gaps[0].play_most = millimetres(0.005);
  EXPECT_FALSE(plan_stack(s, prices()));
  s = loose();
  s.gaps[0].tubes.resize(kMostTubesTogether + 1);
  EXPECT_FALSE(plan_stack(s, prices()));
  for (const double bad : {-1.0, kNan}) {
    s = loose();
    s.gaps[0].tubes[0].lower.face_most = millimetres(bad);
    EXPECT_FALSE(plan_stack(s, prices()));
    s = loose();
    s.posts[1].up_most = millimetres(bad);
    EXPECT_FALSE(plan_stack(s, prices()));
    s = loose();
    s.gaps[0].tubes[0].pad->allowed = millimetres(bad);
    EXPECT_FALSE(plan_stack(s, prices()));
    StackPrices p = prices();
    p.least = millimetres(bad);
    EXPECT_FALSE(plan_stack(loose(), p));
    p = prices();
    p.face.per_mm = seconds(bad);
    EXPECT_FALSE(plan_stack(loose(), p));
  }
  s = loose();
  s.gaps[0].end_play = millimetres(kNan);
  EXPECT_FALSE(plan_stack(s, prices()));
}

/// A stack of any sort.
Stack any_stack(std::uint64_t n) {
  Stream s(31, n);
  const auto between = [&](double a, double b) { return millimetres(a + (b - a) * s.uniform()); };
  Stack out;
  const std::size_t gaps = 1 + s.bits() % 3;
  for (std::size_t g = 0; g < gaps; ++g) {
    StackGap gap{between(-0.1, 0.2), millimetres(0.01), between(0.02, 0.05), {}, {}};
    const std::size_t tubes = 1 + s.bits() % 3;
    for (std::size_t t = 0; t < tubes; ++t) {
      StackTube tube;
      if (s.uniform() < 0.8) tube.pad = PadOnTube{between(-0.2, 0.2), between(0.1, 0.3)};
      for (TubePart* p : {&tube.upper, &tube.lower}) *p = {between(0, 0.2), between(0, 0.2), between(0, 0.2)};
      gap.tubes.push_back(tube);
    }
    out.gaps.push_back(std::move(gap));
  }
  for (std::size_t p = 0; p <= gaps; ++p) {
    out.posts.push_back(s.uniform() < 0.3 ? StackPost{between(0, 0.1), between(0, 0.1)} : StackPost{});
  }
  return out;
}

/// The same seen from the other end.
Stack turned(const Stack& s) {
  Stack out = s;
  std::reverse(out.gaps.begin(), out.gaps.end());
  std::reverse(out.posts.begin(), out.posts.end());
  for (StackPost& p : out.posts) std::swap(p.up_most, p.down_most);
  for (StackGap& g : out.gaps) {
    std::reverse(g.tubes.begin(), g.tubes.end());
    for (StackTube& t : g.tubes) {
      std::swap(t.upper, t.lower);
      if (t.pad) t.pad->offset = -t.pad->offset;
    }
  }
  return out;
}

Stack enlarged(const Stack& s, double k) {
  Stack out = s;
  for (StackPost& p : out.posts) p = {p.up_most * k, p.down_most * k};
  for (StackGap& g : out.gaps) {
    g.end_play = g.end_play * k;
    g.play_least = g.play_least * k;
    g.play_most = g.play_most * k;
    for (StackTube& t : g.tubes) {
      for (TubePart* p : {&t.upper, &t.lower}) {
        *p = {p->swedge_most * k, p->swedge_free * k, p->face_most * k};
      }
      if (t.pad) t.pad = PadOnTube{t.pad->offset * k, t.pad->allowed * k};
    }
  }
  return out;
}

TEST(StackProperties, TurnedRoundCostsTheSame) {
  int solved = 0;
  for (std::uint64_t n = 0; n < 300; ++n) {
    const auto a = plan_stack(any_stack(n), prices(), 1);
    const auto b = plan_stack(turned(any_stack(n)), prices(), 1);
    ASSERT_EQ(a->plans.empty(), b->plans.empty()) << n;
    if (a->plans.empty()) continue;
    ++solved;
    EXPECT_NEAR(in_seconds(a->plans[0].cost()), in_seconds(b->plans[0].cost()), 1e-6) << n;
  }
  EXPECT_GT(solved, 100);
}

TEST(StackProperties, InchesAsMillimetres) {
  for (std::uint64_t n = 0; n < 200; ++n) {
    const auto a = plan_stack(any_stack(n), prices(), 1);
    StackPrices p = prices();
    p.least = p.least * 4;
    for (WorkPrice* w : {&p.swedge, &p.face, &p.move_post}) {
      w->per_mm = w->per_mm / 4;
      w->metal_per_mm = w->metal_per_mm / 4;
    }
    const auto b = plan_stack(enlarged(any_stack(n), 4), p, 1);
    ASSERT_EQ(a->plans.empty(), b->plans.empty()) << n;
    if (!a->plans.empty()) {
      EXPECT_NEAR(in_seconds(a->plans[0].cost()), in_seconds(b->plans[0].cost()), 1e-6) << n;
    }
  }
}

TEST(StackProperties, RunnersUpAreDearerAndOtherwise) {
  int several = 0;
  for (std::uint64_t n = 0; n < 200; ++n) {
    const auto answer = plan_stack(any_stack(n), prices(), 4);
    const auto& plans = answer->plans;
    if (plans.size() > 1) ++several;
    for (std::size_t k = 1; k < plans.size(); ++k) {
      EXPECT_GE(plans[k].cost().raw(), plans[k - 1].cost().raw() - 1e-6);
      for (std::size_t earlier = 0; earlier < k; ++earlier) {
        const bool has_all =
            std::all_of(plans[earlier].steps.begin(), plans[earlier].steps.end(), [&](const StackStep& s) {
              return std::any_of(plans[k].steps.begin(), plans[k].steps.end(), [&](const StackStep& o) {
                return o.work == s.work && o.gap == s.gap && o.tube == s.tube && o.side == s.side &&
                       o.ream_after == s.ream_after;
              });
            });
        EXPECT_FALSE(has_all) << n << ": " << k << " of " << earlier;
      }
    }
  }
  EXPECT_GT(several, 80);
}

/// Gives way everywhere but at the limits to keep. So that a window can give way below 0, all play and what
/// it does to pads is reckoned from 1 m further out: that changes nothing else.
Stack with_only(const Stack& stack, const std::vector<LimitAt>& keep) {
  const auto kept = [&](const LimitAt& l) {
    return std::any_of(keep.begin(), keep.end(), [&](const LimitAt& k) {
      return k.limit == l.limit && k.gap == l.gap && k.tube == l.tube && k.side == l.side;
    });
  };
  Stack out = stack;
  const Length offset = millimetres(1000);
  // What may not be done at all is no limit.
  const auto ease = [](Length& most) {
    if (most >= prices().least) most = millimetres(300);
  };
  for (std::size_t p = 0; p < out.posts.size(); ++p) {
    StackPost& post = out.posts[p];
    if (!kept({StackLimit::post_most, 0, p, Side::upper, {}})) ease(post.up_most);
    if (!kept({StackLimit::post_most, 0, p, Side::lower, {}})) ease(post.down_most);
  }
  for (std::size_t g = 0; g < out.gaps.size(); ++g) {
    StackGap& gap = out.gaps[g];
    gap.end_play += offset;
    gap.play_least += offset;
    gap.play_most += offset;
    if (!kept({StackLimit::play_least, g, 0, Side::upper, {}})) gap.play_least = {};
    if (!kept({StackLimit::play_most, g, 0, Side::upper, {}})) gap.play_most += offset;
    for (std::size_t t = 0; t < gap.tubes.size(); ++t) {
      StackTube& tube = gap.tubes[t];
      for (const Side side : {Side::upper, Side::lower}) {
        TubePart& p = side == Side::upper ? tube.upper : tube.lower;
        if (!kept({StackLimit::swedge_most, g, t, side, {}})) ease(p.swedge_most);
        if (!kept({StackLimit::face_most, g, t, side, {}})) ease(p.face_most);
      }
      if (!tube.pad) continue;
      tube.pad->allowed += offset / 2.0;
      for (const Side side : {Side::upper, Side::lower}) {
        if (kept({side == Side::upper ? StackLimit::pad_up : StackLimit::pad_down, g, t, side, {}})) continue;
        tube.pad->allowed += offset;
        tube.pad->offset += side == Side::upper ? offset : -offset;
      }
    }
  }
  return out;
}

// The limits of a refusal cannot be met together, and any of them left out they can.
TEST(StackProperties, RefusalsAreIrreducible) {
  int refused = 0;
  for (std::uint64_t n = 0; n < 400; ++n) {
    const Stack s = any_stack(n);
    const auto answer = plan_stack(s, prices(), 1);
    for (const StackRefusal& r : answer->refusals) {
      ++refused;
      EXPECT_FALSE(r.limits.empty());
      EXPECT_FALSE(plan_stack(with_only(s, r.limits), prices(), 1)->refusals.empty()) << n;
      for (std::size_t k = 0; k < r.limits.size(); ++k) {
        auto fewer = r.limits;
        fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(k));
        EXPECT_TRUE(plan_stack(with_only(s, fewer), prices(), 1)->refusals.empty())
            << n << " without " << static_cast<int>(r.limits[k].limit);
      }
    }
  }
  EXPECT_GT(refused, 50);
}

StackDoubt doubt(std::size_t gaps = 1) {
  return {std::vector<Length>(gaps, millimetres(0.002)), 0.1, 0.05, 0.2, 0.9, 0.05};
}

TEST(Care, ByHand) {
  Stack s = loose();
  s.gaps[0].guard = millimetres(0.01);
  const auto answer = plan_stack(s, prices(), 1);
  // Swedged by 0.10 to the middle of its window; off by 0.010 and read to 0.002.
  ASSERT_EQ(answer->plans[0].steps.size(), 1u);
  ASSERT_NEAR(in_millimetres(answer->plans[0].steps[0].amount), 0.10, 1e-12);
  const auto care = care_for(loose(), answer->plans[0], doubt());
  ASSERT_TRUE(care);
  const double standard = std::hypot(0.010, 0.002);
  EXPECT_NEAR(care->chance[0], std::erf(0.010 / standard / std::sqrt(2)), 1e-12);
  EXPECT_TRUE(care->steps[0].measure_after);
  EXPECT_NEAR(care->chance_measured[0], std::erf(0.010 / 0.002 / std::sqrt(2)), 1e-12);
  // First bite b: 0.11 - b = 1.644854 hypot(0.002, 0.1 b).
  const double b = in_millimetres(care->steps[0].first);
  EXPECT_NEAR(0.11 - b, 1.6448536 * std::hypot(0.002, 0.1 * b), 1e-8);
}

TEST(Care, WhatALaterStepBringsBackMayGoPastTheEdge) {
  // A post moves the upper gap further out of its window, and a swedging brings it back.
  Stack s = loose();
  s.gaps.push_back(s.gaps[0]);
  s.gaps[0].end_play = millimetres(0.065);
  s.gaps[1].end_play = millimetres(0.105);
  s.posts = {{}, {millimetres(0.2), millimetres(0.2)}, {}};
  StackPlan plan;
  plan.steps = {{StackWork::move_post, 0, 1, Side::lower, millimetres(0.08), false},
                {StackWork::swedge, 0, 0, Side::upper, millimetres(0.12), false}};
  plan.gaps = {{millimetres(0.025), {}}, {millimetres(0.025), {}}};
  StackDoubt d = doubt(2);
  d.chance_wanted = 0.999;
  const auto care = care_for(s, plan, d);
  ASSERT_TRUE(care);
  EXPECT_TRUE(care->steps[0].measure_after);
  // The upper gap rules: 0.03 - 0.065 and the 0.12 that come back: 0.085 - b = 1.644854 hypot(0.002, 0.2 b).
  const double b = in_millimetres(care->steps[0].first);
  EXPECT_NEAR(0.085 - b, 1.6448536 * std::hypot(0.002, 0.2 * b), 1e-8);
}

TEST(Care, CertainWorkIsDoneInOneGo) {
  const auto answer = plan_stack(loose(), prices(), 1);
  StackDoubt sure = doubt();
  sure.end_play = {{}};
  sure.swedge_share = sure.face_share = sure.post_share = 0;
  const auto care = care_for(loose(), answer->plans[0], sure);
  EXPECT_EQ(care->chance[0], 1);
  EXPECT_FALSE(care->steps[0].measure_after);
  EXPECT_EQ(care->steps[0].first, answer->plans[0].steps[0].amount);
}

TEST(Care, AReadingTooUnsureStaysSo) {
  const auto answer = plan_stack(loose(), prices(), 1);
  StackDoubt unsure = doubt();
  unsure.end_play = {millimetres(0.2)};
  const auto care = care_for(loose(), answer->plans[0], unsure);
  EXPECT_LT(care->chance_measured[0], 0.2);
  EXPECT_EQ(care->steps[0].first, Length{});
}

// What care_for says of one go, drawn.
TEST(Care, ChanceIsWhatDrawsShow) {
  for (std::uint64_t n = 0; n < 40; ++n) {
    Stack s = any_stack(n);
    for (StackGap& g : s.gaps) g.guard = millimetres(0.006);
    const auto answer = plan_stack(s, prices(), 1);
    if (answer->plans.empty()) continue;
    const StackPlan& plan = answer->plans[0];
    const auto care = care_for(s, plan, doubt(s.gaps.size()));
    Stream draw(9, n);
    constexpr int kDraws = 20000;
    std::vector<int> within(s.gaps.size());
    for (int d = 0; d < kDraws; ++d) {
      Stack other = s;
      for (StackGap& g : other.gaps) g.end_play += millimetres(0.002 * draw.normal());
      std::vector<double> play;
      for (const StackGap& g : other.gaps) play.push_back(g.end_play.raw());
      for (const StackStep& step : plan.steps) {
        const double share = step.work == StackWork::swedge ? 0.1 : step.work == StackWork::face ? 0.05 : 0.2;
        const double amount = step.amount.raw() * (1 + share * draw.normal());
        if (step.work == StackWork::move_post) {
          const double down = step.side == Side::lower ? amount : -amount;
          if (step.tube > 0) play[step.tube - 1] += down;
          if (step.tube < play.size()) play[step.tube] -= down;
        } else {
          play[step.gap] += step.work == StackWork::swedge ? -amount : amount;
        }
      }
      for (std::size_t g = 0; g < play.size(); ++g) {
        within[g] += play[g] >= s.gaps[g].play_least.raw() && play[g] <= s.gaps[g].play_most.raw();
      }
    }
    for (std::size_t g = 0; g < within.size(); ++g) {
      EXPECT_NEAR(within[g] / double(kDraws), care->chance[g], 0.015) << n;
    }
  }
}

TEST(Care, RefusesNonsense) {
  const auto answer = plan_stack(loose(), prices(), 1);
  EXPECT_FALSE(care_for(loose(), answer->plans[0], doubt(2)));
  for (const double bad : {-1.0, kNan}) {
    StackDoubt d = doubt();
    d.end_play = {millimetres(bad)};
    EXPECT_FALSE(care_for(loose(), answer->plans[0], d));
    d = doubt();
    d.swedge_share = bad;
    EXPECT_FALSE(care_for(loose(), answer->plans[0], d));
    d = doubt();
    d.chance_wanted = bad;
    EXPECT_FALSE(care_for(loose(), answer->plans[0], d));
    d = doubt();
    d.overshoot_risk = bad;
    EXPECT_FALSE(care_for(loose(), answer->plans[0], d));
  }
}

}  // namespace
}  // namespace hingeline::rods

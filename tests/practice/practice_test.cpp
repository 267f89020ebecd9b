#include "hingeline/practice/practice.h"

#include <gtest/gtest.h>

namespace hingeline::practice {
namespace {

using belief::Cause;
using belief::Check;

Act look(Check check) {
  Act out;
  out.check = check;
  return out;
}
Act cut(Side side, double turns) {
  Act out;
  out.what = Act::What::cut;
  out.side = side;
  out.turns = turns;
  return out;
}

/// The first key of the kind with that cause and no other.
std::uint64_t key_with(Cause cause, Kind kind) {
  for (std::uint64_t seed = 1; seed < 2000; ++seed) {
    if (Bench(seed, kind).truth().causes == belief::Causes{cause}) return seed;
  }
  return 0;
}

TEST(Practice, TheSameActsFindTheSame) {
  for (const Kind kind : {Kind::headed, Kind::headless, Kind::rod}) {
    Bench one(11, kind);
    Bench two(11, kind);
    for (const Check c : {Check::end_play, Check::end_play, Check::sticks}) {
      const auto a = one.act(look(c));
      const auto b = two.act(look(c));
      ASSERT_TRUE(a && b);
      EXPECT_EQ((*a)->value.raw(), (*b)->value.raw());
      EXPECT_EQ((*a)->choice, (*b)->choice);
    }
  }
}

TEST(Practice, AShortFitIsCutIntoItsWindowWithLittleMoreThanTheLeastMetal) {
  const std::uint64_t seed = key_with(Cause::short_fit, Kind::headed);
  ASSERT_NE(seed, 0U);
  Bench bench(seed, Kind::headed);
  const Truth before = bench.truth();
  EXPECT_GT(before.came_with, bench.window_high());
  EXPECT_GT(before.least_metal.raw(), 0);
  // One who knows the truth cuts a tenth of a turn at a time.
  for (int i = 0; i < 190 && bench.truth().end_play > bench.window_high(); ++i) {
    ASSERT_TRUE(bench.act(cut(Side::upper, 0.1)));
  }
  const Truth after = bench.truth();
  EXPECT_TRUE(after.in_window);
  EXPECT_FALSE(after.went_under);
  EXPECT_FALSE(after.standing.has(Cause::short_fit));
  EXPECT_EQ(after.came_with.raw(), before.came_with.raw());
  EXPECT_GE(bench.metal().total().raw() + 1e-12, before.least_metal.raw());
  EXPECT_LT(bench.metal().total().raw(), before.least_metal.raw() + 0.01);
}

TEST(Practice, TooDeepABiteIsSaid) {
  const std::uint64_t seed = key_with(Cause::short_fit, Kind::headed);
  ASSERT_NE(seed, 0U);
  Bench bench(seed, Kind::headed);
  ASSERT_TRUE(bench.act(cut(Side::lower, Bench::kMostTurns)));
  EXPECT_TRUE(bench.truth().went_under);
  EXPECT_FALSE(bench.truth().in_window);
}

TEST(Practice, WhatCannotBeDoneLeavesTheBenchAsItWas) {
  Bench rod(3, Kind::rod);
  Bench headless(3, Kind::headless);
  Act screw;
  screw.what = Act::What::screw;
  screw.amount = millimetres(0.02);
  EXPECT_FALSE(rod.act(cut(Side::upper, 1)));
  EXPECT_FALSE(headless.act(cut(Side::upper, 1)));
  EXPECT_FALSE(rod.act(screw));
  EXPECT_TRUE(headless.act(screw));
  screw.amount = millimetres(3);
  EXPECT_FALSE(headless.act(screw));
  Bench headed(3, Kind::headed);
  for (const double turns : {0.0, -1.0, Bench::kMostTurns + 1})
    EXPECT_FALSE(headed.act(cut(Side::upper, turns)));
  EXPECT_FALSE(headed.act(look(Check::bore)));
  EXPECT_EQ(headed.minutes(), 0);
  EXPECT_EQ(headed.metal().total().raw(), 0);
  for (std::size_t i = 0; i < Bench::kMostActs; ++i) ASSERT_TRUE(headed.act(look(Check::sticks)));
  EXPECT_FALSE(headed.act(look(Check::sticks)));
}

TEST(Practice, TheTeacherNamesWhatStandsBeforeMetalAndThenTheCause) {
  const std::uint64_t seed = key_with(Cause::post_moved, Kind::headed);
  ASSERT_NE(seed, 0U);
  Bench bench(seed, Kind::headed);
  auto hint = bench.hint();
  ASSERT_TRUE(hint);
  EXPECT_FALSE(hint->before_cut.empty());
  for (int i = 0; i < 20 && hint && hint->look; ++i) {
    ASSERT_TRUE(bench.act(look(*hint->look)));
    hint = bench.hint();
  }
  ASSERT_TRUE(hint);
  EXPECT_EQ(hint->causes.front().cause, Cause::post_moved);
  EXPECT_EQ(hint->cure, belief::Cure::restore_post);
}

}  // namespace
}  // namespace hingeline::practice

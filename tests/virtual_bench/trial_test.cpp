#include "hingeline/virtual_bench/trial.h"

#include <gtest/gtest.h>

#include <cmath>

namespace hingeline::virtual_bench {
namespace {

TEST(Trial, TheGuideKeepsItsPromisesOnKeysItDoesNotKnow) {
  TrialSetup setup;
  setup.keys = 500;
  setup.seed = 5;
  const TrialResult r = run_trial(setup, {});
  // What is promised of 10,000 keys, with the room that 500 need (three standard errors).
  EXPECT_GE(r.right_first, 0.90);
  EXPECT_GE(r.right_in_two, 0.98 - 3 * std::sqrt(0.98 * 0.02 / 500));
  EXPECT_GE(r.in_window, 0.995 - 3 * std::sqrt(0.995 * 0.005 / 500));
  EXPECT_LE(r.went_under, 0.002 + 3 * std::sqrt(0.002 * 0.998 / 500));
  EXPECT_LE(r.guided.bites, 5);
  EXPECT_LE(r.guided.metal, 1.10);
  EXPECT_LE(r.cut_for_nothing, 2U);
  ASSERT_GT(r.guided.keys, 40U);
  // The rules of thumb are what they are said to be: more bites, or more keys outside.
  EXPECT_GT(r.half_turn.bites, 2 * r.guided.bites);
  EXPECT_LT(r.half_turn.in_window, 0.95);
  EXPECT_LT(r.half_remaining.in_window, 0.95);
}

TEST(Trial, AKeyIsTheSameWhateverElseIsRunAndOnHoweverManyThreads) {
  TrialSetup setup;
  setup.keys = 24;
  setup.samples = 1000;
  const auto run = [&](unsigned threads) {
    setup.threads = threads;
    return run_trial(setup, {});
  };
  const TrialResult one = run(1);
  const TrialResult three = run(3);
  ASSERT_EQ(one.outcomes.size(), three.outcomes.size());
  for (std::size_t k = 0; k < one.outcomes.size(); ++k) {
    const Outcome alone = try_key(setup, k);
    for (const Outcome& o : {one.outcomes[k], three.outcomes[k]}) {
      EXPECT_TRUE(o.truth == alone.truth);
      EXPECT_EQ(o.checks, alone.checks);
      EXPECT_EQ(o.bites, alone.bites);
      EXPECT_EQ(o.cut, alone.cut);
      EXPECT_EQ(o.half_turn.bites, alone.half_turn.bites);
    }
  }
}

TEST(Trial, CanBeStopped) {
  TrialSetup setup;
  setup.keys = 100000;
  setup.samples = 500;
  const TrialResult r = run_trial(setup, [](std::size_t done) { return done < 10; });
  EXPECT_GE(r.outcomes.size(), 10U);
  EXPECT_LT(r.outcomes.size(), 40U);
}

TEST(Trial, AnotherBenchIsWorseButNeverRunsAway) {
  for (const double take_off : {0.6, 1.7}) {
    TrialSetup setup;
    setup.keys = 80;
    setup.seed = 9;
    setup.samples = 1500;
    setup.shift = {take_off, 2, true};
    const TrialResult r = run_trial(setup, {});
    EXPECT_EQ(r.outcomes.size(), setup.keys);
    EXPECT_GT(r.right_first, 0.6);
    EXPECT_GT(r.in_window, 0.85);
    for (const Outcome& o : r.outcomes) {
      EXPECT_LE(o.checks, guide::Guide::kMostEvents);
      EXPECT_TRUE(std::isfinite(o.cut) && o.cut < 1);
    }
  }
}

}  // namespace
}  // namespace hingeline::virtual_bench

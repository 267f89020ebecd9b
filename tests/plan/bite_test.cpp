#include "hingeline/plan/bite.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

namespace hingeline::plan {
namespace {

constexpr Length mm(double v) { return millimetres(v); }

TEST(TakeOff, APresetWithItsPlusMinus) {
  const TakeOff t = take_off_of(mm(0.02), mm(0.01));
  EXPECT_NEAR(t.median().raw(), 0.02, 1e-15);
  // A coefficient of variation of 1/4: the lognormal's sigma is sqrt(ln(1 + 1/16)).
  EXPECT_NEAR(t.between, std::sqrt(std::log(1.0625)), 1e-15);
}

TEST(TakeOff, WithoutDoubtInTheReadingsOneBiteIsTheWeightedMeanOfLogs) {
  const TakeOff before{std::log(0.02), 0.3, 0.15};
  const TakeOff after = learned(before, 2, mm(0.06), mm(0));
  // Normal prior and normal reading of ln(0.03): precisions 1/0.09 and 1/0.0225 add up.
  const double weight = (1 / 0.0225) / (1 / 0.09 + 1 / 0.0225);
  EXPECT_NEAR(after.log_median, std::log(0.02) + weight * std::log(1.5), 1e-6);
  EXPECT_NEAR(after.between, std::sqrt(1 / (1 / 0.09 + 1 / 0.0225)), 1e-6);
}

TEST(TakeOff, ABiteThatTookNothingLowersTheRateAndNeverBreaksIt) {
  TakeOff t = take_off_of(mm(0.02), mm(0.01));
  for (const double taken : {0.0, -0.01, -5.0}) {
    const TakeOff after = learned(t, 2, mm(taken), mm(0.003));
    EXPECT_LT(after.log_median, t.log_median) << taken;
    EXPECT_TRUE(std::isfinite(after.log_median) && after.between > 0 && after.between <= t.between);
  }
}

TEST(Bite, TheRiskIsWhatDrawsSay) {
  const TakeOff t{std::log(0.02), 0.4, 0.15};
  std::mt19937_64 engine(5);
  std::normal_distribution<double> normal;
  for (const double turns : {1.0, 2.5, 4.0}) {
    int below = 0;
    constexpr int kDraws = 400'000;
    for (int k = 0; k < kDraws; ++k) {
      const double play = 0.1 + 0.005 * normal(engine);
      below += play - turns * std::exp(t.log_median + std::hypot(0.4, 0.15) * normal(engine)) < 0.01 ? 1 : 0;
    }
    const double share = below / static_cast<double>(kDraws);
    // Five standard errors of a share.
    EXPECT_NEAR(risk_of(turns, mm(0.1), mm(0.005), mm(0.01), t), share, 5 * std::sqrt(0.25 / kDraws))
        << turns;
  }
}

TEST(Bite, TheRiskIsIntegratedToItsPublishedError) {
  // The same integral by a thousand times as many steps, over the end play itself.
  double worst = 0;
  for (const double spread : {0.1, 0.2, 0.5, 1.0}) {
    for (const double turns : {0.2, 1.0, 3.0, 6.0}) {
      for (const double standard : {0.001, 0.004, 0.03}) {
        const TakeOff t{std::log(0.02), spread, 0};
        constexpr int kSteps = 200'000;
        double sum = 0;
        for (int k = 0; k <= kSteps; ++k) {
          const double z = -9 + 18.0 * k / kSteps;
          const double room = 0.1 + z * standard - 0.01;
          const double below =
              room <= 0 ? 1
                        : std::erfc(-(std::log(0.02 * turns) - std::log(room)) / spread / std::sqrt(2.0)) / 2;
          sum += std::exp(-z * z / 2) * below;
        }
        const double exact = sum * (18.0 / kSteps) / std::sqrt(2 * std::numbers::pi);
        worst = std::max(worst, std::abs(risk_of(turns, mm(0.1), mm(standard), mm(0.01), t) - exact));
      }
    }
  }
  EXPECT_LE(worst, kRiskWorstError);
  EXPECT_GE(worst, kRiskWorstError / 2);
}

RC_GTEST_PROP(Bite, NeverPassesItsRiskOrItsAim, ()) {
  const auto real = [](double low, double high) {
    return low + (high - low) * *rc::gen::inRange(0, 10'001) / 10'000.0;
  };
  const Length play = mm(real(-0.1, 0.5));
  const Length standard = mm(real(0, 0.05));
  const Length low = mm(real(0, 0.05));
  const Length aim = low + mm(real(0, 0.03));
  const TakeOff t{std::log(real(0.001, 0.1)), real(0, 1), real(0, 0.5)};
  const Bite b = next_bite(play, standard, low, aim, t);
  RC_ASSERT(std::isfinite(b.turns));
  RC_ASSERT(b.turns >= 0);
  if (b.turns > 0) {
    RC_ASSERT(b.risk <= kBiteRisk);
    RC_ASSERT(play - b.expected >= aim - mm(1e-9));
    // The most turns: a little more would pass one of the two.
    const double more = b.turns + 0.02;
    const bool past_aim = play - t.median() * more < aim;
    RC_ASSERT(past_aim || risk_of(more, play, standard, low, t) > kBiteRisk);
  }
}

/// The trial of physics section 11: keys that start between 0.05 and 0.30 mm, readings good to 0.004 mm, a
/// rate of 0.02 mm a turn times a lognormal of 0.45 from job to job and 0.15 from bite to bite, window 0.010
/// to 0.030.
TEST(Bite, LeadsAKeyIntoItsWindowInFewBitesWithoutGoingTooFar) {
  std::mt19937_64 engine(11);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> start(0.05, 0.30);
  constexpr int kKeys = 2'000;
  constexpr double kReading = 0.004;
  int too_far = 0;
  int in_window = 0;
  int bites = 0;
  int half_turn_bites = 0;
  for (int key = 0; key < kKeys; ++key) {
    double play = start(engine);
    const double whole = play - 0.030;
    const double rate = 0.02 * std::exp(0.45 * normal(engine));
    half_turn_bites += static_cast<int>(std::ceil(whole / (rate / 2)));
    TakeOff t{std::log(0.02), 0.45, 0.15};
    double read = play + kReading * normal(engine);
    for (int n = 0; n < 40; ++n) {
      const Bite b = next_bite(mm(read), mm(kReading), mm(0.010), mm(0.022), t);
      if (read <= 0.026 || b.turns < 0.05) break;
      play -= b.turns * rate * std::exp(0.15 * normal(engine));
      const double now = play + kReading * normal(engine);
      t = learned(t, b.turns, mm(read - now), mm(kReading));
      read = now;
      ++bites;
    }
    too_far += play < 0.010 ? 1 : 0;
    in_window += play >= 0.010 && play <= 0.030 + 2 * kReading ? 1 : 0;
  }
  EXPECT_LE(too_far, kKeys / 100);
  EXPECT_GE(in_window, kKeys * 97 / 100);
  EXPECT_LT(bites, 7 * kKeys);
  EXPECT_LT(2 * bites, half_turn_bites);
  RecordProperty("bites", bites);
  RecordProperty("half_turn_bites", half_turn_bites);
  RecordProperty("too_far", too_far);
}

}  // namespace
}  // namespace hingeline::plan

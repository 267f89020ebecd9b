#include "hingeline/plan/bite.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
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

}  // namespace
}  // namespace hingeline::plan

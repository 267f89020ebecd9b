// Wear over years: Archard's numbers, the time until a fit is due against draws, and what history teaches
// against a grid and the conjugate formula.

#include "hingeline/endurance/wear.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::endurance {
namespace {

using numeric::Stream;

const double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

Length mm(double v) { return millimetres(v); }

TEST(Archard, TheFactorOfThree) {
  // k 6e-4 (brass on brass, a published wear table, given for V = k F s/(3H)), 1 N over 1000 m, 1 GPa:
  // computed.
  const auto worn = [](Archard form) {
    return worn_volume(6e-4, newtons(1), millimetres(1e6), pascals(1e9), form);
  };
  EXPECT_NEAR(worn(Archard::third), .2, 1e-15);
  EXPECT_NEAR(worn(Archard::plain), .6, 1e-15);
}

TEST(Rubbing, FlankByIntegration) {
  // Area and mean radius of a cone's flank by thin rings.
  const double r = .4;
  const double R = 1.3;
  const double a = .3;
  const auto cone = flank(mm(r), mm(R), radians(a), .5);
  ASSERT_TRUE(cone);
  constexpr int kRings = 200'000;
  double area = 0;
  double moment = 0;
  for (int i = 0; i < kRings; ++i) {
    const double x = r + (R - r) * (i + .5) / kRings;
    const double ring = 2 * std::numbers::pi * x * (R - r) / kRings / std::sin(a);
    area += ring;
    moment += ring * x;
  }
  EXPECT_NEAR(cone->area, area / 2, 1e-8);
  EXPECT_NEAR(in_millimetres(cone->mean_radius), moment / area, 1e-9);
  // A face is a ring.
  EXPECT_NEAR(face(mm(1), mm(2))->area, 3 * std::numbers::pi, 1e-12);
}

TEST(Rubbing, RefusesTheAbsurd) {
  EXPECT_FALSE(flank(mm(1), mm(1), radians(.3)));
  EXPECT_FALSE(flank(mm(-1), mm(1), radians(.3)));
  EXPECT_FALSE(flank(mm(0), mm(1), radians(0)));
  EXPECT_FALSE(flank(mm(0), mm(1), radians(1.6)));
  EXPECT_FALSE(flank(mm(0), mm(1), radians(.3), 0));
  EXPECT_FALSE(flank(mm(0), mm(1), radians(.3), 1.1));
  EXPECT_FALSE(flank(mm(kNan), mm(1), radians(.3)));
  EXPECT_FALSE(flank(mm(0), mm(kNan), radians(.3)));
}

TEST(Archard, ClosingsByHand) {
  // A 90-degree face: depth = k (F/A) (r phi)/H, by hand.
  const auto f = face(mm(1), mm(2));
  const double mean = 14.0 / 9;  // 2/3 (8 - 1)/(4 - 1)
  const Length per = freer_per_closing(1e-4, newtons(2), *f, radians(.2), pascals(1.5e9));
  EXPECT_NEAR(in_millimetres(per), 1e-4 * 2 * mean * .2 / 1500 / (3 * std::numbers::pi), 1e-20);
  // A steeper flank: the same depth moves the key along by 1/sin.
  const auto cone = flank(mm(1), mm(2), radians(.3));
  const Length along = freer_per_closing(1e-4, newtons(2), *cone, radians(.2), pascals(1.5e9));
  EXPECT_NEAR(along / per, 1, 1e-12);  // the larger area and the sine cancel
}

TEST(LognormalRange, HoldsItsCoverage) {
  const auto k = lognormal_within(1e-7, 1e-4);
  ASSERT_TRUE(k);
  EXPECT_NEAR(k->median, std::sqrt(1e-11), 1e-18);
  EXPECT_NEAR(k->quantile(.05) / 1e-7, 1, 1e-12);
  EXPECT_NEAR(k->quantile(.95) / 1e-4, 1, 1e-12);
  EXPECT_EQ(lognormal_within(3, 3)->spread, 0);
  for (const auto& [low, high] :
       {std::pair(0.0, 1.0), {-1.0, 1.0}, {2.0, 1.0}, {1.0, kInfinity}, {kNan, 1.0}})
    EXPECT_FALSE(lognormal_within(low, high));
  EXPECT_FALSE(lognormal_within(1, 2, 1));
  const Lognormal product = Lognormal{2, .3} * Lognormal{5, .4} * 10;
  EXPECT_NEAR(product.median, 100, 1e-12);
  EXPECT_NEAR(product.spread, .5, 1e-12);
}

TEST(Due, AgreesWithDraws) {
  constexpr int kDraws = 40'000;
  double farthest = 0;
  for (std::uint64_t n = 0; n < 60; ++n) {
    Stream s(91, n);
    const double room = .03 * s.normal() + .01;
    const double standard = std::exp(-8 + 4 * s.uniform());
    const Lognormal growth{std::exp(-8 + 5 * s.uniform()), std::exp(-4 + 5.5 * s.uniform())};
    const auto due = Due::of(mm(.02), mm(standard), mm(.02 + room), growth);
    ASSERT_TRUE(due);
    std::vector<double> drawn;
    for (int i = 0; i < kDraws; ++i) {
      const double left = room + standard * s.normal();
      drawn.push_back(std::max(0.0, left / (growth.median * std::exp(growth.spread * s.normal()))));
    }
    std::sort(drawn.begin(), drawn.end());
    for (const double p : {.05, .25, .5, .75, .95}) {
      const double t = numeric::quantile(drawn, p);
      const double off = std::abs(due->passed_by(years(t)) - p);
      // At 0 the chance is that of being past it already, which may be more.
      if (t > 0) {
        farthest = std::max(farthest, off);
        EXPECT_LE(off, 4.5 * std::sqrt(p * (1 - p) / kDraws)) << n << " at " << p;
      }
    }
    EXPECT_NEAR(due->passed_by(years(0)), numeric::normal_below(-room / standard), 1e-12);
  }
  RecordProperty("farthest", ::testing::PrintToString(farthest));
}

TEST(Due, AgreesWithTheOtherIntegral) {
  // Over the growth instead of the room, by the trapezoid rule: another way to the same chance.
  for (std::uint64_t n = 0; n < 500; ++n) {
    Stream s(92, n);
    const double room = .03 * s.normal() + .02;
    const double standard = std::exp(-7 + 4 * s.uniform());
    const Lognormal growth{std::exp(-8 + 5 * s.uniform()), std::exp(-3 + 4.5 * s.uniform())};
    const auto due = Due::of(mm(0), mm(standard), mm(room), growth);
    const double t = std::exp(6 * s.uniform() - 2);
    double sum = 0;
    constexpr double kStep = 1.0 / 4096;
    for (double z = -9; z <= 9; z += kStep) {
      const double grown = growth.median * t * std::exp(growth.spread * z);
      sum += kStep * std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi) *
             numeric::normal_below((grown - room) / standard);
    }
    EXPECT_NEAR(due->passed_by(years(t)), sum, 1e-9) << n;
  }
}

RC_GTEST_PROP(Due, QuantilesAreTheChancesInverse, ()) {
  Stream s(*rc::gen::arbitrary<std::uint64_t>(), 0);
  const double standard = s.uniform() < .2 ? 0 : std::exp(-8 + 4 * s.uniform());
  const Lognormal growth{std::exp(-8 + 5 * s.uniform()), s.uniform() < .2 ? 0 : 3 * s.uniform()};
  const auto due = Due::of(mm(.02), mm(standard), mm(.02 + .05 * s.uniform()), growth);
  RC_ASSERT(due);
  double before = 0;
  for (const double p : {.05, .3, .5, .8, .95}) {
    const double t = in_years(due->by(p));
    RC_ASSERT(t >= before * (1 - 1e-9));
    before = t;
    if (t > 0 && std::isfinite(t) && (standard > 0 || growth.spread > 0))
      RC_ASSERT(std::abs(due->passed_by(years(t)) - p) < 1e-8);
  }
}

RC_GTEST_PROP(Due, ScalesWithGrowthAndRoom, ()) {
  Stream s(*rc::gen::arbitrary<std::uint64_t>(), 0);
  const double standard = std::exp(-8 + 4 * s.uniform());
  const double room = .05 * s.uniform();
  const Lognormal growth{std::exp(-8 + 5 * s.uniform()), .1 + 3 * s.uniform()};
  const double median = in_years(Due::of(mm(0), mm(standard), mm(room), growth)->by(.7));
  RC_PRE(median > 0);
  RC_ASSERT(std::abs(in_years(Due::of(mm(0), mm(standard), mm(room), growth * 2)->by(.7)) * 2 / median - 1) <
            1e-7);
  RC_ASSERT(std::abs(in_years(Due::of(mm(0), mm(3 * standard), mm(3 * room), growth * 3)->by(.7)) / median -
                     1) < 1e-7);
  // A looser key is due sooner.
  RC_ASSERT(Due::of(mm(room / 3), mm(standard), mm(room), growth)->by(.7) <= years(median));
}

TEST(Due, ClosedFormsAndEdges) {
  const auto sure = Due::of(mm(.02), mm(0), mm(.05), {.003, 0});
  EXPECT_NEAR(in_years(sure->by(.05)), 10, 1e-6);
  EXPECT_NEAR(in_years(sure->by(.95)), 10, 1e-6);
  const Lognormal growth{.003, 1.1};
  const auto log = Due::of(mm(.02), mm(0), mm(.05), growth);
  EXPECT_NEAR(in_years(log->by(.95)), .03 / growth.quantile(.05), 1e-7);
  EXPECT_NEAR(in_years(log->by(.05)), .03 / growth.quantile(.95), 1e-9);
  // Past its edge already.
  const auto past = Due::of(mm(.09), mm(.001), mm(.05), growth);
  EXPECT_EQ(in_years(past->by(.95)), 0);
  EXPECT_EQ(in_years(Due::of(mm(.05), mm(0), mm(.05), growth)->by(.5)), 0);
  // Hardly any wear at all.
  EXPECT_EQ(in_years(Due::of(mm(0), mm(0), mm(1), {1e-200, 0})->by(.5)), kInfinity);
  EXPECT_EQ(log->passed_by(years(-1)), 0);
  EXPECT_FALSE(Due::of(mm(kNan), mm(0), mm(1), growth));
  EXPECT_FALSE(Due::of(mm(0), mm(-1), mm(1), growth));
  EXPECT_FALSE(Due::of(mm(0), mm(0), mm(1), {0, 1}));
  EXPECT_FALSE(Due::of(mm(0), mm(0), mm(1), {1, kNan}));
  EXPECT_FALSE(Due::of(mm(0), mm(0), mm(1), {kInfinity, 1}));
}

TEST(GrowthIn, TwoReadingsByHand) {
  const std::vector<PlayAt> two{
      {Moment::at(0), mm(.02), mm(.003)},
      {Moment::at(static_cast<std::int64_t>(2 * kSecondsPerYear)), mm(.05), mm(.004)}};
  const auto g = growth_in(two);
  ASSERT_TRUE(g);
  EXPECT_NEAR(in_millimetres(g->per_year), .015, 1e-9);
  EXPECT_NEAR(in_millimetres(g->standard), .0025, 1e-9);
}

TEST(GrowthIn, CoversTheTruth) {
  int covered = 0;
  for (std::uint64_t n = 0; n < 2000; ++n) {
    Stream s(93, n);
    std::vector<PlayAt> series;
    for (int i = 0; i < 5; ++i) {
      const double t = i * .7;
      const double u = .001 + .004 * s.uniform();
      series.push_back({Moment::at(static_cast<std::int64_t>(t * kSecondsPerYear)),
                        mm(.02 + .006 * t + u * s.normal()), mm(u)});
    }
    const auto g = growth_in(series);
    covered += std::abs(in_millimetres(g->per_year) - .006) <= in_millimetres(g->standard) * 1.959964 ? 1 : 0;
  }
  EXPECT_NEAR(covered / 2000.0, .95, .015);
}

TEST(GrowthIn, RefusesTheAbsurd) {
  const PlayAt one{Moment::at(0), mm(.02), mm(.003)};
  EXPECT_FALSE(growth_in({}));
  EXPECT_FALSE(growth_in(std::vector{one}));
  EXPECT_FALSE(growth_in(std::vector{one, one}));
  EXPECT_FALSE(growth_in(std::vector{one, PlayAt{Moment::at(9), mm(.02), mm(0)}}));
  EXPECT_FALSE(growth_in(std::vector{one, PlayAt{Moment::at(9), mm(kNan), mm(.1)}}));
}

TEST(Sharpened, SharpReadingsGiveTheConjugateNormal) {
  const Lognormal prior{.002, 2};
  // Each reading good to 1 %: in ln a normal of .01, to the order of its square.
  const std::vector<Growth> seen{{mm(.0081), mm(.0081 * .01)}, {mm(.008), mm(.008 * .02)}};
  const double p0 = 1 / (2.0 * 2.0);
  const double p1 = 1 / (.01 * .01);
  const double p2 = 1 / (.02 * .02);
  const double mean = (p0 * std::log(.002) + p1 * std::log(.0081) + p2 * std::log(.008)) / (p0 + p1 + p2);
  const auto after = sharpened(prior, seen, 0);
  ASSERT_TRUE(after);
  EXPECT_NEAR(std::log(after->median), mean, 3e-4);
  EXPECT_NEAR(after->spread * std::sqrt(p0 + p1 + p2), 1, 1e-2);
}

TEST(Sharpened, AgreesWithAGrid) {
  for (std::uint64_t n = 0; n < 300; ++n) {
    Stream s(94, n);
    const Lognormal prior{std::exp(-7 + 3 * s.uniform()), .2 + 3 * s.uniform()};
    std::vector<Growth> seen;
    const std::size_t count = 1 + s.bits() % 4;
    for (std::size_t i = 0; i < count; ++i) {
      const double size = prior.median * std::exp(prior.spread * s.normal());
      const double u = size * std::exp(-3 + 4 * s.uniform());
      seen.push_back({mm(size + u * s.normal()), mm(u)});
    }
    const double unsteady = s.uniform() < .3 ? 0 : .5 * s.uniform();
    const auto after = sharpened(prior, seen, unsteady);
    ASSERT_TRUE(after);
    // One net over all that could be, nothing narrowed down.
    double whole = 0;
    double first = 0;
    double second = 0;
    constexpr int kNet = 100'000;
    std::vector<double> logs(kNet + 1);
    double peak = -kInfinity;
    for (int i = 0; i <= kNet; ++i) {
      const double z = -12 + 24.0 * i / kNet;
      const double g = prior.median * std::exp(prior.spread * z);
      double log = -z * z / 2;
      for (const Growth& r : seen) {
        const double variance = std::pow(in_millimetres(r.standard), 2) + std::pow(unsteady * g, 2);
        log -= std::pow(in_millimetres(r.per_year) - g, 2) / (2 * variance) + std::log(variance) / 2;
      }
      logs[static_cast<std::size_t>(i)] = log;
      peak = std::max(peak, log);
    }
    for (int i = 0; i <= kNet; ++i) {
      const double z = -12 + 24.0 * i / kNet;
      const double w = std::exp(logs[static_cast<std::size_t>(i)] - peak);
      whole += w;
      first += w * z;
      second += w * z * z;
    }
    const double mean = first / whole;
    EXPECT_NEAR(std::log(after->median / prior.median), prior.spread * mean, 1e-6) << n;
    EXPECT_NEAR(after->spread, prior.spread * std::sqrt(second / whole - mean * mean), 1e-6) << n;
  }
}

TEST(Sharpened, HistoryNarrowsTheRange) {
  const Lognormal prior = *lognormal_within(1e-4, 1e-1);
  const std::vector<Growth> seen{{mm(.008), mm(.001)}};
  const auto after = sharpened(prior, seen, .3);
  EXPECT_LT(after->spread, prior.spread / 4);
  EXPECT_NEAR(after->median, .008, .0015);
  // Nothing grown so far: only the upper end is ruled out, and the growth stays above 0.
  const auto none = sharpened(prior, std::vector<Growth>{{mm(-.001), mm(.001)}}, .3);
  EXPECT_GT(none->median, 0);
  EXPECT_LT(none->quantile(.95), prior.quantile(.95));
  // Very sharp readings in a very wide prior.
  const auto sharp = sharpened({1e-6, 20}, std::vector<Growth>{{mm(.3), mm(3e-6)}}, 0);
  EXPECT_NEAR(sharp->median, .3, 1e-5);
  EXPECT_NEAR(sharp->spread, 1e-5, 1e-7);
}

TEST(Sharpened, RefusesTheAbsurd) {
  const std::vector<Growth> seen{{mm(.008), mm(.001)}};
  EXPECT_EQ(sharpened({.1, 1}, {}, .3)->median, .1);
  EXPECT_EQ(sharpened({.1, 0}, seen, .3)->median, .1);
  EXPECT_FALSE(sharpened({0, 1}, seen, .3));
  EXPECT_FALSE(sharpened({.1, kNan}, seen, .3));
  EXPECT_FALSE(sharpened({.1, 1}, seen, -1));
  EXPECT_FALSE(sharpened({.1, 1}, seen, kNan));
  EXPECT_FALSE(sharpened({.1, 1}, std::vector<Growth>{{mm(.1), mm(0)}}, 0));
  EXPECT_FALSE(sharpened({.1, 1}, std::vector<Growth>{{mm(kNan), mm(1)}}, 0));
}

}  // namespace
}  // namespace hingeline::endurance

// Warmth and moisture.

#include "hingeline/body/season.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "hingeline/numeric/random.h"

namespace hingeline::body {
namespace {

Measured<double> figure(double value, double plus_minus = 0) { return {value, plus_minus, Origin::preset}; }
Measured<Length> read(double value, double plus_minus = 0) {
  return {millimetres(value), millimetres(plus_minus), Origin::read};
}
HingeLine line(double span, double body, double key) {
  return {read(span), {figure(body * 1e-6), figure(0)}, {figure(key * 1e-6), figure(0)}, {}};
}
Service service(double bench, double coldest, double warmest) {
  return {{celsius(bench), {}, Origin::read}, celsius(coldest), celsius(warmest), 0, 0};
}

TEST(Season, ChangesByTheDifferenceOfExpansions) {
  // Linear expansion, 200 mm and 15 K: brass 19.9 on steel 11.5 (JCGM 100:2008, H.1) 25.20 um; brass on
  // stainless 17.3 7.80; steel on wood 3.9 22.80; ABS 73.8 on steel 186.90; ebonite 70 on steel 175.50.
  struct Case {
    double body, key, micrometres;
  };
  for (const Case& c : {Case{19.9, 11.5, 25.20}, Case{19.9, 17.3, 7.80}, Case{11.5, 3.9, 22.80},
                        Case{73.8, 11.5, 186.90}, Case{70, 11.5, 175.50}}) {
    const SeasonPlay p = season_play(read(0.2), line(200, c.body, c.key), service(20, 5, 35));
    EXPECT_NEAR((p.bench.value - p.coldest.value).raw() * 1000, c.micrometres, 1e-9);
    EXPECT_NEAR((p.warmest.value - p.bench.value).raw() * 1000, c.micrometres, 1e-9);
    EXPECT_EQ(p.least_in, (Air{Warmth::coldest, Moisture::bench}));
    EXPECT_EQ(p.most_in, (Air{Warmth::warmest, Moisture::bench}));
  }
  // 10 mm of brass from 20 to 37 C: 3.383 um.
  EXPECT_NEAR(end_play_change(19.9e-6, 0, millimetres(10), kelvins(17)).raw() * 1000, 3.383, 1e-9);
}

TEST(Season, PlasticBodiesBindInTheCold) {
  // Common practice: bodies of plastic move with temperature far more than their keys and bind in the cold.
  const SeasonPlay p = season_play(read(0.03, 0.006), line(80, 85, 16.7), service(20, 5, 35));
  EXPECT_EQ(below(p.least, {}), Sure::yes);
  EXPECT_EQ(p.least_in.warmth, Warmth::coldest);
  EXPECT_EQ(above(p.most, millimetres(0.06)), Sure::yes);
}

TEST(Season, UncertaintyIsTheGuides) {
  // JCGM 100:2008, 5.1.2 by hand.
  HingeLine l = line(100, 19.9, 16.7);
  l.body.expansion.plus_minus = 1.5e-6;
  l.key.expansion.plus_minus = 1.7e-6;
  l.span.plus_minus = millimetres(0.4);
  Service s = service(20, 5, 35);
  s.bench.plus_minus = celsius(2);
  const Measured<Length> c = change_to(l, s, {Warmth::coldest, Moisture::bench});
  const double expected = std::sqrt(std::pow(100 * 15 * 0.75e-6, 2) + std::pow(100 * 15 * 0.85e-6, 2) +
                                    std::pow(0.2 * 3.2e-6 * 15, 2) + std::pow(100 * 3.2e-6 * 1, 2));
  EXPECT_NEAR(c.standard().raw(), expected, 1e-15);
  EXPECT_NEAR(c.value.raw(), -100 * 3.2e-6 * 15, 1e-15);
  // An end play's own doubt adds.
  const SeasonPlay p = season_play(read(0.02, 0.006), l, s);
  EXPECT_NEAR(p.coldest.standard().raw(), std::hypot(expected, 0.003), 1e-15);
  EXPECT_NEAR(p.bench.standard().raw(), 0.003, 1e-15);
}

TEST(Season, WoodShrinksAsItDries) {
  HingeLine l = line(60, 3.9, 16.7);
  l.body.moisture = figure(1e-4, 5e-5);
  Service s = service(20, 10, 30);
  s.drier = 3;
  s.wetter = 2;
  const SeasonPlay p = season_play(read(0.03), l, s);
  // Wood moves less than the keys: warmth closes in, and dry air does.
  EXPECT_EQ(p.least_in, (Air{Warmth::warmest, Moisture::driest}));
  EXPECT_EQ(p.most_in, (Air{Warmth::coldest, Moisture::wettest}));
  EXPECT_NEAR(p.least.value.raw(), 0.03 - 60 * 12.8e-6 * 10 - 60 * 1e-4 * 3, 1e-12);
  EXPECT_NEAR(p.most.value.raw(), 0.03 + 60 * 12.8e-6 * 10 + 60 * 1e-4 * 2, 1e-12);
  // What is said of this body comes before the coefficient.
  l.dries_by = read(0.05, 0.01);
  EXPECT_NEAR(change_to(l, s, {Warmth::bench, Moisture::driest}).value.raw(), -0.05, 1e-15);
  EXPECT_NEAR(change_to(l, s, {Warmth::bench, Moisture::driest}).standard().raw(), 0.005, 1e-15);
  EXPECT_NEAR(change_to(l, s, {Warmth::bench, Moisture::wettest}).value.raw(), 0.012, 1e-15);
}

TEST(Season, NothingMovesWhereAllIsAlike) {
  const SeasonPlay p = season_play(read(0.02, 0.006), line(100, 19, 19), service(20, 5, 35));
  EXPECT_EQ(p.least.value.raw(), 0.02);
  EXPECT_EQ(p.most.value.raw(), 0.02);
  EXPECT_EQ(p.least_in, Air{});
  EXPECT_EQ(p.most_in, Air{});
}

TEST(Season, SaysHowSureItIs) {
  EXPECT_EQ(below(read(-0.02, 0.01), {}), Sure::yes);
  EXPECT_EQ(below(read(-0.005, 0.01), {}), Sure::perhaps);
  EXPECT_EQ(below(read(0.005, 0.01), {}), Sure::perhaps);
  EXPECT_EQ(below(read(0.02, 0.01), {}), Sure::no);
  EXPECT_EQ(above(read(0.05, 0.01), millimetres(0.03)), Sure::yes);
  EXPECT_EQ(above(read(0.035, 0.01), millimetres(0.03)), Sure::perhaps);
  EXPECT_EQ(above(read(0.01, 0.01), millimetres(0.03)), Sure::no);
}

RC_GTEST_PROP(BenchWindow, HoldsInEveryAirWhereverItIsAimedAt, ()) {
  HingeLine l = line(*rc::gen::inRange(10, 150), *rc::gen::inRange(0, 100), *rc::gen::inRange(0, 25));
  l.body.moisture.value = *rc::gen::inRange(0, 20) * 1e-5;
  const int bench = *rc::gen::inRange(15, 25);
  Service s = service(bench, bench - *rc::gen::inRange(0, 30), bench + *rc::gen::inRange(0, 30));
  s.drier = *rc::gen::inRange(0, 4);
  s.wetter = *rc::gen::inRange(0, 4);
  const Length least = millimetres(0.004);
  const Length most = millimetres(0.1);
  const BenchWindow w = bench_window(least, most, l, s);
  RC_ASSERT(w.low_part.raw() >= 0 && w.high_part.raw() >= 0);
  if (w.crossed()) {
    // Then the swing is wider than the demands are apart.
    RC_ASSERT((w.low_part + w.high_part).raw() > (most - least).raw());
    return;
  }
  for (const double share : {0.0, 0.3, 1.0}) {
    const SeasonPlay p = season_play({w.low + (w.high - w.low) * share, {}, Origin::read}, l, s);
    RC_ASSERT(p.least.value.raw() >= least.raw() - 1e-15);
    RC_ASSERT(p.most.value.raw() <= most.raw() + 1e-15);
  }
  // And not a thousandth beyond: both edges are reached.
  const SeasonPlay low = season_play({w.low, {}, Origin::read}, l, s);
  const SeasonPlay high = season_play({w.high, {}, Origin::read}, l, s);
  RC_ASSERT(std::abs((low.least.value - least).raw()) < 1e-14);
  RC_ASSERT(std::abs((high.most.value - most).raw()) < 1e-14);
}

TEST(Season, AgreesWithDraws) {
  // JCGM 101: the model drawn 200000 times.
  HingeLine l = line(90, 85, 16.7);
  l.body.expansion.plus_minus = 18e-6;
  l.key.expansion.plus_minus = 1.7e-6;
  Service s = service(20, 5, 35);
  s.bench.plus_minus = celsius(1);
  const SeasonPlay p = season_play(read(0.12, 0.006), l, s);
  numeric::Stream draw(5, 0);
  double sum = 0;
  double squares = 0;
  constexpr int kDraws = 200000;
  for (int n = 0; n < kDraws; ++n) {
    const double body = 85e-6 + 9e-6 * draw.normal();
    const double key = 16.7e-6 + 0.85e-6 * draw.normal();
    const double bench = 20 + 0.5 * draw.normal();
    const double cold = 0.12 + 0.003 * draw.normal() + 90 * (body - key) * (5 - bench);
    sum += cold;
    squares += cold * cold;
  }
  const double mean = sum / kDraws;
  EXPECT_NEAR(p.coldest.value.raw(), mean, 1e-4);
  EXPECT_NEAR(p.coldest.standard().raw() / std::sqrt(squares / kDraws - mean * mean), 1, 0.01);
}

}  // namespace
}  // namespace hingeline::body

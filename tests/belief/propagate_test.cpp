#include "hingeline/belief/propagate.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <vector>

#include "belief/knowledge.h"
#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::belief {
namespace {

using samples::Fit;

void set_span(KeyGeometry& g, double v) { g.span = millimetres(v); }
void set_key_length(KeyGeometry& g, double v) { g.key_length = millimetres(v); }
void set_upper_stop(KeyGeometry& g, double v) { g.upper.stop = millimetres(v); }
void set_upper_tip(KeyGeometry& g, double v) { g.upper.point.tip_radius = millimetres(v); }

/// A key whose span and length are known to these standard uncertainties.
KeyKnowledge known_line(double span, double key_length) {
  KeyKnowledge k;
  k.geometry = samples::geometry(Fit::matched);
  k.inputs.push_back(samples::input("span", k.geometry.span.raw(), span, set_span));
  k.inputs.push_back(samples::input("key length", k.geometry.key_length.raw(), key_length, set_key_length));
  return k;
}

bool same_bytes(const Propagation& a, const Propagation& b) {
  if (a.shares.size() != b.shares.size()) return false;
  for (std::size_t i = 0; i < a.shares.size(); ++i) {
    if (std::memcmp(&a.shares[i], &b.shares[i], sizeof a.shares[i]) != 0) return false;
  }
  return a.impossible == b.impossible && std::memcmp(&a.figures, &b.figures, sizeof a.figures) == 0;
}

TEST(Propagate, ALineOfNormalsIsNormal) {
  const KeyKnowledge key = known_line(0.003, 0.004);
  const auto p = propagate(key, 200'000, 7, 1);
  ASSERT_TRUE(p);
  const FigureSpread& gap = (*p)[Figure::face_gap];
  // Sum of squares 0.005; tolerances are five standard errors of 200,000 draws.
  EXPECT_NEAR(gap.mean, 0.36, 5 * 0.005 / std::sqrt(2e5));
  EXPECT_NEAR(gap.standard, 0.005, 5 * 0.005 / std::sqrt(4e5));
  EXPECT_NEAR(gap.high - gap.mean, 1.959964 * 0.005, 1.2e-4);  // normal, JCGM 100:2008, table G.1
  EXPECT_NEAR(gap.mean - gap.low, 1.959964 * 0.005, 1.2e-4);
  EXPECT_EQ(p->impossible, 0u);
}

TEST(Propagate, ARangeNothingTouchesStaysRectangular) {
  KeyKnowledge key = known_line(0, 0.01 / std::sqrt(3.0));
  key.inputs[1].origin = Origin::unknown;
  key.inputs[1].rectangular = true;
  const auto p = propagate(key, 200'000, 7, 1);
  ASSERT_TRUE(p);
  const FigureSpread& gap = (*p)[Figure::face_gap];
  // Half-width 0.01: 95 % of a rectangle lie within 0.95 of it, and none beyond it.
  EXPECT_NEAR(gap.high - gap.mean, 0.0095, 1e-4);
  EXPECT_NEAR(gap.standard, 0.01 / std::sqrt(3.0), 5e-5);
}

TEST(Propagate, AReadingNarrowsTheDrawsAsItNarrowsTheEstimate) {
  KeyKnowledge key = known_line(0.01, 0.01);
  key.inputs.push_back(samples::input("upper stop", key.geometry.upper.stop.raw(), 0.02, set_upper_stop));
  const double end_play = 0.06;
  key.observations.push_back(
      {Observation::Of::end_play, "", {}, millimetres(end_play), millimetres(0.002), Origin::read});
  const auto p = propagate(key, 100'000, 3, 2);
  const auto e = estimate(key);
  ASSERT_TRUE(p && e);
  EXPECT_NEAR((*p)[Figure::end_play].standard, (*e)[Figure::end_play].plus_minus / 2, 3e-5);
  EXPECT_LT((*p)[Figure::end_play].standard, 0.00201);
}

TEST(Propagate, SameBytesForAnyNumberOfThreadsAndAnotherSeedOtherBytes) {
  const KeyKnowledge key = known_line(0.003, 0.004);
  const auto one = propagate(key, 5'001, 42, 1);
  ASSERT_TRUE(one);
  for (const unsigned threads : {0u, 2u, 3u, 8u})
    EXPECT_TRUE(same_bytes(*one, *propagate(key, 5'001, 42, threads)));
  EXPECT_FALSE(same_bytes(*one, *propagate(key, 5'001, 43, 1)));
}

TEST(Propagate, DrawsThatCannotBeAreCountedAndLeftOut) {
  KeyKnowledge key = known_line(0.003, 0.004);
  key.inputs.push_back(samples::input("upper tip", 0.35, 0.35, set_upper_tip));
  const auto p = propagate(key, 20'000, 1, 1);
  ASSERT_TRUE(p);
  // Below no tip at all: one standard uncertainty under the mean, 15.9 % of a normal.
  EXPECT_GE(static_cast<double>(p->impossible), 0.145 * 20'000);
  EXPECT_TRUE(std::isfinite((*p)[Figure::end_play].mean));
}

TEST(Propagate, EndsOfIntervalsAreThoseOfAllDrawsInOrder) {
  // With this many only draws near the ends are kept. The pad's station moves its rock and not the rest; the
  // stop makes the upper face gap 0 in a third of all draws.
  KeyKnowledge key = known_line(0.003, 0.004);
  key.inputs.push_back(samples::input("upper stop", 0.01, 0.02, set_upper_stop));
  constexpr std::size_t kDraws = 150'001;
  std::vector<double> gap, upper;
  for (std::size_t k = 0; k < kDraws; ++k) {
    numeric::Stream stream(9, k);
    const auto line = stream.normal_pair();
    const auto stop = stream.normal_pair();
    gap.push_back(key.inputs[0].value + 0.003 * line[0] - (key.inputs[1].value + 0.004 * line[1]));
    upper.push_back(std::max(0.0, 0.01 + 0.02 * stop[0]));
  }
  std::sort(gap.begin(), gap.end());
  std::sort(upper.begin(), upper.end());
  key.geometry.upper.stop = millimetres(0.01);
  const auto p = propagate(key, kDraws, 9, 2);
  ASSERT_TRUE(p);
  const auto expected_gap = numeric::symmetric_interval(gap, 0.95);
  const auto expected_upper = numeric::symmetric_interval(upper, 0.95);
  EXPECT_NEAR((*p)[Figure::face_gap].low, expected_gap.low, 1e-13);
  EXPECT_NEAR((*p)[Figure::face_gap].high, expected_gap.high, 1e-13);
  EXPECT_EQ((*p)[Figure::gap_upper].low, 0);
  EXPECT_NEAR((*p)[Figure::gap_upper].high, expected_upper.high, 1e-13);
  const auto summary = numeric::summarise(upper);
  EXPECT_NEAR((*p)[Figure::gap_upper].mean, summary.mean, 1e-13);
  EXPECT_NEAR((*p)[Figure::gap_upper].standard, summary.standard_deviation, 1e-13);
  for (const unsigned threads : {1u, 3u}) EXPECT_TRUE(same_bytes(*p, *propagate(key, kDraws, 9, threads)));
}

TEST(Propagate, SharesOfALineAreItsPartsOfTheVariance) {
  KeyKnowledge key = known_line(0.003, 0.004);
  key.inputs[1].origin = Origin::unknown;
  key.inputs[1].rectangular = true;
  key.inputs.push_back(samples::input("upper tip", 0.35, 0.004, set_upper_tip));
  const auto p = propagate(key, 100'000, 5, 2);
  ASSERT_TRUE(p);
  const auto share = [&](std::size_t input, Figure f) {
    return p->shares[input][static_cast<std::size_t>(f)];
  };
  // 9 and 16 parts of 25, whatever the distributions; an input that does nothing has none. Five standard
  // errors.
  EXPECT_NEAR(share(0, Figure::face_gap), 0.36, 0.025);
  EXPECT_NEAR(share(1, Figure::face_gap), 0.64, 0.025);
  EXPECT_NEAR(share(2, Figure::face_gap), 0, 0.001);
  EXPECT_EQ(share(0, Figure::home_rock_upper), 0);
  EXPECT_NEAR(share(2, Figure::insertion_upper), 1, 1e-9);
}

TEST(Propagate, AKinkIsSeenByItsShareToo) {
  // Worked out for max(0, z), z a standard normal: mean 1 / sqrt(2 pi), variance 1/2 - 1 / (2 pi), covariance
  // with z 1/2 and with (z^2 - 1) / sqrt(2) 1 / sqrt(4 pi): both together are 97 % of the variance.
  KeyKnowledge key = known_line(0.003, 0.004);
  key.geometry.upper.stop = millimetres(0);
  key.inputs.push_back(samples::input("upper stop", 0, 0.02, set_upper_stop));
  const auto p = propagate(key, 100'000, 5, 2);
  ASSERT_TRUE(p);
  const double pi = 3.14159265358979323846;
  const double expected = (0.25 + 1 / (4 * pi)) / (0.5 - 1 / (2 * pi));
  EXPECT_NEAR(p->shares[2][static_cast<std::size_t>(Figure::gap_upper)], expected, 0.04);
}

TEST(Propagate, InputsThatAReadingTiedTogetherTellOfEachOther) {
  KeyKnowledge key = known_line(0.01, 0.01);
  key.inputs.push_back(samples::input("upper stop", key.geometry.upper.stop.raw(), 0.02, set_upper_stop));
  key.observations.push_back(
      {Observation::Of::end_play, "", {}, millimetres(0.06), millimetres(0.001), Origin::read});
  const auto p = propagate(key, 100'000, 5, 2);
  ASSERT_TRUE(p);
  // The stop follows from span and length now, and they from it: each tells more than the variance it brings.
  const auto gap = static_cast<std::size_t>(Figure::face_gap);
  EXPECT_GT(p->shares[2][gap], 0.9);
  double sum = 0;
  for (const Figures& shares : p->shares) {
    EXPECT_GE(shares[gap], 0);
    EXPECT_LE(shares[gap], 1);
    sum += shares[gap];
  }
  EXPECT_GT(sum, 1.5);
}

TEST(Propagate, FormsThatAreNotCoveredGoThroughTheEngineOneByOne) {
  KeyKnowledge key = known_line(0.003, 0.004);
  EXPECT_EQ(propagate(key, 1'000, 1, 1)->one_by_one, 0u);
  for (auto* joint : {&key.geometry.upper, &key.geometry.lower}) {
    joint->point.tip = contact::TipShape::round;
    joint->point.tip_radius = millimetres(0.2);
  }
  const auto p = propagate(key, 1'000, 1, 1);
  ASSERT_TRUE(p);
  EXPECT_EQ(p->one_by_one, 1'000u);
  EXPECT_NEAR((*p)[Figure::end_play].mean, 0.06, 0.002);
}

TEST(Propagate, FiguresThatDoNotApplyAreNone) {
  KeyKnowledge key = known_line(0.003, 0.004);
  key.geometry = samples::geometry(Fit::rod);
  key.inputs[0].value = key.geometry.span.raw();
  const auto p = propagate(key, 100, 1, 1);
  ASSERT_TRUE(p);
  EXPECT_TRUE(std::isnan((*p)[Figure::insertion_upper].mean));
  EXPECT_NEAR((*p)[Figure::end_play].mean, 0.06, 0.003);
}

TEST(Propagate, GeometryThatCannotBeIsAnError) {
  KeyKnowledge key = known_line(0.003, 0.004);
  key.geometry.upper.point.length = millimetres(0);
  const auto p = propagate(key, 100, 1, 1);
  ASSERT_FALSE(p);
  EXPECT_EQ(p.error().fault, Fault::geometry);
}

}  // namespace
}  // namespace hingeline::belief

#include "hingeline/belief/propagate.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>

#include "belief/knowledge.h"

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

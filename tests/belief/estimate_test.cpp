// Parts and readings fused by their uncertainties: against closed forms where the question is a straight
// line.

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <set>

#include "knowledge.h"

namespace hingeline::belief {
namespace {

using samples::Fit;
using samples::four_parts;
using samples::input;
using samples::Normal;
using samples::reading;
using Of = Observation::Of;

Estimate must(const KeyKnowledge& k) {
  auto e = estimate(k);
  EXPECT_TRUE(e) << (e ? "" : e.error().what);
  return e ? *e : Estimate{};
}

double direct(const KeyKnowledge& k, const std::vector<double>& values, Figure f) {
  KeyGeometry g = k.geometry;
  for (std::size_t i = 0; i < values.size(); ++i) k.inputs[i].set(g, values[i]);
  return figures_of(g, *build_hinge(g))[static_cast<std::size_t>(f)];
}

TEST(Measured, StandardUncertaintyByOrigin) {
  // JCGM 100:2008, 4.3.4 (k = 2) and 4.3.7 (rectangular: half-width over the root of three).
  for (const Origin o : {Origin::read, Origin::pattern, Origin::preset}) {
    const Measured<Length> m{millimetres(1), millimetres(0.02), o};
    EXPECT_EQ(m.standard().raw(), 0.01);
    EXPECT_TRUE(m.known());
  }
  const Measured<Length> range{millimetres(1), millimetres(0.3), Origin::unknown};
  EXPECT_DOUBLE_EQ(range.standard().raw(), 0.3 / std::sqrt(3.0));
  EXPECT_FALSE(range.known());
}

TEST(Estimate, FourEqualPartsAddAsTheirRootSumOfSquares) {
  // JCGM 101:2008, 9.2.2: four inputs of standard uncertainty 1 add up to 2.0, and 95 % lie within 3.92
  // (k 1.96).
  const Estimate e = must(four_parts(0.001));
  EXPECT_NEAR(e[Figure::end_play].value, 0.06, 1e-12);
  EXPECT_NEAR(e[Figure::end_play].plus_minus, 2 * 0.002, 1e-9);
  EXPECT_NEAR(e[Figure::face_gap].plus_minus, 2 * 0.001 * std::sqrt(2.0), 1e-9);
  // 9.2.3: four rectangular ones of standard deviation 1: 2.0 again, and 95 % within 3.88; k = 2 covers both.
  KeyKnowledge k = four_parts(0.001);
  for (Input& i : k.inputs) i.origin = Origin::unknown;
  const Estimate ranges = must(k);
  EXPECT_NEAR(ranges[Figure::end_play].plus_minus, 0.004, 1e-9);
  EXPECT_GE(ranges[Figure::end_play].plus_minus, 0.003879407);
  EXPECT_TRUE(ranges[Figure::end_play].is_range);
  EXPECT_FALSE(e[Figure::end_play].is_range);
}

TEST(Estimate, FusedEndPlayIsTheWeightedMean) {
  for (const auto& [part, own, read] :
       {std::array{0.010, 0.004, 0.085}, {0.002, 0.004, 0.052}, {0.02, 0.001, 0.061}}) {
    KeyKnowledge k = four_parts(part);
    k.observations = {reading(Of::end_play, read, own)};
    const Estimate e = must(k);
    const double a = 4 * part * part;
    const double b = own * own;
    EXPECT_NEAR(e[Figure::end_play].value, (0.06 / a + read / b) / (1 / a + 1 / b), 1e-9);
    EXPECT_NEAR(e[Figure::end_play].plus_minus, 2 / std::sqrt(1 / a + 1 / b), 1e-8);
    ASSERT_EQ(e.agreements.size(), 1U);
    EXPECT_TRUE(e.agreements[0].used);
    EXPECT_NEAR(e.agreements[0].predicted, 0.06, 1e-12);
    EXPECT_NEAR(e.agreements[0].predicted_pm, 2 * std::sqrt(a), 1e-9);
    EXPECT_NEAR(e.agreements[0].distance, std::abs(read - 0.06) / std::sqrt(a + b), 1e-6);
    // Each of the four takes a quarter of the move, and keeps what the reading cannot settle.
    const double move = e[Figure::end_play].value - 0.06;
    EXPECT_NEAR(e.value[0] - k.inputs[0].value, move / 4, 1e-9);
    EXPECT_NEAR(e.value[2] - k.inputs[2].value, -move / 4, 1e-9);
    EXPECT_NEAR(e.standard[1], std::sqrt(part * part - std::pow(part, 4) / (a + b)), 1e-9);
  }
}

TEST(Estimate, TwoReadingsOfOneThingWeighAsOne) {
  KeyKnowledge k = four_parts(0.01);
  k.observations = {reading(Of::end_play, 0.08, 0.004), reading(Of::end_play, 0.07, 0.002)};
  const Estimate e = must(k);
  const double w0 = 1 / (4 * 0.01 * 0.01), w1 = 1 / (0.004 * 0.004), w2 = 1 / (0.002 * 0.002);
  EXPECT_NEAR(e[Figure::end_play].value, (0.06 * w0 + 0.08 * w1 + 0.07 * w2) / (w0 + w1 + w2), 1e-9);
  EXPECT_NEAR(e[Figure::end_play].plus_minus, 2 / std::sqrt(w0 + w1 + w2), 1e-8);
}

TEST(Estimate, GapReadingsSettleTheStops) {
  KeyKnowledge k = four_parts(0.01);
  k.observations = {reading(Of::gap_upper, 0.17, 0.005), reading(Of::gap_lower, 0.14, 0.005)};
  const Estimate e = must(k);
  const double w = (1 / 0.0001) / (1 / 0.0001 + 1 / 0.000025);  // of the part against its reading
  EXPECT_NEAR(e[Figure::gap_upper].value, 0.15 * w + 0.17 * (1 - w), 1e-9);
  EXPECT_NEAR(e[Figure::gap_lower].value, 0.15 * w + 0.14 * (1 - w), 1e-9);
  EXPECT_NEAR(e[Figure::end_play].value, 0.36 - e[Figure::gap_upper].value - e[Figure::gap_lower].value,
              1e-9);
}

TEST(Estimate, AProtrusionSettlesAsTheStopItMakes) {
  KeyKnowledge k = four_parts(0.002);
  const double home = build_hinge(k.geometry)->end(Side::upper).joint.home().insertion.raw();
  k.geometry.upper.protrusion = millimetres(home + 0.15);
  k.inputs[2] = input("upper protrusion", home + 0.15, 0.01,
                      [](KeyGeometry& g, double v) { g.upper.protrusion = millimetres(v); });
  k.inputs[2].protrusion_of = Side::upper;
  k.observations = {reading(Of::end_play, 0.05, 0.003)};
  const Estimate e = must(k);
  const double a = 3 * 0.002 * 0.002 + 0.01 * 0.01;
  const double b = 0.003 * 0.003;
  EXPECT_NEAR(e[Figure::end_play].value, (0.06 / a + 0.05 / b) / (1 / a + 1 / b), 1e-9);
  EXPECT_NEAR(e[Figure::end_play].plus_minus, 2 / std::sqrt(1 / a + 1 / b), 1e-8);
  EXPECT_FALSE(e.geometry.upper.protrusion.has_value());
  EXPECT_NEAR(e.value[2], home + e.geometry.upper.stop.raw(), 1e-12);
  EXPECT_NEAR(e.geometry.upper.stop.raw() - 0.15, (0.06 - e[Figure::end_play].value) * 0.01 * 0.01 / a, 1e-9);
}

TEST(Estimate, UnknownInputsBecomeRangesThatHoldTheTruth) {
  Normal draw(11);
  int held = 0;
  constexpr int kTrials = 400;
  for (int n = 0; n < kTrials; ++n) {
    KeyKnowledge k = four_parts(0.0005);
    Input& stop = k.inputs[2];
    stop.origin = Origin::unknown;
    stop.standard = 0.05 / std::sqrt(3.0);
    // The truth: one stop anywhere in its range, all else as measured.
    std::vector<double> truth;
    for (const Input& i : k.inputs) truth.push_back(i.value);
    truth[2] += 0.05 * (2 * draw.uniform() - 1);
    const Estimate e = must(k);
    EXPECT_TRUE(e[Figure::end_play].is_range);
    const double true_play = direct(k, truth, Figure::end_play);
    EXPECT_LE(e[Figure::end_play].low, true_play);
    EXPECT_GE(e[Figure::end_play].high, true_play);
    // Once the end play is read, it is a figure with a plus-minus again.
    k.observations = {reading(Of::end_play, true_play + 0.002 * draw(), 0.002)};
    const Estimate settled = must(k);
    EXPECT_FALSE(settled[Figure::end_play].is_range);
    held += std::abs(settled[Figure::end_play].value - true_play) <= settled[Figure::end_play].plus_minus;
  }
  EXPECT_GE(held, kTrials * 93 / 100);
  EXPECT_LT(held, kTrials);
}

TEST(Estimate, FiguresKeepWithinWhatTheyCanBe) {
  KeyKnowledge k = four_parts(0.1);
  const Estimate e = must(k);
  EXPECT_LT(e[Figure::end_play].low, 0);  // a bind is possible
  EXPECT_EQ(e[Figure::gap_upper].low, 0);
  EXPECT_EQ(e[Figure::rock_upper].low, 0);
}

TEST(Estimate, AContradictingReadingIsLeftOutAndReported) {
  KeyKnowledge k = four_parts(0.002);
  k.observations = {reading(Of::end_play, 0.09, 0.004), reading(Of::gap_upper, 0.151, 0.004)};
  const Estimate e = must(k);
  EXPECT_NEAR(e.agreements[0].distance, 0.03 / std::sqrt(0.004 * 0.004 + 0.004 * 0.004), 1e-6);
  EXPECT_GT(e.agreements[0].distance, kContradicts);
  EXPECT_FALSE(e.agreements[0].used);
  EXPECT_TRUE(e.agreements[1].used);
  KeyKnowledge without = k;
  without.observations.erase(without.observations.begin());
  const Estimate f = must(without);
  for (std::size_t i = 0; i < kFigureCount; ++i) {
    EXPECT_EQ(e.figures[i].value, f.figures[i].value);
    EXPECT_EQ(e.figures[i].plus_minus, f.figures[i].plus_minus);
  }
  // Just inside the bound it is taken.
  k.observations[0].value = millimetres(0.06 + 2.99 * 0.004 * std::sqrt(2.0));
  EXPECT_TRUE(must(k).agreements[0].used);
}

TEST(Estimate, ARockReadingNeverMovesTheGeometry) {
  for (const Fit fit : {Fit::matched, Fit::rim, Fit::rod}) {
    KeyKnowledge k = samples::everything(fit);
    k.observations = {reading(Of::end_play, 0.063, 0.004)};
    const Estimate without = must(k);
    for (const double rock : {0.001, 0.03, 0.5}) {
      KeyKnowledge with = k;
      Observation o = reading(Of::rock, rock, 0.002);
      o.station = millimetres(4);
      with.observations.insert(with.observations.begin(), o);
      const Estimate e = must(with);
      EXPECT_EQ(e.value, without.value);
      EXPECT_EQ(e.standard, without.standard);
      ASSERT_EQ(e.agreements.size(), 2U);
      const Agreement& a = e.agreements.back();
      EXPECT_EQ(a.observation.of, Of::rock);
      EXPECT_EQ(a.used, a.distance <= kContradicts);
      EXPECT_FALSE(rock == 0.5 && a.used);
    }
  }
}

TEST(Estimate, EffectsAreWhatMovingOneInputDoes) {
  for (const Fit fit : samples::kFits) {
    KeyKnowledge k = samples::everything(fit);
    k.observations = {reading(Of::end_play, 0.064, 0.004)};
    const Estimate e = must(k);
    const auto effect = effects(k, e);
    ASSERT_EQ(effect.size(), k.inputs.size());
    for (std::size_t i = 0; i < k.inputs.size(); ++i) {
      for (std::size_t f = 0; f < kFigureCount; ++f) {
        const Figure figure = static_cast<Figure>(f);
        if (std::isnan(e.figures[f].value)) continue;
        auto up = e.value;
        up[i] += k.inputs[i].standard;
        auto down = e.value;
        down[i] -= k.inputs[i].standard;
        const double rise = direct(k, up, figure) - e.figures[f].value;
        const double fall = e.figures[f].value - direct(k, down, figure);
        EXPECT_NEAR(effect[i][f], std::abs(fall) > std::abs(rise) ? fall : rise, 1e-12)
            << samples::word(fit) << ' ' << k.inputs[i].name << ' ' << word(figure);
      }
    }
  }
}

TEST(Estimate, InputsWithoutDoubtHaveNoEffect) {
  KeyKnowledge k = four_parts(0);
  const Estimate e = must(k);
  EXPECT_EQ(e[Figure::end_play].plus_minus, 0);
  for (const Figures& f : effects(k, e)) EXPECT_EQ(f[0], 0);
}

TEST(Estimate, IsTheSameEveryTime) {
  KeyKnowledge k = samples::everything(Fit::matched);
  k.observations = {reading(Of::end_play, 0.064, 0.004), reading(Of::gap_lower, 0.151, 0.006)};
  const Estimate a = must(k);
  const Estimate b = must(k);
  EXPECT_EQ(a.value, b.value);
  EXPECT_EQ(a.standard, b.standard);
  for (std::size_t f = 0; f < kFigureCount; ++f) {
    EXPECT_EQ(a.figures[f].value, b.figures[f].value);
    EXPECT_EQ(a.figures[f].plus_minus, b.figures[f].plus_minus);
  }
}

TEST(Estimate, GeometryThatCannotBeIsAFault) {
  const auto fault = [](const KeyKnowledge& k) {
    const auto e = estimate(k);
    return e                                    ? std::string("none")
           : e.error().fault == Fault::geometry ? std::string("geometry")
                                                : e.error().what;
  };
  KeyKnowledge k = four_parts(0.002);
  EXPECT_EQ(fault(k), "none");
  k.geometry.upper.hole.mouth_radius = millimetres(-0.1);
  EXPECT_EQ(fault(k), "geometry");
  k = four_parts(0.002);
  k.geometry.lower.point.half_angle = degrees(90);
  EXPECT_EQ(fault(k), "geometry");
  k = four_parts(0.002);
  k.geometry.lower.hole.depth = millimetres(0);
  EXPECT_EQ(fault(k), "geometry");
  k = four_parts(0.002);
  k.geometry.upper.point.length = millimetres(std::numeric_limits<double>::quiet_NaN());
  EXPECT_EQ(fault(k), "geometry");
}

TEST(Figures, ThatDoNotApplyAreNotNumbers) {
  const std::set<Figure> of_pad{Figure::rock_pad, Figure::side_gap, Figure::front_gap, Figure::worst_gap,
                                Figure::seat_wander};
  const std::set<Figure> of_point{Figure::insertion_upper, Figure::insertion_lower, Figure::tip_floor_upper,
                                  Figure::tip_floor_lower};
  for (const Fit fit : samples::kFits) {
    for (const bool pad : {true, false}) {
      KeyKnowledge k = samples::everything(fit);
      if (!pad) k.geometry.pad.reset();
      const Estimate e = must(k);
      for (std::size_t f = 0; f < kFigureCount; ++f) {
        const Figure figure = static_cast<Figure>(f);
        const bool applies =
            (pad || of_pad.count(figure) == 0) && (fit != Fit::rod || of_point.count(figure) == 0);
        EXPECT_EQ(std::isnan(e.figures[f].value), !applies) << samples::word(fit) << ' ' << word(figure);
      }
    }
  }
}

TEST(Figures, CodesAreUniqueAndReadBack) {
  std::set<std::string> codes, words;
  for (std::size_t f = 0; f < kFigureCount; ++f) {
    const Figure figure = static_cast<Figure>(f);
    codes.insert(code(figure));
    words.insert(word(figure));
    ASSERT_TRUE(figure_of(code(figure)));
    EXPECT_EQ(*figure_of(code(figure)), figure);
  }
  EXPECT_EQ(codes.size(), kFigureCount);
  EXPECT_EQ(words.size(), kFigureCount);
  EXPECT_FALSE(figure_of("end play"));
  EXPECT_FALSE(figure_of(""));
  EXPECT_EQ(figure_of("end-play"), Figure::end_play);
}

}  // namespace
}  // namespace hingeline::belief

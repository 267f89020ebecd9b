// How tight is right: what eats clearance, what play is allowed, and which of the two rules.

#include <gtest/gtest.h>

#include "cases.h"

namespace hingeline::plan {
namespace {

using samples::KeySpec;

struct Bench {
  belief::KeyGeometry key;
  WindowInputs inputs;
  double reading = 0;

  Window window() const { return window_for(key, *belief::build_hinge(key), millimetres(reading), inputs); }
};

Bench bench(double key_length = 29.5) {
  KeySpec s;
  s.key_length = key_length;
  Bench b;
  b.key = samples::geometry_of(s);
  return b;
}

double part(const Window& w, const char* name) {
  for (const auto& p : w.low_parts) {
    if (p.name == name) return p.amount.raw();
  }
  return std::nan("");
}
constexpr const char* kThermal = "temperature over the service range";

TEST(Window, IsTheShopsWhereNothingEatsClearance) {
  const Window w = bench().window();
  EXPECT_EQ(w.low.raw(), 0.01);
  EXPECT_EQ(w.high.raw(), 0.03);
  EXPECT_EQ(w.high_rule, "the window set by the shop");
  EXPECT_FALSE(w.crossed);
  EXPECT_TRUE(w.conflict.empty());
}

struct Pairing {
  const char* name;
  double body, key;  // 1e-6 / K
  double micrometres;
};

TEST(Window, TemperaturePartIsTheDifferentialExpansion) {
  // Table pages of linear expansion: C26000 brass 19.9; gauge steel 11.5 (JCGM 100:2008, H.1);
  // stainless 17.3; wood along the grain 3.9; ABS 73.8; ebonite 70 (all 1e-6 / K). 200 mm and 15 K, products
  // worked by hand.
  for (const Pairing& p :
       {Pairing{"brass body, steel key", 19.9, 11.5, 25.20},
        Pairing{"brass body, stainless key", 19.9, 17.3, 7.80},
        Pairing{"steel body, wood key", 11.5, 3.9, 22.80}, Pairing{"ABS body, steel key", 73.8, 11.5, 186.90},
        Pairing{"ebonite body, steel key", 70, 11.5, 175.50}}) {
    Bench b = bench();
    b.key.span = millimetres(200);
    b.key.key_length = b.key.span - millimetres(0.32);
    b.inputs.body_expansion = p.body * 1e-6;
    b.inputs.key_expansion = p.key * 1e-6;
    b.inputs.colder = kelvins(-15);
    EXPECT_NEAR(part(b.window(), kThermal) * 1000, p.micrometres, 1e-9) << p.name;
    // The body that shrinks more closes in when it gets colder, and only then.
    b.inputs.colder = kelvins(0);
    b.inputs.warmer = kelvins(15);
    EXPECT_EQ(part(b.window(), kThermal), 0) << p.name;
    // The other way round it is warmth that closes in.
    std::swap(b.inputs.body_expansion, b.inputs.key_expansion);
    EXPECT_NEAR(part(b.window(), kThermal) * 1000, p.micrometres, 1e-9) << p.name;
    b.inputs.colder = kelvins(-30);
    EXPECT_NEAR(part(b.window(), kThermal) * 1000, p.micrometres, 1e-9) << p.name;
  }
}

TEST(Window, LowerEdgeIsTheSumOfItsParts) {
  Bench b = bench();
  b.reading = 0.004;
  b.inputs.moisture = millimetres(0.003);
  b.inputs.roundness = millimetres(0.002);
  b.inputs.oil_film = millimetres(0.001);
  b.inputs.misalignment = degrees(0.1);
  b.inputs.body_expansion = 20e-6;
  b.inputs.key_expansion = 10e-6;
  b.inputs.colder = kelvins(-10);
  const Window w = b.window();
  EXPECT_EQ(part(w, "moisture of the body"), 0.003);
  EXPECT_EQ(part(w, "roundness"), 0.002);
  EXPECT_EQ(part(w, "oil film"), 0.001);
  EXPECT_EQ(part(w, "reading uncertainty"), 0.004);
  EXPECT_NEAR(part(w, kThermal), 1e-4 * b.key.span.raw(), 1e-12);
  // gamma h / sin 2a at each joint, h 1.2 mm, a 15 degrees, to the second order in gamma.
  const double tilt = 2 * 1.2 * in_radians(degrees(0.1)) / std::sin(2 * in_radians(degrees(15)));
  EXPECT_NEAR(part(w, "points out of line with the holes"), tilt, 0.004 * tilt);
  double sum = 0;
  for (const auto& p : w.low_parts) sum += p.amount.raw();
  EXPECT_EQ(w.low_parts.size(), 6U);
  EXPECT_NEAR(w.low.raw(), sum, 1e-15);
  EXPECT_GT(sum, 0.01);
}

TEST(Window, UpperEdgeMovesUpWithTheLower) {
  Bench b = bench();
  b.inputs.moisture = millimetres(0.025);
  Window w = b.window();
  EXPECT_EQ(w.low.raw(), 0.025);
  EXPECT_NEAR(w.high.raw(), 0.035, 1e-15);  // half the shop's 0.02
  EXPECT_EQ(w.high_rule, "the shop's window, moved up by what eats clearance");
  // A reading has to fit in.
  b.reading = 0.012;
  w = b.window();
  EXPECT_NEAR(w.low.raw(), 0.037, 1e-15);
  EXPECT_NEAR(w.high.raw(), 0.049, 1e-15);
  // It does not move while room is left.
  b.inputs.moisture = millimetres(0.002);
  b.reading = 0.004;
  EXPECT_EQ(b.window().high.raw(), 0.03);
}

TEST(Window, AKeysOwnDoesNotGiveWay) {
  Bench b = bench();
  b.inputs.window_firm = true;
  EXPECT_EQ(b.window().high_rule, "the window set for this key");
  b.inputs.moisture = millimetres(0.025);
  Window w = b.window();
  EXPECT_EQ(w.high.raw(), 0.03);
  EXPECT_FALSE(w.crossed);
  b.inputs.moisture = millimetres(0.04);
  w = b.window();
  EXPECT_TRUE(w.crossed);
  const std::string why = w.conflict.in(LengthUnit::mm);
  EXPECT_NE(
      why.find(
          "no fit satisfies both: 0.040 mm is eaten up (most by moisture of the body), the window set for "
          "this key sets 0.030 mm at most"),
      std::string::npos)
      << why;
}

TEST(Window, UpperEdgeIsWherePadGapOrRockReachWhatIsAllowed) {
  Bench b = bench();
  b.inputs.rock_allowed = millimetres(0.01);
  Window w = b.window();
  // Rock at a key's end: twice the whole end play's clearance there, 2 E tan a.
  EXPECT_NEAR(w.high.raw(), 0.01 / (2 * std::tan(in_radians(degrees(15)))), 1e-8);
  EXPECT_EQ(w.high_rule.find("the rock allowed at the "), 0U);
  b = bench();
  b.inputs.pad_gap_allowed = millimetres(0.003);
  w = b.window();
  EXPECT_EQ(w.high_rule, "the pad gap allowed");
  EXPECT_LT(w.high.raw(), 0.03);
  // At that end play the pad gap is what is allowed.
  KeySpec s;
  s.end_play = w.high.raw();
  EXPECT_NEAR(samples::estimate_of(samples::geometry_of(s))[Figure::worst_gap].value, 0.003, 1e-8);
}

TEST(Window, CrossesWhereTheDemandsExcludeEachOther) {
  Bench b = bench();
  b.inputs.rock_allowed = millimetres(0.01);
  b.inputs.moisture = millimetres(0.05);
  const Window w = b.window();
  EXPECT_TRUE(w.crossed);
  EXPECT_NE(w.conflict.in(LengthUnit::mm).find("most by moisture of the body"), std::string::npos);

  KeySpec s;
  s.end_play = 0.1;
  KeyCase k = samples::case_of(s);
  k.window = b.inputs;
  const KeyPlan p = plan_key(k);
  EXPECT_EQ(p.verdict, Verdict::loose);
  EXPECT_TRUE(p.plans.empty());
  EXPECT_EQ(p.no_plan, p.window.conflict);
  EXPECT_NE(p.relief.in(LengthUnit::mm).find("allow more pad gap or rock for this key"), std::string::npos);

  // The shop's own least can be what crosses.
  b.inputs.moisture = {};
  b.inputs.rock_allowed = millimetres(0.001);
  EXPECT_NE(b.window().conflict.in(LengthUnit::mm).find("most by what the shop leaves"), std::string::npos);
}

TEST(Window, SaysWhereRockDoesNotComeFromEndPlay) {
  KeySpec s;
  s.upper.tip_floor = -0.4;  // on its floor: rock stays when home
  Bench b;
  b.key = samples::geometry_of(s);
  const Window w = b.window();
  EXPECT_TRUE(w.crossed);
  EXPECT_NE(w.conflict.in(LengthUnit::mm)
                .find("even with no end play the rock allowed at the upper end is passed: it does not come "
                      "from end play"),
            std::string::npos)
      << w.conflict.in(LengthUnit::mm);
}

}  // namespace
}  // namespace hingeline::plan

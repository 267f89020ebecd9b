#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "service/documents.h"

namespace hingeline::service {
namespace {

using namespace hingeline::test;
using nlohmann::json;

const KeyResult& only(const InstrumentResult& r) {
  EXPECT_EQ(r.keys.size(), 1u);
  return r.keys.front();
}

TEST(WorkOut, AMatchedConeGivesWhatTheHandGives) {
  const auto instrument = instrument_of(instrument_json({cone_key("a", 0.1)}));
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  const KeyResult& key = only(result);
  ASSERT_FALSE(key.problem);
  // E = G - P_u - P_l + t_u + t_l; rock at one end 2 E tan a; side to side D (c_u + c_l) / K with all the
  // play at one end at a time: D E tan a / K.
  const double tan20 = std::tan(20 * std::numbers::pi / 180);
  EXPECT_NEAR(key.estimate()[Figure::end_play].value, 0.1, 1e-6);
  EXPECT_NEAR(key.estimate()[Figure::rock_upper].value, 2 * 0.1 * tan20, 1e-5);
  EXPECT_NEAR(key.estimate()[Figure::side_gap].value, 20 * 0.1 * tan20 / 40, 1e-6);
  EXPECT_EQ(rides_on(key, Side::upper), "flank");
  EXPECT_EQ(key.plan.verdict, plan::Verdict::loose);
  ASSERT_FALSE(key.plan.plans.empty());
  EXPECT_EQ(key.plan.plans.front().steps.front().tool.name, "4.00 mm seat cutter");
}

TEST(WorkOut, AReadingSettlesTheEndPlayAsWellAsItWasRead) {
  const auto shop = example_shop();
  for (const char* name : {"saxophone.json", "clarinet.json"}) {
    const auto instrument = example_instrument(name);
    const auto result = work_out(instrument, shop, 1);
    for (const KeyResult& key : result.keys) {
      const auto& read = key.source->readings.end_play;
      if (!read.known() || key.problem) continue;
      EXPECT_LE(key.estimate()[Figure::end_play].plus_minus, 0.016) << key.id;
    }
  }
}

TEST(WorkOut, SameBytesForAnyNumberOfThreads) {
  auto instrument = example_instrument("saxophone.json");
  const auto once = instrument.keys;
  while (instrument.keys.size() < 300)
    instrument.keys.insert(instrument.keys.end(), once.begin(), once.end());
  const auto shop = example_shop();
  const std::string one = to_json(work_out(instrument, shop, 1), LengthUnit::mm);
  for (const unsigned threads : {0u, 2u, 3u, 7u, 16u}) {
    EXPECT_EQ(one, to_json(work_out(instrument, shop, threads), LengthUnit::mm)) << threads;
  }
}

TEST(WorkOut, AnEmptyInstrumentHasNoKeys) {
  const auto instrument = instrument_of(instrument_json({}));
  EXPECT_TRUE(work_out(instrument, general_shop(), 4).keys.empty());
}

TEST(WorkOut, MirroredKeysHaveMirroredFigures) {
  auto key = cone_key("a", 0.08);
  key["hinge"]["upper"] = cone_end(0.25);
  key["hinge"]["lower"] = cone_end(0.07);
  auto mirrored = key;
  std::swap(mirrored["hinge"]["upper"], mirrored["hinge"]["lower"]);
  const auto shop = example_shop();
  const auto instrument = instrument_of(instrument_json({key}));
  const auto other = instrument_of(instrument_json({mirrored}));
  const auto a = work_out(instrument, shop, 1);
  const auto b = work_out(other, shop, 1);
  const auto& ea = only(a).estimate();
  const auto& eb = only(b).estimate();
  EXPECT_NEAR(ea[Figure::gap_upper].value, eb[Figure::gap_lower].value, 1e-9);
  EXPECT_NEAR(ea[Figure::rock_upper].value, eb[Figure::rock_lower].value, 1e-9);
  EXPECT_NEAR(ea[Figure::worst_gap].value, eb[Figure::worst_gap].value, 1e-9);
  ASSERT_FALSE(only(a).plan.plans.empty());
  EXPECT_NEAR(only(a).plan.plans.front().metal.raw(), only(b).plan.plans.front().metal.raw(), 1e-9);
}

TEST(WorkOut, AContradictingReadingIsToldAndLeftOut) {
  auto key = cone_key("a", 0.05);
  key["readings"]["end_play"] = {{"value", 0.6}, {"unit", "mm"}, {"plus_minus", 0.004}};
  const auto instrument = instrument_of(instrument_json({key}));
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  const auto& notes = only(result).notes;
  const auto told = std::find_if(notes.begin(), notes.end(), [](const Said& n) {
    return n.in(LengthUnit::mm).find("end play read as 0.600 mm where all else gives 0.050 ± ") == 0;
  });
  EXPECT_NE(told, notes.end());
  EXPECT_NEAR(only(result).estimate()[Figure::end_play].value, 0.05, 0.01);
}

TEST(WorkOut, UnknownsBecomeRangesThatHoldTheTruth) {
  auto key = cone_key("a", 0.1);
  key["readings"] = json::object();
  key["hinge"]["upper"]["screw"]["point"]["tip_diameter"] = "?";
  const auto instrument = instrument_of(instrument_json({key}));
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  const auto& play = only(result).estimate()[Figure::end_play];
  EXPECT_TRUE(play.is_range);
  EXPECT_LT(play.low, 0.1);
  EXPECT_GT(play.high, 0.1);
  EXPECT_EQ(only(result).plan.verdict, plan::Verdict::cannot_tell);
}

TEST(WorkOut, WithoutARangeAnUnknownIsAProblemWithItsPlace) {
  auto key = cone_key("a", 0.1);
  key["hinge"]["upper"]["screw"]["point"]["tip_diameter"] = "?";
  const auto instrument = instrument_of(instrument_json({key}));
  auto shop = example_shop();
  shop.presets.unknown.tip_diameter = {};
  const auto result = work_out(instrument, shop, 1);
  ASSERT_TRUE(only(result).problem);
  EXPECT_EQ(only(result).problem->fault, Fault::content);
  EXPECT_EQ(only(result).problem->place.pointer, "/keys/0/hinge/upper/screw/point/tip_diameter");
}

TEST(WorkOut, RepeatsNarrowTheMeanAsTheGumSays) {
  auto key = cone_key("a", 0.1);
  key["readings"]["end_play"] = {
      {"repeats", {0.098, 0.100, 0.102, 0.100}}, {"unit", "mm"}, {"plus_minus", 0.004}};
  const auto instrument = instrument_of(instrument_json({key}));
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  // Type A (JCGM 100:2008, 4.2.3): s of the four is 0.001633, of their mean 0.000816; with the
  // instrument's own 0.002 that is 0.00216 with 147 degrees of freedom. Student's factor at 95.45 % is 2.025
  // for 100 degrees of freedom and 2.000 for many (JCGM 100:2008, table G.2).
  const double u = std::sqrt(0.002 * 0.002 + 0.0000666667 / 100);
  const double standard = only(result).estimate().agreements.front().observation.standard.raw();
  EXPECT_GT(standard, u);
  EXPECT_LT(standard, u * 2.025 / 2);
}

TEST(WorkOut, TwoRepeatsThatDifferSayHowLittleTheySay) {
  auto key = cone_key("a", 0.1);
  key["readings"]["end_play"] = {{"repeats", {0.098, 0.102}}, {"unit", "mm"}, {"plus_minus", 0.00002}};
  const auto instrument = instrument_of(instrument_json({key}));
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  // One degree of freedom: Student's factor at 95.45 % is 13.97 (JCGM 100:2008, table G.2); the mean's own is
  // 0.002.
  EXPECT_NEAR(only(result).estimate().agreements.front().observation.standard.raw(), 13.97 * 0.002 / 2, 1e-5);
}

// Leaves 0.01 mm apart: the gap lies between that which goes in and the next one, anywhere alike (JCGM
// 100:2008, 4.3.7); the leaf itself is off by 0.003 mm, k = 2.
TEST(WorkOut, AFeelersReadingLiesBetweenTwoLeaves) {
  auto key = cone_key("a", 0.1);
  key["readings"]["end_play"] = {{"value", 0.1}, {"unit", "mm"}, {"with", "feeler"}};
  const auto instrument = instrument_of(instrument_json({key}));
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  const auto& read = only(result).estimate().agreements.front().observation;
  EXPECT_NEAR(read.value.raw(), 0.105, 1e-12);
  EXPECT_NEAR(read.standard.raw(), std::hypot(0.01 / std::sqrt(12.0), 0.0015), 1e-12);
}

TEST(NamesMissing, SayWhatTheShopLacksAndWhere) {
  auto key = cone_key("a", 0.1);
  key["hinge"]["upper"]["screw"]["pattern"] = "midle headed";
  key["readings"]["end_play"]["with"] = "indicatr";
  auto document = instrument_json({key});
  document["body"]["material"] = "bras";
  const auto instrument = instrument_of(document);
  const auto missing = names_missing(instrument, example_shop());
  ASSERT_EQ(missing.size(), 3u);
  EXPECT_EQ(missing[0].place.pointer, "/body");
  EXPECT_NE(missing[0].expected.find("\"brass\""), std::string::npos);
  EXPECT_EQ(missing[1].place.pointer, "/keys/0/hinge/upper/screw/pattern");
  EXPECT_NE(missing[1].expected.find("\"middle headed\""), std::string::npos);
  EXPECT_EQ(missing[2].place.pointer, "/keys/0/readings/end_play");
  EXPECT_NE(missing[2].expected.find("\"indicator\""), std::string::npos);
  for (const Error& e : missing) EXPECT_EQ(e.fault, Fault::not_found);
}

TEST(NamesMissing, TheDemonstrationsHaveAllTheirNames) {
  for (const char* name : {"saxophone.json", "clarinet.json"}) {
    EXPECT_TRUE(names_missing(example_instrument(name), example_shop()).empty()) << name;
  }
}

TEST(FindKey, NamesTheNearest) {
  const auto instrument = example_instrument("saxophone.json");
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  ASSERT_TRUE(find_key(result, "low-c"));
  EXPECT_EQ((*find_key(result, "low-c"))->id, "low-c");
  const auto wrong = find_key(result, "lowc");
  ASSERT_FALSE(wrong);
  EXPECT_EQ(wrong.error().fault, Fault::not_found);
  EXPECT_NE(wrong.error().expected.find("low-c"), std::string::npos);
  EXPECT_NE(find_key(result, "qqqqqqqqqqqqqqqqqqqq").error().expected.find("one of neck-octave"),
            std::string::npos);
}

TEST(FindFigure, KnowsEveryCode) {
  for (std::size_t k = 0; k < belief::kFigureCount; ++k) {
    const auto f = static_cast<Figure>(k);
    ASSERT_TRUE(find_figure(belief::code(f)));
    EXPECT_EQ(*find_figure(belief::code(f)), f);
  }
  EXPECT_NE(find_figure("play").error().expected.find("end-play"), std::string::npos);
}

TEST(GeneralShop, IsTheDemonstrationShopWithoutTools) {
  const auto shop = example_shop();
  const auto& general = general_shop();
  EXPECT_EQ(general.presets, shop.presets);
  EXPECT_EQ(general.patterns, shop.patterns);
  EXPECT_EQ(general.measuring, shop.measuring);
  EXPECT_TRUE(general.cutters.empty() && general.reamers.empty() && general.drivers.empty() &&
              general.rods.empty());
}

TEST(GeneralShop, WithoutToolsThePlanStandsAndSaysWhichIsNeeded) {
  const auto instrument = instrument_of(instrument_json({cone_key("a", 0.1)}));
  const auto result = work_out(instrument, general_shop(), 1);
  ASSERT_FALSE(only(result).plan.plans.empty());
  const auto& step = only(result).plan.plans.front().steps.front();
  EXPECT_TRUE(step.tool.name.empty());
  EXPECT_NE(tell_how(step, LengthUnit::mm).find("a 4.00 mm one is needed"), std::string::npos);
}

TEST(Explain, EveryFigureOfEveryKeyHasAFormulaAndItsInputs) {
  const auto shop = example_shop();
  for (const char* name : {"saxophone.json", "clarinet.json"}) {
    const auto instrument = example_instrument(name);
    const auto result = work_out(instrument, shop, 1);
    for (const KeyResult& key : result.keys) {
      ASSERT_FALSE(key.problem) << key.id;
      for (std::size_t k = 0; k < belief::kFigureCount; ++k) {
        const auto f = static_cast<Figure>(k);
        const auto e = explain(key, f, LengthUnit::mm);
        EXPECT_FALSE(e.formula.empty()) << key.id << belief::code(f);
        EXPECT_TRUE(std::is_sorted(e.inputs.begin(), e.inputs.end(),
                                   [](const auto& a, const auto& b) { return a.effect > b.effect; }));
        EXPECT_GE(e.inputs.size(), f == Figure::end_play ? 2u : 0u) << key.id;
      }
    }
  }
}

TEST(Explain, EffectsAddUpToTheUncertaintyWhereNothingWasReadDirectly) {
  auto key = cone_key("a", 0.1);
  key["readings"] = json::object();
  const auto instrument = instrument_of(instrument_json({key}));
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  const auto e = explain(only(result), Figure::face_gap, LengthUnit::mm);
  double squares = 0;
  for (const auto& line : e.inputs) squares += line.effect * line.effect;
  EXPECT_NEAR(std::sqrt(squares), only(result).estimate()[Figure::face_gap].plus_minus, 1e-9);
  // Two readings of +- 0.01 make +- 0.0141.
  EXPECT_NEAR(std::sqrt(squares), std::sqrt(2.0) * 0.01, 1e-9);
}

TEST(Explain, TheWorkingAddsUp) {
  const auto instrument = instrument_of(instrument_json({cone_key("a", 0.1)}));
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  const auto e = explain(only(result), Figure::end_play, LengthUnit::mm);
  ASSERT_EQ(e.working.size(), 3u);
  EXPECT_EQ(e.working[0], "face gaps: span 40.400 mm less key length 40.000 mm = 0.400 mm");
  EXPECT_EQ(e.working[1], "upper gap: protrusion 1.650 mm less point in the key 1.500 mm = 0.150 mm");
  EXPECT_EQ(e.value.rfind("0.100 ± 0.00", 0), 0u) << e.value;
}

TEST(Show, FiguresAsPeopleReadThem) {
  belief::FigureValue v{0.0853, 0.0041, 0.0812, 0.0894, false};
  EXPECT_EQ(show(v, LengthUnit::mm), "0.085 ± 0.004 mm");
  EXPECT_EQ(show(v, LengthUnit::inch), "0.0034 ± 0.0002 in");
  v.is_range = true;
  EXPECT_EQ(show(v, LengthUnit::mm), "0.081 to 0.089 mm");
  v.value = std::nan("");
  EXPECT_EQ(show(v, LengthUnit::mm), "-");
}

TEST(Tell, EveryStepInWords) {
  plan::Step s;
  s.side = Side::lower;
  s.amount = millimetres(0.0505);
  using plan::Operation;
  s.operation = Operation::seat_cut;
  EXPECT_EQ(tell(s, LengthUnit::inch), "cut the lower seat 0.0020 in deeper");
  s.operation = Operation::turn_screw;
  EXPECT_EQ(tell(s, LengthUnit::mm).rfind("turn the lower screw in by 0.05", 0), 0u);
  s.amount = -s.amount;
  EXPECT_EQ(tell(s, LengthUnit::mm).rfind("turn the lower screw out by 0.05", 0), 0u);
  s.operation = Operation::restore_post;
  EXPECT_EQ(tell(s, LengthUnit::mm).rfind("bring the lower post back outwards by 0.05", 0), 0u);
  s.amount = -s.amount;
  s.operation = Operation::ream;
  EXPECT_EQ(tell(s, LengthUnit::mm).rfind("ream the lower key end", 0), 0u);
  s.operation = Operation::face;
  EXPECT_EQ(tell(s, LengthUnit::mm).rfind("face 0.05", 0), 0u);
  s.operation = Operation::drive_home;
  EXPECT_EQ(tell(s, LengthUnit::mm).rfind("drive the lower screw home", 0), 0u);
}

TEST(Json, HoldsTheSameFiguresAsTheResult) {
  const auto instrument = example_instrument("saxophone.json");
  const auto shop = example_shop();
  const auto result = work_out(instrument, shop, 1);
  const auto parsed = json::parse(to_json(result, LengthUnit::mm));
  ASSERT_EQ(parsed["keys"].size(), result.keys.size());
  for (std::size_t k = 0; k < result.keys.size(); ++k) {
    const auto& key = result.keys[k];
    const auto& j = parsed["keys"][k];
    EXPECT_EQ(j["id"], key.id);
    EXPECT_EQ(j["verdict"], word(key.plan.verdict));
    EXPECT_NEAR(j["figures"]["end-play"]["value"].get<double>(), key.estimate()[Figure::end_play].value,
                5.1e-7);
    EXPECT_EQ(j["plans"].size(), key.plan.plans.size());
    EXPECT_EQ(j["refusals"].size(), key.plan.refusals.size());
  }
  const auto one = json::parse(to_json(result, LengthUnit::mm, "low-c"));
  ASSERT_EQ(one["keys"].size(), 1u);
  EXPECT_EQ(one["keys"][0]["id"], "low-c");
}

TEST(Demonstration, HasEveryKindOfCase) {
  const auto shop = example_shop();
  std::set<std::string> verdicts;
  std::set<std::string> rides;
  std::set<std::string> said;
  int joints = 0;
  for (const char* name : {"saxophone.json", "clarinet.json"}) {
    const auto instrument = example_instrument(name);
    const auto result = work_out(instrument, shop, 1);
    for (const KeyResult& key : result.keys) {
      verdicts.insert(word(key.plan.verdict));
      for (const Side s : {Side::upper, Side::lower}) {
        rides.insert(rides_on(key, s));
        joints += key.knowledge.geometry.kind == belief::HingeKind::pivot ? 1 : 0;
      }
      for (const auto& r : key.plan.refusals) said.insert(r.why.in(LengthUnit::mm).substr(0, 16));
    }
  }
  EXPECT_EQ(verdicts, (std::set<std::string>{"sound", "loose", "tight", "binds", "cannot tell"}));
  for (const char* r : {"flank", "rim", "tip edge", "floor", "round", "shoulder", "rod"}) {
    EXPECT_TRUE(rides.count(r)) << r;
  }
  EXPECT_GE(joints, 60);
  for (const char* why : {"the hole is bell", "the hole is stra", "the tapers do no", "the screw has no"}) {
    EXPECT_TRUE(said.count(why)) << why;
  }
}

}  // namespace
}  // namespace hingeline::service

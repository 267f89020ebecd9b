// Stacks: from the document to figures, plans and words.

#include "hingeline/service/stack.h"

#include <gtest/gtest.h>

#include <cmath>

#include "service/documents.h"

namespace hingeline::service {
namespace {

using namespace hingeline::test;
using nlohmann::json;

json length(double value, double plus_minus) {
  return {{"value", value}, {"unit", "mm"}, {"plus_minus", plus_minus}};
}
json tube(const char* name, double long_by, double bore) {
  return {{"name", name},
          {"length", length(long_by, 0.02)},
          {"bore", length(bore, 0.004)},
          {"outside", length(3.4, 0.02)}};
}
/// Two tubes in a loose gap, one in a gap that binds.
json stack() {
  json e = tube("E", 38, 2.036);
  e["station"] = "20 mm";
  e["offset"] = length(0.04, 0.02);
  return {
      {"id", "lower"},
      {"name", "Lower stack"},
      {"rod", {{"diameter", length(2, 0.004)}, {"bow", length(0.09, 0.02)}, {"bow_over", length(125, 0.1)}}},
      {"gaps",
       {{{"end_play", length(0.12, 0.006)}, {"tubes", {tube("F", 22, 2.012), e}}},
        {{"end_play", length(-0.02, 0.006)}, {"tubes", {tube("D", 64, 2.01)}}}}}};
}
record::Instrument instrument_with(const json& stacks) {
  json document = json::parse(example_text("saxophone.json"));
  document["stacks"] = stacks;
  return instrument_of(document);
}
std::vector<StackResult> worked_out(const json& stacks, LengthUnit unit = LengthUnit::mm) {
  const record::Instrument instrument = instrument_with(stacks);
  return work_out_stacks(instrument, example_shop(), unit);
}
StackResult only(const json& s) { return worked_out(json::array({s})).at(0); }

TEST(StackService, FiguresByHand) {
  const StackResult s = only(stack());
  ASSERT_FALSE(s.problem) << s.problem->what;
  ASSERT_EQ(s.tubes.size(), 3u);
  const TubeOnStack& e = s.tubes[1];
  EXPECT_NEAR(e.clearance->value, 0.036, 1e-12);
  EXPECT_NEAR(e.clearance->plus_minus(), std::hypot(0.004, 0.004), 1e-9);
  EXPECT_NEAR(e.rock->value, 0.036, 1e-12);
  // Offset 0.04 in the middle of 0.12.
  EXPECT_NEAR(e.pad_up->value, -0.02, 1e-12);
  EXPECT_NEAR(e.pad_down->value, 0.10, 1e-12);
  EXPECT_NEAR(e.pad_down->plus_minus(), std::hypot(0.02, 0.003), 1e-9);
  // H7/g6 up to 3 mm (ISO 286-2).
  EXPECT_EQ(e.window->most, millimetres(0.018));
  EXPECT_FALSE(s.tubes[0].pad_up);
  // The bow over the 64 mm tube: 0.09 (64/125)^2 against 0.010.
  const double excess = 0.09 * 64 * 64 / (125.0 * 125) - 0.010;
  const TubeOnStack& d = s.tubes[2];
  EXPECT_NEAR(d.bow_room->value, -excess, 1e-12);
  EXPECT_EQ(d.bow->regime, rods::BowRegime::three_points);
  // 48 E I e / L^3, friction 0.15, twice the middle force at radius 1.
  const double force = 48 * 207e3 * 3.14159265358979 / 64 * 16 * excess / (64.0 * 64 * 64);
  EXPECT_NEAR(d.friction->value, 0.15 * 1 * 2 * force, 1e-9);
  EXPECT_GT(d.chance_bow_binds, 0.99);
  EXPECT_LT(e.chance_bow_binds, 0.01);
}

TEST(StackService, ThePlanKeepsItsWord) {
  const StackResult s = only(stack());
  ASSERT_GE(s.plans.size(), 2u);
  EXPECT_TRUE(s.refusals.empty());
  const StackWorkPlan& best = s.plans[0];
  for (std::size_t g = 0; g < s.gaps.size(); ++g) {
    // Inside by the reading's own doubt.
    EXPECT_GE(best.plan.gaps[g].end_play.raw(), 0.010 + 0.006 - 1e-9);
    EXPECT_LE(best.plan.gaps[g].end_play.raw(), 0.030 - 0.006 + 1e-9);
  }
  EXPECT_LE(best.plan.gaps[0].pads[1]->down.raw(), 0.1 + 1e-9);
  EXPECT_GE(s.plans[1].plan.cost().raw(), best.plan.cost().raw() - 1e-6);
  for (const StackWorkStep& step : best.steps) {
    EXPECT_NE(tell(step, LengthUnit::mm).find(show(step.step.amount, LengthUnit::mm)), std::string::npos);
    if (step.step.work != rods::StackWork::swedge) continue;
    ASSERT_TRUE(step.squeezed);
    EXPECT_NEAR(step.squeezed->growth.raw(), step.step.amount.raw(), 1e-12);
    EXPECT_LE(step.squeezed_least->closes, step.squeezed->closes);
  }
}

TEST(StackService, TakesWhatItNeedsFromAKey) {
  const json s = {{"id", "side"}, {"gaps", {{{"tubes", {{{"key", "side-f-sharp"}}}}}}}};
  const StackResult r = only(s);
  ASSERT_FALSE(r.problem) << r.problem->what;
  EXPECT_EQ(r.tubes[0].name, "Side F sharp");
  EXPECT_NEAR(r.rod->value, 2.00, 1e-12);
  EXPECT_NEAR(r.tubes[0].clearance->value, 0.06, 1e-12);
  EXPECT_NEAR(r.tubes[0].pad_down->value, r.gaps[0].end_play.value / 2, 1e-12);
  // The key's own reading, as that key's document has it.
  EXPECT_EQ(r.gaps[0].end_play.effects.at(0).given.pointer, "/keys/14/readings/end_play");
}

TEST(StackService, EndPlayFromLengths) {
  json s = stack();
  s["gaps"][0].erase("end_play");
  s["gaps"][0]["span"] = length(60.12, 0.02);
  const StackResult r = only(s);
  ASSERT_FALSE(r.problem);
  EXPECT_NEAR(r.gaps[0].end_play.value, 0.12, 1e-9);
  EXPECT_NEAR(r.gaps[0].end_play.plus_minus(), std::sqrt(3) * 0.02, 1e-9);
  s["gaps"][0].erase("span");
  const StackResult none = only(s);
  ASSERT_TRUE(none.problem);
  EXPECT_EQ(none.problem->place.pointer, "/stacks/0/gaps/0");
}

TEST(StackService, OneTubeAndNothingRead) {
  const json s = {{"id", "bare"},
                  {"gaps", {{{"end_play", "0.02 mm ± 0.002"}, {"tubes", {{{"name", "lever"}}}}}}}};
  const StackResult r = only(s);
  ASSERT_FALSE(r.problem);
  EXPECT_FALSE(r.tubes[0].clearance);
  EXPECT_EQ(r.plans.at(0).steps.size(), 0u);
  EXPECT_NE(r.no_rods, "");
  EXPECT_EQ(r.notes.size(), 1u);
}

TEST(StackService, ForbiddenWorkIsNotPlanned) {
  json s = stack();
  for (auto& t : s["gaps"][0]["tubes"]) t["swedge"] = "no";
  const StackResult r = only(s);
  EXPECT_TRUE(r.plans.empty());
  ASSERT_EQ(r.refusals.size(), 1u);
  EXPECT_NE(r.refusals[0].find("gap 1 (F, E) wants an end play of at most 0.030 mm"), std::string::npos)
      << r.refusals[0];
}

TEST(StackService, RodsOfTheShop) {
  json s = stack();
  // Both gaps worn to where the next inch size comes in: 5/64 is 1.984, 2.0 the next.
  for (auto& gap : s["gaps"])
    for (auto& t : gap["tubes"]) t["bore"] = length(2.01, 0.004);
  s["rod"]["diameter"] = length(1.984, 0.004);
  const StackResult r = only(s);
  ASSERT_FALSE(r.rods.empty());
  EXPECT_EQ(r.rods[0].name, "rod 2.0");
  EXPECT_EQ(r.rods[0].choice.metal, 0);
  for (const RodForStack& rod : r.rods) {
    if (rod.name == "as it is") {
      EXPECT_EQ(rod.choice.trouble, rods::RodTrouble::too_thin);
    }
  }
  EXPECT_EQ(r.closings.size(), 3u);
}

TEST(StackService, NamesThatAreNotThere) {
  json s = stack();
  s["gaps"][1]["tubes"][0]["key"] = "side-f-sharpe";
  s["rod"]["bow"] = {{"value", 0.1}, {"unit", "mm"}, {"with", "calliper"}};
  const record::Errors errors = names_missing(instrument_with(json::array({s})), example_shop());
  ASSERT_EQ(errors.size(), 2u);
  EXPECT_EQ(errors[0].place.pointer, "/stacks/0/rod/bow");
  EXPECT_EQ(errors[1].place.pointer, "/stacks/0/gaps/1/tubes/0/key");
  EXPECT_NE(errors[1].expected.find("side-f-sharp"), std::string::npos);
}

TEST(StackService, AFitThatIsNone) {
  record::Shop shop = example_shop();
  shop.presets.rods.fit.text = "close";
  const record::Instrument instrument = instrument_with(json::array({stack()}));
  const auto results = work_out_stacks(instrument, shop, LengthUnit::mm);
  ASSERT_TRUE(results[0].problem);
}

TEST(StackService, FindsByIdAndSaysTheNearest) {
  const auto all = worked_out(json::array({stack()}));
  EXPECT_TRUE(find_stack(all, "lower"));
  const auto missing = find_stack(all, "lowr");
  ASSERT_FALSE(missing);
  EXPECT_EQ(missing.error().fault, Fault::not_found);
  EXPECT_NE(missing.error().expected.find("lower"), std::string::npos);
  EXPECT_FALSE(find_stack({}, "lower"));
}

TEST(StackService, JsonSaysTheSame) {
  const auto all = worked_out(json::array({stack()}));
  const json j = json::parse(to_json(all, LengthUnit::mm));
  const json& s = j["stacks"][0];
  EXPECT_EQ(s["id"], "lower");
  EXPECT_NEAR(s["tubes"][1]["clearance"]["value"].get<double>(), all[0].tubes[1].clearance->value, 1e-6);
  ASSERT_EQ(s["plans"].size(), all[0].plans.size());
  for (std::size_t k = 0; k < all[0].plans[0].steps.size(); ++k) {
    EXPECT_EQ(s["plans"][0]["steps"][k]["tell"], tell(all[0].plans[0].steps[k], LengthUnit::mm));
  }
  EXPECT_EQ(json::parse(to_json(all, LengthUnit::mm, "other"))["stacks"].size(), 0u);
}

}  // namespace
}  // namespace hingeline::service

// Linked keys from documents: numbers against hand work, words and JSON the same, sane words for absurd keys.

#include "hingeline/service/regulate.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "service/documents.h"

namespace hingeline::service {
namespace {

using nlohmann::json;
using test::cone_key;

json exact(double value, const char* unit = "mm") {
  return {{"value", value}, {"unit", unit}, {"plus_minus", 0}};
}
/// A pad that does not rock, so that hand work stays short: its rock is all in its end play.
json padded(const std::string& id, double arm, double opening) {
  json key = cone_key(id, 0);
  key["readings"]["end_play"]["plus_minus"] = 0;
  key["pad"]["arm"] = exact(arm);
  key["opening"] = exact(opening);
  return key;
}
json link(const std::string& from, const std::string& to, double driver_arm, double foot_arm, double gap) {
  return {{"from", from},
          {"to", to},
          {"driver_arm", exact(driver_arm)},
          {"foot_arm", exact(foot_arm)},
          {"gap", exact(gap)},
          {"cork", exact(1.0)},
          {"material", "cork"}};
}
/// a drives b: a 2 mm on 20, b 2.5 mm on 25, 10 on 15, 0.3 lost. a first; b then 2.5 - 0.7 / 15 x 25 open.
json two_keys() {
  json document = test::instrument_json({padded("a", 20, 2), padded("b", 25, 2.5)});
  document["keys"][0]["touch"] = {{"arm", exact(30)}};
  document["links"] = json::array({link("a", "b", 10, 15, 0.3)});
  document["closes_together"] = json::array({{{"key", "a"}, {"partner", "b"}, {"under", "a"}}});
  return document;
}
record::Shop shop_with_sheets() {
  json shop = json::parse(test::example_text("shop.json"));
  shop["sheets"] = json::array();
  for (const double t : {0.8, 1.2, 1.6, 2.0})
    shop["sheets"].push_back(
        {{"name", "cork " + std::to_string(t).substr(0, 3)}, {"material", "cork"}, {"thickness", exact(t)}});
  shop["sheets"].push_back({{"name", "felt"}, {"material", "felt"}, {"thickness", exact(1.8)}});
  return test::must(record::read_shop(shop.dump(), "shop.json"));
}
Regulation regulation_of(const json& document) {
  const auto instrument = test::instrument_of(document);
  const auto shop = shop_with_sheets();
  return regulate(instrument, shop, work_out(instrument, shop, 1));
}

TEST(Regulate, TwoKeysByHand) {
  const Regulation r = regulation_of(two_keys());
  EXPECT_TRUE(r.problems.empty());
  ASSERT_EQ(r.links.size(), 1u);
  EXPECT_NEAR(r.links[0].lost.value, 0.3, 1e-4);
  EXPECT_NEAR(r.links[0].lost_at_pad->value, 0.5, 2e-4);
  EXPECT_NEAR(r.links[0].lost_at_touch->value, 0.9, 2e-4);
  ASSERT_EQ(r.pairs.size(), 1u);
  const PairResult& p = r.pairs[0];
  ASSERT_FALSE(p.problem);
  EXPECT_EQ(p.closes, Closes::key_first);
  EXPECT_NEAR(p.gap.value, 2.5 - 0.7 / 15 * 25, 2e-4);
  ASSERT_EQ(p.cures.size(), 1u);
  EXPECT_NEAR(p.cures[0].thicker.value, 0.8, 2e-4);
  EXPECT_NEAR(in_millimetres(*p.cures[0].wanted), 1.8, 2e-4);
  // Sheets of cork only; 1.6 and 2.0 are about as near, and 2.0 is the one to sand down.
  EXPECT_EQ(p.cures[0].to_sand, "cork 2.0");
  EXPECT_NEAR(in_millimetres(abs(p.cures[0].nearest_left)), 0.2, 2e-4);
  EXPECT_NEAR(in_millimetres(p.cures[0].nearest_left_at_pad), 0.2 * 25 / 15, 5e-4);
  ASSERT_EQ(r.changes.size(), 1u);
  EXPECT_NEAR(r.changes[0].thicker.value, 0.8, 2e-4);
  EXPECT_EQ(r.minutes, 6);
  // Link at 0.03 rad, a at 0.1, b at 0.18; on a touch of 30 mm.
  ASSERT_EQ(p.happenings.size(), 3u);
  EXPECT_NEAR(p.happenings[0].at.value, 0.9, 2e-4);
  EXPECT_FALSE(p.happenings[0].seats);
  EXPECT_NEAR(p.happenings[1].at.value, 3, 1e-9);
  EXPECT_NEAR(p.happenings[2].at.value, 5.4, 5e-4);
}

TEST(Regulate, TellsWhatItSaysInJson) {
  const Regulation r = regulation_of(two_keys());
  const json j = json::parse(to_json(r, LengthUnit::mm));
  EXPECT_NEAR(j["pairs"][0]["gap"]["value"].get<double>(), r.pairs[0].gap.value, 5e-7);
  EXPECT_EQ(j["pairs"][0]["closes"], "key first");
  EXPECT_EQ(j["changes"].size(), 1u);
  const auto lines = tell(r.pairs[0], r, LengthUnit::mm);
  EXPECT_EQ(j["pairs"][0]["tell"].get<std::vector<std::string>>(), lines);
  EXPECT_NE(lines[0].find("a closes first and b then stands open 1.33"), std::string::npos) << lines[0];
  EXPECT_NE(lines.back().find("make the cork between a and b 0.8"), std::string::npos) << lines.back();
  EXPECT_NE(lines.back().find("thicker (1.000 mm to 1.800 mm)"), std::string::npos) << lines.back();
  EXPECT_NE(tell(r.pairs[0], r, LengthUnit::inch)[0].find(" in "), std::string::npos);
}

TEST(Regulate, AReadingBeatsAnUnsureChain) {
  json document = two_keys();
  document["links"][0]["gap"] = "0.3 mm ± 0.6";
  document["closes_together"][0]["gap"] = "0.20 mm ± 0.02";
  Regulation r = regulation_of(document);
  EXPECT_NEAR(r.pairs[0].gap.value, 0.2, 0.01);
  EXPECT_LE(r.pairs[0].gap.plus_minus(), 0.02);
  EXPECT_EQ(r.pairs[0].closes, Closes::key_first);
  EXPECT_NEAR(r.pairs[0].cures[0].thicker.value, 0.2 * 15 / 25, 0.01);
  // Said of the other pad, the same reading means the other way round.
  document["closes_together"][0]["open"] = "a";
  r = regulation_of(document);
  EXPECT_EQ(r.pairs[0].closes, Closes::partner_first);
  EXPECT_LT(r.pairs[0].cures[0].thicker.value, 0);
  // A chain that is sure of something else contradicts; the reading is taken.
  document["links"][0]["gap"] = exact(0.3);
  r = regulation_of(document);
  EXPECT_TRUE(r.pairs[0].contradicts);
  EXPECT_NEAR(r.pairs[0].gap.value, -0.2, 1e-9);
}

TEST(Regulate, CannotTellIsSaidAndNotWorkedOn) {
  json document = two_keys();
  document["links"][0]["gap"] = "1.0 mm ± 0.4";
  document["links"][0]["driver_arm"] = exact(10);
  document["keys"][1]["opening"] = "1.0 mm ± 0.8";
  document["keys"][0]["opening"] = "2.8 mm ± 0.5";
  const Regulation r = regulation_of(document);
  EXPECT_EQ(r.pairs[0].closes, Closes::cannot_tell);
  EXPECT_TRUE(r.changes.empty());
  EXPECT_NE(tell(r.pairs[0], r, LengthUnit::mm)[0].find("cannot tell"), std::string::npos);
}

TEST(Regulate, WiderOpeningsByTheStop) {
  json document = two_keys();
  document["keys"][1]["opening_wanted"] = {{"low", "3.0 mm"}, {"high", "3.4 mm"}};
  document["keys"][1]["stop"] = {{"arm", exact(10)}, {"cork", "1 mm"}};
  const Regulation r = regulation_of(document);
  const OpeningResult& o = r.openings[1];
  EXPECT_NEAR(o.wider->value, 0.5, 1e-12);
  EXPECT_NEAR(o.stop_thicker->value, -0.5 * 10 / 25, 1e-12);
  // The foot comes 15 x 0.5 / 25 nearer.
  ASSERT_EQ(o.effects.size(), 1u);
  EXPECT_NEAR(in_millimetres(o.effects[0].gap), -0.3, 1e-12);
  EXPECT_NE(tell(o, LengthUnit::mm).find("opens 0.500 mm too little"), std::string::npos)
      << tell(o, LengthUnit::mm);
}

TEST(Regulate, TravelStandsInForAnOpening) {
  const json read = two_keys();
  json document = read;
  document["keys"][1].erase("opening");
  document["keys"][1]["moving"] = {{"stands", "open"}, {"travel", exact(2.5)}};
  document["keys"][1]["opening_wanted"] = {{"low", "2.4 mm"}, {"high", "2.6 mm"}};
  const Regulation r = regulation_of(document);
  EXPECT_EQ(r.pairs[0].reckoned.value, regulation_of(read).pairs[0].reckoned.value);
  ASSERT_EQ(r.openings.size(), 2u);
  EXPECT_FALSE(r.openings[0].by_travel);
  EXPECT_TRUE(r.openings[1].by_travel);
  EXPECT_EQ(r.openings[1].opening->value, 2.5);
  EXPECT_EQ(tell(r.openings[1], LengthUnit::mm),
            "as wanted; its opening was not read, its \"travel\" stands in");
  // A key that stands closed does not rest as far open as it opens when pressed.
  document["keys"][1]["moving"]["stands"] = "closed";
  const Regulation closed = regulation_of(document);
  EXPECT_FALSE(closed.openings[1].opening);
  EXPECT_TRUE(closed.pairs[0].problem);
}

TEST(Regulate, PlannedWorkShiftsAndTakesRock) {
  json document = two_keys();
  // Loose: its plan cuts a seat, which moves it and takes rock.
  json loose = cone_key("b", 0.15);
  loose["pad"]["arm"] = exact(25);
  loose["opening"] = exact(2.5);
  document["keys"][1] = loose;
  document["links"][0]["tilt"] = exact(10, "deg");
  const auto instrument = test::instrument_of(document);
  const auto shop = shop_with_sheets();
  const auto worked = work_out(instrument, shop, 1);
  ASSERT_FALSE(worked.keys[1].plan.plans.empty());
  const plan::Plan& plan = worked.keys[1].plan.plans.front();
  ASSERT_FALSE(plan.steps.empty());
  const Regulation r = regulate(instrument, shop, worked);
  const double shift = in_millimetres(plan.shift);
  const auto rock = [&](const auto& of) { return of[static_cast<std::size_t>(Figure::rock_pad)]; };
  if (shift != 0) {
    // b is the driven key: its moving towards the lower post closes the gap.
    EXPECT_NEAR(r.links[0].by_shift->value, -std::tan(10 * 3.14159265358979 / 180) * shift, 1e-9);
  }
  const double before = worked.keys[1].estimate()[Figure::rock_pad].value;
  EXPECT_NEAR(in_millimetres(*r.links[0].by_rock), before - rock(plan.after), 1e-6);
  ASSERT_TRUE(r.pairs[0].after_work);
  // Half of the rock taken less in the lost motion, and what the tilt makes of the shift, 25 / 15 at the pad.
  const double change = -(before - rock(plan.after)) / 2 - std::tan(10 * 3.14159265358979 / 180) * shift;
  EXPECT_NEAR(r.pairs[0].after_work->value - r.pairs[0].gap.value, change * 25 / 15, 1e-6);
}

TEST(Regulate, UnderTheFingerByHand) {
  // b's cork 0.05 mm too thick: squeezed by so much, both are closed. Without springs and rock, 12 mm2 of 17
  // MPa and 1 mm: 204 N/mm, so 0.05 mm takes 10.2 N at 10 mm: 3.4 N at a touch of 30 mm.
  json document = two_keys();
  document["keys"][1]["opening"] = exact(2.5);
  document["links"][0] = link("a", "b", 15, 15, -0.05);
  // Openings are read as they stand: b is held off by 0.05 / 15 x 25.
  document["keys"][1]["opening"] = exact(2.5 - 0.05 / 15 * 25);
  json shop = json::parse(test::example_text("shop.json"));
  const auto held = [&](double finger) {
    shop["presets"]["regulation"] = {
        {"finger", exact(finger, "N")},
        {"spring", exact(0, "N")},
        {"contact", exact(12, "mm2")},
        {"soft_materials", json::array({{{"name", "cork"}, {"modulus", exact(17, "MPa")}}})}};
    const auto instrument = test::instrument_of(document);
    const auto read = test::must(record::read_shop(shop.dump(), "shop.json"));
    const Regulation r = regulate(instrument, read, work_out(instrument, read, 1));
    EXPECT_EQ(r.pairs[0].closes, Closes::partner_first);
    return r.pairs[0].under_finger->value;
  };
  // At 15 mm: 10.2 N x 15 = 153 N mm, 5.1 N at the touch.
  EXPECT_EQ(held(5.2), 0);
  // Half of it leaves half of the 0.05 mm, 20 / 15 at a's pad; b's own rock is next to nothing.
  EXPECT_NEAR(held(2.55), 0.025 * 20 / 15, 5e-4);
}

TEST(Regulate, SaysWhatIsMissing) {
  json document = two_keys();
  document["keys"][1].erase("opening");
  Regulation r = regulation_of(document);
  ASSERT_TRUE(r.pairs[0].problem);
  EXPECT_EQ(r.pairs[0].problem->what, "the opening of b was not read");
  EXPECT_NE(tell(r.pairs[0], r, LengthUnit::mm)[0].find("needed"), std::string::npos);
  EXPECT_EQ(json::parse(to_json(r, LengthUnit::mm))["pairs"][0]["problem"], "the opening of b was not read");

  document = two_keys();
  document["links"][0]["driver_arm"] = "?";
  r = regulation_of(document);
  ASSERT_EQ(r.problems.size(), 1u);
  EXPECT_EQ(r.problems[0].what, "the driver arm of the link from a to b is not known");
  EXPECT_EQ(r.problems[0].place.pointer, "/links/0/driver_arm");
  // With a range it works, and is unsure.
  document["links"][0]["driver_arm"] = {{"origin", "unknown"}, {"between", {8, 12}}, {"unit", "mm"}};
  r = regulation_of(document);
  EXPECT_TRUE(r.problems.empty());
  EXPECT_GT(r.pairs[0].gap.plus_minus(), 0.1);
}

TEST(Regulate, RefusesARing) {
  json document = two_keys();
  document["links"].push_back(link("b", "a", 10, 10, 0.1));
  const Regulation r = regulation_of(document);
  ASSERT_EQ(r.problems.size(), 1u);
  EXPECT_NE(r.problems[0].what.find("a drives b drives a"), std::string::npos) << r.problems[0].what;
  EXPECT_EQ(r.problems[0].place.pointer, "/links/0");
  EXPECT_TRUE(r.pairs.empty());
}

TEST(Regulate, AbsurdButPossible) {
  // No keys, one key, keys without links, a cork that cannot be thick enough.
  EXPECT_TRUE(regulation_of(test::instrument_json({})).pairs.empty());
  EXPECT_TRUE(regulation_of(test::instrument_json({padded("a", 20, 2)})).links.empty());
  json document = two_keys();
  document["links"][0]["gap"] = exact(4);
  Regulation r = regulation_of(document);
  EXPECT_TRUE(r.changes.empty());
  EXPECT_NE(r.no_changes.find("no change of corks"), std::string::npos);
  EXPECT_NE(tell(r.pairs[0], r, LengthUnit::mm).back().find("no single cork"), std::string::npos);
  // Pads that never open are closed before anybody presses.
  document = two_keys();
  document["keys"][1]["opening"] = exact(0);
  r = regulation_of(document);
  EXPECT_EQ(r.pairs[0].problem->what, "b is closed before a is pressed");
}

TEST(Regulate, OneKeyAlone) {
  const json document = two_keys();
  const auto instrument = test::instrument_of(document);
  const Regulation r = regulation_of(document);
  EXPECT_EQ(only(r, instrument, "b")->pairs.size(), 1u);
  EXPECT_EQ(only(r, instrument, "b")->openings.size(), 1u);
  EXPECT_EQ(only(r, instrument, "c").error().fault, Fault::not_found);
  json apart = document;
  apart["keys"].push_back(cone_key("c", 0.02));
  const auto with_c = test::instrument_of(apart);
  EXPECT_EQ(only(regulation_of(apart), with_c, "c").error().fault, Fault::content);
}

TEST(Regulate, TheGeneralShopHasEveryPreset) {
  const auto& p = general_shop().presets.regulation;
  for (const record::NumberEntry* e : {&p.finger, &p.spring, &p.contact, &p.change}) {
    EXPECT_TRUE(e->known());
    EXPECT_FALSE(e->meaning.empty());
  }
  for (const record::LengthEntry* e : {&p.together, &p.thinnest, &p.thickest}) EXPECT_TRUE(e->known());
  EXPECT_TRUE(p.gap.range);
  // Agglomerated cork: 17.00 ± 1.83 MPa (excerpt noted as DOI 10.1007/s00107-008-0248-2).
  EXPECT_EQ(p.soft_materials.at(0).modulus.value, 17);
}

}  // namespace
}  // namespace hingeline::service

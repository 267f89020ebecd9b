#include "hingeline/service/action.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "documents.h"

namespace hingeline::service {
namespace {

using nlohmann::json;
using std::numbers::pi;
using test::cone_key;
using test::instrument_json;
using test::instrument_of;

json springy(json key, double diameter, double set, double mass) {
  key["spring"] = {{"kind", "needle"},
                   {"diameter", {{"value", diameter}, {"unit", "mm"}, {"plus_minus", 0.01}}},
                   {"length", "30 mm ± 0.5"},
                   {"set", {{"value", set}, {"unit", "mm"}, {"plus_minus", 0.3}}},
                   {"works_at", "5 mm ± 0.2"}};
  key["moving"] = {{"stands", "open"},
                   {"mass", {{"value", mass}, {"unit", "g"}, {"plus_minus", 0.1}}},
                   {"gyration", "15 mm ± 1"},
                   {"travel", "4 mm ± 0.2"}};
  key["touch"] = {{"arm", "16 mm ± 0.5"}};
  return key;
}

struct Worked_out {
  record::Instrument instrument;
  record::Shop shop;
  Expected<ActionResult> result;
};
Worked_out worked(json document, record::Shop shop = general_shop()) {
  Worked_out w{instrument_of(document), std::move(shop), ActionResult{}};
  const auto keys = work_out(w.instrument, w.shop, 1);
  w.result = work_action(w.instrument, w.shop, keys, LengthUnit::mm);
  return w;
}
json one(json key) {
  json i = instrument_json({std::move(key)});
  i["body"]["service_from"] = "5 degC";
  return i;
}
double value(const KeyAction& key, const char* code) {
  const Worked* w = key.figure(code);
  return w == nullptr ? std::nan("") : w->value;
}

TEST(Action, TheOpeningStandsInForTravel) {
  const json read = springy(cone_key("a", .02), .7, 5, 8);
  const auto by_travel = worked(one(read));
  json key = read;
  key["moving"].erase("travel");
  key["opening"] = "4 mm ± 0.2";
  const auto by_opening = worked(one(key));
  ASSERT_TRUE(by_travel.result && by_opening.result);
  const Worked* told = by_opening.result->keys[0].figure("return-bench");
  ASSERT_NE(told, nullptr);
  EXPECT_EQ(told->value, value(by_travel.result->keys[0], "return-bench"));
  EXPECT_EQ(told->standard, by_travel.result->keys[0].figure("return-bench")->standard);
  const auto opening = std::find_if(told->effects.begin(), told->effects.end(),
                                    [](const Effect& e) { return e.given.pointer == "/keys/0/opening"; });
  ASSERT_NE(opening, told->effects.end());
  EXPECT_EQ(opening->given.name, "opening at the pad (not read: by \"opening\")");
  // Shut at rest, an opening says nothing of it: the tone hole is asked, as without either.
  key["moving"]["stands"] = "closed";
  json without = key;
  without.erase("opening");
  EXPECT_EQ(value(worked(one(key)).result->keys[0], "return-bench"),
            value(worked(one(without)).result->keys[0], "return-bench"));
  // Nor does one of nothing.
  key["moving"]["stands"] = "open";
  key["opening"] = "0 mm ± 0.1";
  without["moving"]["stands"] = "open";
  EXPECT_EQ(value(worked(one(key)).result->keys[0], "return-bench"),
            value(worked(one(without)).result->keys[0], "return-bench"));
}

// Every figure of one key by hand.
TEST(Action, ByHand) {
  const auto w = worked(one(springy(cone_key("a", .02), .7, 5, 8)));
  ASSERT_TRUE(w.result);
  const KeyAction& key = w.result->keys.front();
  EXPECT_EQ(key.verdict, ActionVerdict::quick);
  // 207 GPa; I = pi d^4 / 64; 4 mm at 18 mm is 0.2222 rad, 1.111 mm at the spring.
  const double rate = 3 * 207e3 * pi * std::pow(.7, 4) / 64 / 27000;
  const double pressed = 5 + 5 * 4. / 18;
  EXPECT_NEAR(value(key, "spring-rest"), rate * 5, 1e-9);
  EXPECT_NEAR(value(key, "spring-pressed"), rate * pressed, 1e-9);
  const double stress = 32 * rate * pressed * 30 / (pi * std::pow(.7, 3));
  const double strength = movement::in_megapascals(movement::music_wire_strength(millimetres(.7))->least);
  EXPECT_NEAR(value(key, "stress-share"), stress / strength, 1e-9);
  EXPECT_NEAR(value(key, "touch-hold"), rate * pressed * 5 / 16, 1e-9);
  // Both cones: half angle 20 degrees, tip 0.4 mm, 1.5 mm inside when home, half the play from home.
  const double c = .01 * std::tan(20 * pi / 180);
  const double inside = 1.5 - .01;
  const double r1 = .4 + c / 2;
  const double r2 = r1 + inside * std::tan(20 * pi / 180);
  const double film = 2 * pi * (std::pow(r2, 4) - std::pow(r1, 4)) /
                      (2 * c * std::cos(20 * pi / 180) * std::sin(20 * pi / 180));
  EXPECT_NEAR(value(key, "film") / film, 1, .02);
  EXPECT_NEAR(value(key, "drag-bench"), value(key, "film") * value(key, "viscosity-bench") * 1e-9, 1e-15);
  // Hardly any drag: x = M / k (1 - cos w t), friction 0.12 at the points' mean radius.
  const double inertia = 8 * 225 * 1e-6;
  const double rub = .12 * (r1 + r2) / 2;
  const double moment = rate * pressed * (5 - rub);
  const double slackens = rate * 25 * 4. / 18 / (4. / 18) * (5 - rub) / 5;
  const double omega = std::sqrt(slackens / inertia);
  const double t = std::acos(1 - 4. / 18 * slackens / moment) / omega * 1000;
  EXPECT_NEAR(value(key, "return-bench") / t, 1, .01);
  EXPECT_GT(value(key, "return-cold"), value(key, "return-bench"));
  EXPECT_GT(value(key, "viscosity-cold"), value(key, "viscosity-bench"));
  for (const Worked& f : key.figures) {
    EXPECT_TRUE(std::isfinite(f.value)) << f.code;
    EXPECT_GT(f.standard, 0) << f.code;
    EXPECT_FALSE(f.formula.empty()) << f.code;
  }
}

TEST(Action, AWeakSpringOnAHeavyKeyIsSluggish) {
  const auto w = worked(one(springy(cone_key("a", .02), .4, 1.5, 30)));
  const KeyAction& key = w.result->keys.front();
  EXPECT_EQ(key.verdict, ActionVerdict::sluggish);
  EXPECT_GT(value(key, "return-bench"), 40);
  EXPECT_NE(key.says.front().find("more than oil"), std::string::npos) << key.says.front();
  EXPECT_FALSE(key.thickest);
}

TEST(Action, NoSetAndHardlyAnySpringStays) {
  json k = springy(cone_key("a", .02), .7, 0, 8);
  // Friction above the spring's lever.
  k["spring"]["works_at"] = "0.05 mm";
  const auto w = worked(one(k));
  const KeyAction& key = w.result->keys.front();
  EXPECT_EQ(key.verdict, ActionVerdict::stays);
  EXPECT_FALSE(std::isfinite(value(key, "return-bench")));
  const std::string text = to_json(*w.result);
  EXPECT_EQ(text.find("nan"), std::string::npos);
  EXPECT_TRUE(json::parse(text)["keys"][0]["figures"]["return-bench"]["value"].is_null());
}

TEST(Action, ABindingKeyIsSaidToBind) {
  const auto w = worked(one(springy(cone_key("a", -.05), .7, 5, 8)));
  const KeyAction& key = w.result->keys.front();
  EXPECT_EQ(key.verdict, ActionVerdict::binds);
  EXPECT_EQ(key.figure("return-bench"), nullptr);
  // What does not hang on the joints is still told.
  EXPECT_NE(key.figure("touch-start"), nullptr);
}

TEST(Action, WhatIsMissingIsNamed) {
  const auto said = [](const json& key) {
    const auto w = worked(one(key));
    const KeyAction& k = w.result->keys.front();
    EXPECT_EQ(k.verdict, ActionVerdict::cannot_tell);
    std::string all;
    for (const auto& line : k.says) all += line + "\n";
    return all;
  };
  EXPECT_NE(said(cone_key("a", .02)).find("No spring"), std::string::npos);
  for (const char* member : {"diameter", "length", "set", "works_at"}) {
    json k = springy(cone_key("a", .02), .7, 5, 8);
    k["spring"].erase(member);
    EXPECT_NE(said(k).find(std::string("\"") + member + "\""), std::string::npos) << said(k);
    k["spring"][member] = "?";
    EXPECT_NE(said(k).find(std::string("\"") + member + "\""), std::string::npos);
  }
  json lever = springy(cone_key("a", .02), .7, 5, 8);
  lever.erase("pad");
  lever.erase("touch");
  EXPECT_NE(said(lever).find("neither a pad"), std::string::npos);
  // Bent twice its length over.
  json k = springy(cone_key("a", .02), .7, 29, 8);
  EXPECT_NE(said(k).find("further than"), std::string::npos);
}

TEST(Action, GuessesWhatWasNeverWeighed) {
  json k = springy(cone_key("a", .02), .7, 5, 8);
  k.erase("moving");
  const auto guessed = worked(one(k));
  const KeyAction& key = guessed.result->keys.front();
  EXPECT_EQ(key.verdict, ActionVerdict::quick);
  const auto weighed = worked(one(springy(cone_key("a", .02), .7, 5, 8)));
  EXPECT_GT(key.figure("return-bench")->standard / key.figure("return-bench")->value,
            weighed.result->keys.front().figure("return-bench")->standard /
                weighed.result->keys.front().figure("return-bench")->value);
  bool told = false;
  for (const Effect& e : key.figure("return-bench")->effects)
    told = told || e.given.name.find("guessed") != std::string::npos;
  EXPECT_TRUE(told);
}

TEST(Action, ALeverWithoutAPadMovesByItsTouch) {
  json k = springy(cone_key("a", .02), .7, 5, 8);
  k.erase("pad");
  const auto w = worked(one(k));
  EXPECT_EQ(w.result->keys.front().verdict, ActionVerdict::quick);
}

json rod_key(const char* id, const char* bore) {
  json k = springy(cone_key(id, .02), .7, 5, 8);
  k["hinge"] = {{"kind", "rod"},
                {"span", "120.05 mm ± 0.02"},
                {"key_length", "120 mm ± 0.02"},
                {"rod_diameter", "3 mm ± 0.0003"},
                {"bore", bore}};
  k["pad"]["station"] = "20 mm";
  return k;
}

TEST(Oil, ACloseRodInTheColdAsksForThinnerOil) {
  json i = instrument_json({rod_key("close", "3.008 mm ± 0.0005"), springy(cone_key("cone", .02), .7, 5, 8)});
  i["body"]["service_from"] = "0 degC";
  i["oil"] = {{"name", "heavy key oil"}};
  const auto w = worked(i);
  ASSERT_TRUE(w.result);
  const KeyAction& rod = w.result->keys[0];
  EXPECT_EQ(rod.verdict, ActionVerdict::sluggish_cold)
      << value(rod, "return-bench") << " " << value(rod, "return-cold");
  ASSERT_TRUE(rod.thickest);
  EXPECT_NE(*rod.thickest, "heavy key oil");
  EXPECT_EQ(w.result->keys[1].verdict, ActionVerdict::quick);
  EXPECT_EQ(*w.result->keys[1].thickest, "heavy key oil");
  // The whole instrument takes what its rod bears; the points alone would bear more.
  EXPECT_NE(w.result->advice.front().find(*rod.thickest), std::string::npos) << w.result->advice.front();
  EXPECT_NE(w.result->advice[1].find("points"), std::string::npos) << w.result->advice[1];
  // With the oil it was told to take it is in time.
  i["oil"]["name"] = *rod.thickest;
  const auto cured = worked(i);
  EXPECT_EQ(cured.result->keys[0].verdict, ActionVerdict::quick);
  for (const OilRow& row : w.result->oils) {
    EXPECT_LE(row.in_time, w.result->told);
    EXPECT_LE(row.quiet, w.result->told);
  }
}

TEST(Oil, ThickerKeepsMoreKeysQuietAndFewerInTime) {
  json i = instrument_json({rod_key("close", "3.008 mm ± 0.0005"), springy(cone_key("cone", .1), .7, 5, 8),
                            springy(cone_key("tight", .01), .7, 5, 8)});
  i["body"]["service_from"] = "0 degC";
  const auto w = worked(i);
  for (std::size_t k = 1; k < w.result->oils.size(); ++k) {
    EXPECT_LE(w.result->oils[k].in_time, w.result->oils[k - 1].in_time);
    EXPECT_GE(w.result->oils[k].quiet, w.result->oils[k - 1].quiet);
  }
}

TEST(Oil, NamesThatAreNotThereAreSaid) {
  json i = one(springy(cone_key("a", .02), .7, 5, 8));
  i["oil"] = {{"name", "midle key oil"}};
  i["keys"][0]["spring"]["material"] = "musik wire";
  const auto missing = names_missing(instrument_of(i), general_shop());
  ASSERT_EQ(missing.size(), 2u);
  EXPECT_NE(missing[0].expected.find("middle key oil"), std::string::npos);
  EXPECT_EQ(missing[0].place.pointer, "/oil/name");
  EXPECT_NE(missing[1].expected.find("music wire"), std::string::npos);
}

TEST(Oil, AnImpossibleOilIsRefusedWithItsPlace) {
  for (const char* oil :
       {R"({"name": "x", "grade": 33})", R"({"name": "x", "v40": "3 mm2/s", "index": 400})"}) {
    const record::Shop shop = test::must(record::read_shop(
        std::string(R"({"format": "hingeline-shop", "version": 1, "title": "S", "oils": [)") + oil + "]}",
        "s.json"));
    json i = one(springy(cone_key("a", .02), .7, 5, 8));
    i["oil"] = {{"name", "x"}};
    const auto w = worked(i, shop);
    ASSERT_FALSE(w.result);
    EXPECT_EQ(w.result.error().fault, Fault::content);
    EXPECT_EQ(w.result.error().place.pointer.rfind("/oils/0", 0), 0u);
  }
}

TEST(Oil, AShopWithOilsOfItsOwnNeedsNoPreset) {
  const record::Shop shop = test::must(record::read_shop(
      R"({"format": "hingeline-shop", "version": 1, "title": "S", "oils": [{"name": "own", "v40": "60 mm2/s"}]})",
      "s.json"));
  const auto w = worked(one(springy(cone_key("a", .02), .7, 5, 8)), shop);
  ASSERT_TRUE(w.result);
  EXPECT_EQ(w.result->oil, "own");
  EXPECT_FALSE(w.result->oil_said);
}

TEST(Wires, TheBestFits) {
  const auto w = worked(one(springy(cone_key("a", .02), .7, 5, 8)));
  const KeyAction& key = w.result->keys.front();
  ASSERT_FALSE(key.wires.empty());
  int best = 0;
  for (const WireRow& row : key.wires) {
    best += row.best ? 1 : 0;
    if (row.best) {
      EXPECT_EQ(row.option.fit, movement::WireFit::fits);
    }
    EXPECT_NEAR(in_newtons(row.option.touch_at_rest), .5, 1e-12);
  }
  EXPECT_EQ(best, 1);
}

TEST(Empty, AnInstrumentWithoutKeys) {
  const auto w = worked(instrument_json({}));
  ASSERT_TRUE(w.result);
  EXPECT_TRUE(w.result->keys.empty());
  EXPECT_EQ(w.result->told, 0);
  EXPECT_FALSE(w.result->advice.empty());
  EXPECT_EQ(json::parse(to_json(*w.result))["keys"].size(), 0u);
}

}  // namespace
}  // namespace hingeline::service

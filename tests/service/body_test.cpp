// From documents to a bent body, leaning posts and seasons, and to the words and JSON they end in.

#include <gtest/gtest.h>

#include <cmath>

#include "documents.h"
#include "hingeline/service/bow.h"
#include "hingeline/service/season.h"

namespace hingeline::test {
namespace {

using nlohmann::json;
using service::BowResult;
using service::SeasonResult;

const record::Shop& shop() { return service::general_shop(); }

Expected<BowResult> bow_of(const json& document) {
  const auto instrument = instrument_of(document);
  return service::bow(service::work_out(instrument, shop(), 1), instrument, shop());
}
Expected<SeasonResult> season_of(const json& document, const std::string& service = {}) {
  const auto instrument = instrument_of(document);
  return service::season(service::work_out(instrument, shop(), 1), instrument, shop(), service);
}

/// Four keys, on both sides of a body with this bow over 400 mm.
json bent(double sagitta, std::vector<double> plays) {
  std::vector<json> keys;
  for (std::size_t i = 0; i < plays.size(); ++i) {
    json key = cone_key("k" + std::to_string(i), plays[i]);
    key["hinge"]["off_axis"] = i % 2 == 0 ? "20 mm ± 1" : "-20 mm ± 1";
    keys.push_back(std::move(key));
  }
  json doc = instrument_json(keys);
  doc["body"]["bow"] = {
      {"chord", "400 mm"},
      {"readings", {{{"station", "200 mm"}, {"value", std::to_string(sagitta) + " mm ± 0.02"}}}}};
  return doc;
}

TEST(Bow, ExplainsKeysByTheFormula) {
  const auto r = bow_of(bent(0.8, {0.02, 0.05, 0.02, 0.05}));
  ASSERT_TRUE(r) << r.error().what;
  const double k = 8 * 0.8 / (400.0 * 400 + 4 * 0.64);
  EXPECT_NEAR(r->read->curvature.value, 1000 * k, 1e-12);
  EXPECT_NEAR(r->read->sagitta.value, 0.8, 1e-9);
  EXPECT_NEAR(r->read->radius->value, 0.001 / k, 1e-9);
  // -kappa y S, less the lean kappa S / 2 times h / sin 2a at both ends: h 1.5 mm, a 20 degrees.
  const double tilt = 2 * (k * 40.4 / 2) * 1.5 / std::sin(2 * 20 * std::acos(-1.0) / 180);
  EXPECT_NEAR(r->keys[0].effect.value, -k * 20 * 40.4 - tilt, 4e-5);
  EXPECT_NEAR(r->keys[1].effect.value, k * 20 * 40.4 - tilt, 4e-5);
  EXPECT_NEAR(r->keys[0].tilt_cost.raw(), tilt, 2e-5);
  EXPECT_NEAR(r->keys[1].remains.value, 0.05 - r->keys[1].effect.value, 1e-4);
  // To the first order the curvature's ± and the place's add by squares.
  const double by_curvature = (20 * 40.4 + tilt / k) * r->read->curvature.standard / 1000;
  const double by_place = k * 40.4 * 0.5;
  EXPECT_NEAR(r->keys[0].effect.standard, std::hypot(by_curvature, by_place), 0.02 * by_curvature);
  ASSERT_TRUE(r->keys[1].share);
  EXPECT_NEAR(r->keys[1].share->value,
              100 * r->keys[1].effect.value / (r->keys[1].end_play.value - r->keys[1].high.raw()), 1e-6);
}

TEST(Bow, SideTurnsTheSign) {
  json doc = bent(0.8, {0.02, 0.05});
  doc["body"]["bow"]["side"] = "minus";
  const auto r = bow_of(doc);
  EXPECT_LT(r->read->curvature.value, 0);
  EXPECT_GT(r->keys[0].effect.value, 0);
  EXPECT_NE(r->words.front().in(LengthUnit::mm).find("hollow on the minus side"), std::string::npos);
}

TEST(Bow, KeysAgreeOrContradict) {
  // Made with the bend of 0.8 mm over 400: -0.032 and +0.032 mm but for the tilts.
  const auto agrees = bow_of(bent(0.8, {-0.01, 0.05, -0.01, 0.05}));
  ASSERT_TRUE(agrees->comparison);
  EXPECT_FALSE(agrees->comparison->contradict());
  EXPECT_NE(agrees->words.back().in(LengthUnit::mm).find("agrees with the straightedge"), std::string::npos);
  json doc = bent(-4, {-0.1, 0.16, -0.1, 0.16, -0.1, 0.16});
  const auto contradicts = bow_of(doc);
  ASSERT_TRUE(contradicts->comparison);
  EXPECT_TRUE(contradicts->comparison->contradict());
  EXPECT_NE(contradicts->words.back().in(LengthUnit::mm).find("contradicts the straightedge"),
            std::string::npos);
}

TEST(Bow, KeysAloneTell) {
  json doc = bent(1, {-0.04, 0.09, -0.04, 0.09});
  doc["body"].erase("bow");
  const auto r = bow_of(doc);
  ASSERT_TRUE(r);
  EXPECT_FALSE(r->read);
  ASSERT_TRUE(r->told);
  EXPECT_GT(r->told->curvature.value, r->told->curvature.plus_minus());
  EXPECT_FALSE(r->keys[0].effect.code.empty());
}

TEST(Bow, SaysWhenItIsNotEvenAndTakesTheBendWhereTheKeyStands) {
  json doc = bent(1, {0.02, 0.05});
  json readings = json::array();
  // A kink at 200 mm.
  for (int z = 0; z <= 400; z += 40) {
    readings.push_back({{"station", std::to_string(z) + " mm ± 0"},
                        {"value", std::to_string(1.0 - 0.005 * std::abs(z - 200)) + " mm ± 0.02"}});
  }
  doc["body"]["bow"]["readings"] = readings;
  doc["keys"][0]["hinge"]["along"] = "180 mm";
  doc["keys"][1]["hinge"]["along"] = "20 mm";
  const auto r = bow_of(doc);
  ASSERT_TRUE(r);
  EXPECT_FALSE(r->read->bow.even);
  bool said = false;
  for (const Said& w : r->words)
    said = said || w.in(LengthUnit::mm).find("not one even bend") != std::string::npos;
  EXPECT_TRUE(said);
  EXPECT_LT(r->keys[0].effect.value, -0.05);
  EXPECT_NEAR(r->keys[1].effect.value, 0, 1e-3);
}

TEST(Bow, PostsSayWhatTheyCostAndWhichWayToBringThem) {
  json key = cone_key("a", 0.02);
  key["hinge"]["post_height"] = "9 mm ± 0.2";
  key["hinge"]["upper"]["post"]["lean"] = "1 deg ± 0.1";
  key["hinge"]["lower"]["post"]["turn"] = "0.5 deg ± 0.1";
  key["hinge"]["lower"]["post"]["across"] = "0.3 mm ± 0.05";
  const auto r = bow_of(instrument_json({key}));
  ASSERT_TRUE(r) << r.error().what;
  ASSERT_EQ(r->posts.size(), 1U);
  const auto& p = r->posts.front();
  const double degree = std::acos(-1.0) / 180;
  EXPECT_NEAR(p.span_change.value, 9 * std::sin(degree) + 0.3 * 0.3 / (2 * 40.4), 1e-4);
  EXPECT_NEAR(p.upper_tilt.value, std::hypot(degree, 0.3 / 40.4), 2e-4);
  // (h (U - T) - 2 r (1 - cos g) + r sin g (U - T)) / (T + U), h 1.5 mm, r 0.4 mm, a 20 degrees.
  const auto cost = [&](double g) {
    const double t = std::tan(20 * degree);
    const double u = std::tan(20 * degree + g);
    return (1.5 * (u - t) - 0.8 * (1 - std::cos(g)) + 0.4 * std::sin(g) * (u - t)) / (t + u);
  };
  EXPECT_NEAR(p.effect.value, p.span_change.value - cost(p.upper_tilt.value) - cost(p.lower_tilt.value),
              1e-4);
  ASSERT_EQ(p.corrections.size(), 3U);
  EXPECT_EQ(
      p.corrections[0].in(LengthUnit::mm).find("lean the upper post back inwards by 1.00 ± 0.10°, 0.157"), 0U)
      << p.corrections[0].in(LengthUnit::mm);
  EXPECT_EQ(p.corrections[1].in(LengthUnit::mm), "turn the lower post back by 0.50 ± 0.10°");
  EXPECT_EQ(p.corrections[2].in(LengthUnit::mm),
            "bring the posts into line across: they are 0.300 ± 0.050 mm out");
  // What is within its ± is left.
  key["hinge"]["upper"]["post"]["lean"] = "0.05 deg ± 0.1";
  const auto small = bow_of(instrument_json({key}));
  EXPECT_NE(small->posts.front().corrections[0].in(LengthUnit::mm).find("leave it"), std::string::npos);
}

TEST(Bow, ARodThatThePostsBendBinds) {
  json rod = {{"id", "rod"},
              {"hinge",
               {{"kind", "rod"},
                {"span", "60.1 mm"},
                {"key_length", "60 mm"},
                {"rod_diameter", "2.00 mm ± 0.001"},
                {"bore", "2.03 mm ± 0.001"},
                {"upper", {{"post", {{"turn", "1 deg ± 0.05"}}}}}}},
              {"readings", {{"end_play", "0.03 mm ± 0.01"}}}};
  const auto r = bow_of(instrument_json({rod}));
  ASSERT_TRUE(r) << r.error().what;
  const auto& p = r->posts.front();
  const double slope = std::tan(std::acos(-1.0) / 180);
  EXPECT_NEAR(p.bow->value, 60.1 * slope * 4 / 27, 1e-4);
  const double moment = std::acos(-1.0) * 16 / 64;
  EXPECT_NEAR(p.force->value, 48 * 207000 * moment * (p.bow->value - 0.03) / std::pow(60.1, 3),
              0.02 * p.force->value);
  EXPECT_NE(p.words.in(LengthUnit::mm).find("it binds with"), std::string::npos);
}

TEST(Bow, AbsurdButPossibleInputsGiveSaneWords) {
  // Straight to the hundredth.
  const auto straight = bow_of(bent(0.0, {0.02, 0.02}));
  ASSERT_TRUE(straight);
  EXPECT_NE(straight->words.front().in(LengthUnit::mm).find("no bend is shown"), std::string::npos);
  EXPECT_FALSE(straight->read->radius);
  // Nothing at all, no keys at all.
  EXPECT_EQ(bow_of(instrument_json({cone_key("a", 0.02)})).error().fault, Fault::content);
  EXPECT_EQ(bow_of(instrument_json({})).error().fault, Fault::content);
  // A bow and no key.
  json empty = bent(0.8, {});
  empty["keys"] = json::array();
  EXPECT_TRUE(bow_of(empty));
  // Heights no body has; the place is the bow's.
  const auto wild = bow_of(bent(150, {0.02}));
  ASSERT_FALSE(wild);
  EXPECT_EQ(wild.error().fault, Fault::geometry);
  EXPECT_EQ(wild.error().place.pointer, "/body/bow");
  // A hinge line beyond the bend's centre is that key's own problem.
  json beyond = bent(80, {0.02, 0.02});
  beyond["keys"][0]["hinge"]["off_axis"] = "900 mm";
  const auto r = bow_of(beyond);
  ASSERT_TRUE(r) << r.error().what;
  EXPECT_TRUE(r->keys[0].problem);
  EXPECT_FALSE(r->keys[1].problem);
  // An empty reading is left out.
  json lacking = bent(0.8, {0.02});
  lacking["body"]["bow"]["readings"].push_back({{"station", "100 mm"}, {"value", "?"}});
  EXPECT_NE(bow_of(lacking)->notes.size(), 0U);
}

TEST(Bow, JsonSaysTheSame) {
  const auto r = bow_of(bent(0.8, {0.02, 0.05}));
  const json j = json::parse(service::to_json(*r, LengthUnit::mm));
  EXPECT_NEAR(j["body"]["read"]["curvature"]["value"].get<double>(), r->read->curvature.value, 1e-6);
  EXPECT_NEAR(j["keys"][1]["effect"]["value"].get<double>(), r->keys[1].effect.value, 1e-6);
  EXPECT_EQ(j["keys"][1]["words"], r->keys[1].words.in(LengthUnit::mm));
  EXPECT_EQ(json::parse(service::to_json(*r, LengthUnit::mm, "k1"))["keys"].size(), 1U);
}

// ---- season

json made_of(const char* body, const char* keys, double end_play) {
  json doc = instrument_json({cone_key("a", end_play)});
  doc["body"]["material"] = body;
  doc["key_material"]["material"] = keys;
  return doc;
}

TEST(Season, PlasticBodiesBindInTheCold) {
  // Common practice; 85 against 16.7 millionths, 40.4 mm, 15 K each way: 0.0414 mm.
  const auto r = season_of(made_of("plastic", "nickel silver", 0.02), "outdoor band");
  ASSERT_TRUE(r) << r.error().what;
  const auto& k = r->keys.front();
  const double swing = 40.4 * (85 - 16.7) * 1e-6 * 15;
  EXPECT_NEAR(k.bench.value - k.coldest.value, swing, 1e-5);
  EXPECT_NEAR(k.warmest.value - k.bench.value, swing, 1e-5);
  EXPECT_EQ(k.binds, body::Sure::yes);
  EXPECT_EQ(k.verdict.find("binds in the cold"), 0U) << k.verdict;
  EXPECT_TRUE(k.window.crossed());
  EXPECT_NEAR(k.window.low.raw() - k.needed.raw(), swing, 1e-5);
  EXPECT_NE(k.because.in(LengthUnit::mm).find("no fit at the bench holds everywhere"), std::string::npos);
  // JCGM 100, 5.1.2: both expansions over 15 K, and the end play's own.
  const double expected = std::sqrt(std::pow(40.4 * 15 * 10e-6, 2) + std::pow(40.4 * 15 * 0.85e-6, 2) +
                                    std::pow(k.bench.standard, 2));
  EXPECT_NEAR(k.coldest.standard, expected, 2e-5);
}

TEST(Season, BrassOnBrassStays) {
  const auto r = season_of(made_of("brass", "brass", 0.02), "outdoor band");
  EXPECT_EQ(r->keys.front().verdict, "holds");
  EXPECT_EQ(r->drier, 0);
  EXPECT_NEAR(r->keys.front().coldest.value, r->keys.front().bench.value, 1e-12);
}

TEST(Season, WoodFeelsMoistureAndTheDocumentsOwnWordComesFirst) {
  json doc = made_of("hard wood", "nickel silver", 0.02);
  const auto r = season_of(doc, "outdoor band");
  const auto& k = r->keys.front();
  EXPECT_EQ(r->drier, 2);
  EXPECT_EQ(service::where(k.least_in), "when warm and dry");
  // 116e-6 per percent over 2 percent and 40.4 mm, and 12.7e-6 over 15 K.
  EXPECT_NEAR(k.bench.value - k.least.value, 40.4 * (116e-6 * 2 + 12.7e-6 * 15), 1e-5);
  doc["body"]["moisture"] = "0.03 mm ± 0.01";
  EXPECT_NEAR(season_of(doc, "outdoor band")->keys.front().least.value,
              k.bench.value - 0.03 - 40.4 * 12.7e-6 * 15, 1e-5);
}

TEST(Season, TheWindowOfThePlanMovesByTheSameFormula) {
  json doc = made_of("plastic", "nickel silver", 0.02);
  doc["body"]["service"] = "outdoor band";
  const auto instrument = instrument_of(doc);
  const auto result = service::work_out(instrument, shop(), 1);
  double thermal = 0;
  for (const auto& p : result.keys.front().plan.window.low_parts) {
    if (p.name == "temperature over the service range") thermal = p.amount.raw();
  }
  const auto r = season_of(doc);
  EXPECT_NEAR(thermal, r->keys.front().window.low_part.raw(), 1e-9);
  EXPECT_EQ(r->service, "outdoor band");
}

TEST(Season, NamesAndMaterialsAreAskedFor) {
  EXPECT_EQ(season_of(made_of("brass", "brass", 0.02), "outdor band").error().fault, Fault::not_found);
  EXPECT_EQ(season_of(made_of("brass", "brass", 0.02), "outdor band").error().expected,
            "perhaps \"outdoor band\"");
  EXPECT_EQ(season_of(instrument_json({cone_key("a", 0.02)})).error().fault, Fault::content);
  // Nowhere said where it is played: it is said, and nothing changes.
  const auto r = season_of(made_of("plastic", "brass", 0.02));
  ASSERT_TRUE(r);
  EXPECT_EQ(r->notes.size(), 1U);
  EXPECT_EQ(r->keys.front().verdict, "holds");
  json doc = made_of("brass", "brass", 0.02);
  doc["body"]["service"] = "nowhere";
  const auto missing = service::names_missing(instrument_of(doc), shop());
  ASSERT_EQ(missing.size(), 1U);
  EXPECT_EQ(missing.front().place.pointer, "/body/service");
  EXPECT_TRUE(season_of(instrument_json({}), "stage").error().fault == Fault::content);
}

TEST(Season, JsonSaysTheSame) {
  const auto r = season_of(made_of("plastic", "nickel silver", 0.02), "stage");
  const json j = json::parse(service::to_json(*r, LengthUnit::mm));
  EXPECT_EQ(j["service"], "stage");
  EXPECT_EQ(j["temperature"]["coldest"], 15.0);
  EXPECT_EQ(j["keys"][0]["verdict"], r->keys.front().verdict);
  EXPECT_NEAR(j["keys"][0]["end_play"]["coldest"]["value"].get<double>(), r->keys.front().coldest.value,
              1e-6);
}

}  // namespace
}  // namespace hingeline::test

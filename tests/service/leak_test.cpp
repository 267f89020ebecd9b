// Leaks from documents: against the formula by hand, and what odd documents say.

#include "hingeline/service/leak.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "documents.h"

namespace hingeline::service {
namespace {

using nlohmann::json;
using test::cone_key;
using test::instrument_json;

/// The shop of the tests: round figures, one of them sure.
record::Shop plain_shop(json seal = json::object()) {
  json j = {{"format", "hingeline-shop"},
            {"version", 1},
            {"title", "Shop"},
            {"presets",
             {{"seal",
               {{"land", "1 mm"},
                {"take_up", "0.01 mm ± 0.004"},
                {"rim_stiffness", "0.5 N/mm2"},
                {"finger_force", "1 N"},
                {"test_pressure", "2 kPa"},
                {"discharge", 0.61},
                {"hole_allowed", "0.3 mm"},
                {"reading_share", 0.1},
                {"sum_share", 0.2}}}}}};
  j["presets"]["seal"].update(seal);
  return test::must(record::read_shop(j.dump(), "shop.json"));
}

struct Told {
  record::Instrument instrument;
  record::Shop shop;
  InstrumentResult result;
  InstrumentLeak leaks;
};
Expected<Told> try_tell(const json& document, record::Shop shop) {
  Told t{test::instrument_of(document), std::move(shop), {}, {}};
  t.result = work_out(t.instrument, t.shop, 1);
  auto leaks = leak_of(t.result, t.instrument, t.shop);
  if (!leaks) return tl::unexpected(leaks.error());
  t.leaks = std::move(*leaks);
  return t;
}
Told told(const json& document) { return try_tell(document, plain_shop()).value(); }

json touch(const std::string& station) {
  return {{"arm", "18 mm"}, {"force", "0.6 N"}, {"fingers", {{{"name", "there"}, {"station", station}}}}};
}

TEST(LeakOfADocument, IsTheFormulaByHand) {
  // Cones of 20 degrees at both ends: with an end play E the worst gap is tone hole x E tan(20) / key length
  // side to side and tone hole x E/2 tan(20) / arm front to back, whichever place gives more together.
  const Told t = told(instrument_json({cone_key("one", 0.12)}));
  const KeyLeak& k = t.leaks.keys[0];
  const double gap = k.gap.value;
  EXPECT_GT(gap, 0.02);
  EXPECT_NEAR(gap, t.result.keys[0].estimate()[Figure::worst_gap].value, 1e-15);
  // Wedge from 0 to the gap less 0.01, by a sum over the rim of 20 mm, 1 mm wide.
  const double mu = 1.8134e-5;
  const double rho = 1.204;
  const double w = 0.01 * std::log(1 + 2.0 / 20);
  double slit = 0;
  double both = 0;
  constexpr int kSteps = 20000;
  for (int n = 0; n < kSteps; ++n) {
    const double psi = 2 * std::numbers::pi * (n + 0.5) / kSteps;
    const double h = 1e-3 * std::max(0.0, gap * (1 + std::cos(psi)) / 2 - 0.01);
    if (h == 0) continue;
    const double a = rho / (2 * 0.61 * 0.61);
    const double b = 12 * mu * w / (h * h);
    slit += h * 2000 / b;
    both += h * 2 * 2000 / (b + std::sqrt(b * b + 4 * a * 2000));
  }
  const double rim = 1e6 * std::numbers::pi * 0.02 / kSteps;
  EXPECT_NEAR(in_millilitres_per_second(k.flow.slit) / (slit * rim), 1, 1e-4);
  EXPECT_NEAR(k.leak.value / (both * rim), 1, 1e-3);
  // "As a hole": that orifice lets as much through.
  const double hole = k.hole.value * 1e-3;
  EXPECT_NEAR(1e6 * 0.61 * std::numbers::pi / 4 * hole * hole * std::sqrt(2 * 2000 / rho), k.leak.value,
              1e-3 * k.leak.value);
  EXPECT_GT(k.leak.standard, 0);
  EXPECT_NEAR(k.share, 1, 1e-12);
  EXPECT_NEAR(t.leaks.total.value, k.leak.value, 1e-12);
}

TEST(LeakOfADocument, ASumIsTheSumAndWhatIsSharedCountsOnce) {
  const Told t =
      told(instrument_json({cone_key("one", 0.12), cone_key("two", 0.16), cone_key("three", 0.14)}));
  double sum = 0;
  double shares = 0;
  double straight = 0;
  for (const KeyLeak& k : t.leaks.keys) {
    sum += k.leak.value;
    shares += k.share;
    straight += k.leak.standard;
  }
  EXPECT_NEAR(t.leaks.total.value, sum, 1e-9);
  EXPECT_NEAR(shares, 1, 1e-12);
  // The take-up is one number for all: doubts add up nearly straight, not by squares.
  EXPECT_GT(t.leaks.total.standard, 0.8 * straight);
  EXPECT_LE(t.leaks.total.standard, 1.001 * straight);
}

TEST(LeakOfADocument, MorePlayLeaksMoreAndMoreGiveLess) {
  double before = -1;
  for (const double play : {0.02, 0.06, 0.1, 0.14, 0.18}) {
    const Told t = told(instrument_json({cone_key("one", play)}));
    EXPECT_GE(t.leaks.keys[0].leak.value, before) << play;
    before = t.leaks.keys[0].leak.value;
  }
  json soft = cone_key("one", 0.18);
  soft["pad"]["take_up"] = "0.03 mm ± 0.004";
  EXPECT_LT(told(instrument_json({soft})).leaks.keys[0].leak.value, before);
  json wide = cone_key("one", 0.18);
  wide["pad"]["land"] = "3 mm";
  EXPECT_LT(told(instrument_json({wide})).leaks.keys[0].leak.value, before);
}

TEST(LeakOfADocument, SealsUnderOneFingerAndLeaksUnderAnother) {
  json key = cone_key("one", 0.18);
  key["touch"] = touch("20 mm");
  key["touch"]["fingers"].push_back({{"name", "far out"}, {"station", "60 mm"}});
  const Told t = told(instrument_json({key}));
  const KeyLeak& k = t.leaks.keys[0];
  ASSERT_EQ(k.fingers.size(), 2u);
  EXPECT_TRUE(seals(k.fingers[0]));
  EXPECT_FALSE(seals(k.fingers[1]));
  EXPECT_EQ(k.worst_finger, 1u);
  EXPECT_EQ(k.best_finger, 0u);
  EXPECT_GT(k.fingers[1].gap.value, 0);
  EXPECT_GT(k.fingers[1].leak.standard, 0);
  std::string all;
  for (const auto& line : tell(k, t.leaks, LengthUnit::mm)) all += line + "\n";
  EXPECT_NE(all.find("seals under one finger and leaks under another"), std::string::npos) << all;
}

TEST(LeakOfADocument, PressedStraightAboveIsTheRingByHand) {
  // Finger in line with the pad and beside it, no play to speak of: the ring carries all, rim 20 pi mm at 0.5
  // N/mm2.
  json key = cone_key("one", 0.0);
  key["readings"]["end_play"] = {{"value", 0.0}, {"unit", "mm"}, {"plus_minus", 0.0005}};
  key["touch"] = touch("20 mm");
  const Told t = told(instrument_json({key}));
  const KeyLeak& k = t.leaks.keys[0];
  ASSERT_EQ(k.fingers.size(), 1u);
  const auto& p = k.fingers[0].found.pressed;
  EXPECT_NEAR(in_newtons(p.pad), 0.6 * 18 * 18 / (18 * 18 + 50), 0.1);
  EXPECT_NEAR(p.contact_share, 1, 1e-12);
}

TEST(LeakOfADocument, OddButPossible) {
  // No touch, no pad, a key that binds, a spring too strong for the finger, a spring alone.
  json bare = cone_key("bare", 0.1);
  bare.erase("pad");
  json untouched = cone_key("untouched", 0.1);
  json binds = cone_key("binds", -0.05);
  binds["touch"] = touch("20 mm");
  json strong = cone_key("strong", 0.1);
  strong["touch"] = touch("20 mm");
  strong["pad"]["closing_force"] = "-5 N";
  json sprung = cone_key("sprung", 0.05);
  sprung["pad"]["closing_force"] = "1 N";
  json nameless = cone_key("nameless", 0.1);
  nameless["touch"] = {{"arm", "18 mm"}};
  const Told t = told(instrument_json({bare, untouched, binds, strong, sprung, nameless}));
  const auto at = [&](const char* id) { return *find_key(t.leaks, id).value(); };
  EXPECT_EQ(at("bare").nothing, "no pad");
  EXPECT_NE(at("untouched").unpressed.find("no touch"), std::string::npos);
  EXPECT_TRUE(at("binds").fingers.empty());
  EXPECT_NE(at("binds").nothing.find("binds"), std::string::npos);
  ASSERT_EQ(at("strong").fingers.size(), 1u);
  EXPECT_FALSE(at("strong").fingers[0].found.pressed.closes);
  EXPECT_FALSE(seals(at("strong").fingers[0]));
  ASSERT_EQ(at("sprung").fingers.size(), 1u);
  EXPECT_EQ(at("sprung").fingers[0].name, "spring");
  EXPECT_TRUE(at("sprung").fingers[0].found.pressed.closes);
  EXPECT_EQ(at("nameless").fingers[0].name, "beside the pad");
  for (const KeyLeak& k : t.leaks.keys) {
    for (const auto& line : explain(k, t.leaks, LengthUnit::inch)) {
      EXPECT_EQ(line.find("nan"), std::string::npos) << line;
      EXPECT_EQ(line.find("inf "), std::string::npos) << line;
    }
  }
  EXPECT_FALSE(find_key(t.leaks, "strang"));
  EXPECT_EQ(find_key(t.leaks, "strang").error().expected, "perhaps \"strong\"");
}

TEST(LeakOfADocument, NoKeysAtAllOrNoneWithAPad) {
  json bare = cone_key("bare", 0.1);
  bare.erase("pad");
  const Told t = told(instrument_json({bare}));
  EXPECT_EQ(t.leaks.total.value, 0);
  EXPECT_EQ(tell(t.leaks, LengthUnit::mm).size(), 1u);
  EXPECT_NE(tell(t.leaks, LengthUnit::mm)[0].find("none"), std::string::npos);
}

TEST(LeakOfADocument, AReadingIsHeldAgainstTheSum) {
  json document = instrument_json({cone_key("one", 0.16), cone_key("two", 0.12)});
  const double sum = told(document).leaks.total.value;
  // By decay: 1000 mL from 2.2 to 1.8 kPa in the time that this leak takes.
  const double time = 1000 / (sum / 2 * 101.325) * std::log(2.2 / 1.8);
  document["leak_reading"] = {{"pressure_from", "2.2 kPa"},
                              {"pressure_to", "1.8 kPa"},
                              {"time", {{"value", time}, {"unit", "s"}}},
                              {"volume", "1000 mL"}};
  const Told agrees = told(document);
  ASSERT_TRUE(agrees.leaks.measured);
  EXPECT_NEAR(agrees.leaks.measured->read.value, sum, 1e-6 * sum);
  EXPECT_NE(agrees.leaks.measured->says.find("agree"), std::string::npos);
  EXPECT_NEAR(agrees.leaks.measured->take_up.value, 0.01, 0.003);
  EXPECT_LT(agrees.leaks.measured->take_up.standard, 0.002);

  document["leak_reading"] = {{"flow", {{"value", 20 * sum}, {"unit", "mL/s"}}}, {"pressure", "2 kPa"}};
  const Told more = told(document);
  EXPECT_GT(more.leaks.measured->unexplained.raw(), 0);
  EXPECT_NE(more.leaks.measured->says.find("look elsewhere"), std::string::npos);
  EXPECT_LT(more.leaks.measured->take_up.value, 0.01);

  document["leak_reading"] = {{"flow", {{"value", 0.01 * sum}, {"unit", "mL/s"}}}, {"pressure", "2 kPa"}};
  const Told less = told(document);
  EXPECT_GT(less.leaks.measured->take_up.value, 0.01);

  // Read at another pressure it is brought to the test pressure.
  document["leak_reading"] = {{"flow", {{"value", sum}, {"unit", "mL/s"}}}, {"pressure", "4 kPa"}};
  EXPECT_NEAR(told(document).leaks.measured->read.value, sum / 2, 1e-9 * sum);
}

TEST(LeakOfADocument, AReadingThatIsNotWholeIsRefusedWithItsPlace) {
  json document = instrument_json({cone_key("one", 0.16)});
  document["leak_reading"] = {{"flow", "3 mL/s"}};
  const auto half = try_tell(document, plain_shop());
  ASSERT_FALSE(half);
  EXPECT_EQ(half.error().fault, Fault::content);
  EXPECT_EQ(half.error().place.pointer, "/leak_reading");
  document["leak_reading"] = {
      {"pressure_from", "1 kPa"}, {"pressure_to", "2 kPa"}, {"time", "3 s"}, {"volume", "900 mL"}};
  const auto rises = try_tell(document, plain_shop());
  ASSERT_FALSE(rises);
  EXPECT_EQ(rises.error().place.pointer, "/leak_reading");
  // A take-up that is sure cannot be weighed.
  document["leak_reading"] = {{"flow", "3 mL/s"}, {"pressure", "2 kPa"}};
  EXPECT_FALSE(try_tell(document, plain_shop({{"take_up", {{"value", 0.01}, {"unit", "mm"}}}})));
}

TEST(LeakOfADocument, AShopWithoutSuchFiguresHasTheGeneralOnes) {
  const auto t =
      try_tell(instrument_json({cone_key("one", 0.16)}),
               test::must(record::read_shop(R"({"format": "hingeline-shop", "version": 1, "title": "Bare"})",
                                            "bare.json")));
  ASSERT_TRUE(t);
  EXPECT_EQ(in_pascals(t->leaks.conditions.over), 2000);
  EXPECT_EQ(t->leaks.keys[0].leak.effects[0].given.origin, Origin::preset);
}

TEST(LeakOfADocument, JsonSaysTheSame) {
  json key = cone_key("one", 0.18);
  key["touch"] = touch("60 mm");
  json document = instrument_json({key, cone_key("two", 0.1)});
  document["leak_reading"] = {{"flow", "3 mL/s"}, {"pressure", "2 kPa"}};
  const Told t = told(document);
  const json out = json::parse(to_json(t.leaks, LengthUnit::mm));
  const KeyLeak& k = t.leaks.keys[0];
  EXPECT_EQ(out["keys"].size(), 2u);
  EXPECT_NEAR(out["keys"][0]["leak"]["value"].get<double>(), k.leak.value, 1e-6);
  EXPECT_NEAR(out["keys"][0]["fingers"][0]["leak"]["value"].get<double>(), k.fingers[0].leak.value, 1e-6);
  EXPECT_NEAR(out["keys"][0]["fingers"][0]["gap"]["value"].get<double>(), k.fingers[0].gap.value, 1e-6);
  EXPECT_EQ(out["keys"][0]["worst_finger"], "there");
  EXPECT_NEAR(out["total"]["value"].get<double>(), t.leaks.total.value, 1e-6);
  EXPECT_NEAR(out["measured"]["take_up"]["value"].get<double>(), t.leaks.measured->take_up.value, 1e-6);
  EXPECT_EQ(out["said"][0], tell(t.leaks, LengthUnit::mm)[0]);
  EXPECT_EQ(json::parse(to_json(t.leaks, LengthUnit::mm, "two"))["keys"].size(), 1u);
}

}  // namespace
}  // namespace hingeline::service

// Wear of a key by hand, what its past teaches, and words for what can be absurd.

#include "hingeline/service/wear.h"

#include <gtest/gtest.h>

#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>
#include <numbers>

#include "documents.h"

namespace hingeline::service {
namespace {

using nlohmann::json;

struct Worn {
  record::Instrument instrument;
  record::Shop shop;
  InstrumentResult bench;
  Expected<WearResult> result;
};
/// `presets` goes into the general figures' wear; sharp figures make the growth a number.
std::unique_ptr<Worn> worn(const json& instrument, const json& wear = nullptr) {
  auto out = std::make_unique<Worn>(Worn{test::instrument_of(instrument), general_shop(), {}, WearResult{}});
  if (!wear.is_null()) {
    json shop = {{"format", "hingeline-shop"}, {"version", 1}, {"title", "t"}, {"presets", {{"wear", wear}}}};
    out->shop.presets.wear = test::must(record::read_shop(shop.dump(), "shop.json")).presets.wear;
  }
  out->bench = work_out(out->instrument, out->shop, 1);
  out->result = wear_of(out->instrument, out->shop, out->bench, "2026-11-25");
  return out;
}
json sharp() {
  return {{"pairs", {{{"name", "brass on steel"}, {"coefficient", "5 1e-6"}, {"hardness", "1200 MPa"}}}},
          {"hours", "10 h/week"},
          {"closings", "4000 closings/h"},
          {"load", "1 N"},
          {"swing", "10 deg"},
          {"share", 0.5},
          {"edge", "0.2 mm"},
          {"unsteady", 0}};
}

TEST(WearService, ByHand) {
  const auto w = worn(test::instrument_json({test::cone_key("a", 0.02)}), sharp());
  ASSERT_TRUE(w->result) << w->result.error().what;
  const KeyWear& k = w->result->keys.at(0);
  ASSERT_FALSE(k.problem) << k.problem->what;
  // A flank from the tip, 0.4 mm, over 1.5 mm at 20 degrees, both ends alike, half of it carrying.
  const double a = 20 * std::numbers::pi / 180;
  const double r = 0.4;
  const double R = r + 1.5 * std::tan(a);
  const double area = 0.5 * std::numbers::pi * (R * R - r * r) / std::sin(a);
  const double slid = 2.0 / 3 * (R * R * R - r * r * r) / (R * R - r * r) * 2 * 10 * std::numbers::pi / 180;
  const double per_closing = 2 * 5e-6 * slid / 1200 / area / std::sin(a);
  const double per_year = per_closing * 4000 * 10 * 365.2425 / 7;
  EXPECT_NEAR(k.reckoned.median / per_year, 1, 0.02);
  EXPECT_LT(k.reckoned.spread, 0.05);
  EXPECT_NEAR(endurance::in_years(k.due.middle), (in_millimetres(k.edge) - k.now.value) / k.reckoned.median,
              0.05 * endurance::in_years(k.due.middle));
}

TEST(WearService, TheGeneralFiguresGiveDecades) {
  const auto w = worn(test::instrument_json({test::cone_key("a", 0.02)}));
  ASSERT_TRUE(w->result);
  const KeyWear& k = w->result->keys.at(0);
  EXPECT_GT(k.due.late, 50 * k.due.early);
  EXPECT_EQ(k.inputs.front().name, "wear coefficient k, brass on steel");
  double shares = 0;
  for (const WearInput& i : k.inputs) shares += i.share;
  EXPECT_NEAR(shares, 1, 1e-12);
  EXPECT_NE(tell(k, LengthUnit::mm).find("nine times in ten"), std::string::npos);
}

TEST(WearService, ItsOwnPastSaysMore) {
  json key = test::cone_key("a", 0.02);
  key["past"] = {{{"on", "2020-11-25"}, {"kind", "fitted"}, {"end_play", "0.008 mm ± 0.002"}},
                 {{"on", "2023-11-25"}, {"kind", "read"}, {"end_play", "0.014 mm ± 0.002"}}};
  const auto with = worn(test::instrument_json({key}));
  const auto without = worn(test::instrument_json({test::cone_key("a", 0.02)}));
  ASSERT_TRUE(with->result);
  const KeyWear& k = with->result->keys.at(0);
  ASSERT_FALSE(k.problem) << k.problem->what;
  EXPECT_EQ(k.seen, 1u);
  // 0.012 mm in six years.
  EXPECT_NEAR(k.growth.median, 0.002, 0.0004);
  EXPECT_LT(k.growth.spread, without->result->keys.at(0).growth.spread / 4);
  EXPECT_LT(k.due.late, without->result->keys.at(0).due.late);
  // A fit begins anew: the growth before it is a series of its own.
  key["past"].push_back({{"on", "2024-11-25"}, {"kind", "fitted"}, {"end_play", "0.016 mm ± 0.002"}});
  const auto again = worn(test::instrument_json({key}));
  EXPECT_EQ(again->result->keys.at(0).seen, 2u);
  EXPECT_NEAR(again->result->keys.at(0).growth.median, 0.002, 0.0005);
}

TEST(WearService, RefusesWhatCannotBe) {
  json key = test::cone_key("a", 0.02);
  key["past"] = {{{"on", "2023-11-25"}, {"kind", "fitted"}, {"end_play", "0.008 mm ± 0.002"}},
                 {{"on", "2020-11-25"}, {"kind", "read"}, {"end_play", "0.014 mm ± 0.002"}}};
  EXPECT_TRUE(worn(test::instrument_json({key}))->result->keys.at(0).problem);
  key["past"] = {{{"on", "2030-11-25"}, {"kind", "fitted"}, {"end_play", "0.008 mm ± 0.002"}}};
  EXPECT_TRUE(worn(test::instrument_json({key}))->result->keys.at(0).problem);
  json instrument = test::instrument_json({test::cone_key("a", 0.02)});
  instrument["playing"]["surfaces"] = "brass on stee";
  const auto near = worn(instrument);
  ASSERT_FALSE(near->result);
  EXPECT_EQ(near->result.error().fault, Fault::not_found);
  EXPECT_EQ(near->result.error().expected, "perhaps \"brass on steel\"");
  EXPECT_EQ(near->result.error().place.pointer, "/playing/surfaces");
}

TEST(WearService, AbsurdButPossible) {
  // Loose by far, bound, and never played but for an instant.
  const auto w = worn(test::instrument_json({test::cone_key("loose", 0.2), test::cone_key("bound", -0.05)}));
  ASSERT_TRUE(w->result);
  EXPECT_EQ(show_years(w->result->keys.at(0).due), "now");
  EXPECT_NE(tell(w->result->keys.at(0), LengthUnit::mm).find("due now. Fitted to"), std::string::npos);
  EXPECT_TRUE(w->result->keys.at(1).below);
  EXPECT_NE(tell(w->result->keys.at(1), LengthUnit::mm).find("tighter than its window"), std::string::npos);
  json hardly = test::instrument_json({test::cone_key("a", 0.02)});
  hardly["playing"]["hours"] = "0.0001 h/week";
  EXPECT_EQ(show_years(worn(hardly)->result->keys.at(0).due.middle), "over 200 years");
  EXPECT_EQ(worn(test::instrument_json({}))->result->keys.size(), 0u);
}

TEST(WearService, YearsAsSaid) {
  using endurance::years;
  EXPECT_EQ(show_years(years(0)), "now");
  EXPECT_EQ(show_years(years(0.01)), "under a month");
  EXPECT_EQ(show_years(years(1.0 / 12)), "1 month");
  EXPECT_EQ(show_years(years(1.5)), "18 months");
  EXPECT_EQ(show_years(years(3.14)), "3.1 years");
  EXPECT_EQ(show_years(years(42.4)), "42 years");
  EXPECT_EQ(show_years(years(1e300)), "over 200 years");
  EXPECT_EQ(show_years(KeyWear::Range{years(3), years(4), years(9)}), "3.0 to 9.0 years");
  EXPECT_EQ(show_years(KeyWear::Range{years(0.5), years(4), years(900)}), "6 months to over 200 years");
}

TEST(WearService, JsonSaysWhatTheWordsSay) {
  const auto w = worn(test::instrument_json({test::cone_key("a", 0.02), test::cone_key("b", 0.2)}));
  const json out = json::parse(to_json(*w->result, LengthUnit::mm));
  ASSERT_EQ(out["keys"].size(), 2u);
  EXPECT_EQ(out["keys"][0]["said"], tell(w->result->keys[0], LengthUnit::mm));
  EXPECT_NEAR(out["keys"][0]["due_years"]["middle"].get<double>(),
              endurance::in_years(w->result->keys[0].due.middle), 1e-4);
  EXPECT_EQ(out["keys"][0]["inputs"].size(), 7u);
  EXPECT_EQ(json::parse(to_json(*w->result, LengthUnit::mm, "b"))["keys"].size(), 1u);
}

}  // namespace
}  // namespace hingeline::service

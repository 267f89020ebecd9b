// The whole instrument within minutes and money, and the shop's outfit, on documents whose figures can be
// worked out by hand.

#include "hingeline/service/budget.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "hingeline/service/leak.h"
#include "hingeline/service/outfit.h"
#include "service/documents.h"

namespace hingeline::service {
namespace {

using nlohmann::json;
using test::cone_key;
using test::instrument_json;
using test::must;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

TEST(FeelLost, ByHand) {
  // Window 0.01 to 0.03: one width above is half lost, three widths three quarters.
  EXPECT_DOUBLE_EQ(feel_lost(0.02, kNone, 0.01, 0.03, 0.06), 0);
  EXPECT_DOUBLE_EQ(feel_lost(0.03, kNone, 0.01, 0.03, 0.06), 0);
  EXPECT_NEAR(feel_lost(0.05, kNone, 0.01, 0.03, 0.06), 0.5, 1e-12);
  EXPECT_NEAR(feel_lost(0.09, kNone, 0.01, 0.03, 0.06), 0.75, 1e-12);
  EXPECT_NEAR(feel_lost(0.00, kNone, 0.01, 0.03, 0.06), 1.0 / 3, 1e-12);  // half a width too tight
  // Rock at twice what is allowed is half lost, whatever the play.
  EXPECT_NEAR(feel_lost(0.02, 0.12, 0.01, 0.03, 0.06), 0.5, 1e-12);
  EXPECT_DOUBLE_EQ(feel_lost(0.02, 0.06, 0.01, 0.03, 0.06), 0);
  EXPECT_EQ(feel_lost(-0.001, kNone, 0.01, 0.03, 0.06), 1);  // it binds
  // No window and no rock allowed: anything beyond is hopeless, nothing is not.
  EXPECT_EQ(feel_lost(0.02, kNone, 0.02, 0.02, 0), 0);
  EXPECT_EQ(feel_lost(0.021, kNone, 0.02, 0.02, 0), 1);
  EXPECT_EQ(feel_lost(0.02, 0.01, 0.01, 0.03, 0), 1);
  // It only grows with play.
  double last = 0;
  for (double play = 0.03; play < 1; play += 0.01) {
    const double lost = feel_lost(play, kNone, 0.01, 0.03, 0.06);
    EXPECT_GE(lost, last);
    EXPECT_LT(lost, 1);
    last = lost;
  }
}

record::Instrument instrument(const json& document) {
  return must(record::read_instrument(document.dump(), "test.json"));
}
record::Shop shop(const json& document) { return must(record::read_shop(document.dump(), "shop.json")); }

json shop_json() {
  return {
      {"format", "hingeline-shop"},
      {"version", 1},
      {"title", "Test shop"},
      {"cutters", {{{"name", "4 mm"}, {"diameter", "4 mm"}, {"drivers", {"straight"}}}}},
      {"drivers", {{{"kind", "straight"}, {"room_behind", "5 mm"}, {"room_around", "2 mm"}}}},
      {"prices",
       {{"currency", "crowns"}, {"per_hour", "60.00"}, {"least", {{{"of", "seat-cut"}, {"money", "20"}}}}}},
      {"weights", {{"leak", 0.1}, {"feel", 1}}}};
}

BudgetResult budget(const record::Instrument& i, const record::Shop& s, const BudgetAsked& asked = {}) {
  const auto result = work_out(i, s, 1);
  auto out = budget_of(result, i, s, asked);
  if (!out) throw std::runtime_error(out.error().what);
  return std::move(*out);
}

std::vector<std::string> done(const BudgetResult& r) {
  std::vector<std::string> out;
  for (const auto& d : r.choice.done) out.push_back(r.candidates.works[d.work].id);
  return out;
}

TEST(Budget, TheCutterIsGotOutOnceAndWorkHasItsPrice) {
  const auto i =
      instrument(instrument_json({cone_key("a", 0.10), cone_key("b", 0.12), cone_key("fine", 0.02)}));
  const auto s = shop(shop_json());
  const auto r = budget(i, s);
  ASSERT_EQ(r.choice.done.size(), 2U);  // nothing to do on the third
  ASSERT_EQ(r.choice.set_ups.size(), 1U);
  EXPECT_EQ(r.candidates.set_ups[r.choice.set_ups[0]].id, "4 mm");
  double minutes = 3;  // tool_change
  Money money = Money::hundredths(300);
  for (const auto& d : r.choice.done) {
    minutes += r.works[d.work].minutes.value;
    // Under 20 minutes each, so the least price stands.
    EXPECT_EQ(r.candidates.works[d.work].money, Money::hundredths(2000));
    money += r.candidates.works[d.work].money;
    // ± is 0.7 of the minutes.
    EXPECT_NEAR(r.works[d.work].minutes.plus_minus(), 0.7 * r.works[d.work].minutes.value, 1e-9);
  }
  EXPECT_NEAR(in_seconds(r.choice.total.time.mean), 60 * minutes, 1);
  EXPECT_EQ(r.choice.total.money, money);
}

TEST(Budget, GainsAreTheFormulas) {
  const auto i = instrument(instrument_json({cone_key("a", 0.15)}));
  const auto s = shop(shop_json());
  const auto result = work_out(i, s, 1);
  const auto r = budget(i, s);
  ASSERT_FALSE(r.choice.done.empty());
  const std::size_t w = r.choice.done[0].work;
  const auto& key = result.keys[0];
  const auto& plan = key.plan.plans.front();
  const auto rock = [](const auto& of) {
    return std::max({of(Figure::rock_upper), of(Figure::rock_lower), of(Figure::rock_pad)});
  };
  const double low = in_millimetres(key.plan.window.low);
  const double high = in_millimetres(key.plan.window.high);
  const double allowed = in_millimetres(key.key_case->window.rock_allowed);
  const auto now = [&](Figure f) { return key.estimate()[f].value; };
  const auto after = [&](Figure f) { return plan.after[static_cast<std::size_t>(f)]; };
  EXPECT_NEAR(r.works[w].feel.value,
              feel_lost(now(Figure::end_play), rock(now), low, high, allowed) -
                  feel_lost(after(Figure::end_play), rock(after), low, high, allowed),
              1e-12);
  // The leak is that of `leak`, before and after.
  const auto leaks = leak_of(result, i, s);
  ASSERT_TRUE(leaks);
  const auto left = leak_at(key, millimetres(after(Figure::worst_gap)), i, s);
  ASSERT_TRUE(left);
  EXPECT_GT(r.works[w].leak.value, 0);
  EXPECT_NEAR(r.works[w].leak.value, leaks->keys[0].leak.value - in_millilitres_per_second(*left), 1e-9);
  // At its own gap a key leaks what it leaks.
  const auto same = leak_at(key, millimetres(now(Figure::worst_gap)), i, s);
  ASSERT_TRUE(same);
  EXPECT_NEAR(in_millilitres_per_second(*same), leaks->keys[0].leak.value, 1e-9);
  EXPECT_EQ(r.choice.done[0].points.thousandths,
            std::llround(1000 * (0.1 * r.works[w].leak.value + r.works[w].feel.value)));
}

TEST(Budget, OwnWorksComeBeforeTheKeysThatWaitForThem) {
  json document = instrument_json({cone_key("a", 0.10), cone_key("b", 0.12)});
  document["works"] = {{{"id", "straighten-body"},
                        {"name", "Straighten the body"},
                        {"stage", "straighten"},
                        {"before", {{{"key", "a"}}}}},
                       {{"id", "pad"},
                        {"stage", "finish"},
                        {"minutes", "10 min ± 4"},
                        {"money", "6.50"},
                        {"leak", "8 mL/s ± 2"},
                        {"needs", {{{"work", "straighten-body"}}}}}};
  const auto i = instrument(document);
  const auto s = shop(shop_json());
  const auto all = budget(i, s);
  EXPECT_EQ(done(all).front(), "work straighten-body");
  EXPECT_EQ(done(all).back(), "work pad");
  EXPECT_EQ(all.choice.done.front().why, choice::In::needed);
  // The general shop's 45 minutes; 10 minutes at 60 an hour and 6.50 besides.
  EXPECT_DOUBLE_EQ(all.works[0].minutes.value, 45);
  EXPECT_EQ(all.candidates.works[1].money, Money::hundredths(1650));
  EXPECT_EQ(all.candidates.works[1].time.plus_minus, seconds(240));
  // In 30 minutes there is none for the body, and so none for what waits for it.
  BudgetAsked asked;
  asked.minutes = seconds(30 * 60);
  const auto little = budget(i, s, asked);
  ASSERT_EQ(done(little).size(), 1U);
  EXPECT_EQ(done(little)[0].rfind("key b", 0), 0U);
  for (const auto& left : little.choice.left_out) {
    const bool of_a = little.candidates.works[left.work].id.rfind("key a", 0) == 0;
    if (of_a && left.why != choice::Out::no_better) {
      EXPECT_EQ(left.why, choice::Out::too_long);
    }
  }
}

TEST(Budget, WeightsAndLimitsOfTheAskedGoFirst) {
  json document = instrument_json({cone_key("a", 0.10)});
  document["budget"] = {{"minutes", "90 min"}, {"money", "5.00"}};
  const auto i = instrument(document);
  const auto s = shop(shop_json());
  const auto poor = budget(i, s);
  EXPECT_TRUE(poor.choice.done.empty());
  EXPECT_EQ(poor.choice.left_out.front().why, choice::Out::too_dear);
  ASSERT_TRUE(poor.choice.by_money);
  // 20 for the cut and 3 for the cutter, less the 0 spent.
  EXPECT_EQ(poor.choice.by_money->extra_money, Money::hundredths(2300));
  BudgetAsked asked;
  asked.money = Money::hundredths(2300);
  EXPECT_EQ(budget(i, s, asked).choice.done.size(), 1U);
  asked.weight_feel = 0;
  asked.weight_leak = 0;
  EXPECT_TRUE(budget(i, s, asked).choice.done.empty());
}

TEST(Budget, QuickTakesKeysByTheirLook) {
  json looked = cone_key("looked", 0.10);
  looked.erase("readings");
  looked["look"] = "leaks";
  json fine = cone_key("fine", 0.10);
  fine.erase("readings");
  fine["look"] = "fine";
  json nothing = cone_key("nothing", 0.10);
  nothing.erase("readings");
  json measured = cone_key("measured", 0.10);
  measured["look"] = "noisy";
  const auto i = instrument(instrument_json({looked, fine, nothing, measured}));
  const auto s = shop(shop_json());
  BudgetAsked asked;
  asked.quick = true;
  const auto r = budget(i, s, asked);
  std::size_t by_look = 0;
  for (std::size_t w = 0; w < r.works.size(); ++w) {
    if (r.works[w].source != WorkSource::look) continue;
    ++by_look;
    EXPECT_EQ(r.candidates.works[w].id, "key looked");
    // The general shop's figures.
    EXPECT_DOUBLE_EQ(r.works[w].minutes.value, 20);
    EXPECT_DOUBLE_EQ(r.works[w].minutes.plus_minus(), 16);
    EXPECT_DOUBLE_EQ(r.works[w].leak.value, 10);
    EXPECT_DOUBLE_EQ(r.works[w].feel.value, 0.1);
  }
  EXPECT_EQ(by_look, 1U);  // "fine" has nothing to do, and readings go before a look
  EXPECT_TRUE(std::any_of(r.notes.begin(), r.notes.end(), [](const auto& n) {
    return n.find("nothing: neither measured nor looked over") == 0;
  }));
  // Without it the look is no reading.
  for (const auto& w : budget(i, s).works) EXPECT_NE(w.source, WorkSource::look);
}

TEST(Budget, QuickLearnsItsMinutesFromTheLedger) {
  json looked = cone_key("looked", 0.10);
  looked.erase("readings");
  looked["look"] = "loose";
  const auto i = instrument(instrument_json({looked}));
  const auto s = shop(shop_json());
  json ledger{{"format", "hingeline-ledger"}, {"version", 1}, {"title", "Jobs"}, {"jobs", json::array()}};
  for (const int minutes : {10, 20, 30, 40, 50}) {
    ledger["jobs"].push_back(
        {{"id", "j-" + std::to_string(minutes)},
         {"date", "2026-01-02"},
         {"complaint", "loose"},
         {"minutes",
          {{{"of", "end-play"}, {"minutes", 2}}, {{"of", "seat-cut"}, {"minutes", minutes - 2}}}}});
  }
  const auto read = must(record::read_ledger(ledger.dump(), "ledger.json"));
  BudgetAsked asked;
  asked.quick = true;
  asked.ledger = &read;
  const auto r = budget(i, s, asked);
  ASSERT_EQ(r.works.size(), 1U);
  EXPECT_DOUBLE_EQ(r.works[0].minutes.value, 30);
  // s = sqrt(250), of the next job sqrt(1 + 1/5) times that, k = 2.
  EXPECT_NEAR(r.works[0].minutes.plus_minus(), 2 * std::sqrt(250 * 1.2), 1e-9);
  // Four jobs are too few: the preset stands.
  ledger["jobs"].erase(0);
  const auto few = must(record::read_ledger(ledger.dump(), "ledger.json"));
  asked.ledger = &few;
  EXPECT_DOUBLE_EQ(budget(i, s, asked).works[0].minutes.value, 15);
}

TEST(Budget, AnEmptyInstrumentHasNothingToDo) {
  const auto i = instrument(instrument_json({}));
  const auto r = budget(i, general_shop());
  EXPECT_TRUE(r.choice.done.empty());
  EXPECT_TRUE(r.works.empty());
  EXPECT_EQ(r.ladder.size(), 1U);
  EXPECT_FALSE(to_json(r).empty());
}

TEST(Budget, JsonSaysWhatTheResultSays) {
  const auto i = instrument(instrument_json({cone_key("a", 0.10), cone_key("b", 0.12)}));
  const auto s = shop(shop_json());
  BudgetAsked asked;
  asked.minutes = seconds(12 * 60);
  const auto r = budget(i, s, asked);
  const json j = json::parse(to_json(r));
  EXPECT_EQ(j["done"].size(), r.choice.done.size());
  EXPECT_EQ(j["left_out"].size(), r.choice.left_out.size());
  EXPECT_NEAR(j["total"]["minutes"].get<double>(), in_seconds(r.choice.total.time.mean) / 60, 1e-5);
  EXPECT_EQ(j["total"]["money"], show_money(r.choice.total.money));
  EXPECT_NEAR(j["chance_within"].get<double>(), *r.choice.chance_within, 1e-5);
  EXPECT_EQ(j["ladder"].size(), r.ladder.size());
  EXPECT_EQ(j["weights"]["leak"]["value"], 0.1);
  ASSERT_TRUE(r.choice.by_minutes);
  EXPECT_NEAR(j["next_by_minutes"]["points_more"].get<double>(), r.choice.by_minutes->more.value(), 1e-9);
}

// ---- outfit ----------------------------------------------------------------------------------------------

TEST(Outfit, MissingWornNeverUsedAndWhatToBuy) {
  json s = shop_json();
  s["cutters"] = {{{"name", "4 mm"}, {"diameter", "4 mm"}, {"wear", "worn"}},
                  {{"name", "5 mm"}, {"diameter", "5 mm"}}};
  s["offered"] = {
      {"cutters", {{{"diameter", "4.05 mm"}, {"price", "42"}}, {{"diameter", "3 mm"}, {"price", "1"}}}},
      {"rods", {{{"diameter", "2 mm"}}}}};
  // Both keys have 4.00 mm heads at both ends.
  const auto r =
      outfit_of(shop(s), {instrument(instrument_json({cone_key("a", 0.1), cone_key("b", 0.1)}))}, nullptr);
  ASSERT_TRUE(r);
  const KindOfTool& cutters = r->kinds[0];
  ASSERT_EQ(cutters.met.size(), 1U);
  EXPECT_EQ(cutters.met[0].count, 4);
  EXPECT_EQ(show(cutters.met[0], LengthUnit::mm), "4.00 mm");
  EXPECT_EQ(cutters.cover.steps.front().served, 0);
  ASSERT_EQ(cutters.cover.steps.back().bought.size(), 1U);
  EXPECT_EQ(cutters.tools[cutters.cover.steps.back().bought[0]].name, "4.05 mm cutter");
  EXPECT_EQ(cutters.cover.steps.back().price, Money::hundredths(4200));
  EXPECT_EQ(cutters.cover.worn_alone.size(), 1U);
  EXPECT_EQ(cutters.cover.spare, std::vector<std::size_t>{1});  // nothing met needs 5 mm
  EXPECT_FALSE(cutters.uses_known);
  // Cones of 20 degrees, and nothing that reams them.
  const KindOfTool& reamers = r->kinds[1];
  ASSERT_EQ(reamers.met.size(), 1U);
  EXPECT_EQ(reamers.met[0].count, 4);
  EXPECT_NEAR(in_degrees(*reamers.met[0].half_angle), 20, 1e-9);
  EXPECT_EQ(reamers.cover.hopeless.size(), 1U);
  EXPECT_TRUE(r->kinds[2].met.empty());
  const json j = json::parse(to_json(*r));
  EXPECT_EQ(j["kinds"][0]["steps"].back()["served"], 4);
  EXPECT_EQ(j["kinds"][0]["met"][0]["can_be_bought"], true);
}

TEST(Outfit, RodsServeBoresByTheFitWanted) {
  json rod_key = {{"id", "r"},
                  {"hinge",
                   {{"kind", "rod"},
                    {"span", "30.1 mm"},
                    {"key_length", "30 mm"},
                    {"rod_diameter", "2 mm"},
                    {"bore", "2.010 mm"}}}};
  json s = shop_json();
  s["rods"] = {{{"name", "rod 2"}, {"diameter", "2 mm"}}, {{"name", "rod 1.9"}, {"diameter", "1.9 mm"}}};
  // ISO 286: H7/g6 up to 3 mm has 2 to 18 um of clearance.
  s["presets"]["rods"]["fit"] = "H7/g6";
  const auto r = outfit_of(shop(s), {instrument(instrument_json({rod_key}))}, nullptr);
  ASSERT_TRUE(r);
  EXPECT_EQ(r->kinds[2].tools[0].tool.serves, std::vector<std::size_t>{0});
  EXPECT_TRUE(r->kinds[2].tools[1].tool.serves.empty());
  s["presets"]["rods"]["fit"] = "H7/nonsense";
  EXPECT_FALSE(outfit_of(shop(s), {}, nullptr));
}

TEST(Outfit, TheLedgerCountsHeadsAndUses) {
  json s = shop_json();
  json ledger{{"format", "hingeline-ledger"},
              {"version", 1},
              {"title", "Jobs"},
              {"jobs",
               {{{"id", "j-1"},
                 {"date", "2026-01-02"},
                 {"bites",
                  {{{"cutter", "4 mm"}, {"turns", 2}, {"taken", "0.04 mm"}},
                   {{"cutter", "4 mm"}, {"turns", 1}, {"taken", "0.02 mm"}}}},
                 {"measured", {{{"field", "head-diameter"}, {"end", "upper"}, {"value", "4.02 mm"}}}}}}}};
  const auto read = must(record::read_ledger(ledger.dump(), "ledger.json"));
  const auto r = outfit_of(shop(s), {}, &read);
  ASSERT_TRUE(r);
  EXPECT_TRUE(r->kinds[0].uses_known);
  EXPECT_EQ(r->kinds[0].tools[0].tool.uses, 2);
  ASSERT_EQ(r->kinds[0].met.size(), 1U);
  EXPECT_EQ(r->kinds[0].met[0].count, 1);
  EXPECT_TRUE(r->kinds[0].cover.never_used.empty());
}

TEST(Outfit, NothingToLookThrough) {
  const auto r = outfit_of(general_shop(), {}, nullptr);
  ASSERT_TRUE(r);
  EXPECT_FALSE(r->notes.empty());
  for (const auto& kind : r->kinds) EXPECT_EQ(tell(kind, *r, LengthUnit::mm).size(), 1U);
}

}  // namespace
}  // namespace hingeline::service

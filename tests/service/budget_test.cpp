// The whole instrument within minutes and money, and the shop's outfit, on documents whose figures can be
// worked out by hand.

#include "hingeline/service/budget.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "hingeline/service/bow.h"
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
  const auto i = instrument(instrument_json({cone_key("a", 0.30)}));
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
  // The leak is that of `leak` now, less that of `leak` with the end play that is left.
  const auto leak_with = [&](double end_play) {
    const auto of = instrument(instrument_json({cone_key("a", end_play)}));
    return leak_of(work_out(of, s, 1), of, s)->keys[0].leak.value;
  };
  const double cured = leak_with(0.30) - leak_with(after(Figure::end_play));
  EXPECT_GT(cured, 1);
  EXPECT_NEAR(r.works[w].leak.value, cured, 1e-3 * cured);
  EXPECT_EQ(r.choice.done[0].points.thousandths,
            std::llround(1000 * (0.1 * r.works[w].leak.value + r.works[w].feel.value)));
}

/// Two keys on opposite sides of a body with this bow over 400 mm.
json bent(double sagitta, double hollow_side, double round_side) {
  json one = cone_key("hollow", hollow_side);
  one["hinge"]["off_axis"] = "20 mm ± 1";
  json two = cone_key("round", round_side);
  two["hinge"]["off_axis"] = "-20 mm ± 1";
  json document = instrument_json({one, two});
  document["body"]["bow"] = {
      {"chord", "400 mm"},
      {"readings", {{{"station", "200 mm"}, {"value", std::to_string(sagitta) + " mm ± 0.02"}}}}};
  return document;
}

TEST(Budget, ABentBodyIsStraightenedBeforeTheFitsItMoves) {
  // 0.8 mm over 400: about 0.03 mm taken on the hollow side and given on the round one (test of the bow).
  const auto i = instrument(bent(0.8, 0.06, 0.14));
  const auto s = shop(shop_json());
  const auto bow_result = bow(work_out(i, s, 1), i, s);
  ASSERT_TRUE(bow_result);
  const auto r = budget(i, s);
  const auto order = done(r);
  ASSERT_EQ(order.size(), 3U);
  EXPECT_EQ(order[0], "body straighten");
  for (std::size_t k = 1; k < 3; ++k)
    EXPECT_EQ(r.candidates.works[r.choice.done[k].work].needs, std::vector<std::string>{"body straighten"});
  EXPECT_EQ(r.choice.done[0].needed_by.size(), 2U);
  EXPECT_DOUBLE_EQ(r.works[r.choice.done[0].work].minutes.value, 45);  // the general shop's

  // What straightening gains is what the two keys lose less at the end plays that `bow` says remain.
  const double low = 0.01;
  const double high = 0.03;
  double gained = 0;
  for (const BowKey& key : bow_result->keys) {
    EXPECT_NEAR(key.low.raw(), low, 1e-9);
    EXPECT_NEAR(key.high.raw(), high, 1e-9);
    gained += feel_lost(key.end_play.value, kNone, low, high, 1) -
              feel_lost(key.remains.value, kNone, low, high, 1);
  }
  EXPECT_NEAR(r.works[r.choice.done[0].work].feel.value, gained, 2e-3);
  // And all the works of a key together gain what it has lost now, whatever the way: nothing counts twice.
  double all = 0;
  for (const auto& d : r.choice.done) all += r.works[d.work].feel.value;
  EXPECT_NEAR(all, feel_lost(0.06, kNone, low, high, 1) + feel_lost(0.14, kNone, low, high, 1), 2e-3);
  // The cuts are those of the straight body: as deep together as what remains is too much.
  const auto cut_of = [&](const std::string& id) {
    for (std::size_t w = 0; w < r.works.size(); ++w) {
      if (r.candidates.works[w].id == "key " + id + " plan 1") return r.works[w].feel;
    }
    throw std::runtime_error("no plan of " + id);
  };
  EXPECT_NEAR(cut_of("hollow").effects.front().given.value, bow_result->keys[0].remains.value, 1e-3);
  EXPECT_NEAR(cut_of("round").effects.front().given.value, bow_result->keys[1].remains.value, 1e-3);

  // Too few minutes for the body: no metal is cut to suit its bend.
  BudgetAsked asked;
  asked.minutes = seconds(40 * 60);
  EXPECT_TRUE(budget(i, s, asked).choice.done.empty());
}

TEST(Budget, AStraightBodyHoldsNothingUp) {
  const auto r = budget(instrument(bent(0.01, 0.06, 0.14)), shop(shop_json()));
  for (const auto& w : r.candidates.works) {
    EXPECT_NE(w.id, "body straighten");
    EXPECT_TRUE(w.needs.empty());
  }
}

TEST(Budget, ABowThatCannotBeIsToldAndTheRestGoesOn) {
  json document = instrument_json({cone_key("a", 0.12)});
  document["body"]["bow"] = {{"chord", "100 mm"}, {"readings", {{{"station", "50 mm"}, {"value", "90 mm"}}}}};
  const auto r = budget(instrument(document), shop(shop_json()));
  EXPECT_EQ(done(r), std::vector<std::string>{"key a plan 1"});
  ASSERT_EQ(r.notes.size(), 1U);
  EXPECT_NE(r.notes[0].find("the body and its posts"), std::string::npos) << r.notes[0];
}

TEST(Budget, ABendThatTheDocumentStraightensItselfIsNotCountedTwice) {
  json document = bent(0.8, 0.06, 0.14);
  document["works"] = {{{"id", "press"},
                        {"stage", "straighten"},
                        {"minutes", "30 min"},
                        {"feel", "0.5"},
                        {"before", {{{"key", "hollow"}}}}}};
  const auto r = budget(instrument(document), shop(shop_json()));
  EXPECT_EQ(done(r).front(), "work press");
  for (const auto& w : r.candidates.works) EXPECT_NE(w.id, "body straighten");
  EXPECT_NE(r.notes.front().find("press"), std::string::npos);
}

TEST(Budget, AScrewIsDrivenHomeFirstAndMayBeAllThatIsDone) {
  json key = cone_key("a", 0.30);
  key["hinge"]["upper"]["screw"]["stands_off"] = "0.10 mm ± 0.01";
  const auto i = instrument(instrument_json({key}));
  const auto s = shop(shop_json());
  const auto all = budget(i, s);
  EXPECT_EQ(done(all), (std::vector<std::string>{"key a home", "key a plan 1"}));
  EXPECT_EQ(all.candidates.works[all.choice.done[1].work].needs, std::vector<std::string>{"key a home"});
  const auto& home = all.works[all.choice.done[0].work];
  EXPECT_NEAR(home.feel.value, feel_lost(0.30, kNone, 0.01, 0.03, 1) - feel_lost(0.20, kNone, 0.01, 0.03, 1),
              1e-6);
  EXPECT_GT(home.leak.value, 0);
  double feel = 0;
  for (const auto& d : all.choice.done) feel += all.works[d.work].feel.value;
  EXPECT_NEAR(feel, feel_lost(0.30, kNone, 0.01, 0.03, 1), 1e-6);
  BudgetAsked asked;
  asked.minutes = seconds(5 * 60);
  EXPECT_EQ(done(budget(i, s, asked)), std::vector<std::string>{"key a home"});
}

TEST(Budget, PostsComeBackBeforeTheFit) {
  json key = cone_key("a", 0.14);
  key["hinge"]["post_height"] = "9 mm ± 0.2";
  key["hinge"]["upper"]["post"]["lean"] = "-0.3 deg ± 0.1";
  const auto i = instrument(instrument_json({key}));
  const auto s = shop(shop_json());
  const auto bow_result = bow(work_out(i, s, 1), i, s);
  ASSERT_TRUE(bow_result);
  ASSERT_EQ(bow_result->posts.size(), 1U);
  const auto r = budget(i, s);
  EXPECT_EQ(done(r), (std::vector<std::string>{"key a posts", "key a plan 1"}));
  const auto& posts = r.works[r.choice.done[0].work];
  EXPECT_NEAR(posts.feel.value,
              feel_lost(0.14, kNone, 0.01, 0.03, 1) -
                  feel_lost(bow_result->posts[0].remains.value, kNone, 0.01, 0.03, 1),
              2e-3);
  EXPECT_GT(posts.feel.plus_minus(), 0);
  EXPECT_DOUBLE_EQ(posts.minutes.value, 10 * static_cast<double>(bow_result->posts[0].corrections.size()));
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

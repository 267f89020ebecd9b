// From finished jobs to sharper figures.

#include "hingeline/service/learned.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "service/documents.h"

namespace hingeline::service {
namespace {

using namespace hingeline::test;
using nlohmann::json;

record::Ledger ledger_of(const json& jobs, const json& forgotten = json::array()) {
  return must(record::read_ledger(json{{"format", "hingeline-ledger"},
                                       {"version", 1},
                                       {"title", "Test"},
                                       {"jobs", jobs},
                                       {"forgotten", forgotten}}
                                      .dump(),
                                  "test.json"));
}
record::Ledger example_ledger() {
  return must(record::read_ledger(example_text("ledger.json"), "ledger.json"));
}
Learned learned_from(const record::Ledger& ledger, const record::Shop& shop) {
  auto learned = learn(ledger, shop);
  if (!learned) throw std::runtime_error(learned.error().what);
  return std::move(*learned);
}
json cut_job(const std::string& id, const std::string& date, const char* cutter, double turns, double taken) {
  return {{"id", id},
          {"date", date},
          {"person", "A"},
          {"pattern", "middle headed"},
          {"causes", {"short-fit"}},
          {"bites",
           {{{"cutter", cutter},
             {"turns", turns},
             {"taken", {{"value", taken}, {"unit", "mm"}, {"plus_minus", 0.002}}}}}},
          {"minutes", {{{"of", "seat-cut"}, {"turns", turns}, {"minutes", 2 * (4 + 0.5 * turns)}}}}};
}
const char* const kCutter = "4.00 mm seat cutter";

TEST(Learn, CausesAreTheSameInBothRooms) {
  for (std::size_t i = 0; i < belief::kCauseCount; ++i)
    EXPECT_STREQ(record::word(static_cast<record::CauseWord>(i)),
                 belief::code(static_cast<belief::Cause>(i)));
}

TEST(Learn, NewShopStandsOnItsPresets) {
  const auto shop = example_shop();
  const Learned learned = learned_from(ledger_of(json::array()), shop);
  ASSERT_EQ(learned.take_off.size(), 1u);
  EXPECT_EQ(learned.take_off[0].per_turn, millimetres(0.02));
  EXPECT_TRUE(learned.minutes.empty());
  EXPECT_TRUE(learned.patterns.empty());
  EXPECT_TRUE(learned.notes.empty());
  EXPECT_EQ(shop_with(shop, learned), shop);
  const belief::CausePresets presets;
  const auto same = presets_with(presets, learned, "middle headed");
  EXPECT_EQ(same.share, presets.share);
  EXPECT_EQ(same.sound_share, presets.sound_share);
  const plan::TakeOff rate = take_off_for(learned, kCutter, "A");
  const plan::TakeOff preset = plan::take_off_of(millimetres(0.02), millimetres(0.01));
  EXPECT_NEAR(rate.log_median, preset.log_median, 1e-12);
  EXPECT_NEAR(rate.between, preset.between, 1e-12);
  EXPECT_EQ(rate.within, preset.within);
}

TEST(Learn, TakeOffOfTheCutterThatWasUsed) {
  json jobs = json::array();
  for (int k = 1; k <= 30; ++k)
    jobs.push_back(cut_job("j-" + std::to_string(k), "2026-03-01", kCutter, 2, 2 * 0.034));
  const auto shop = example_shop();
  const Learned learned = learned_from(ledger_of(jobs), shop);
  const Length used = learned.take_off_pool.median(kCutter, "A");
  const Length other = learned.take_off_pool.median("3.00 mm seat cutter", "B");
  EXPECT_NEAR(in_millimetres(used), 0.034, 0.001);
  EXPECT_GT(other, millimetres(0.022));
  EXPECT_LT(other, millimetres(0.030));
  // The shop's general figure gives the bite the same spread again.
  const record::Shop sharper = shop_with(shop, learned);
  const auto& entry = sharper.presets.take_off_per_turn;
  const plan::TakeOff back = plan::take_off_of(entry.value, *entry.plus_minus);
  EXPECT_NEAR(back.between, learned.take_off[0].ratio.between, 1e-12);
  EXPECT_EQ(entry.value, learned.take_off[0].per_turn);
  // Of the minutes, twice what the preset says.
  ASSERT_EQ(learned.minutes.size(), 1u);
  EXPECT_NEAR(learned.minutes_pool.pace("seat-cut", "A").factor, 2, 0.05);
  EXPECT_GT(sharper.presets.seat_cut.set_up.value, 5.5);
  EXPECT_EQ(sharper.presets.ream, shop.presets.ream);
  // What was written can be read again.
  EXPECT_TRUE(record::read_shop(record::write_shop(sharper), "s.json"));
}

TEST(Learn, SharpensAKeysPlan) {
  json jobs = json::array();
  for (int k = 1; k <= 30; ++k)
    jobs.push_back(cut_job("j-" + std::to_string(k), "2026-03-01", kCutter, 2, 2 * 0.034));
  const auto shop = example_shop();
  const Learned learned = learned_from(ledger_of(jobs), shop);
  const auto instrument = instrument_of(instrument_json({cone_key("a", 0.1)}));
  const auto result = work_out(instrument, shop, 1);
  plan::KeyCase key = *result.keys.front().key_case;
  sharpen(key, learned, "A");
  EXPECT_EQ(key.pace.take_off_per_turn, learned.take_off_pool.median(kCutter, "A"));
  const plan::KeyPlan sharper = plan::plan_key(key);
  ASSERT_FALSE(sharper.plans.empty());
  const auto bite = plan::first_bite(key, sharper.window, sharper.plans.front());
  const auto before = first_bite(result.keys.front());
  ASSERT_TRUE(bite && before);
  // A faster cutter is turned less.
  EXPECT_LT(bite->turns, before->turns);
  EXPECT_LE(bite->risk, plan::kBiteRisk);
}

TEST(Learn, WhatIsForgottenDoesNotCount) {
  json jobs = json::array();
  for (int k = 1; k <= 20; ++k)
    jobs.push_back(
        cut_job("j-" + std::to_string(k), k <= 15 ? "2026-03-01" : "2026-05-01", kCutter, 2, 0.08));
  const auto shop = example_shop();
  const auto at = [&](const char* what, const char* before) {
    return learned_from(ledger_of(jobs, {{{"what", what}, {"before", before}}}), shop);
  };
  const Learned all = learned_from(ledger_of(jobs), shop);
  const Learned some = at("take-off", "2026-05-01");
  EXPECT_EQ(some.take_off[0].ratio.lesson.readings, 5u);
  EXPECT_EQ(some.minutes[0].ratio.lesson.readings, 20u);
  ASSERT_EQ(some.notes.size(), 1u);
  EXPECT_EQ(some.notes[0].in(LengthUnit::mm), "15 jobs no longer count for take-off");
  const Learned none = at("take-off", "2026-05-02");
  EXPECT_EQ(none.take_off[0].per_turn, millimetres(0.02));
  EXPECT_EQ(none.causes[0].lesson.share, all.causes[0].lesson.share);
  // As if the forgotten jobs had never been.
  json rest = json::array();
  for (int k = 15; k < 20; ++k) rest.push_back(jobs[static_cast<std::size_t>(k)]);
  const Learned fresh = learned_from(ledger_of(rest), shop);
  EXPECT_EQ(fresh.take_off_pool.median(kCutter, "A"), some.take_off_pool.median(kCutter, "A"));
}

TEST(Learn, MeasuresOfAFamily) {
  json jobs = json::array();
  for (int k = 1; k <= 40; ++k) {
    jobs.push_back({{"id", "j-" + std::to_string(k)},
                    {"date", "2026-03-01"},
                    {"pattern", "middle headed"},
                    {"measured",
                     {{{"field", "point-half-angle"}, {"end", "upper"}, {"value", "20.4 deg ± 0.1"}},
                      {{"field", "point-half-angle"}, {"end", "upper"}, {"value", "20.4 deg ± 0.1"}},
                      {{"field", "tip-diameter"}, {"value", "0.78 mm ± 0.01"}}}}});
  }
  const auto shop = example_shop();
  const Learned learned = learned_from(ledger_of(jobs), shop);
  ASSERT_EQ(learned.patterns.size(), 2u);
  const LearnedField& angle = learned.patterns[0];
  EXPECT_EQ(angle.learned.screws, 40u) << "two measures of one end are of one screw";
  EXPECT_NEAR(in_degrees(angle.angle.value), 20.4, 0.02);
  EXPECT_LT(angle.angle.plus_minus, angle.angle_before.plus_minus);
  EXPECT_EQ(angle.angle_before.value, degrees(20));
  const record::Shop sharper = shop_with(shop, learned);
  const auto pattern = std::find_if(sharper.patterns.begin(), sharper.patterns.end(),
                                    [](const auto& p) { return p.name == "middle headed"; });
  EXPECT_EQ(pattern->screw.point.half_angle.value, angle.angle.value);
  EXPECT_EQ(pattern->screw.point.half_angle.origin, Origin::pattern);
  EXPECT_EQ(pattern->screw.point.tip_diameter.value, learned.patterns[1].length.value);
  EXPECT_EQ(pattern->hole, shop.patterns[1].hole);
  EXPECT_TRUE(record::read_shop(record::write_shop(sharper), "s.json"));
}

TEST(Learn, SharesOfCausesByFamily) {
  json jobs = json::array();
  for (int k = 1; k <= 60; ++k) {
    jobs.push_back({{"id", "j-" + std::to_string(k)},
                    {"date", "2026-03-01"},
                    {"pattern", k % 2 == 0 ? "middle headed" : "large headed"},
                    {"causes", {k % 2 == 0 ? "dirt" : "worn-hole"}}});
  }
  const auto shop = example_shop();
  const Learned learned = learned_from(ledger_of(jobs), shop);
  const belief::CausePresets presets;
  const auto middle = presets_with(presets, learned, "middle headed");
  const auto large = presets_with(presets, learned, "large headed");
  const auto dirt = static_cast<std::size_t>(belief::Cause::dirt);
  const auto worn = static_cast<std::size_t>(belief::Cause::worn_hole);
  EXPECT_GT(middle.share[dirt], 0.7);
  EXPECT_LT(middle.share[worn], 0.2);
  EXPECT_GT(large.share[worn], 0.7);
  EXPECT_LT(large.sound_share, presets.sound_share);
  EXPECT_EQ(presets_with(presets, learned, "").share, presets_with(presets, learned, "never seen").share);
}

TEST(Learn, SaysWhatWasLeftOut) {
  json odd = cut_job("j-1", "2026-03-01", "4 mm cuter", 2, 0.04);
  odd["bites"].push_back({{"cutter", kCutter}, {"turns", "?"}, {"taken", "0.02 mm"}});
  odd["minutes"].push_back({{"of", "seat-cut"}, {"minutes", 5}});
  odd["measured"] = json::array({{{"field", "head-height"}, {"value", "1.4 mm"}}});
  odd["pattern"] = "midle headed";
  const Learned learned = learned_from(ledger_of(json::array({odd})), example_shop());
  std::vector<std::string> notes;
  for (const Said& note : learned.notes) notes.push_back(note.in(LengthUnit::mm));
  EXPECT_EQ(notes, (std::vector<std::string>{
                       "1 bite left out: turns or take-off not known",
                       "the shop document has no cutter \"4 mm cuter\"; it is taken as one more",
                       "1 piece of work left out: minutes or turns not known",
                       "the shop document has no pattern \"midle headed\"; its measures are left out"}));
}

TEST(Learn, OrderOfJobsPlaysNoPart) {
  const auto shop = example_shop();
  record::Ledger ledger = example_ledger();
  const std::string first = to_json(learned_from(ledger, shop), LengthUnit::mm);
  std::reverse(ledger.jobs.begin(), ledger.jobs.end());
  EXPECT_EQ(to_json(learned_from(ledger, shop), LengthUnit::mm), first);
  std::rotate(ledger.jobs.begin(), ledger.jobs.begin() + 7, ledger.jobs.end());
  EXPECT_EQ(to_json(learned_from(ledger, shop), LengthUnit::mm), first);
}

TEST(Learn, DemonstrationTeachesWhatItWasDrawnFrom) {
  const auto shop = example_shop();
  const record::Ledger ledger = example_ledger();
  EXPECT_EQ(ledger.jobs.size(), 40u);
  const Learned learned = learned_from(ledger, shop);
  EXPECT_TRUE(learned.notes.empty()) << learned.notes.front().in(LengthUnit::mm);
  // The small cutter bites more than the large one, and B bites more than A.
  const auto median = [&](const char* cutter, const char* person) {
    return learned.take_off_pool.median(cutter, person);
  };
  EXPECT_GT(median("3.00 mm seat cutter", "A"), median("5.00 mm seat cutter", "A"));
  EXPECT_GT(median(kCutter, "B"), median(kCutter, "A"));
  EXPECT_GT(learned.minutes_pool.pace("seat-cut", "B").factor,
            learned.minutes_pool.pace("seat-cut", "A").factor);
  const record::Shop sharper = shop_with(shop, learned);
  EXPECT_TRUE(record::read_shop(record::write_shop(sharper), "s.json"));
  const auto instrument = example_instrument("saxophone.json");
  const auto result = work_out(instrument, sharper, 1);
  EXPECT_EQ(result.keys.size(), instrument.keys.size());
}

TEST(Learn, JsonSaysWhatWasLearnedFromWhat) {
  const json out = json::parse(to_json(learned_from(example_ledger(), example_shop()), LengthUnit::inch));
  EXPECT_EQ(out["jobs"], 40);
  const json& first = out["take_off"][0];
  EXPECT_TRUE(first["cutter"].is_null());
  EXPECT_EQ(first["preset"], 0.02);
  EXPECT_EQ(first["from"]["jobs"].size(), 13u);
  EXPECT_NE(first["said"].get<std::string>().find(" in a turn"), std::string::npos);
  double sum = 0;
  for (const json& share : out["causes"][0]["shares"]) sum += share["share"].get<double>();
  EXPECT_NEAR(sum, 1, 1e-5);
  for (const json& field : out["patterns"]) {
    EXPECT_LT(field["plus_minus"], field["before"]["plus_minus"]);
    EXPECT_EQ(field["from"]["jobs"].size(), field["from"]["screws"]);
  }
}

TEST(Learn, HostileLedgersAreRefusedOrLearnedFrom) {
  // More names than are pooled.
  json many = json::array();
  for (std::size_t k = 0; k <= belief::kMostEffects; ++k) {
    many.push_back(
        cut_job("j-" + std::to_string(k), "2026-03-01", ("c-" + std::to_string(k)).c_str(), 1, 0.02));
  }
  EXPECT_FALSE(learn(ledger_of(many), example_shop()));
  // The largest and smallest that a ledger may hold.
  json jobs = json::array();
  int n = 0;
  for (const double turns : {1e-12, 1000.0}) {
    for (const double taken : {-10000.0, 0.0, 1e-12, 10000.0}) {
      json job = cut_job("j-" + std::to_string(++n), "2026-03-01", kCutter, turns, taken);
      job["bites"][0]["taken"]["plus_minus"] = n % 2 == 0 ? 0.0 : 10000.0;
      job["minutes"][0]["minutes"] = turns;
      job["measured"] = json::array(
          {{{"field", "head-height"}, {"value", {{"value", turns}, {"unit", "mm"}, {"plus_minus", 0}}}}});
      jobs.push_back(job);
    }
  }
  const Learned learned = learned_from(ledger_of(jobs), example_shop());
  const plan::TakeOff rate = take_off_for(learned, kCutter, "A");
  EXPECT_TRUE(std::isfinite(rate.log_median) && std::isfinite(rate.between));
  EXPECT_EQ(to_json(learned, LengthUnit::mm).find("null, \"per_turn\": null"), std::string::npos);
}

}  // namespace
}  // namespace hingeline::service

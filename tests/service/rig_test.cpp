// The rig: counter, finish and statements of the demonstration, by hand; what is done at it, and what cannot
// be.

#include "hingeline/service/rig.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "documents.h"

namespace hingeline::service {
namespace {

using nlohmann::json;

LocalMoment when(const char* text) { return *parse_moment(text); }

record::Rig rig_of(const json& document) { return test::must(record::read_rig(document.dump(), "rig.json")); }

json small_rig() {
  return {{"format", "hingeline-rig"},    {"version", 1},
          {"title", "Test rig"},          {"specimens", {{{"id", "a"}}, {{"id", "b"}}}},
          {"target", "5000000 closings"}, {"periods", json::array()}};
}
json period(const char* from, const char* to, const char* rate) {
  json out{{"from", from}, {"rate", rate}};
  if (to != nullptr) out["to"] = to;
  return out;
}
json look(const char* at, const char* specimen, const char* finding) {
  return {{"at", at}, {"specimen", specimen}, {"finding", finding}};
}
const RigStatement* statement(const RigResult& r, const std::string& code) {
  for (const RigStatement& s : r.statements) {
    if (s.worked.code == code) return &s;
  }
  return nullptr;
}

TEST(RigService, TheDemonstrationByHand) {
  const record::Rig rig = test::must(record::read_rig(test::example_text("rig.json"), "rig.json"));
  const auto r = rig_at(rig, when("2026-10-25T12:00:00+01:00"));
  ASSERT_TRUE(r) << record::describe(r.error());
  // 603 000 s and 600 300 s at 2, then 10:00+02:00 on the 19th to 11:00Z on the 25th, 529 200 s, at 1.5.
  EXPECT_EQ(r->ran, 603'000 + 600'300 + 529'200);
  EXPECT_EQ(r->count.closings, 2 * (603'000 + 600'300) + 529'200 * 3 / 2);
  EXPECT_NEAR(r->count.plus_minus, 0.01 * (603'000 + 600'300 + 529'200), 1e-6);
  // 1 799 600 left at 1.5 a second.
  EXPECT_EQ(seconds_between(when("2026-10-25T12:00:00+01:00").moment, *r->finish.at), 1'199'734);
  EXPECT_EQ(r->finish.state, endurance::Finish::State::running);
  ASSERT_TRUE(statement(*r, "shape"));
  ASSERT_TRUE(statement(*r, "share-failed"));
  EXPECT_TRUE(std::isnan(statement(*r, "share-failed")->worked.value));
  EXPECT_EQ(r->looks.size(), 15u);
}

TEST(RigService, NoFailureIsTheClassicalStatement) {
  json document = small_rig();
  document["confidence"] = 0.9;
  document["assumed_shape"] = {{"origin", "unknown"}, {"between", {2, 2}}};
  // 5 000 000 closings at 2 a second: 2 500 000 s.
  document["periods"] = {period("2026-01-01T00:00Z", "2026-01-29T22:26:40Z", "2 closings/s")};
  document["inspections"] = {look("2026-01-30T00:00Z", "a", "fine"), look("2026-01-30T00:00Z", "b", "out")};
  const auto r = rig_at(rig_of(document), when("2026-02-01T00:00Z"));
  ASSERT_TRUE(r);
  EXPECT_EQ(r->count.closings, 5'000'000);
  EXPECT_EQ(r->finish.state, endurance::Finish::State::reached);
  // Two units to the target, none failed: R = 0.1^(1/2).
  EXPECT_NEAR(statement(*r, "reliability")->worked.value, std::sqrt(0.1), 1e-12);
  EXPECT_NEAR(statement(*r, "reliability")->low, std::sqrt(0.1), 1e-12);
  EXPECT_EQ(statement(*r, "units-needed")->worked.value, 22);
  // Clopper and Pearson for 0 of 2, two-sided: 1 - 0.05^(1/2).
  EXPECT_NEAR(statement(*r, "share-failed")->high, 1 - std::sqrt(0.05), 1e-12);
  EXPECT_NE(counter_line(*r).find("5 000 000"), std::string::npos);
}

TEST(RigService, AbsurdButPossible) {
  const auto nothing = rig_at(rig_of(small_rig()), when("2026-02-01T00:00Z"));
  ASSERT_TRUE(nothing);
  EXPECT_EQ(nothing->count.closings, 0);
  EXPECT_TRUE(nothing->statements.empty());
  EXPECT_EQ(nothing->cautions.size(), 1u);
  EXPECT_NE(finish_line(*nothing).find("once it is started"), std::string::npos);
  // Slower than a closing a month.
  json slow = small_rig();
  slow["periods"] = {period("2026-01-01T00:00Z", nullptr, "0.000001 closings/s")};
  const auto crawling = rig_at(rig_of(slow), when("2026-02-01T00:00Z"));
  ASSERT_TRUE(crawling);
  EXPECT_NE(finish_line(*crawling).find("not reach its target within a hundred years"), std::string::npos);
  // No specimen at all; a moment before the first start.
  json empty = slow;
  empty["specimens"] = json::array();
  const auto before = rig_at(rig_of(empty), when("2025-01-01T00:00Z"));
  ASSERT_TRUE(before);
  EXPECT_EQ(before->count.closings, 0);
  EXPECT_EQ(before->ahead, 1u);
  // Both failed between the same two looks: any high shape would do, and it says so in no figure.
  json both = small_rig();
  both["specimens"].push_back({{"id", "c"}});
  both["periods"] = {period("2026-01-01T00:00Z", nullptr, "2 closings/s")};
  both["inspections"] = json::array();
  for (const char* id : {"a", "b", "c"}) {
    both["inspections"].push_back(look("2026-01-02T00:00Z", id, "fine"));
    both["inspections"].push_back(look("2026-01-03T00:00Z", id, "failed"));
  }
  const auto same = rig_at(rig_of(both), when("2026-02-01T00:00Z"));
  ASSERT_TRUE(same);
  EXPECT_EQ(statement(*same, "shape"), nullptr);
  EXPECT_TRUE(statement(*same, "reliability"));
  EXPECT_FALSE(same->cautions.empty());
}

TEST(RigService, ErrorsCarryTheDocumentsPlace) {
  json document = small_rig();
  document["periods"] = {period("2026-01-02T00:00Z", "2026-01-01T00:00Z", "2 closings/s")};
  const auto backwards = rig_at(rig_of(document), when("2026-02-01T00:00Z"));
  ASSERT_FALSE(backwards);
  EXPECT_EQ(backwards.error().place.pointer, "/periods/0");
  EXPECT_EQ(backwards.error().place.line, 1);
  document["periods"] = {period("2026-01-01T00:00Z", nullptr, "2 closings/s ± 3")};
  EXPECT_EQ(rig_at(rig_of(document), when("2026-02-01T00:00Z")).error().place.pointer, "/periods/0/rate");
  document["periods"] = {period("2026-01-01T00:00Z", nullptr, "2 closings/s")};
  document["inspections"] = {look("2026-01-03T00:00Z", "a", "failed"),
                             look("2026-01-04T00:00Z", "a", "fine")};
  EXPECT_EQ(rig_at(rig_of(document), when("2026-02-01T00:00Z")).error().place.pointer, "/inspections/1");
  document["target"] = "?";
  EXPECT_EQ(rig_at(rig_of(document), when("2026-02-01T00:00Z")).error().place.pointer, "/target");
}

std::string done(std::string text, const RigAct& act, const char* at) {
  auto out = rig_with(text, "rig.json", act, when(at));
  return out ? *out : throw std::runtime_error(record::describe(out.error().front()));
}

TEST(RigService, WhatIsDoneIsWrittenAndCounts) {
  std::string text = small_rig().dump(2);
  text = done(text, {RigAct::Kind::start, "2 ± 0.01", {}, {}, {}}, "2026-01-01T00:00+01:00");
  text = done(text, {RigAct::Kind::rate, "3", {}, {}, {}}, "2026-01-01T01:00+01:00");
  text = done(text, {RigAct::Kind::inspect, {}, "a", record::RigFinding::fine, "oiled"},
              "2026-01-01T01:30+01:00");
  text = done(text, {RigAct::Kind::pause, {}, {}, {}, {}}, "2026-01-01T02:00+01:00");
  text = done(text, {RigAct::Kind::start, "1", {}, {}, {}}, "2026-01-01T03:00+01:00");
  const record::Rig rig = test::must(record::read_rig(text, "rig.json"));
  ASSERT_EQ(rig.periods.size(), 3u);
  EXPECT_EQ(rig.inspections.front().note, "oiled");
  const auto r = rig_at(rig, when("2026-01-01T03:00:10+01:00"));
  EXPECT_EQ(r->count.closings, 3600 * 2 + 3600 * 3 + 10);
  EXPECT_EQ(r->specimens[0].specimen.life.sound_to, 3600 * 2 + 1800 * 3);
  // Started and paused in the same second: nothing is left of it.
  std::string twice = done(small_rig().dump(), {RigAct::Kind::start, "2", {}, {}, {}}, "2026-01-01T00:00Z");
  twice = done(twice, {RigAct::Kind::pause, {}, {}, {}, {}}, "2026-01-01T00:00Z");
  EXPECT_TRUE(test::must(record::read_rig(twice, "rig.json")).periods.empty());
}

TEST(RigService, RefusesWhatCannotBeDone) {
  const std::string still = small_rig().dump();
  const std::string runs = done(still, {RigAct::Kind::start, "2", {}, {}, {}}, "2026-01-02T00:00Z");
  const auto refused = [](const std::string& text, const RigAct& act, const char* at) {
    const auto out = rig_with(text, "rig.json", act, when(at));
    return out ? std::string() : out.error().front().what;
  };
  EXPECT_NE(refused(still, {RigAct::Kind::pause, {}, {}, {}, {}}, "2026-01-02T00:00Z"), "");
  EXPECT_NE(refused(still, {RigAct::Kind::rate, "2", {}, {}, {}}, "2026-01-02T00:00Z"), "");
  EXPECT_NE(refused(runs, {RigAct::Kind::start, "2", {}, {}, {}}, "2026-01-03T00:00Z"), "");
  EXPECT_NE(refused(runs, {RigAct::Kind::pause, {}, {}, {}, {}}, "2026-01-01T00:00Z"), "");
  for (const char* rate : {"", "0", "-1", "fast", "1000", "2 ± 3", "nan", "1e9"})
    EXPECT_NE(refused(still, {RigAct::Kind::start, rate, {}, {}, {}}, "2026-01-02T00:00Z"), "") << rate;
  const RigAct failed{RigAct::Kind::inspect, {}, "a", record::RigFinding::failed, {}};
  EXPECT_NE(
      refused(runs, {RigAct::Kind::inspect, {}, "nobody", record::RigFinding::fine, {}}, "2026-01-03T00:00Z"),
      "");
  EXPECT_NE(refused(runs, failed, "2026-01-02T00:00Z"), "");
  const std::string gone = done(runs, failed, "2026-01-03T00:00Z");
  EXPECT_NE(refused(gone, failed, "2026-01-04T00:00Z"), "");
  // A late entry that would contradict what was found since.
  EXPECT_NE(refused(gone, {RigAct::Kind::inspect, {}, "a", record::RigFinding::out, {}}, "2026-01-02T12:00Z"),
            "");
  for (const char* typed : {"", "a", "=fine", "a=", "a=good", "fine", "a=b=out"})
    EXPECT_FALSE(inspection_of(typed, "")) << typed;
}

TEST(RigService, JsonSaysWhatTheWordsSay) {
  const record::Rig rig = test::must(record::read_rig(test::example_text("rig.json"), "rig.json"));
  const auto r = *rig_at(rig, when("2026-10-25T12:00:00+01:00"));
  const json out = json::parse(to_json(r));
  EXPECT_EQ(out["closings"], 3'200'400);
  EXPECT_EQ(out["finish"]["at"], "2026-11-08T09:15:34+01:00");
  EXPECT_NE(out["finish"]["said"].get<std::string>().find("2026-11-08 09:15"), std::string::npos);
  EXPECT_EQ(out["specimens"].size(), 8u);
  ASSERT_EQ(out["statements"].size(), r.statements.size());
  for (std::size_t i = 0; i < r.statements.size(); ++i) {
    EXPECT_EQ(out["statements"][i]["said"], r.statements[i].words);
    EXPECT_FALSE(out["statements"][i]["formula"].get<std::string>().empty());
  }
}

}  // namespace
}  // namespace hingeline::service

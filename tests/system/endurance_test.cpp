// The rig and the wear of fits on the command line: counted, kept, pulled from the wall.
#include <gtest/gtest.h>
#include <signal.h>

#include <chrono>
#include <nlohmann/json.hpp>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include "program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;

const std::string kSaxophone = example("saxophone.json");

std::string rig_in(const Folder& folder) { return folder.file("rig.json", file_text(example("rig.json"))); }

json rig_json(const std::string& file, const std::string& at) {
  const Outcome o = hingeline_with({"rig", file, "--at", at, "--json"});
  EXPECT_EQ(o.code, 0) << o.err;
  return json::parse(o.out);
}

TEST(Rig, CountsFromRateAndClock) {
  const Folder folder;
  const std::string file = rig_in(folder);
  const json at = rig_json(file, "2026-10-25T12:00:00+01:00");
  EXPECT_EQ(at["closings"], 3'200'400);
  // 40 seconds later at 1.5 a second, another clock's offset.
  EXPECT_EQ(rig_json(file, "2026-10-25T11:00:40Z")["closings"], 3'200'460);
  const Outcome told =
      hingeline_with({"rig", file, "--at", "2026-10-25T12:00:00+01:00", "--colour", "never"});
  EXPECT_NE(told.out.find("3 200 400 ± 17 300 closings"), std::string::npos) << told.out;
  EXPECT_NE(told.out.find("2026-11-08 09:15"), std::string::npos) << told.out;
  // Looking changes nothing.
  EXPECT_EQ(file_text(file), file_text(example("rig.json")));
  // By the real clock, whatever it says.
  EXPECT_EQ(hingeline_with({"rig", file}).code, 0);
}

TEST(Rig, KeepsWhatIsDone) {
  const Folder folder;
  const std::string file = rig_in(folder);
  EXPECT_EQ(hingeline_with({"rig", file, "--pause", "--at", "2026-10-25T12:00:00+01:00"}).code, 0);
  EXPECT_EQ(rig_json(file, "2026-10-30T12:00:00+01:00")["closings"], 3'200'400);
  EXPECT_EQ(hingeline_with({"rig", file, "--inspect", "oiled-1=fine", "--inspect", "dry-1=failed", "--note",
                            "grey dust", "--at", "2026-10-26T09:00+01:00"})
                .code,
            0);
  EXPECT_EQ(hingeline_with({"rig", file, "--start", "2 ± 0.01", "--at", "2026-10-26T10:00+01:00"}).code, 0);
  EXPECT_EQ(hingeline_with({"rig", file, "--rate", "4", "--at", "2026-10-26T10:01+01:00"}).code, 0);
  const json now = rig_json(file, "2026-10-26T10:01:10+01:00");
  EXPECT_EQ(now["closings"], 3'200'400 + 120 + 40);
  EXPECT_EQ(now["inspections"].size(), 17u);
  EXPECT_EQ(now["inspections"][16]["note"], "grey dust");
}

TEST(Rig, RefusesNonsenseAndLeavesTheFile) {
  const Folder folder;
  const std::string file = rig_in(folder);
  const std::string before = file_text(file);
  const struct {
    std::vector<std::string> arguments;
    int code;
    const char* says;
  } rows[] = {
      {{"--start", "2"}, 2, "running since"},
      {{"--start", "2", "--pause"}, 2, "one at a time"},
      {{"--rate", "fast"}, 2, "\"fast\" is no rate"},
      {{"--rate", "500"}, 4, "larger than can be"},
      {{"--inspect", "oiled-1"}, 2, "SPECIMEN=fine"},
      {{"--inspect", "nobody=fine"}, 4, "there is no specimen \"nobody\""},
      {{"--inspect", "dry-2=fine"}, 4, "had failed before"},
      {{"--note", "alone"}, 2, "--inspect"},
      {{"--at", "yesterday"}, 2, "is no moment"},
      {{"--at", "2026-10-25T12:00"}, 2, "offset"},
      {{"--pause", "--at", "2026-10-01T12:00Z"}, 2, "written already"},
      {{"--watch"}, 2, "a terminal"},
      {{"--watch", "--pause"}, 2, "--watch alone"},
  };
  for (const auto& row : rows) {
    std::vector<std::string> arguments{"rig", file};
    arguments.insert(arguments.end(), row.arguments.begin(), row.arguments.end());
    const Outcome o = hingeline_with(arguments);
    EXPECT_EQ(o.code, row.code) << row.says << "\n" << o.err;
    EXPECT_NE(o.err.find(row.says), std::string::npos) << o.err;
    EXPECT_EQ(file_text(file), before) << row.says;
  }
  EXPECT_EQ(hingeline_with({"rig", folder.path() / "none.json", "--pause"}).code, 3);
  EXPECT_EQ(hingeline_with({"rig", kSaxophone}).code, 4);
  EXPECT_EQ(hingeline_with({"rig", "-", "--pause"}, {.input = before}).code, 2);
  EXPECT_EQ(hingeline_with({"rig", "-"}, {.input = before}).code, 0);
}

/// Starts the program and kills it, whatever it is doing, after so many microseconds.
void pull_the_plug(std::vector<std::string> arguments, int after) {
  arguments.insert(arguments.begin(), HINGELINE_PROGRAM);
  std::vector<char*> argv;
  for (auto& a : arguments) argv.push_back(a.data());
  argv.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
  pid_t child = 0;
  const int failed = posix_spawn(&child, HINGELINE_PROGRAM, &actions, nullptr, argv.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  ASSERT_EQ(failed, 0);
  std::this_thread::sleep_for(std::chrono::microseconds(after));
  kill(child, SIGKILL);
  int status = 0;
  waitpid(child, &status, 0);
}

TEST(Rig, PullingThePlugLeavesTheOldOrTheNew) {
  const Folder folder;
  const std::string file = rig_in(folder);
  ASSERT_EQ(hingeline_with({"rig", file, "--inspect", "oiled-1=fine", "--at", "2026-10-25T12:00Z"}).code, 0);
  std::size_t looks = json::parse(file_text(file))["inspections"].size();
  std::mt19937 random(7);
  int kept = 0;
  constexpr int kTimes = 200;
  for (int i = 0; i < kTimes; ++i) {
    pull_the_plug({"rig", file, "--inspect", "oiled-1=fine", "--at", "2026-10-25T12:00Z"},
                  static_cast<int>(random() % 12'000));
    const json now = json::parse(file_text(file));
    const std::size_t there = now["inspections"].size();
    ASSERT_TRUE(there == looks || there == looks + 1) << i;
    kept += there == looks + 1 ? 1 : 0;
    looks = there;
  }
  RecordProperty("kept", kept);
  // And it goes on.
  EXPECT_EQ(hingeline_with({"rig", file, "--inspect", "oiled-1=fine", "--at", "2026-10-25T12:00Z"}).code, 0);
  EXPECT_EQ(json::parse(file_text(file))["inspections"].size(), looks + 1);
}

TEST(Rig, TwoAtOnceBothCount) {
  const Folder folder;
  const std::string file = rig_in(folder);
  const std::size_t looks = json::parse(file_text(file))["inspections"].size();
  constexpr int kEach = 15;
  const auto bench = [&](const char* specimen) {
    for (int i = 0; i < kEach; ++i)
      EXPECT_EQ(hingeline_with(
                    {"rig", file, "--inspect", std::string(specimen) + "=fine", "--at", "2026-10-25T12:00Z"})
                    .code,
                0);
  };
  std::thread other(bench, "oiled-1");
  bench("oiled-2");
  other.join();
  EXPECT_EQ(json::parse(file_text(file))["inspections"].size(), looks + 2 * kEach);
}

/// The saxophone with earlier end plays for one key.
std::string saxophone_in(const Folder& folder) {
  json saxophone = json::parse(file_text(kSaxophone));
  saxophone["shop"] = example("shop.json");
  saxophone["playing"] = {{"hours", "8 h/week"}, {"surfaces", "brass on steel"}, {"read_on", "2026-11-20"}};
  for (auto& key : saxophone["keys"]) {
    if (key["id"] == "low-c") {
      key["past"] = {{{"on", "2022-05-10"}, {"kind", "fitted"}, {"end_play", "0.018 mm ± 0.006"}},
                     {{"on", "2024-03-02"}, {"kind", "read"}, {"end_play", "0.08 mm ± 0.006"}}};
    }
  }
  return folder.file("saxophone.json", saxophone.dump(2));
}

TEST(Wear, SaysWhenAFitIsDueAgain) {
  const Folder folder;
  const std::string file = saxophone_in(folder);
  const Outcome table = hingeline_with({"wear", file, "--colour", "never"});
  EXPECT_EQ(table.code, 0) << table.err;
  EXPECT_NE(table.out.find("due once fitted"), std::string::npos) << table.out;
  EXPECT_NE(table.out.find("End plays read on 2026-11-20"), std::string::npos) << table.out;
  const Outcome one = hingeline_with({"wear", file, "low-c", "--colour", "never"});
  EXPECT_NE(one.out.find("with what this key has shown"), std::string::npos) << one.out;
  const json keys = json::parse(hingeline_with({"wear", file, "--json"}).out)["keys"];
  for (const json& key : keys) {
    if (key.contains("problem")) continue;
    EXPECT_LE(key["growth"]["low"], key["growth"]["high"]);
    // 0.147 mm in 4.53 years, and a wide prior.
    if (key["id"] == "low-c") {
      EXPECT_NEAR(key["growth"]["median"].get<double>(), 0.0325, 0.004);
    }
  }
  const Outcome inches = hingeline_with({"wear", file, "low-c", "--unit", "in", "--colour", "never"});
  EXPECT_NE(inches.out.find(" in a year"), std::string::npos) << inches.out;
}

TEST(Wear, RefusesNonsense) {
  const Folder folder;
  EXPECT_EQ(hingeline_with({"wear", kSaxophone, "low-q"}).code, 6);
  EXPECT_EQ(hingeline_with({"wear", folder.path() / "none.json"}).code, 3);
  json saxophone = json::parse(file_text(kSaxophone));
  saxophone["shop"] = example("shop.json");
  saxophone["playing"] = {{"hours", "200 h/week"}};
  const Outcome o = hingeline_with({"wear", folder.file("a.json", saxophone.dump())});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("/playing/hours"), std::string::npos) << o.err;
}

}  // namespace
}  // namespace hingeline::test

// hingeline leak, as a person runs it.

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "program.h"

namespace hingeline::test {
namespace {

using Json = nlohmann::ordered_json;

/// The demonstration saxophone with one touch, one rim and a leak that was read.
Json saxophone() {
  Json j = Json::parse(file_text(example("saxophone.json")));
  j.erase("shop");
  for (Json& key : j["keys"]) {
    if (key["id"] != "low-c") continue;
    key["pad"]["land"] = "1.0 mm ± 0.1";
    key["pad"]["closing_force"] = "-0.4 N ± 0.1";
    key["touch"] = {{"arm", "24 mm ± 0.5"},
                    {"force", "1.3 N ± 0.3"},
                    {"fingers",
                     {{{"name", "middle of the touch"}, {"station", "33 mm ± 2"}},
                      {{"name", "tip of the touch"}, {"station", "78 mm ± 2"}}}}};
  }
  j["leak_reading"] = {{"flow", "52 mL/s ± 5"}, {"pressure", "2 kPa"}};
  return j;
}

std::vector<std::string> arguments(const Folder& folder, const Json& document,
                                   std::vector<std::string> more = {}) {
  std::vector<std::string> all = {"leak", folder.file("instrument.json", document.dump(2)), "--shop",
                                  example("shop.json")};
  all.insert(all.begin() + 2, more.begin(), more.end());
  return all;
}

TEST(Leak, TableAndSheetSayWhatTheJsonSays) {
  const Folder folder;
  const Outcome table = hingeline_with(arguments(folder, saxophone()));
  ASSERT_EQ(table.code, 0) << table.err;
  EXPECT_EQ(table.err, "");
  const Outcome json = hingeline_with(arguments(folder, saxophone(), {"--json"}));
  ASSERT_EQ(json.code, 0) << json.err;
  const Json all = Json::parse(json.out);
  EXPECT_EQ(all["keys"].size(), saxophone()["keys"].size());
  double sum = 0;
  for (const Json& key : all["keys"]) {
    EXPECT_NE(table.out.find("\n" + key["id"].get<std::string>() + " "), std::string::npos) << key["id"];
    if (key.contains("leak")) sum += key["leak"]["value"].get<double>();
  }
  EXPECT_NEAR(all["total"]["value"].get<double>(), sum, 1e-4);
  EXPECT_NE(table.out.find("All pads together"), std::string::npos);
  // 5 of the flow and a tenth of the pressure, which has no ± of its own: the root of 5^2 + 5.2^2.
  EXPECT_NE(table.out.find("Read on the closed instrument: 52.0 ± 7.2 mL/s"), std::string::npos) << table.out;

  const Outcome sheet = hingeline_with(arguments(folder, saxophone(), {"low-c"}));
  ASSERT_EQ(sheet.code, 0);
  EXPECT_NE(sheet.out.find("Finger, middle of the touch: closed all round"), std::string::npos) << sheet.out;
  EXPECT_NE(sheet.out.find("Finger, tip of the touch: leaks"), std::string::npos) << sheet.out;
  EXPECT_NE(sheet.out.find("seals under one finger"), std::string::npos) << sheet.out;
  EXPECT_NE(sheet.out.find("/pad/land"), std::string::npos) << sheet.out;
  const Json one = Json::parse(hingeline_with(arguments(folder, saxophone(), {"low-c", "--json"})).out);
  ASSERT_EQ(one["keys"].size(), 1u);
  EXPECT_EQ(one["keys"][0]["worst_finger"], "tip of the touch");
}

TEST(Leak, InInches) {
  const Folder folder;
  const Outcome o = hingeline_with(arguments(folder, saxophone(), {"low-c", "--unit", "in"}));
  ASSERT_EQ(o.code, 0);
  EXPECT_NE(o.out.find(" in at its rim"), std::string::npos) << o.out;
}

TEST(Leak, NonsenseHasItsPlace) {
  const Folder folder;
  EXPECT_EQ(hingeline_with(arguments(folder, saxophone(), {"low-q"})).code, 6);
  Json half = saxophone();
  half["leak_reading"] = {{"flow", "3 mL/s"}};
  const Outcome reading = hingeline_with(arguments(folder, half));
  EXPECT_EQ(reading.code, 4);
  EXPECT_NE(reading.err.find("/leak_reading"), std::string::npos) << reading.err;
  EXPECT_NE(reading.err.find("not whole"), std::string::npos) << reading.err;
  Json wrong = saxophone();
  wrong["keys"][0]["pad"]["land"] = "-1 mm";
  EXPECT_EQ(hingeline_with(arguments(folder, wrong)).code, 4);
  wrong = saxophone();
  wrong["keys"][0]["pad"]["closing_force"] = "3 mm";
  const Outcome unit = hingeline_with(arguments(folder, wrong));
  EXPECT_EQ(unit.code, 4);
  EXPECT_NE(unit.err.find("/keys/0/pad/closing_force"), std::string::npos) << unit.err;
  wrong = saxophone();
  wrong["keys"][0]["touch"] = {{"force", "1 N"}};
  EXPECT_EQ(hingeline_with(arguments(folder, wrong)).code, 4);
}

TEST(Leak, SameBytesOnAnyNumberOfThreads) {
  const Folder folder;
  const std::string one = hingeline_with(arguments(folder, saxophone(), {"--json", "--threads", "1"})).out;
  EXPECT_EQ(hingeline_with(arguments(folder, saxophone(), {"--json", "--threads", "8"})).out, one);
}

TEST(Leak, TheOtherExampleToo) {
  const Outcome o = hingeline_with({"leak", example("clarinet.json")});
  EXPECT_EQ(o.code, 0) << o.err;
  EXPECT_NE(o.out.find("All pads together"), std::string::npos);
}

}  // namespace
}  // namespace hingeline::test

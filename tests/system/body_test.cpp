// The body's commands as a person runs them.
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;

/// The saxophone of the examples on a body that is bent, two of its keys placed, one post leaning.
std::string bent_saxophone(const Folder& folder) {
  json doc = json::parse(file_text(example("saxophone.json")));
  doc["shop"] = example("shop.json");
  json& body = doc["body"];
  body["diameter"] = "36 mm ± 1";
  body["bow"] = {{"chord", "440 mm ± 1"},
                 {"side", "plus"},
                 {"readings", {{{"station", "220 mm ± 1"}, {"value", "0.61 mm ± 0.03"}}}}};
  for (json& key : doc["keys"]) {
    if (key["id"] == "low-b") key["hinge"]["off_axis"] = "-30 mm ± 1";
    if (key["id"] == "palm-d") key["hinge"]["off_axis"] = "22 mm ± 1";
    if (key["id"] == "palm-f") {
      key["hinge"]["upper"]["post"]["lean"] = "-0.35 deg ± 0.10";
      key["hinge"]["post_height"] = "8 mm ± 0.3";
    }
  }
  return folder.file("bent.json", doc.dump());
}

TEST(BowCommand, TellsBodyKeysAndPosts) {
  const Folder folder;
  const std::string file = bent_saxophone(folder);
  const Outcome text = hingeline_with({"bow", file});
  EXPECT_EQ(text.code, 0) << text.err;
  for (const char* words :
       {"hollow on the plus side", "Low B", "Palm D", "lean the upper post back outwards by 0.35 ± 0.10°",
        "Straighten the body first"}) {
    EXPECT_NE(text.out.find(words), std::string::npos) << words << "\n" << text.out;
  }
  const Outcome o = hingeline_with({"bow", file, "--json"});
  ASSERT_EQ(o.code, 0) << o.err;
  const json j = json::parse(o.out);
  // By hand: surface 8f/(C^2 + 4f^2), turned to the axis 18 mm under it; end play -kappa y S.
  const double surface = 8 * 0.61 / (440.0 * 440 + 4 * 0.61 * 0.61);
  const double axis = surface / (1 + 18 * surface);
  EXPECT_NEAR(j["body"]["read"]["curvature"]["value"].get<double>(), 1000 * axis, 1e-6);
  for (const json& key : j["keys"]) {
    if (key["id"] != "low-b") continue;
    EXPECT_NEAR(key["effect"]["value"].get<double>() + key["tilt_cost"].get<double>(), axis * 30 * 118.48,
                2e-4);
    EXPECT_NE(text.out.find(key["id"] == "low-b" ? "Low B" : ""), std::string::npos);
    char shown[32];
    std::snprintf(shown, sizeof shown, "%.3f ± %.3f", key["effect"]["value"].get<double>(),
                  key["effect"]["plus_minus"].get<double>());
    EXPECT_NE(text.out.find(shown), std::string::npos) << shown;
  }
  const Outcome one = hingeline_with({"bow", file, "low-b", "--unit", "in"});
  EXPECT_EQ(one.code, 0);
  EXPECT_NE(one.out.find("moves it by"), std::string::npos);
  EXPECT_NE(one.out.find(" in"), std::string::npos);
}

TEST(BowCommand, RefusesNonsense) {
  const Folder folder;
  const std::string file = bent_saxophone(folder);
  EXPECT_EQ(hingeline_with({"bow", file, "no-such-key"}).code, 6);
  const Outcome nothing = hingeline_with({"bow", example("clarinet.json"), "--shop", example("shop.json")});
  if (nothing.code != 0) {  // the example may be given a bow one day
    EXPECT_EQ(nothing.code, 4);
    EXPECT_NE(nothing.err.find("\"off_axis\""), std::string::npos) << nothing.err;
  }
  json doc = json::parse(file_text(file));
  doc["body"]["bow"]["side"] = "left";
  EXPECT_EQ(hingeline_with({"bow", folder.file("side.json", doc.dump())}).code, 4);
  doc["body"]["bow"]["side"] = "plus";
  doc["body"]["bow"].erase("chord");
  const Outcome chord = hingeline_with({"bow", folder.file("chord.json", doc.dump())});
  EXPECT_EQ(chord.code, 4);
  EXPECT_NE(chord.err.find("need the chord"), std::string::npos) << chord.err;
}

TEST(SeasonCommand, MovesTheWindowAndSaysWhatBinds) {
  const Folder folder;
  json doc = json::parse(file_text(example("clarinet.json")));
  doc["shop"] = example("shop.json");
  doc["body"]["expansion"] = "85 1e-6/K ± 20";
  doc["body"].erase("moisture");
  const std::string file = folder.file("plastic.json", doc.dump());
  const Outcome text = hingeline_with({"season", file, "--service", "outdoor band"});
  EXPECT_EQ(text.code, 0) << text.err;
  EXPECT_NE(text.out.find("outdoor band, 5 to 35 °C"), std::string::npos) << text.out;
  // Common practice: plastic bodies bind in the cold.
  EXPECT_NE(text.out.find("binds "), std::string::npos);
  const Outcome o = hingeline_with({"season", file, "register", "--service", "outdoor band", "--json"});
  ASSERT_EQ(o.code, 0) << o.err;
  const json j = json::parse(o.out);
  ASSERT_EQ(j["keys"].size(), 1U);
  const json& play = j["keys"][0]["end_play"];
  // 85 against 17 millionths over 30.2 mm and 15 K.
  EXPECT_NEAR(play["bench"]["value"].get<double>() - play["coldest"]["value"].get<double>(),
              68e-6 * 15 * 30.2, 1e-5);
  EXPECT_NE(hingeline_with({"season", file, "register", "--service", "outdoor band"}).out.find("moves it by"),
            std::string::npos);
}

TEST(SeasonCommand, RefusesNonsense) {
  const Outcome o = hingeline_with({"season", example("saxophone.json"), "--service", "out door band"});
  EXPECT_EQ(o.code, 6);
  EXPECT_NE(o.err.find("perhaps \"outdoor band\""), std::string::npos) << o.err;
  EXPECT_EQ(hingeline_with({"season", example("saxophone.json"), "nothing"}).code, 6);
  EXPECT_EQ(hingeline_with({"season"}).code, 2);
}

}  // namespace
}  // namespace hingeline::test

// Stacks as a person asks for them.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;

/// The demonstration's saxophone with one stack.
std::string document(const Folder& folder, const json& change = json::object()) {
  json d = json::parse(file_text(example("saxophone.json")));
  for (const char* other : {"oil", "links", "closes_together", "works"}) d.erase(other);
  d["shop"] = "";
  for (auto& key : d["keys"]) {
    if (key["hinge"]["kind"] != "rod") continue;
    key["readings"]["end_play"] = {{"value", 0.1}, {"unit", "mm"}, {"plus_minus", 0.006}};
  }
  json keys = json::array();
  for (auto& key : d["keys"]) {
    if (key["hinge"]["kind"] == "rod") keys.push_back(key);
  }
  d["keys"] = keys;
  json stack = json::parse(R"({
    "id": "side-stack", "name": "Side keys",
    "rod": {"bow": "0.02 mm ± 0.01", "bow_over": "130 mm"},
    "gaps": [{"tubes": [{"key": "octave-lever"}]}, {"tubes": [{"key": "side-f-sharp"}]}]
  })");
  stack.merge_patch(change);
  d["stacks"] = json::array({stack});
  return folder.file("saxophone.json", d.dump(1));
}

/// Wrapped text without its line ends.
std::string on_one_line(const std::string& text) {
  std::string out;
  for (const char c : text) {
    const char plain = c == '\n' ? ' ' : c;
    if (plain != ' ' || (!out.empty() && out.back() != ' ')) out += plain;
  }
  return out;
}

TEST(StackCommand, TellsTubesPlanAndRods) {
  const Folder folder;
  const std::string file = document(folder);
  const Outcome o = hingeline_with({"stack", file});
  EXPECT_EQ(o.code, 0) << o.err;
  EXPECT_EQ(o.err, "");
  for (const char* said : {"Side keys (side-stack)", "gap 1 (Octave lever)  0.1000 ± 0.0060 mm", "loose",
                           "Least work", "1. Swedge", "What rules: ", "Or: ", "Which rod",
                           "as it is, 2.000 mm", "First, without metal", "Caution: wear eye protection"}) {
    EXPECT_NE(o.out.find(said), std::string::npos) << said << "\n" << o.out;
  }
  const Outcome one = hingeline_with({"stack", file, "side-stack"});
  EXPECT_EQ(one.out, o.out);
}

TEST(StackCommand, JsonAgreesWithTheText) {
  const Folder folder;
  const std::string file = document(folder);
  const Outcome text = hingeline_with({"stack", file});
  const Outcome o = hingeline_with({"stack", file, "--json"});
  ASSERT_EQ(o.code, 0) << o.err;
  const json stack = json::parse(o.out)["stacks"][0];
  EXPECT_EQ(stack["fit"], "H7/g6");
  // 2.03 - 2.00 and 2.06 - 2.00.
  EXPECT_NEAR(stack["tubes"][0]["clearance"]["value"].get<double>(), 0.03, 1e-6);
  EXPECT_NEAR(stack["tubes"][1]["clearance"]["value"].get<double>(), 0.06, 1e-6);
  // Both gaps from 0.1 to the window's upper edge less the reading's doubt: 0.1 - 0.024 of growth.
  double grown[2] = {};
  // Inches are for showing.
  const std::string inch = on_one_line(hingeline_with({"stack", file, "--unit", "in"}).out);
  for (const json& step : stack["plans"][0]["steps"]) {
    ASSERT_EQ(step["work"], "swedge");
    const double amount = step["amount"];
    grown[step["gap"].get<int>() - 1] += amount;
    EXPECT_NE(on_one_line(text.out).find(fmt::format("{:.3f} mm longer", amount)), std::string::npos);
    EXPECT_NE(inch.find(fmt::format("{:.4f} in longer", amount / 25.4)), std::string::npos) << inch;
  }
  EXPECT_NEAR(grown[0], 0.076, 2e-6);
  EXPECT_NEAR(grown[1], 0.076, 2e-6);
}

TEST(StackCommand, SaysWhatIsWrongAndWhere) {
  const Folder folder;
  EXPECT_EQ(hingeline_with({"stack", document(folder), "side-stak"}).code, 6);
  Outcome o =
      hingeline_with({"stack", document(folder, {{"gaps", {{{"tubes", {{{"key", "octave-levr"}}}}}}}})});
  EXPECT_EQ(o.code, 6);
  EXPECT_NE(o.err.find("octave-lever"), std::string::npos) << o.err;
  for (const json& gaps : {json::array(), json::array({{{"tubes", json::array()}}}),
                           json::array({{{"end_play", "0.1 m"}, {"tubes", {{{"key", "octave-lever"}}}}}}),
                           json::array({{{"tubes", {{{"key", "octave-lever"}, {"swedge", "maybe"}}}}}})}) {
    o = hingeline_with({"stack", document(folder, {{"gaps", gaps}})});
    EXPECT_EQ(o.code, 4) << gaps;
    EXPECT_NE(o.err.find("/stacks/0"), std::string::npos) << o.err;
    EXPECT_EQ(o.out, "");
  }
  o = hingeline_with({"stack", document(folder, {{"posts", json::array({json::object()})}})});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("1 posts round 2 gaps"), std::string::npos) << o.err;
}

TEST(StackCommand, OffersNoOptionThatWouldDoNothing) {
  const Outcome o = hingeline_with({"stack", example("saxophone.json"), "--threads", "2"});
  EXPECT_EQ(o.code, 2);
  EXPECT_NE(o.err.find("--threads"), std::string::npos) << o.err;
  EXPECT_EQ(hingeline_with({"stack", "--help"}).out.find("--threads"), std::string::npos);
  const std::string completion = hingeline_with({"completion", "fish"}).out;
  EXPECT_NE(completion.find("seen_subcommand_from stack' -l unit"), std::string::npos);
  EXPECT_EQ(completion.find("seen_subcommand_from stack' -l threads"), std::string::npos);
}

TEST(StackCommand, AnInstrumentWithoutStacks) {
  const Outcome o = hingeline_with({"stack", example("clarinet.json")});
  EXPECT_EQ(o.code, 0);
  EXPECT_EQ(o.out, "This instrument lists no stacks.\n");
  const Outcome j = hingeline_with({"stack", example("clarinet.json"), "--json"});
  EXPECT_EQ(json::parse(j.out)["stacks"].size(), 0u);
  EXPECT_EQ(hingeline_with({"stack", example("clarinet.json"), "any"}).code, 6);
}

}  // namespace
}  // namespace hingeline::test

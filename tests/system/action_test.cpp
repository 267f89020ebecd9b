#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "system/program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;

json sprung() {
  json document = json::parse(file_text(example("saxophone.json")));
  document["shop"] = example("shop.json");
  for (auto& key : document["keys"]) {
    if (!key.contains("pad")) continue;
    key["spring"] = {{"kind", "needle"},
                     {"diameter", "0.8 mm ± 0.01"},
                     {"length", "33 mm ± 0.5"},
                     {"set", "5 mm ± 0.4"},
                     {"works_at", "5 mm ± 0.2"}};
    key["moving"] = {{"stands", "open"}, {"mass", "10 g ± 0.3"}, {"gyration", "16 mm ± 2"}};
    key["touch"] = {{"arm", "20 mm ± 0.5"}};
  }
  return document;
}

TEST(Action, TellsTheSameInWordsAndInJson) {
  const Folder folder;
  const std::string file = folder.file("sax.json", sprung().dump(1));
  const Outcome words = hingeline_with({"action", file});
  ASSERT_EQ(words.code, 0) << words.err;
  const Outcome as_json = hingeline_with({"action", file, "--json"});
  ASSERT_EQ(as_json.code, 0) << as_json.err;
  const json result = json::parse(as_json.out);
  EXPECT_GE(result["keys"].size(), 22u);
  for (const auto& key : result["keys"]) {
    const std::string line = "\n" + key["id"].get<std::string>() + " ";
    const auto at = words.out.find(line);
    ASSERT_NE(at, std::string::npos) << line;
    const std::string row = words.out.substr(at, words.out.find('\n', at + 1) - at);
    EXPECT_NE(row.find(key["verdict"].get<std::string>()), std::string::npos) << row;
    if (!key["figures"].contains("stress-share")) continue;
    const double share = key["figures"]["stress-share"]["value"];
    EXPECT_NE(row.find(std::to_string(std::lround(share * 100)) + " %"), std::string::npos) << row;
  }
  for (const auto& line : result["advice"]) {
    EXPECT_NE(words.out.find(line.get<std::string>().substr(0, 30)), std::string::npos) << line;
  }
  EXPECT_EQ(hingeline_with({"action", file, "--threads", "5", "--json"}).out, as_json.out);
}

TEST(Action, ExplainsEveryKey) {
  const Folder folder;
  const json document = sprung();
  const std::string file = folder.file("sax.json", document.dump(1));
  for (const auto& key : document["keys"]) {
    const std::string id = key["id"];
    const Outcome o = hingeline_with({"action", file, id, "--unit", "in"});
    EXPECT_EQ(o.code, 0) << id << o.err;
    EXPECT_EQ(o.out.rfind(id + ", ", 0), 0u);
    EXPECT_EQ(o.out.find("nan"), std::string::npos) << id;
    const json one = json::parse(hingeline_with({"action", file, id, "--json"}).out);
    ASSERT_EQ(one["keys"].size(), 1u);
    EXPECT_EQ(one["keys"][0]["id"], id);
  }
}

TEST(Action, NonsenseIsSaidWithItsPlace) {
  const Folder folder;
  json document = sprung();
  EXPECT_EQ(hingeline_with({"action", folder.file("a.json", document.dump(1)), "low-z"}).code, 6);
  for (const auto& [pointer, wrong] :
       std::vector<std::pair<const char*, json>>{{"/keys/0/spring/diameter", "0 mm"},
                                                 {"/keys/0/spring/diameter", "40 mm"},
                                                 {"/keys/0/spring/set", "-1 mm"},
                                                 {"/keys/0/spring/width", "3 mm"},
                                                 {"/keys/0/spring/kind", "coil"},
                                                 {"/keys/0/moving/mass", "10 kg"},
                                                 {"/keys/0/moving/mass", "0 g"},
                                                 {"/keys/0/touch/arm", "wide"},
                                                 {"/keys/0/touch/finger", 1}}) {
    json changed = document;
    changed[json::json_pointer(pointer)] = wrong;
    const Outcome o = hingeline_with({"action", folder.file("b.json", changed.dump(1))});
    EXPECT_EQ(o.code, 4) << pointer << wrong;
    EXPECT_EQ(o.out, "");
    EXPECT_NE(o.err.find(pointer), std::string::npos) << o.err;
  }
  json oil = document;
  oil["oil"] = {{"name", "salad oil"}};
  const Outcome o = hingeline_with({"action", folder.file("c.json", oil.dump(1))});
  EXPECT_EQ(o.code, 6);
  EXPECT_NE(o.err.find("/oil/name"), std::string::npos) << o.err;
}

}  // namespace
}  // namespace hingeline::test

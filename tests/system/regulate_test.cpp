// "hingeline regulate" as a person runs it.

#include <gtest/gtest.h>

#include <functional>
#include <nlohmann/json.hpp>

#include "system/program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;

/// The demonstration with two linked keys of its own: f drives f-sharp, e does too.
json linked() {
  json document = json::parse(file_text(example("saxophone.json")));
  document.erase("shop");
  document.erase("oil");
  for (json& key : document["keys"]) {
    const std::string id = key["id"];
    if (id == "f") key["opening"] = "2.6 mm ± 0.05";
    if (id == "e") key["opening"] = "2.7 mm ± 0.05";
    if (id == "f-sharp") key["opening"] = "2.3 mm ± 0.05";
  }
  document["links"] = json::array({{{"from", "f"},
                                    {"to", "f-sharp"},
                                    {"driver_arm", "14 mm ± 0.1"},
                                    {"foot_arm", "14.5 mm ± 0.1"},
                                    {"gap", "0.05 mm ± 0.02"},
                                    {"cork", "0.8 mm"},
                                    {"material", "cork"}},
                                   {{"from", "e"},
                                    {"to", "f-sharp"},
                                    {"driver_arm", "13 mm ± 0.1"},
                                    {"foot_arm", "14.5 mm ± 0.1"},
                                    {"gap", "0.10 mm ± 0.02"},
                                    {"cork", "0.6 mm"},
                                    {"material", "cork"}}});
  document["closes_together"] =
      json::array({{{"key", "f"}, {"partner", "f-sharp"}, {"under", "f"}, {"gap", "0.01 mm ± 0.01"}},
                   {{"key", "e"}, {"partner", "f-sharp"}, {"under", "e"}, {"gap", "0.13 mm ± 0.01"}}});
  return document;
}

class Regulate : public ::testing::Test {
 protected:
  Outcome with(const json& document, std::vector<std::string> more = {}) {
    const std::string file = folder_.file("document.json", document.dump(2));
    more.insert(more.begin(), {"regulate", file});
    return hingeline_with(std::move(more));
  }

 private:
  Folder folder_;
};

TEST_F(Regulate, SaysWhichCorkAndJsonAgrees) {
  const Outcome text = with(linked());
  ASSERT_EQ(text.code, 0) << text.err;
  EXPECT_NE(text.out.find("e closes first and f-sharp then stands open 0.13"), std::string::npos) << text.out;
  EXPECT_NE(text.out.find("To do, the fewest corks"), std::string::npos);
  const Outcome as_json = with(linked(), {"--json"});
  ASSERT_EQ(as_json.code, 0);
  const json j = json::parse(as_json.out);
  EXPECT_EQ(j["pairs"][0]["closes"], "together");
  EXPECT_EQ(j["pairs"][1]["closes"], "key first");
  ASSERT_EQ(j["changes"].size(), 1u);
  EXPECT_EQ(j["changes"][0]["from"], "e");
  // Gap 0.13 mm at a pad on 22 mm, foot 14.5 mm.
  EXPECT_NEAR(j["changes"][0]["thicker"]["value"].get<double>(), 0.13 * 14.5 / 22, 0.002);
  for (const std::string word : {"formula", "inputs"}) EXPECT_TRUE(j["pairs"][1]["gap"].contains(word));
}

TEST_F(Regulate, ExplainsOneKey) {
  const Outcome o = with(linked(), {"e"});
  ASSERT_EQ(o.code, 0) << o.err;
  EXPECT_NE(o.out.find("From finger to pads"), std::string::npos);
  EXPECT_NE(o.out.find("e takes f-sharp along"), std::string::npos);
  EXPECT_NE(o.out.find("/links/1/gap"), std::string::npos);
  EXPECT_EQ(o.out.find("f and f-sharp under f\n"), std::string::npos);
  const Outcome inches = with(linked(), {"e", "--unit", "in"});
  EXPECT_NE(inches.out.find(" in"), std::string::npos);
  EXPECT_EQ(inches.out.find(" mm\n"), std::string::npos) << inches.out;
}

TEST_F(Regulate, WithoutLinksItSaysSo) {
  const Outcome o = hingeline_with({"regulate", example("clarinet.json")});
  EXPECT_EQ(o.code, 0);
  EXPECT_NE(o.out.find("No linked keys"), std::string::npos);
}

TEST_F(Regulate, NonsenseIsRefusedWithItsPlace) {
  EXPECT_EQ(with(linked(), {"ee"}).code, 6);
  EXPECT_EQ(with(linked(), {"palm-d"}).code, 4);
  const auto refused = [&](const std::function<void(json&)>& spoil, const std::string& says, int code = 4) {
    json document = linked();
    spoil(document);
    const Outcome o = with(document);
    EXPECT_EQ(o.code, code) << says;
    EXPECT_NE(o.err.find(says), std::string::npos) << o.err;
  };
  refused([](json& d) { d["links"][0]["to"] = "nobody"; }, "/links/0/to: there is no key \"nobody\"");
  refused([](json& d) { d["links"][0]["to"] = "f"; }, "\"f\" is linked to itself");
  refused([](json& d) { d["links"][0]["driver_arm"] = "0 mm"; }, "/links/0/driver_arm");
  refused([](json& d) { d["links"][0].erase("foot_arm"); }, "\"foot_arm\" is missing");
  refused([](json& d) { d["links"][0]["material"] = "corc"; },
          "no soft material \"corc\"; expected perhaps \"cork\"", 6);
  refused(
      [](json& d) {
        d["links"][0]["to"] = "e";
        d["links"][1]["to"] = "f";
      },
      "the links go round in a ring: ");
  refused([](json& d) { d["closes_together"][0]["partner"] = "f"; }, "cannot close together with itself");
  refused([](json& d) { d["closes_together"][0]["open"] = "e"; }, "\"e\" is neither of the pair");
  refused([](json& d) { d["keys"][0]["opening"] = "-1 mm"; }, "/keys/0/opening");
  refused(
      [](json& d) {
        d["keys"][0]["opening_wanted"] = {{"low", "3 mm"}, {"high", "2 mm"}};
      },
      "the least opening wanted");
}

TEST(RegulateCheck, FindsARing) {
  json document = linked();
  document["links"][0]["to"] = "e";
  document["links"][1]["to"] = "f";
  const Folder folder;
  const Outcome o = hingeline_with({"check", folder.file("ring.json", document.dump(2))});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("f drives e drives f"), std::string::npos) << o.err;
}

TEST_F(Regulate, GivesTheSameBytesForAnyNumberOfThreads) {
  const Outcome first = with(linked(), {"--json"});
  for (const char* threads : {"1", "3"})
    EXPECT_EQ(first.out, with(linked(), {"--json", "--threads", threads}).out);
}

}  // namespace
}  // namespace hingeline::test

// `budget` and `outfit` as a person runs them.

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "system/program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;

const std::string kExamples = std::string(HINGELINE_SOURCE_DIR) + "/examples/";

struct Bench {
  Folder folder;
  json instrument = json::parse(file_text(kExamples + "saxophone.json"));
  json shop = json::parse(file_text(kExamples + "shop.json"));
  Bench() {
    instrument["budget"] = {{"minutes", "60 min"}, {"money", "100"}};
    instrument["works"] = json::array({{{"id", "pad"},
                                        {"name", "New pad"},
                                        {"stage", "finish"},
                                        {"minutes", "15 min"},
                                        {"leak", "9 mL/s ± 3"}}});
    shop["prices"] = {{"currency", "crowns"}, {"per_hour", "60"}};
    shop["cutters"][0]["wear"] = "worn";
    shop["offered"]["rods"] = json::array({{{"diameter", "2.02 mm"}, {"price", "4.50"}}});
  }
  /// Runs a command with the instrument first.
  Outcome run(std::vector<std::string> arguments) {
    const std::string path = folder.file("sax.json", instrument.dump(1));
    const std::string shop_path = folder.file("shop.json", shop.dump(1));
    if (arguments.front() == "outfit") {
      arguments.insert(arguments.begin() + 1, {shop_path, path});
    } else {
      arguments.insert(arguments.begin() + 1, {path, "--shop", shop_path});
    }
    return hingeline_with(arguments);
  }
};

TEST(BudgetCommand, StaysWithinTheDocumentsBudgetAndSaysWhy) {
  Bench bench;
  const Outcome text = bench.run({"budget"});
  EXPECT_EQ(text.code, 0) << text.err;
  EXPECT_EQ(text.err, "");
  EXPECT_NE(text.out.find("Budget: 60 min and 100.00 crowns"), std::string::npos) << text.out;
  for (const char* said :
       {"together", "Next improvement: ", "nine times in ten", "What more minutes bring", "Left out"})
    EXPECT_NE(text.out.find(said), std::string::npos) << said;

  const Outcome asked = bench.run({"budget", "--json"});
  ASSERT_EQ(asked.code, 0);
  const json j = json::parse(asked.out);
  EXPECT_LE(j["total"]["minutes"].get<double>(), 60);
  EXPECT_LE(std::stod(j["total"]["money"].get<std::string>()), 100);
  double points = 0;
  double minutes = 0;
  for (const json& d : j["done"]) {
    points += d["points"].get<double>();
    minutes += d["minutes"]["value"].get<double>();
    EXPECT_NE(text.out.find(d["name"].get<std::string>()), std::string::npos) << d["name"];
  }
  for (const json& t : j["tools"]) minutes += t["minutes"].get<double>();
  EXPECT_NEAR(points, j["total"]["points"].get<double>(), 1e-6);
  EXPECT_NEAR(minutes, j["total"]["minutes"].get<double>(), 0.02 * static_cast<double>(j["done"].size()));
  // The ladder climbs.
  for (std::size_t k = 1; k < j["ladder"].size(); ++k) {
    EXPECT_GT(j["ladder"][k]["points"], j["ladder"][k - 1]["points"]);
    EXPECT_GT(j["ladder"][k]["minutes"], j["ladder"][k - 1]["minutes"]);
  }
}

TEST(BudgetCommand, OptionsGoBeforeDocuments) {
  Bench bench;
  const json less = json::parse(bench.run({"budget", "--json", "--minutes", "20"}).out);
  const json more =
      json::parse(bench.run({"budget", "--json", "--minutes", "120", "--money", "1000,00"}).out);
  EXPECT_LE(less["total"]["minutes"].get<double>(), 20);
  EXPECT_GT(more["total"]["points"], less["total"]["points"]);
  const json leak =
      json::parse(bench.run({"budget", "--json", "--weight-leak", "5", "--weight-feel", "0"}).out);
  EXPECT_EQ(leak["weights"]["leak"]["value"], 5.0);
  EXPECT_EQ(leak["weights"]["feel"]["value"], 0.0);
}

TEST(BudgetCommand, NonsenseIsSaidWithItsPlace) {
  Bench bench;
  for (const auto& [option, value] :
       {std::pair("--minutes", "soon"), std::pair("--minutes", "-3"), std::pair("--minutes", "1e9"),
        std::pair("--money", "1,234.5"), std::pair("--money", "-1"), std::pair("--weight-leak", "much"),
        std::pair("--weight-feel", "-1")}) {
    const Outcome o = bench.run({"budget", std::string(option) + "=" + value});
    EXPECT_EQ(o.code, 2) << option << value;
    EXPECT_EQ(o.out, "");
    EXPECT_NE(o.err.find(option), std::string::npos) << o.err;
  }
  bench.instrument["works"][0]["needs"] = json::array({{{"work", "pad"}}});
  Outcome o = bench.run({"budget"});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("in a circle"), std::string::npos) << o.err;
  bench.instrument["works"][0]["needs"][0]["work"] = "pads";
  o = bench.run({"budget"});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("/works/0/needs/0"), std::string::npos) << o.err;
  bench.instrument["works"][0].erase("needs");
  bench.instrument["works"][0].erase("minutes");
  o = bench.run({"budget"});
  EXPECT_EQ(o.code, 4);
  EXPECT_NE(o.err.find("does not say its minutes"), std::string::npos) << o.err;
}

TEST(BudgetCommand, NothingToSpendIsNoFault) {
  Bench bench;
  const Outcome o = bench.run({"budget", "--minutes", "0", "--money", "0"});
  EXPECT_EQ(o.code, 0);
  EXPECT_NE(o.out.find("Nothing to do that gains and fits."), std::string::npos) << o.out;
  bench.instrument["keys"] = json::array();
  bench.instrument.erase("works");
  bench.instrument.erase("stacks");
  bench.instrument.erase("links");
  bench.instrument.erase("closes_together");
  const Outcome empty = bench.run({"budget"});
  EXPECT_EQ(empty.code, 0) << empty.err;
}

TEST(OutfitCommand, TellsWhatToOwn) {
  Bench bench;
  const Outcome text =
      bench.run({"outfit", kExamples + "clarinet.json", "--ledger", kExamples + "ledger.json"});
  EXPECT_EQ(text.code, 0) << text.err;
  for (const char* said : {"Met in 2 instruments and 40 jobs", "cutters", "reamers", "rods", "2.02 mm rod"})
    EXPECT_NE(text.out.find(said), std::string::npos) << said << text.out;
  const json j = json::parse(
      bench.run({"outfit", kExamples + "clarinet.json", "--ledger", kExamples + "ledger.json", "--json"})
          .out);
  for (const json& kind : j["kinds"]) {
    std::int64_t all = 0;
    for (const json& met : kind["met"]) all += met["count"].get<std::int64_t>();
    EXPECT_EQ(all, kind["all"]);
    for (std::size_t k = 1; k < kind["steps"].size(); ++k)
      EXPECT_GT(kind["steps"][k]["served"], kind["steps"][k - 1]["served"]);
  }
  const Outcome wrong = hingeline_with({"outfit", kExamples + "saxophone.json"});
  EXPECT_EQ(wrong.code, 4);
  EXPECT_NE(wrong.err.find("another format"), std::string::npos);
  EXPECT_EQ(hingeline_with({"outfit", "/no/such/shop.json"}).code, 3);
}

}  // namespace
}  // namespace hingeline::test

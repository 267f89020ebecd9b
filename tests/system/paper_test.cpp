// Papers from the command line: one, many, out of the book, and what is wrong said.

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "system/program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

const std::string kSax = std::string(HINGELINE_SOURCE_DIR) + "/examples/saxophone.json";
const std::string kClarinet = std::string(HINGELINE_SOURCE_DIR) + "/examples/clarinet.json";
const std::string kShop = std::string(HINGELINE_SOURCE_DIR) + "/examples/shop.json";

std::string text_in(const std::string& pdf) {
  return run_program("/usr/bin/pdftotext", {"-layout", pdf, "-"}).out;
}

TEST(PaperCommand, WritesEveryKind) {
  const Folder folder;
  for (const std::string kind : {"card", "quote", "report", "lesson", "readings", "drawings", "tag"}) {
    const std::string file = (folder.path() / (kind + ".pdf")).string();
    std::vector<std::string> arguments{"paper", kind, kSax, "--day", "2026-11-27", "--output", file};
    if (kind == "lesson" || kind == "drawings") arguments.insert(arguments.end(), {"--key", "low-c"});
    const Outcome o = hingeline_with(arguments);
    EXPECT_EQ(o.code, 0) << kind << o.err;
    EXPECT_EQ(run_program("/usr/bin/qpdf", {"--check", file}).code, 0) << kind;
    EXPECT_NE(text_in(file).find("Demonstration"), std::string::npos) << kind;
  }
  const Outcome once = hingeline_with({"paper", "card", kSax, "--day", "2026-11-27"});
  EXPECT_EQ(once.out, file_text(folder.path() / "card.pdf")) << "same input, same bytes";
}

TEST(PaperCommand, ManyAtOnceInOneFileOrInAFolder) {
  const Folder folder;
  const std::string into = (folder.path() / "cards").string();
  const Outcome o =
      hingeline_with({"paper", "card", kSax, kClarinet, kSax, "--shop", kShop, "--folder", into});
  ASSERT_EQ(o.code, 0) << o.err;
  EXPECT_EQ(o.out.rfind("3 papers, ", 0), 0U) << o.out;
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(into)) names.push_back(entry.path().filename().string());
  std::sort(names.begin(), names.end());
  EXPECT_EQ(names,
            (std::vector<std::string>{"clarinet-card.pdf", "saxophone-2-card.pdf", "saxophone-card.pdf"}));
  const std::string all = (folder.path() / "all.pdf").string();
  ASSERT_EQ(hingeline_with({"paper", "card", kSax, "--each-key", "--language", "de", "--output", all}).code,
            0);
  const std::string text = text_in(all);
  EXPECT_NE(text.find("Low C"), std::string::npos);
  EXPECT_NE(text.find("Palm D"), std::string::npos);
}

TEST(PaperCommand, AReportSaysBeforeAndAfter) {
  const Folder folder;
  json after = json::parse(file_text(kSax));
  for (json& key : after["keys"]) {
    if (key["id"] == "low-c") key["readings"]["end_play"] = "0.022 mm ± 0.004";
  }
  const std::string now = folder.file("after.json", after.dump(1));
  const std::string file = (folder.path() / "report.pdf").string();
  const Outcome o = hingeline_with({"paper", "report", now, "--shop", kShop, "--before", kSax, "--work-done",
                                    "Low C: both seats", "--day", "2026-11-27", "--output", file});
  ASSERT_EQ(o.code, 0) << o.err;
  const std::string text = text_in(file);
  for (const char* words :
       {"Before and after", "0.165", "0.022", "as aimed at", "Low C: both seats", "When to come again"})
    EXPECT_NE(text.find(words), std::string::npos) << words << "\n" << text;
}

TEST(PaperCommand, SaysWhatIsWrong) {
  struct Wrong {
    std::vector<std::string> arguments;
    int code;
    std::string says;
  };
  for (const Wrong& w :
       {Wrong{{"paper", "poster", kSax}, 2, "poster"}, Wrong{{"paper", "lesson", kSax}, 2, "a key's id"},
        Wrong{{"paper", "card", kSax, "--key", "lowc"}, 6, "low-c"},
        Wrong{{"paper", "card", kSax, "--day", "2026-02-30"}, 2, "calendar"},
        Wrong{{"paper", "card", "/nowhere.json"}, 3, "cannot be read"},
        Wrong{{"paper", "quote", kSax, "--minutes", "x"}, 2, ""},
        Wrong{{"paper", "card", kSax, "--output", "/nowhere/x.pdf"}, 3, "cannot be written"}}) {
    const Outcome o = hingeline_with(w.arguments);
    EXPECT_EQ(o.code, w.code) << w.says << o.err;
    EXPECT_NE(o.err.find(w.says), std::string::npos) << o.err;
  }
}

TEST(PaperCommand, TheDaysCardsComeOutOfTheBook) {
  const Folder folder;
  const std::string book = (folder.path() / "shop.db").string();
  ASSERT_EQ(hingeline_with({"book", "put-shop", kShop, "--book", book}).code, 0);
  std::string visit;
  for (const char* day : {"2026-12-01", "2026-12-01", "2026-12-02"}) {
    const Outcome in = hingeline_with({"book", "take-in", kSax, "--owner", "Ada Example", "--complaint",
                                       "rattles", "--promised", day, "--book", book, "--json"});
    ASSERT_EQ(in.code, 0) << in.err;
    visit = json::parse(in.out)["visit"];
  }
  const std::string file = (folder.path() / "today.pdf").string();
  const Outcome cards = hingeline_with(
      {"book", "papers", "card", file, "--promised", "2026-12-01", "--day", "2026-11-27", "--book", book});
  ASSERT_EQ(cards.code, 0) << cards.err;
  EXPECT_NE(cards.out.find("2 pages of 2 visits"), std::string::npos) << cards.out;
  const std::string text = text_in(file);
  for (const char* words : {"Ada Example", "rattles", "2026-12-01", "Bench card"})
    EXPECT_NE(text.find(words), std::string::npos) << words;
  const std::string one = (folder.path() / "tag.pdf").string();
  ASSERT_EQ(hingeline_with({"book", "papers", "tag", one, "--visit", visit, "--book", book}).code, 0);
  EXPECT_EQ(hingeline_with({"book", "papers", "card", one, "--promised", "2027-01-01", "--book", book}).code,
            6);
  const Outcome quoted = hingeline_with({"book", "quoted", "--book", book});
  EXPECT_EQ(quoted.code, 0);
  EXPECT_NE(quoted.out.find("No visit yet"), std::string::npos) << quoted.out;
}

}  // namespace
}  // namespace hingeline::test

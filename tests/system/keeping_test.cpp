// Papers are PDF/A-1b (ISO 19005-1): every kind of them, and drawings, before the validator of Apache
// PDFBox 2.0.27 (Preflight, Debian's libpdfbox2-java). It is started once for all files.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>

#include "system/program.h"

namespace hingeline::test {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

const std::string kSax = example("saxophone.json");
const std::string kShop = example("shop.json");

class Keeping : public ::testing::Test {
 protected:
  /// A file that is to be valid; its path.
  std::string good(const std::string& name) {
    good_.insert(name + ".pdf");
    return (folder_.path() / (name + ".pdf")).string();
  }
  /// One that is not.
  std::string bad(const std::string& name) {
    bad_.insert(name + ".pdf");
    return (folder_.path() / (name + ".pdf")).string();
  }
  static void made(const std::vector<std::string>& arguments) {
    const Outcome o = hingeline_with(arguments);
    EXPECT_EQ(o.code, 0) << arguments[0] << " " << arguments[1] << o.err;
  }
  /// What the validator says of all of them.
  void judged() const {
    const Outcome o =
        run_program(HINGELINE_JAVA, {"-cp", HINGELINE_PREFLIGHT, "org.apache.pdfbox.preflight.Validator_A1b",
                                     "batch", folder_.path().string()});
    const std::string said = o.out + o.err;
    for (const std::string& name : good_) {
      const std::size_t refused = said.find("The file " + name + " is not");
      EXPECT_NE(said.find("The file " + name + " is a valid PDF/A-1b file"), std::string::npos)
          << name << "\n"
          << said.substr(refused == std::string::npos ? 0 : refused, 600);
    }
    for (const std::string& name : bad_)
      EXPECT_NE(said.find("The file " + name + " is not a valid PDF/A-1b file"), std::string::npos) << name;
  }
  /// Beside the validator's files.
  Folder beside_;

 private:
  Folder folder_;
  std::set<std::string> good_, bad_;
};

TEST_F(Keeping, EveryPaperAndDrawing) {
  const std::string hostile =
      "<&>\"' \\ () ]]> \xC3\xA9 \xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D \xE9\x9F\xB3" + std::string(250, 'W');
  for (const std::string kind : {"card", "quote", "report", "lesson", "readings", "drawings", "tag"}) {
    for (const bool letter : {false, true}) {
      std::vector<std::string> asked{"paper", kind,         kSax,      "--shop", kShop,
                                     "--day", "2026-11-27", "--owner", hostile};
      const auto with = [&](const std::string& option, const std::string& value) {
        asked.insert(asked.end(), {option, value});
      };
      with("--sheet", letter ? "letter" : "a4");
      with("--language", letter ? "de" : "en");
      with("--unit", letter ? "in" : "mm");
      with("--output", good(kind + (letter ? "-letter-de" : "-a4-en")));
      if (kind == "lesson" || kind == "drawings") with("--key", "low-c");
      made(asked);
    }
  }
  made({"paper", "card", kSax, "--each-key", "--output", good("each-key")});
  for (const std::string picture : {"section", "strip", "cutter-upper", "wedge", "years", "stack"}) {
    const std::string key = picture == "stack" ? "octave-lever" : "low-c";
    const Outcome o =
        hingeline_with({"draw", kSax, key, picture, "--as", "pdf", "--output", good("draw-" + picture)});
    EXPECT_EQ(o.code, 0) << picture << o.err;
  }
  // Out of the book, where a title and an owner are anything.
  json named = json::parse(file_text(kSax));
  const std::string as_long_as_it_may = hostile.substr(0, 200);
  named["title"] = as_long_as_it_may;
  const std::string book = (beside_.path() / "shop.db").string();
  made({"book", "put-shop", kShop, "--book", book});
  made({"book", "take-in", beside_.file("named.json", named.dump()), "--owner", as_long_as_it_may,
        "--complaint", as_long_as_it_may, "--promised", "2026-12-01", "--book", book});
  made({"book", "papers", "card", good("book-card"), "--promised", "2026-12-01", "--book", book});
  made({"book", "papers", "tag", good("book-tag"), "--promised", "2026-12-01", "--book", book});
  made({"book", "quoted", good("quoted"), "--book", book});

  // What Cairo writes by itself is refused: poppler's pdftocairo gives a paper out through it. So is a file
  // whose XMP names another title than its Info.
  const std::string card = (beside_.path() / "card.pdf").string();
  made({"paper", "card", kSax, "--day", "2026-11-27", "--output", card});
  ASSERT_EQ(run_program("/usr/bin/pdftocairo", {"-pdf", card, bad("cairos-own")}).code, 0);
  std::string other = file_text(card);
  const std::size_t at = other.find("x-default\">Bench card: ");
  ASSERT_NE(at, std::string::npos);
  other.replace(at + 11, 5, "Lunch");
  std::ofstream(bad("out-of-step"), std::ios::binary) << other;
  judged();
}

}  // namespace
}  // namespace hingeline::test

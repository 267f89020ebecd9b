#include "hingeline/papers/voice.h"

#include <gtest/gtest.h>

#include <cctype>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "hingeline/base/utf8.h"

namespace hingeline::papers {
namespace {

std::size_t gaps(std::string_view text) {
  std::size_t n = 0;
  for (std::size_t at = text.find("{}"); at != std::string_view::npos; at = text.find("{}", at + 2)) ++n;
  return n;
}

TEST(Catalogue, EverySentenceIsThereInBothLanguagesWithTheSameGaps) {
  for (std::size_t i = 0; i < kSayCount; ++i) {
    const auto english = text(static_cast<Say>(i), Language::english);
    const auto german = text(static_cast<Say>(i), Language::german);
    EXPECT_FALSE(english.empty()) << i;
    EXPECT_FALSE(german.empty()) << i;
    EXPECT_EQ(gaps(english), gaps(german)) << english;
    EXPECT_TRUE(is_utf8(german)) << english;
    // Leading blanks and full stops belong to a sentence's place.
    EXPECT_EQ(english.front() == ' ', german.front() == ' ') << english;
    EXPECT_EQ(english.back() == '.', german.back() == '.') << english;
  }
}

/// No sentence is in the catalogue that no paper says.
TEST(Catalogue, EverySentenceIsSaid) {
  std::string sources;
  for (const char* folder : {"/libs/papers/src", "/libs/service/src"}) {
    for (const auto& entry :
         std::filesystem::directory_iterator(std::string(HINGELINE_SOURCE_DIR) + folder)) {
      std::ifstream in(entry.path());
      sources.append(std::istreambuf_iterator<char>(in), {});
    }
  }
  const auto said = [&](const std::string& name) {
    const std::string whole = "Say::" + name;
    for (std::size_t at = sources.find(whole); at != std::string::npos; at = sources.find(whole, at + 1)) {
      const char next = sources[at + whole.size()];
      if (next != '_' && std::isalnum(static_cast<unsigned char>(next)) == 0) return true;
    }
    return false;
  };
#define SAY(name, english, german) EXPECT_TRUE(said(#name)) << #name;
#include "hingeline/papers/words.inc"
#undef SAY
}

TEST(Catalogue, DrawingsHaveEveryWordInGerman) {
  const auto& english = drawing::english_words();
  const auto& german = drawing_words(Language::german);
  std::size_t alike = 0;
  for (std::size_t i = 0; i < english.size(); ++i) {
    EXPECT_FALSE(german[i].empty()) << i;
    EXPECT_EQ(gaps(english[i]), gaps(german[i])) << english[i];
    alike += english[i] == german[i] ? 1U : 0U;
  }
  EXPECT_EQ(alike, 0U);
}

/// Trade words (common practice of German workshops), and none of ours in their place.
TEST(Catalogue, GermanUsesTheTradesWords) {
  std::string all;
  for (std::size_t i = 0; i < kSayCount; ++i) {
    all += text(static_cast<Say>(i), Language::german);
    all += '\n';
  }
  for (const char* word :
       {"Klappe", "Spitzschraube", "Böckchen", "Senkung", "Axialspiel", "Polster", "Tonloch"}) {
    if (std::string_view(word) == "Tonloch") continue;  // stands in drawings
    EXPECT_NE(all.find(word), std::string::npos) << word;
  }
  for (const char* wrong : {"Scharnier", "Pfosten", "Schlüssel", "Pad", "Drehzapfen"})
    EXPECT_EQ(all.find(wrong), std::string::npos) << wrong;
}

TEST(Voice, SaysFiguresAsTheLanguageHasThem) {
  const Voice english(Language::english, LengthUnit::mm);
  const Voice german(Language::german, LengthUnit::mm);
  const Voice inch(Language::german, LengthUnit::inch);
  EXPECT_EQ(english.length(millimetres(0.085)), "0.085 mm");
  EXPECT_EQ(german.length(millimetres(0.085)), "0,085 mm");
  EXPECT_EQ(inch.length(millimetres(2.54)), "0,1000 in");
  EXPECT_EQ(german.length(millimetres(0.085), millimetres(0.004)), "0,085 ± 0,004 mm");
  EXPECT_EQ(german.range(millimetres(0.014), millimetres(0.03)), "0,014 bis 0,030 mm");
  EXPECT_EQ(english.range(millimetres(0.014), millimetres(0.03)), "0.014 to 0.030 mm");
  EXPECT_EQ(german.size(millimetres(4)), "4,00 mm");
  EXPECT_EQ(german.money(Money::hundredths(1250), "Kronen"), "12,50 Kronen");
  EXPECT_EQ(english.money(Money::hundredths(-5), ""), "-0.05");
  EXPECT_EQ(german.percent(Percent::hundredths(750)), "7,5 %");
  EXPECT_EQ(english.number(-0.0001, 1), "0.0");
  EXPECT_EQ(english.number(12.34, 1), "12.3");
  EXPECT_EQ(german.day("2026-11-27"), "27.11.2026");
  EXPECT_EQ(english.day("2026-11-27"), "2026-11-27");
  EXPECT_EQ(german.day("soon"), "soon");
  EXPECT_EQ(german(Say::page_of, 1, 3), "Seite 1 von 3");
}

}  // namespace
}  // namespace hingeline::papers

// Everything the fuzzers start from and everything that once broke something goes through the reader again.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <bit>
#include <filesystem>

#include "hingeline/base/reading.h"
#include "hingeline/record/slip.h"
#include "support.h"

namespace hingeline::record {
namespace {

/// Texts of all files under the folder, by path; nothing when it is not there.
std::vector<std::pair<std::string, std::string>> texts_in(const std::string& folder) {
  std::vector<std::pair<std::string, std::string>> out;
  const std::filesystem::path source = HINGELINE_SOURCE_DIR;
  if (!std::filesystem::exists(source / folder)) return out;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(source / folder)) {
    if (!entry.is_regular_file()) continue;
    const std::string path = std::filesystem::relative(entry.path(), source).string();
    out.emplace_back(path, samples::file_text(path));
  }
  return out;
}

template <class Read, class Write>
void trip(const std::string& path, const std::string& text, const Read& read, const Write& write) {
  const auto first = read(text, "d.json");
  if (!first) {
    EXPECT_FALSE(first.error().empty()) << path;
    EXPECT_EQ(samples::faults_of_form(first.error(), text), "") << path;
    return;
  }
  const auto second = read(write(*first), "d.json");
  ASSERT_TRUE(second) << path << "\n" << samples::shown(second.error());
  EXPECT_EQ(*first, *second) << path;
  EXPECT_EQ(write(*first), write(*second)) << path;
}

TEST(PastCrashes, Documents) {
  std::size_t count = 0;
  for (const char* folder : {"fuzz/corpus/document", "fuzz/crashes/document"}) {
    for (const auto& [path, text] : texts_in(folder)) {
      trip(path, text, read_instrument, write_instrument);
      trip(path, text, read_shop, write_shop);
      ++count;
    }
  }
  EXPECT_GT(count, 10u);
}

TEST(PastCrashes, Slips) {
  std::size_t count = 0;
  for (const char* folder : {"fuzz/corpus/slip", "fuzz/crashes/slip"}) {
    for (const auto& [path, text] : texts_in(folder)) {
      ++count;
      const auto read = read_slip(text, "slip");
      if (!read) {
        EXPECT_FALSE(read.error().empty()) << path;
        continue;
      }
      const auto again = read_slip(write_slip(*read), "slip");
      ASSERT_TRUE(again) << path << "\n" << samples::shown(again.error());
      EXPECT_EQ(*again, *read) << path;
      EXPECT_TRUE(text.find("struck") == std::string::npos || read->struck) << path;
      static_cast<void>(search_words(*read));
    }
  }
  EXPECT_GT(count, 10u);
}

TEST(PastCrashes, Readings) {
  std::size_t count = 0;
  for (const char* folder : {"fuzz/corpus/reading", "fuzz/crashes/reading"}) {
    for (const auto& [path, text] : texts_in(folder)) {
      ++count;
      for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
        const auto read = parse_length(text, unit, Sign::any);
        if (!read) {
          EXPECT_FALSE(read.error().what.empty()) << path;
          continue;
        }
        const auto again = parse_length(exact_text(read->value, unit), unit, Sign::any);
        ASSERT_TRUE(again) << path << ": " << again.error().what;
        EXPECT_EQ(std::bit_cast<std::uint64_t>(again->value.raw()),
                  std::bit_cast<std::uint64_t>(read->value.raw()))
            << path;
      }
      const auto flank = parse_half_angle(text);
      EXPECT_TRUE(!flank || is_finite(flank->value)) << path << " is read as " << in_degrees(flank->value);
      // The rest must only not break.
      static_cast<void>(parse_angle(text, Sign::any));
      static_cast<void>(parse_force(text, Sign::any));
      static_cast<void>(parse_temperature(text));
      static_cast<void>(parse_number(text, Sign::any));
    }
  }
  EXPECT_GT(count, 20u);
}

}  // namespace
}  // namespace hingeline::record

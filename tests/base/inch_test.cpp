// Inch and millimetre are the same to the last bit: against lengths worked out on digit strings here, and
// against Python's fractions.

#include <sys/wait.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <fstream>
#include <random>
#include <vector>

#include "support.h"

namespace hingeline::testing_base {
namespace {

/// A decimal number as its digits and where the point stands from the right.
struct DigitString {
  std::string digits;
  std::size_t decimals = 0;
};

/// 25.4 times as much, by hand: digit by digit from the right.
DigitString inch_in_millimetres(const DigitString& inches) {
  std::string out;
  int carry = 0;
  for (auto digit = inches.digits.rbegin(); digit != inches.digits.rend(); ++digit) {
    const int here = (*digit - '0') * 254 + carry;
    out += static_cast<char>('0' + here % 10);
    carry = here / 10;
  }
  for (; carry > 0; carry /= 10) out += static_cast<char>('0' + carry % 10);
  std::reverse(out.begin(), out.end());
  return {out, inches.decimals + 1};
}

std::string written(const DigitString& number, char mark = '.') {
  std::string digits = number.digits;
  if (digits.size() <= number.decimals) digits.insert(0, number.decimals + 1 - digits.size(), '0');
  if (number.decimals > 0) digits.insert(digits.size() - number.decimals, 1, mark);
  return digits;
}

class Inches {
 public:
  explicit Inches(std::uint64_t seed) : chance_(seed) {}

  DigitString next() {
    DigitString out;
    const std::size_t whole = below(5);
    out.decimals = 1 + below(below(4) == 0 ? 24 : 8);
    for (std::size_t k = 0; k < whole + out.decimals; ++k) out.digits += static_cast<char>('0' + below(10));
    return out;
  }
  std::size_t below(std::size_t end) { return static_cast<std::size_t>(chance_() % end); }

 private:
  std::mt19937_64 chance_;
};

TEST(Inch, HundredThousandInchTextsHaveTheBitsOfTheSameMillimetreText) {
  Inches inches(20);
  constexpr int kTexts = 120'000;
  const std::array<const char*, 6> units{" in", "\"", "in", " inch", "''", " in."};
  int compared = 0;
  for (int k = 0; k < kTexts; ++k) {
    const DigitString number = inches.next();
    const char mark = inches.below(2) == 0 ? '.' : ',';
    const std::string sign = inches.below(4) == 0 ? "-" : "";
    const std::string inch_text = sign + written(number, mark) + units.at(inches.below(units.size()));
    const std::string mm_text = sign + written(inch_in_millimetres(number)) + " mm";
    const auto inch = parse_length(inch_text, LengthUnit::mm, Sign::any);
    const auto mm = parse_length(mm_text, LengthUnit::inch, Sign::any);
    ASSERT_TRUE(inch) << inch_text << ": " << inch.error().what;
    ASSERT_TRUE(mm) << mm_text << ": " << mm.error().what;
    ASSERT_EQ(bits(inch->value.raw()), bits(mm->value.raw())) << inch_text << " and " << mm_text;
    ++compared;
  }
  EXPECT_EQ(compared, kTexts);
}

TEST(Inch, ThousandthsAreInches) {
  for (int thou = 0; thou <= 4000; ++thou) {
    std::string digits = std::to_string(thou);
    const std::string inch = written({digits, 3});
    const auto a = parse_length(digits + " thou", LengthUnit::mm, Sign::any);
    const auto b = parse_length(inch, LengthUnit::inch, Sign::any);
    ASSERT_TRUE(a && b) << thou;
    ASSERT_EQ(bits(a->value.raw()), bits(b->value.raw())) << thou;
  }
}

// n/64 in = n x 25.4/64 mm = n x 0.396875 mm exactly.
TEST(Inch, SixtyFourthsAreTheirExactMillimetres) {
  for (unsigned n = 0; n <= 128; ++n) {
    const std::string mm = written({std::to_string(n * 396'875U), 6}) + " mm";
    const auto exact = parse_length(mm, LengthUnit::mm, Sign::any);
    ASSERT_TRUE(exact) << mm;
    std::vector<std::string> texts{std::to_string(n) + "/64\"", std::to_string(n) + "/64 in"};
    for (unsigned q = 32, p = n; q >= 2 && p % 2 == 0; q /= 2) {
      p /= 2;
      texts.push_back(std::to_string(p) + "/" + std::to_string(q) + "\"");
    }
    if (n > 64 && n < 128) {
      texts.push_back("1 " + std::to_string(n - 64) + "/64\"");
      texts.push_back("1-" + std::to_string(n - 64) + "/64 in");
    }
    for (const std::string& text : texts) {
      const auto read = parse_length(text, LengthUnit::mm, Sign::any);
      ASSERT_TRUE(read) << text << ": " << read.error().what;
      EXPECT_EQ(bits(read->value.raw()), bits(exact->value.raw())) << text << " and " << mm;
    }
  }
}

struct Asked {
  Place place;
  std::string number;
  const char* unit;
  const char* factor;  ///< to the inner unit
};

std::vector<Asked> asked() {
  std::vector<Asked> out;
  Inches inches(7);
  for (int k = 0; k < 2500; ++k) out.push_back({Place::mm, written(inches.next()), "in", "254/10"});
  for (int k = 0; k < 300; ++k) out.push_back({Place::mm, written(inches.next()), "thou", "254/10000"});
  for (int k = 0; k < 300; ++k) out.push_back({Place::mm, written(inches.next()), "um", "1/1000"});
  for (int p = 0; p < 20; ++p) {
    for (int q = 1; q <= 64; q += 3)
      out.push_back({Place::mm, std::to_string(p) + "/" + std::to_string(q), "in", "254/10"});
  }
  for (int k = 0; k < 200; ++k) {
    out.push_back({Place::force, written(inches.next()), "lbf", "44482216152605/10000000000000"});
    out.push_back({Place::force, written(inches.next()), "ozf", "44482216152605/160000000000000"});
    out.push_back({Place::force, written(inches.next()), "gf", "980665/100000000"});
  }
  return out;
}

std::string output_of(const std::string& command) {
  std::string out;
  FILE* pipe = popen(command.c_str(), "r");  // NOLINT: one call of a program of ours, nothing typed goes in
  if (pipe == nullptr) return "not started";
  std::array<char, 4096> buffer{};
  while (std::fgets(buffer.data(), static_cast<int>(buffer.size()), pipe) != nullptr) out += buffer.data();
  const int status = pclose(pipe);
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) out += "\nfailed";
  return out;
}

// The outside check: Python's fractions and decimal modules, whose division rounds correctly.
TEST(Inch, PythonsFractionsGiveTheSameBits) {
  const std::string questions = HINGELINE_BINARY_DIR "/inch_oracle.txt";
  std::size_t lines = 0;
  {
    std::ofstream file(questions);
    for (const Asked& a : asked()) {
      std::string text = a.number;
      text.append(" ").append(a.unit);
      const auto read = read_at(a.place, text);
      ASSERT_TRUE(read) << text << ": " << read.error().what;
      std::array<char, 17> hex{};
      std::snprintf(hex.data(), hex.size(), "%016llx", static_cast<unsigned long long>(bits(read->value)));
      file << a.number << ' ' << a.factor << ' ' << hex.data() << '\n';
      ++lines;
    }
    ASSERT_TRUE(file.flush());
  }
  ASSERT_GE(lines, 2000U);
  const std::string said =
      output_of(HINGELINE_PYTHON " " HINGELINE_SOURCE_DIR "/tests/base/inch_oracle.py < " + questions);
  EXPECT_EQ(said, std::to_string(lines) + " checked, 0 wrong\n");
}

}  // namespace
}  // namespace hingeline::testing_base

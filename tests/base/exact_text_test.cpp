// Lengths as text: exact_text reads back as the same bits and is as short as can be; show_length rounds.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>

#include "hingeline/base/said.h"
#include "support.h"

namespace hingeline::testing_base {
namespace {

constexpr std::uint64_t kFraction = (std::uint64_t{1} << 52U) - 1;

/// Any length up to kLargestLength: exponents and fractions evenly, so most of them are far smaller than
/// anything at a bench, and subnormals come up.
rc::Gen<double> any_length() {
  return rc::gen::apply(
      [](std::uint64_t exponent, std::uint64_t fraction, bool negative) {
        const double v = std::bit_cast<double>((exponent << 52U) | (fraction & kFraction));
        const double kept = v <= 1e6 ? v : std::ldexp(v, -1);
        return negative ? -kept : kept;
      },
      // 1042 is the exponent of 2^19; 1e6 lies between 2^19 and 2^20.
      rc::gen::inRange<std::uint64_t>(0, 1043), rc::gen::arbitrary<std::uint64_t>(),
      rc::gen::arbitrary<bool>());
}
/// A length of the bench: 1e-6 to 1000 mm.
rc::Gen<double> bench_length() {
  return rc::gen::map(rc::gen::inRange<std::uint64_t>(0, std::uint64_t{1} << 53U), [](std::uint64_t n) {
    return 1e-6 + 1000.0 * std::ldexp(static_cast<double>(n), -53);
  });
}

void reads_back(double v, LengthUnit unit) {
  const std::string text = exact_text(millimetres(v), unit);
  const LengthUnit other = unit == LengthUnit::mm ? LengthUnit::inch : LengthUnit::mm;
  const auto read = parse_length(text, other, Sign::any);
  RC_ASSERT(read.has_value());
  RC_ASSERT(bits(read->value.raw()) == bits(v == 0 ? 0.0 : v));
}

RC_GTEST_PROP(ExactText, MillimetresReadBackAsTheSameBits, ()) { reads_back(*any_length(), LengthUnit::mm); }
RC_GTEST_PROP(ExactText, InchesReadBackAsTheSameBits, ()) { reads_back(*any_length(), LengthUnit::inch); }
RC_GTEST_PROP(ExactText, BenchLengthsReadBackAsTheSameBits, ()) {
  const double v = *bench_length();
  reads_back(v, LengthUnit::mm);
  reads_back(v, LengthUnit::inch);
}

TEST(ExactText, TheEndsOfTheRangeReadBack) {
  const double least = std::numeric_limits<double>::denorm_min();
  const double normal = std::numeric_limits<double>::min();
  for (const double v :
       {0.0, least, 2 * least, 3 * least, normal - least, normal, normal + least, std::nextafter(1e6, 0.0),
        1e6, 25.4, 0.1, 1.0 / 3.0, 4.0005, 1e-7, 9.9999999e-8, 1e7 / 16}) {
    for (const double signed_v : {v, -v}) {
      for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
        const std::string text = exact_text(millimetres(signed_v), unit);
        const auto read = parse_length(text, LengthUnit::mm, Sign::any);
        ASSERT_TRUE(read) << text << ": " << read.error().what;
        EXPECT_EQ(bits(read->value.raw()), bits(v == 0 ? 0.0 : signed_v)) << text;
      }
    }
  }
}

/// How many digits the number has, zeros at both ends not counted.
std::size_t significant(const std::string& text) {
  std::string digits;
  for (const char c : text.substr(0, text.find_first_of("e "))) {
    if (c >= '0' && c <= '9') digits += c;
  }
  const auto first = digits.find_first_not_of('0');
  if (first == std::string::npos) return 0;
  return digits.find_last_not_of('0') - first + 1;
}

RC_GTEST_PROP(ExactText, NoShorterNumberReadsBack, ()) {
  const double v = *bench_length();
  for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
    const std::string text = exact_text(millimetres(v), unit);
    const std::size_t count = significant(text);
    RC_ASSERT(count >= 1U && count <= 17U);
    if (count == 1) continue;
    // The two numbers of one digit fewer on either side: %.*e of the number rounds to one of them, and one
    // unit in its last digit up or down is the other.
    const double number = unit == LengthUnit::mm ? v : in_inches(millimetres(v));
    const int digits = static_cast<int>(count) - 1;
    char shorter[64];
    std::snprintf(shorter, sizeof shorter, "%.*e", digits - 1, number);
    const double step = std::pow(10.0, std::floor(std::log10(number)) - (digits - 1));
    for (const double near : {0.0, step, -step}) {
      char candidate[64];
      std::snprintf(candidate, sizeof candidate, "%.*e%s", digits - 1, std::strtod(shorter, nullptr) + near,
                    unit == LengthUnit::mm ? " mm" : " in");
      const auto read = parse_length(candidate, LengthUnit::mm, Sign::any);
      RC_ASSERT(read.has_value());
      RC_ASSERT(bits(read->value.raw()) != bits(v));
    }
  }
}

TEST(ExactText, TypedNumbersComeBackAsTyped) {
  const auto again = [](const char* text, LengthUnit unit) {
    const auto read = parse_length(text, unit, Sign::any);
    return read ? exact_text(read->value, unit) : read.error().what;
  };
  EXPECT_EQ(again("4.02", LengthUnit::mm), "4.02 mm");
  EXPECT_EQ(again("0.1575", LengthUnit::inch), "0.1575 in");
  EXPECT_EQ(again("4.0005 mm", LengthUnit::inch), "0.1575 in");
  EXPECT_EQ(again("5/32\"", LengthUnit::inch), "0.15625 in");
  EXPECT_EQ(again("5/32\"", LengthUnit::mm), "3.96875 mm");
  EXPECT_EQ(again("157 thou", LengthUnit::inch), "0.157 in");
  EXPECT_EQ(again("-0.5", LengthUnit::mm), "-0.5 mm");
  EXPECT_EQ(again("-0", LengthUnit::mm), "0 mm");
  EXPECT_EQ(again("1e-9", LengthUnit::mm), "1e-9 mm");
  EXPECT_EQ(again("1000000", LengthUnit::mm), "1000000 mm");
}

TEST(ExactText, EveryTenthOfAMicrometreAndOfAThouIsShort) {
  for (int k = 1; k <= 50'000; k += 7) {
    char mm[32];
    std::snprintf(mm, sizeof mm, "%d.%04d mm", k / 10000, k % 10000);
    char inch[32];
    std::snprintf(inch, sizeof inch, "%d.%04d in", k / 10000, k % 10000);
    for (const auto& [text, unit] : {std::pair{mm, LengthUnit::mm}, std::pair{inch, LengthUnit::inch}}) {
      const auto read = parse_length(text, unit, Sign::any);
      ASSERT_TRUE(read);
      EXPECT_LE(significant(exact_text(read->value, unit)), 5U) << text;
    }
  }
}

TEST(ExactText, WhatParsingRefusesStillHasText) {
  const double infinite = std::numeric_limits<double>::infinity();
  for (const double v : {1e7, 1e300, infinite, std::numeric_limits<double>::quiet_NaN()}) {
    for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
      const std::string text = exact_text(millimetres(v), unit);
      EXPECT_FALSE(text.empty());
      EXPECT_FALSE(parse_length(text, LengthUnit::mm, Sign::any)) << text;
    }
  }
}

TEST(ShowLength, RoundsToTheDecimalsAskedFor) {
  const auto mm = [](double v, int decimals) {
    return show_length(millimetres(v), LengthUnit::mm, decimals);
  };
  const auto in = [](double v, int decimals) {
    return show_length(millimetres(v), LengthUnit::inch, decimals);
  };
  EXPECT_EQ(mm(0.085, 3), "0.085 mm");
  EXPECT_EQ(mm(0.0849, 3), "0.085 mm");
  EXPECT_EQ(mm(0.0851, 3), "0.085 mm");
  EXPECT_EQ(mm(0.9996, 3), "1.000 mm");
  EXPECT_EQ(mm(4, 2), "4.00 mm");
  EXPECT_EQ(mm(-0.0851, 3), "-0.085 mm");
  EXPECT_EQ(mm(1234.5678, 1), "1234.6 mm");
  EXPECT_EQ(mm(3.7, 0), "4 mm");
  EXPECT_EQ(mm(3.7, -2), "4 mm");
  EXPECT_EQ(in(25.4, 4), "1.0000 in");
  EXPECT_EQ(in(4.0005, 4), "0.1575 in");
  EXPECT_EQ(in(0.085, 4), "0.0033 in");
  EXPECT_EQ(in(3.96875, 5), "0.15625 in");
  EXPECT_EQ(mm(std::numeric_limits<double>::infinity(), 3), "inf mm");
}

TEST(ShowLength, WhatShowsAsZeroHasNoSign) {
  EXPECT_EQ(show_length(millimetres(-0.0004), LengthUnit::mm, 3), "0.000 mm");
  EXPECT_EQ(show_length(millimetres(-0.0), LengthUnit::mm, 0), "0 mm");
  EXPECT_EQ(show_length(millimetres(-0.001), LengthUnit::inch, 4), "0.0000 in");
  EXPECT_EQ(show_length(millimetres(-0.0006), LengthUnit::mm, 3), "-0.001 mm");
}

TEST(ShowLength, BenchDecimals) {
  EXPECT_EQ(bench_decimals(LengthUnit::mm), 3);
  EXPECT_EQ(bench_decimals(LengthUnit::inch), 4);
}

RC_GTEST_PROP(ShowLength, IsWithinHalfItsLastDigit, ()) {
  const double v = *bench_length();
  const auto read = parse_length(show_length(millimetres(v), LengthUnit::mm, 3), LengthUnit::mm, Sign::any);
  RC_ASSERT(read.has_value());
  RC_ASSERT(std::abs(read->value.raw() - v) <= 0.0005 + 1e-12);
}

TEST(Said, LengthsAreShownInTheUnitAskedFor) {
  const Said said = say("rock of ", millimetres(0.0508), " read, cutter ", Size{millimetres(4)}, " wide");
  EXPECT_EQ(said.in(LengthUnit::mm), "rock of 0.051 mm read, cutter 4.00 mm wide");
  EXPECT_EQ(said.in(LengthUnit::inch), "rock of 0.0020 in read, cutter 0.157 in wide");
}

TEST(Said, SentencesAreJoined) {
  Said said = "it binds";
  said << say(" by ", millimetres(0.01));
  EXPECT_EQ(said.in(LengthUnit::mm), "it binds by 0.010 mm");
  said << said;
  EXPECT_EQ(said.in(LengthUnit::mm), "it binds by 0.010 mmit binds by 0.010 mm");
  EXPECT_TRUE(Said().empty());
  EXPECT_TRUE(Said("").empty());
  EXPECT_EQ(Said("a"), say("a"));
  EXPECT_NE(say(millimetres(1)), say(Size{millimetres(1)}));
}

}  // namespace
}  // namespace hingeline::testing_base

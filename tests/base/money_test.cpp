// Money: read, shown, reckoned, without floating point.

#include "hingeline/base/money.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <array>
#include <cstdio>
#include <fstream>
#include <string>
#include <vector>

namespace hingeline {
namespace {

/// What a Python program prints, line by line.
std::vector<std::string> lines_of_python(const std::string& program) {
  const std::string file = HINGELINE_BINARY_DIR "/money_oracle.py";
  std::ofstream(file) << program;
  const std::string command = std::string(HINGELINE_PYTHON) + " " + file;
  FILE* pipe = popen(command.c_str(), "r");  // NOLINT: a program written above, nothing typed goes in
  std::vector<std::string> out;
  if (pipe == nullptr) return out;
  std::array<char, 256> line{};
  while (std::fgets(line.data(), static_cast<int>(line.size()), pipe) != nullptr) {
    out.emplace_back(line.data());
    if (!out.back().empty() && out.back().back() == '\n') out.back().pop_back();
  }
  pclose(pipe);
  return out;
}

TEST(Money, IsReadExactly) {
  for (const auto& [text, hundredths] :
       {std::pair("12.50", 1250), std::pair("12,5", 1250), std::pair("12", 1200), std::pair("0", 0),
        std::pair("0.05", 5), std::pair(" 007 ", 700), std::pair("0.1", 10)}) {
    const auto read = parse_money(text);
    ASSERT_TRUE(read) << text;
    EXPECT_EQ(read->in_hundredths(), hundredths) << text;
  }
  EXPECT_EQ(parse_money("1000000000000").value(), kLargestMoney);
}

TEST(Money, WhatIsNoAmountIsRefusedWithItsPlace) {
  for (const auto& [text, column] :
       {std::pair("", 1), std::pair("  ", 3), std::pair("-1", 1), std::pair("1.234", 5),
        std::pair("1,234.50", 5), std::pair("1.", 3), std::pair(".5", 1), std::pair("12x", 3),
        std::pair("1e3", 2), std::pair("nan", 1), std::pair("1 000", 2), std::pair("12.50 EUR", 6)}) {
    const auto read = parse_money(text);
    ASSERT_FALSE(read) << text;
    EXPECT_EQ(read.error().fault, Fault::syntax) << text;
    EXPECT_EQ(read.error().place.column, column) << text;
    EXPECT_FALSE(read.error().expected.empty());
  }
  for (const char* text : {"1000000000000.01", "99999999999999999999999999", "1000000000001"}) {
    const auto read = parse_money(text);
    ASSERT_FALSE(read) << text;
    EXPECT_EQ(read.error().fault, Fault::content) << text;
  }
}

RC_GTEST_PROP(MoneyProperty, ShownAndReadAgain, ()) {
  const Money amount =
      Money::hundredths(*rc::gen::inRange<std::int64_t>(0, kLargestMoney.in_hundredths() + 1));
  RC_ASSERT(parse_money(show_money(amount)).value() == amount);
}

TEST(Money, IsShownWithTwoDecimals) {
  EXPECT_EQ(show_money(Money::hundredths(1250)), "12.50");
  EXPECT_EQ(show_money(Money::hundredths(5)), "0.05");
  EXPECT_EQ(show_money(Money::hundredths(-5)), "-0.05");
  EXPECT_EQ(show_money(Money::hundredths(-1250)), "-12.50");
  EXPECT_EQ(show_money(Money{}), "0.00");
}

TEST(Money, ForTimeIsRoundedUp) {
  const Money hourly = Money::hundredths(6000);
  EXPECT_EQ(for_time(hourly, 3600), hourly);
  EXPECT_EQ(for_time(hourly, 60), Money::hundredths(100));
  EXPECT_EQ(for_time(hourly, 1), Money::hundredths(2));  // 1.67 rounded up
  EXPECT_EQ(for_time(hourly, 0), Money{});
  EXPECT_EQ(for_time(Money{}, 3600), Money{});
  EXPECT_EQ(for_time(Money::hundredths(10'000'000'000), 10'000'000).in_hundredths(), 27'777'777'777'778);
}

Money amount(const char* text) { return parse_money(text).value(); }

// Worked by hand; 19 % and 7 % are rates that are in use. The rule is "half up": what lies just between goes
// away from zero (IEEE 754-2008, 4.3.1, roundTiesToAway; DIN 1333).
TEST(Money, ASharesHalfGoesUp) {
  const auto percent = [](std::int64_t v) { return Percent::hundredths(v); };
  EXPECT_EQ(share_of(amount("100.00"), percent(1900)), amount("19.00"));
  EXPECT_EQ(share_of(amount("0.50"), percent(700)), amount("0.04"));   // 0.035
  EXPECT_EQ(share_of(amount("0.49"), percent(700)), amount("0.03"));   // 0.0343
  EXPECT_EQ(share_of(amount("99.99"), percent(825)), amount("8.25"));  // 8.249175
  EXPECT_EQ(share_of(Money{} - amount("0.50"), percent(700)), Money{} - amount("0.04"));
  EXPECT_EQ(share_of(kLargestMoney, kWhole), kLargestMoney);
  EXPECT_EQ(tax_within(amount("119.00"), percent(1900)), amount("19.00"));
  EXPECT_EQ(tax_within(amount("107.00"), percent(700)), amount("7.00"));
  EXPECT_EQ(tax_within(amount("10.00"), percent(1900)), amount("1.60"));  // 1.59663...
  EXPECT_EQ(tax_within(amount("10.00"), Percent{}), Money{});
}

TEST(Money, IsRoundedToCoins) {
  const Money five = amount("0.05");
  EXPECT_EQ(rounded_to(amount("12.32"), five), amount("12.30"));
  EXPECT_EQ(rounded_to(amount("12.33"), five), amount("12.35"));
  EXPECT_EQ(rounded_to(amount("12.50"), amount("1")), amount("13"));
  EXPECT_EQ(rounded_to(Money{} - amount("12.50"), amount("1")), Money{} - amount("13"));
  EXPECT_EQ(rounded_to(amount("12.34"), Money{}), amount("12.34"));
}

TEST(Money, SumsAreChecked) {
  EXPECT_EQ(checked_sum(amount("1.10"), amount("2.20")).value(), amount("3.30"));
  EXPECT_EQ(checked_sum(kLargestMoney, Money::hundredths(1)).error().fault, Fault::content);
  EXPECT_EQ(checked_sum(Money{} - kLargestMoney, Money::hundredths(-1)).error().fault, Fault::content);
  EXPECT_EQ(checked_sum(kLargestMoney, Money{} - kLargestMoney).value(), Money{});
  EXPECT_EQ(checked_times(amount("2.50"), 4).value(), amount("10"));
  EXPECT_EQ(checked_times(amount("2.50"), -4).value(), Money{} - amount("10"));
  EXPECT_FALSE(checked_times(kLargestMoney, 2));
  EXPECT_FALSE(checked_times(amount("0.01"), INT64_MAX));
  EXPECT_FALSE(checked_times(amount("0.01"), INT64_MIN));
}

TEST(Money, PercentsAreShownShort) {
  EXPECT_EQ(show_percent(Percent::hundredths(1900)), "19 %");
  EXPECT_EQ(show_percent(Percent::hundredths(750)), "7.5 %");
  EXPECT_EQ(show_percent(Percent::hundredths(825)), "8.25 %");
  EXPECT_EQ(show_percent(Percent{}), "0 %");
}

/// Against Python's decimal module, which follows the General Decimal Arithmetic Specification.
TEST(Money, RoundsAsDecimalArithmeticDoes) {
  std::string program = "from decimal import *\ngetcontext().prec=60\n";
  std::vector<std::int64_t> ours;
  std::uint64_t state = 1;
  const auto draw = [&](std::int64_t most) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<std::int64_t>((state >> 11U) % static_cast<std::uint64_t>(most + 1));
  };
  program += "r=lambda x:print(int(x.quantize(Decimal(1),rounding=ROUND_HALF_UP)))\n";
  for (int i = 0; i < 400; ++i) {
    const std::int64_t a = draw(i % 2 == 0 ? 20'000 : kLargestMoney.in_hundredths());
    const std::int64_t p = draw(10'000);
    const std::int64_t step = 1 + draw(500);
    ours.push_back(share_of(Money::hundredths(a), Percent::hundredths(p)).in_hundredths());
    ours.push_back(tax_within(Money::hundredths(a), Percent::hundredths(p)).in_hundredths());
    ours.push_back(rounded_to(Money::hundredths(a), Money::hundredths(step)).in_hundredths() / step);
    program += "a=Decimal(" + std::to_string(a) + ");p=Decimal(" + std::to_string(p) + ")\n";
    program += "r(a*p/10000);r(a*p/(10000+p));r(a/" + std::to_string(step) + ")\n";
  }
  const std::vector<std::string> lines = lines_of_python(program);
  ASSERT_EQ(lines.size(), ours.size());
  for (std::size_t i = 0; i < ours.size(); ++i) EXPECT_EQ(std::to_string(ours[i]), lines[i]) << i;
}

}  // namespace
}  // namespace hingeline

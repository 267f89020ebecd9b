// Money: read, shown, reckoned, without floating point.

#include "hingeline/base/money.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace hingeline {
namespace {

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

}  // namespace
}  // namespace hingeline

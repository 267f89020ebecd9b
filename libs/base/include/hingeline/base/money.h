#pragma once
/// \file
/// Money held exactly: a whole number of hundredths of the shop's currency, whatever the shop calls that.
///
/// No floating point goes into it. A currency without hundredths is written without decimals and loses
/// nothing.

#include <compare>
#include <cstdint>
#include <string>
#include <string_view>

#include "hingeline/base/error.h"

namespace hingeline {

/// A sum of money. Sums of up to 90,000 of the largest amounts stay within 64 bits.
class Money {
 public:
  constexpr Money() = default;
  static constexpr Money hundredths(std::int64_t v) { return Money(v); }
  [[nodiscard]] constexpr std::int64_t in_hundredths() const { return hundredths_; }

  constexpr Money& operator+=(Money o) {
    hundredths_ += o.hundredths_;
    return *this;
  }
  friend constexpr Money operator+(Money a, Money b) { return Money(a.hundredths_ + b.hundredths_); }
  friend constexpr Money operator-(Money a, Money b) { return Money(a.hundredths_ - b.hundredths_); }
  friend constexpr auto operator<=>(Money a, Money b) = default;

 private:
  constexpr explicit Money(std::int64_t v) : hundredths_(v) {}
  std::int64_t hundredths_ = 0;
};

/// The largest amount that is read: a million million.
inline constexpr Money kLargestMoney = Money::hundredths(100'000'000'000'000);

/// `12`, `12.5`, `12.50`, `12,50`: digits 0-9 with at most two decimals after a point or comma, not below
/// zero. As elsewhere marks between groups of digits are refused (`1,234` has three decimals, `1.234,50` two
/// marks). `Error::place.column` is the character, counted from 1. Text that is no amount is Fault::syntax,
/// one that is too large Fault::content.
Expected<Money> parse_money(std::string_view text);

/// Always with two decimals: "12.50", "-0.05".
std::string show_money(Money amount);

/// `hourly` for that many whole seconds, rounded up to a hundredth; `seconds` from 0 to 10^7, `hourly` from 0
/// to 10^10 hundredths.
Money for_time(Money hourly, std::int64_t seconds);

/// The sum. Fault::content where it, or what is added, is larger than kLargestMoney on either side of zero.
Expected<Money> checked_sum(Money a, Money b);
/// So many times. Fault::content as above.
Expected<Money> checked_times(Money amount, std::int64_t count);

/// A share of a sum, such as a rate of tax, held exactly: a whole number of hundredths of a percent.
class Percent {
 public:
  constexpr Percent() = default;
  /// `v` from 0 to 10,000 (100 %).
  static constexpr Percent hundredths(std::int64_t v) { return Percent(v); }
  [[nodiscard]] constexpr std::int64_t in_hundredths() const { return hundredths_; }
  friend constexpr auto operator<=>(Percent a, Percent b) = default;

 private:
  constexpr explicit Percent(std::int64_t v) : hundredths_(v) {}
  std::int64_t hundredths_ = 0;
};
inline constexpr Percent kWhole = Percent::hundredths(10'000);

/// "19 %", "7.5 %", "8.25 %".
std::string show_percent(Percent percent);

/// That share of an amount, to the nearest hundredth; what lies just between two goes away from zero ("half
/// up", roundTiesToAway of IEEE 754-2008 in decimal; common practice of tradespeople, DIN 1333). Amounts up
/// to kLargestMoney, either side of zero. One rounding; tax is worked out once for a whole document, not line
/// by line.
Money share_of(Money amount, Percent percent);
/// The tax that is inside an amount which includes it: amount x p / (100 + p), rounded alike.
Money tax_within(Money amount, Percent percent);
/// To the nearest whole multiple of `step`, rounded alike; `step` of 0 or less changes nothing. Cash without
/// the smallest coins: step 0.05.
Money rounded_to(Money amount, Money step);

}  // namespace hingeline

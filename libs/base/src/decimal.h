#pragma once
/// \file
/// Decimal numbers held exactly, for changing units without rounding until the one last step.

#include <cstdint>
#include <string>
#include <string_view>

namespace hingeline::decimal {

/// `digits` x 10^`exponent`, negated when `negative`. `digits` has no leading zeros; "" is zero.
struct Decimal {
  bool negative = false;
  std::string digits;
  int exponent = 0;

  [[nodiscard]] bool is_zero() const { return digits.empty(); }
};

/// The largest factor `times` takes: a digit times it plus the carry stays within 64 bits.
inline constexpr std::uint64_t kLargestFactor = 1'000'000'000'000'000'000;

/// `digits` may have leading zeros; it holds nothing but 0 to 9.
Decimal from_digits(std::string_view digits, int exponent);
Decimal from_whole(std::uint64_t value);
/// Of text as std::to_chars writes it: -1.25e-03.
Decimal from_scientific(std::string_view text);
/// A finite double's own value, to its last digit.
Decimal from_double(double value);

/// Exact; `factor` <= kLargestFactor.
Decimal times(const Decimal& a, std::uint64_t factor);
/// Exact; the exponents may differ by no more than a few thousand.
Decimal plus(const Decimal& a, const Decimal& b);
/// To 60 significant digits or more, cut off there; where something was cut off a last digit 1 stands
/// for it. `divisor` > 0 and <= kLargestFactor.
Decimal divided(const Decimal& a, std::uint64_t divisor);

/// The nearest double, ties to even; infinity when it is too large, zero when it is too small.
double nearest_double(const Decimal& a);

/// The number cut to `count` significant digits (toward zero). `count` > 0.
Decimal cut(const Decimal& a, int count);
/// One more in the last digit, away from zero. `a` is not zero.
Decimal one_up(const Decimal& a);

/// Without an exponent where that stays short (10^-7 <= |a| < 10^7), else as 1.2e-9; no zeros that
/// say nothing.
std::string text(const Decimal& a);

}  // namespace hingeline::decimal

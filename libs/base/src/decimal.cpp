#include "decimal.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <limits>

namespace hingeline::decimal {
namespace {

constexpr std::uint64_t kBase = 10;
constexpr std::size_t kQuotientDigits = 60;

std::uint64_t worth(char digit) { return static_cast<std::uint64_t>(digit - '0'); }
char digit_of(std::uint64_t value) { return static_cast<char>('0' + static_cast<int>(value)); }

std::string without_leading_zeros(std::string digits) {
  digits.erase(0, std::min(digits.find_first_not_of('0'), digits.size()));
  return digits;
}

/// Digits of |a| >= |b| added or taken away; both of one length.
std::string sum(const std::string& a, const std::string& b) {
  std::string out(a.size() + 1, '0');
  std::uint64_t carry = 0;
  for (std::size_t i = a.size(); i-- > 0;) {
    const std::uint64_t here = worth(a[i]) + worth(b[i]) + carry;
    out[i + 1] = digit_of(here % kBase);
    carry = here / kBase;
  }
  out[0] = digit_of(carry);
  return out;
}

std::string difference(const std::string& a, const std::string& b) {
  std::string out(a.size(), '0');
  std::uint64_t borrowed = 0;
  for (std::size_t i = a.size(); i-- > 0;) {
    const std::uint64_t here = kBase + worth(a[i]) - worth(b[i]) - borrowed;
    out[i] = digit_of(here % kBase);
    borrowed = here < kBase ? 1 : 0;
  }
  return out;
}

}  // namespace

Decimal from_digits(std::string_view digits, int exponent) {
  return Decimal{false, without_leading_zeros(std::string(digits)), exponent};
}

Decimal from_whole(std::uint64_t value) { return from_digits(std::to_string(value), 0); }

Decimal from_scientific(std::string_view text) {
  const auto e = text.find('e');
  Decimal out;
  int power = 0;
  std::string_view power_text = text.substr(e + 1);
  if (power_text.front() == '+') power_text.remove_prefix(1);
  std::from_chars(power_text.data(), power_text.data() + power_text.size(), power);
  for (const char c : text.substr(0, e)) {
    if (c == '-') out.negative = true;
    if (c >= '0' && c <= '9') out.digits += c;
  }
  const auto last = out.digits.find_last_not_of('0');
  if (last == std::string::npos) return {};
  out.digits.erase(last + 1);
  out.exponent = power - static_cast<int>(last);
  return out;
}

Decimal from_double(double value) {
  // No double has more significant digits than these (the smallest normal numbers have 767).
  constexpr int kEveryDigit = 767;
  std::array<char, kEveryDigit + 16> buffer{};
  const auto [end, fault] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                          std::chars_format::scientific, kEveryDigit - 1);
  return from_scientific({buffer.data(), static_cast<std::size_t>(end - buffer.data())});
}

Decimal times(const Decimal& a, std::uint64_t factor) {
  std::string reversed;
  std::uint64_t carry = 0;
  for (const char digit : std::string(a.digits.rbegin(), a.digits.rend())) {
    const std::uint64_t here = worth(digit) * factor + carry;
    reversed += digit_of(here % kBase);
    carry = here / kBase;
  }
  for (; carry > 0; carry /= kBase) reversed += digit_of(carry % kBase);
  std::reverse(reversed.begin(), reversed.end());
  return Decimal{a.negative, without_leading_zeros(std::move(reversed)), a.exponent};
}

Decimal plus(const Decimal& a, const Decimal& b) {
  if (a.is_zero()) return b;
  if (b.is_zero()) return a;
  const int exponent = std::min(a.exponent, b.exponent);
  std::string left = a.digits + std::string(static_cast<std::size_t>(a.exponent - exponent), '0');
  std::string right = b.digits + std::string(static_cast<std::size_t>(b.exponent - exponent), '0');
  const std::size_t length = std::max(left.size(), right.size());
  left.insert(0, length - left.size(), '0');
  right.insert(0, length - right.size(), '0');
  if (a.negative == b.negative) return Decimal{a.negative, without_leading_zeros(sum(left, right)), exponent};
  const bool left_is_larger = left >= right;
  std::string rest =
      without_leading_zeros(left_is_larger ? difference(left, right) : difference(right, left));
  const bool negative = !rest.empty() && (left_is_larger ? a.negative : b.negative);
  return Decimal{negative, std::move(rest), exponent};
}

Decimal divided(const Decimal& a, std::uint64_t divisor) {
  std::string quotient;
  std::uint64_t rest = 0;
  int exponent = a.exponent;
  for (const char c : a.digits) {
    rest = rest * kBase + worth(c);
    quotient += digit_of(rest / divisor);
    rest %= divisor;
  }
  quotient = without_leading_zeros(std::move(quotient));
  while (rest > 0 && quotient.size() < kQuotientDigits) {
    rest *= kBase;
    const std::uint64_t digit = rest / divisor;
    if (!quotient.empty() || digit > 0) quotient += digit_of(digit);
    rest %= divisor;
    --exponent;
  }
  if (rest > 0) {
    quotient += '1';
    --exponent;
  }
  return Decimal{a.negative, std::move(quotient), exponent};
}

double nearest_double(const Decimal& a) {
  if (a.is_zero()) return 0.0;
  const std::string composed = a.digits + "e" + std::to_string(a.exponent);
  double magnitude = 0.0;
  const auto [end, fault] = std::from_chars(composed.data(), composed.data() + composed.size(), magnitude);
  if (fault == std::errc::result_out_of_range) {
    const bool large = static_cast<int>(a.digits.size()) + a.exponent > 0;
    magnitude = large ? std::numeric_limits<double>::infinity() : 0.0;
  }
  return a.negative ? -magnitude : magnitude;
}

Decimal cut(const Decimal& a, int count) {
  const auto kept = std::min(static_cast<std::size_t>(count), a.digits.size());
  return Decimal{a.negative, a.digits.substr(0, kept), a.exponent + static_cast<int>(a.digits.size() - kept)};
}

Decimal one_up(const Decimal& a) {
  Decimal one{a.negative, "1", a.exponent};
  return plus(a, one);
}

std::string text(const Decimal& a) {
  if (a.is_zero()) return "0";
  constexpr int kPlainPower = 7;
  std::string digits = a.digits.substr(0, a.digits.find_last_not_of('0') + 1);
  const int point = static_cast<int>(a.digits.size()) + a.exponent;  // digits before the decimal mark
  const int count = static_cast<int>(digits.size());
  const std::string sign = a.negative ? "-" : "";
  if (point <= -kPlainPower || point > kPlainPower) {
    if (count > 1) digits.insert(1, ".");
    return sign + digits + "e" + std::to_string(point - 1);
  }
  if (point <= 0) return sign + "0." + std::string(static_cast<std::size_t>(-point), '0') + digits;
  if (point >= count) return sign + digits + std::string(static_cast<std::size_t>(point - count), '0');
  digits.insert(static_cast<std::size_t>(point), ".");
  return sign + digits;
}

}  // namespace hingeline::decimal

#include "hingeline/base/money.h"

#include <fmt/format.h>

#include <cassert>

namespace hingeline {
namespace {

constexpr std::int64_t kPerUnit = 100;

tl::unexpected<Error> no_amount(std::string what, std::size_t at) {
  return fail(Fault::syntax, fmt::format("{} at character {}", what, at + 1),
              "an amount with at most two decimals, such as 12.50",
              Place{{}, {}, 0, static_cast<int>(at + 1)});
}

/// The nearest whole number to n / d, half away from zero; d above 0.
constexpr std::int64_t nearest(std::int64_t n, std::int64_t d) {
  const std::int64_t whole = n / d;
  const std::int64_t rest = n % d < 0 ? -(n % d) : n % d;
  if (rest < d - rest) return whole;
  return n < 0 ? whole - 1 : whole + 1;
}

bool may_be(std::int64_t hundredths) {
  return hundredths <= kLargestMoney.in_hundredths() && hundredths >= -kLargestMoney.in_hundredths();
}

tl::unexpected<Error> too_large() {
  return fail(Fault::content, "the sum of money is too large", "at most a million million");
}

bool is_blank(char c) { return c == ' ' || c == '\t'; }

}  // namespace

Expected<Money> parse_money(std::string_view text) {
  std::size_t begin = 0;
  std::size_t end = text.size();
  while (begin < end && is_blank(text[begin])) ++begin;
  while (end > begin && is_blank(text[end - 1])) --end;
  if (begin == end) return no_amount("no amount", begin);
  if (text[begin] == '-') return no_amount("an amount is not below zero:", begin);

  std::int64_t hundredths = 0;
  int decimals = -1;  // -1: no mark yet
  bool digits = false;
  for (std::size_t i = begin; i < end; ++i) {
    const char c = text[i];
    if ((c == '.' || c == ',') && decimals < 0 && digits) {
      decimals = 0;
      continue;
    }
    if (c < '0' || c > '9') return no_amount("what stands there is no digit of an amount,", i);
    if (decimals == 2) return no_amount("a third decimal", i);
    digits = true;
    if (decimals >= 0) ++decimals;
    hundredths = 10 * hundredths + (c - '0');
    const std::int64_t whole = decimals < 0 ? hundredths : hundredths / kPerUnit;
    if (whole > kLargestMoney.in_hundredths() / kPerUnit) {
      return fail(Fault::content, "the amount is too large", "at most a million million",
                  Place{{}, {}, 0, static_cast<int>(begin + 1)});
    }
  }
  if (decimals == 0) return no_amount("no digit after the decimal mark", end);
  if (decimals < 0) hundredths *= kPerUnit;
  if (decimals == 1) hundredths *= 10;
  if (Money::hundredths(hundredths) > kLargestMoney) {
    return fail(Fault::content, "the amount is too large", "at most a million million",
                Place{{}, {}, 0, static_cast<int>(begin + 1)});
  }
  return Money::hundredths(hundredths);
}

std::string show_money(Money amount) {
  const std::int64_t v = amount.in_hundredths();
  const auto size = v < 0 ? 0 - static_cast<std::uint64_t>(v) : static_cast<std::uint64_t>(v);
  return fmt::format("{}{}.{:02}", v < 0 ? "-" : "", size / 100, size % 100);
}

Money for_time(Money hourly, std::int64_t seconds) {
  assert(hourly >= Money{} && hourly <= Money::hundredths(10'000'000'000) && seconds >= 0 &&
         seconds <= 10'000'000);
  constexpr std::int64_t kSecondsPerHour = 3600;
  return Money::hundredths((hourly.in_hundredths() * seconds + kSecondsPerHour - 1) / kSecondsPerHour);
}

Expected<Money> checked_sum(Money a, Money b) {
  if (!may_be(a.in_hundredths()) || !may_be(b.in_hundredths()) ||
      !may_be(a.in_hundredths() + b.in_hundredths()))
    return too_large();
  return a + b;
}

Expected<Money> checked_times(Money amount, std::int64_t count) {
  const std::int64_t v = amount.in_hundredths();
  if (v == 0 || count == 0) return Money{};
  const std::int64_t most = kLargestMoney.in_hundredths();
  if (!may_be(v) || count > most || count < -most) return too_large();
  const std::int64_t size = v < 0 ? -v : v;
  if ((count < 0 ? -count : count) > most / size) return too_large();
  return Money::hundredths(v * count);
}

std::string show_percent(Percent percent) {
  std::string out = show_money(Money::hundredths(percent.in_hundredths()));
  while (out.back() == '0') out.pop_back();
  if (out.back() == '.') out.pop_back();
  return out + " %";
}

Money share_of(Money amount, Percent percent) {
  assert(may_be(amount.in_hundredths()) && percent >= Percent{} && percent <= kWhole);
  // At most 10^14 times 10^4: within 64 bits.
  return Money::hundredths(nearest(amount.in_hundredths() * percent.in_hundredths(), kWhole.in_hundredths()));
}

Money tax_within(Money amount, Percent percent) {
  assert(may_be(amount.in_hundredths()) && percent >= Percent{} && percent <= kWhole);
  return Money::hundredths(nearest(amount.in_hundredths() * percent.in_hundredths(),
                                   kWhole.in_hundredths() + percent.in_hundredths()));
}

Money rounded_to(Money amount, Money step) {
  if (step <= Money{}) return amount;
  assert(may_be(amount.in_hundredths()) && may_be(step.in_hundredths()));
  return Money::hundredths(nearest(amount.in_hundredths(), step.in_hundredths()) * step.in_hundredths());
}

}  // namespace hingeline

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

}  // namespace hingeline

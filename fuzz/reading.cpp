// Any bytes as a reading: nothing crashes, what is read lies within its kind's bounds, and a length read
// comes back bit for bit from its exact text.

#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "hingeline/base/reading.h"

namespace {

using namespace hingeline;

void demand(bool holds) {
  if (!holds) std::abort();
}

template <class Q>
void check(const Expected<Reading<Q>>& reading) {
  if (!reading) {
    demand(!reading.error().what.empty());
    return;
  }
  demand(is_finite(reading->value) && !reading->unit.empty());
  demand(!reading->plus_minus || (is_finite(*reading->plus_minus) && reading->plus_minus->raw() >= 0));
}

void check_length(std::string_view text, LengthUnit bare, Sign sign) {
  const auto reading = parse_length(text, bare, sign);
  check(reading);
  if (!reading) return;
  for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
    const auto again = parse_length(exact_text(reading->value, unit), unit, Sign::any);
    demand(again.has_value());
    demand(std::bit_cast<std::uint64_t>(again->value.raw()) ==
           std::bit_cast<std::uint64_t>(reading->value.raw()));
    demand(!show_length(reading->value, unit, bench_decimals(unit)).empty());
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  for (const Sign sign : {Sign::any, Sign::not_negative, Sign::positive}) {
    check_length(text, LengthUnit::mm, sign);
    check_length(text, LengthUnit::inch, sign);
    check(parse_angle(text, sign));
    check(parse_force(text, sign));
    const auto number = parse_number(text, sign);
    demand(!number || std::isfinite(number->value));
  }
  check(parse_half_angle(text));
  check(parse_temperature(text));
  return 0;
}

#pragma once
/// \file
/// What the tests of readings share: comparing bit by bit, and calling the parsers by kind.

#include <gtest/gtest.h>

#include <bit>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "hingeline/base/reading.h"

namespace hingeline::testing_base {

inline std::uint64_t bits(double v) { return std::bit_cast<std::uint64_t>(v); }

/// Of what was read: the inner numbers, whatever the kind.
struct Inner {
  double value = 0;
  std::optional<double> plus_minus;
  std::string unit;
};

/// A parser together with what its place says about units and signs.
enum class Place {
  mm,
  mm_not_negative,
  mm_positive,
  inch,
  angle,
  angle_not_negative,
  half_angle,
  force,
  force_not_negative,
  temperature,
  number,
  number_not_negative,
  number_positive
};

template <class Q>
Expected<Inner> inner(const Expected<Reading<Q>>& read) {
  return read.map([](const Reading<Q>& r) {
    Inner out{r.value.raw(), std::nullopt, r.unit};
    if (r.plus_minus) out.plus_minus = r.plus_minus->raw();
    return out;
  });
}

inline Expected<Inner> inner(const Expected<PlainReading>& read) {
  return read.map([](const PlainReading& r) { return Inner{r.value, r.plus_minus, ""}; });
}

inline Expected<Inner> read_at(Place place, std::string_view text) {
  switch (place) {
    case Place::mm:
      return inner(parse_length(text, LengthUnit::mm, Sign::any));
    case Place::mm_not_negative:
      return inner(parse_length(text, LengthUnit::mm, Sign::not_negative));
    case Place::mm_positive:
      return inner(parse_length(text, LengthUnit::mm, Sign::positive));
    case Place::inch:
      return inner(parse_length(text, LengthUnit::inch, Sign::any));
    case Place::angle:
      return inner(parse_angle(text, Sign::any));
    case Place::angle_not_negative:
      return inner(parse_angle(text, Sign::not_negative));
    case Place::half_angle:
      return inner(parse_half_angle(text));
    case Place::force:
      return inner(parse_force(text, Sign::any));
    case Place::force_not_negative:
      return inner(parse_force(text, Sign::not_negative));
    case Place::temperature:
      return inner(parse_temperature(text));
    case Place::number:
      return inner(parse_number(text, Sign::any));
    case Place::number_not_negative:
      return inner(parse_number(text, Sign::not_negative));
    case Place::number_positive:
      break;
  }
  return inner(parse_number(text, Sign::positive));
}

}  // namespace hingeline::testing_base

// What holds of every text, not only of those in the tables.

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <random>
#include <vector>

#include "support.h"

namespace hingeline::testing_base {
namespace {

constexpr std::array kPlaces{Place::mm,
                             Place::mm_not_negative,
                             Place::mm_positive,
                             Place::inch,
                             Place::angle,
                             Place::angle_not_negative,
                             Place::half_angle,
                             Place::force,
                             Place::force_not_negative,
                             Place::temperature,
                             Place::number,
                             Place::number_not_negative,
                             Place::number_positive};

double largest(Place place) {
  switch (place) {
    case Place::mm:
    case Place::mm_not_negative:
    case Place::mm_positive:
    case Place::inch:
      return kLargestLength.raw();
    case Place::angle:
    case Place::angle_not_negative:
    case Place::half_angle:
      return kLargestAngle.raw();
    case Place::force:
    case Place::force_not_negative:
      return kLargestForce.raw();
    case Place::temperature:
      return kHottest.raw();
    default:
      return kLargestNumber;
  }
}
bool may_be_negative(Place place) {
  return place == Place::mm || place == Place::inch || place == Place::angle || place == Place::force ||
         place == Place::temperature || place == Place::number;
}

/// Characters of UTF-8 text that is well formed.
std::size_t characters_of(std::string_view text) {
  std::size_t count = 0;
  for (const char c : text) count += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U ? 1 : 0;
  return count;
}

void read_or_refused_well(std::string_view text, bool is_utf8) {
  for (const Place place : kPlaces) {
    const auto read = read_at(place, text);
    if (read) {
      RC_ASSERT(std::isfinite(read->value));
      RC_ASSERT(std::abs(read->value) <= largest(place));
      RC_ASSERT(may_be_negative(place) || read->value >= 0);
      RC_ASSERT(read->value != 0 || !std::signbit(read->value));
      const double plus_minus = read->plus_minus.value_or(0);
      RC_ASSERT(std::isfinite(plus_minus));
      RC_ASSERT(plus_minus >= 0);
      RC_ASSERT(plus_minus <= largest(place));
    } else {
      const Error& error = read.error();
      RC_ASSERT(error.fault == Fault::syntax || error.fault == Fault::content);
      RC_ASSERT(!error.expected.empty());
      RC_ASSERT(error.place.column >= 1);
      const std::size_t most = is_utf8 ? characters_of(text) : text.size();
      RC_ASSERT(error.place.column <= static_cast<int>(most) + 1);
      RC_ASSERT(error.what.find(" at character " + std::to_string(error.place.column)) != std::string::npos);
    }
  }
}

RC_GTEST_PROP(AnyText, OfThePiecesOfReadings, ()) {
  static const std::vector<std::string> pieces{
      "0",      "1",   "4",    "5/32", "12",     "60",     "9999999", ".",     ",",      "-",   "+",
      "\u2212", "e",   "E-3",  "±",    "+/-",    "+-",     " ",       "\t",    "\u00A0", "mm",  "um",
      "in",     "in.", "thou", "\"",   "'",      "\u2033", "\u2019",  "°",     "deg",    "rad", "N",
      "mN",     "gf",  "ozf",  "C",    "F",      "K",      ":",       "/",     "1:10",   "30'", "15\"",
      "nan",    "inf", "0x",   "_",    "\u0664", "\u00BD", "e999",    "e-999", "mil",    "\n"};
  const auto chosen =
      *rc::gen::container<std::vector<std::size_t>>(rc::gen::inRange<std::size_t>(0, pieces.size()));
  std::string text;
  for (const std::size_t k : chosen) text += pieces[k];
  read_or_refused_well(text, true);
}

RC_GTEST_PROP(AnyText, OfAnyBytes, ()) { read_or_refused_well(*rc::gen::arbitrary<std::string>(), false); }

RC_GTEST_PROP(AnyText, ValuesDoNotDependOnBlanksOrTheMark, ()) {
  const auto n = *rc::gen::inRange(0, 10'000'000);
  const std::string whole = std::to_string(n / 10'000);
  std::string part = std::to_string(n % 10'000);
  part.insert(0, 4 - part.size(), '0');
  const auto plain = parse_length(whole + "." + part + " mm", LengthUnit::mm, Sign::any);
  RC_ASSERT(plain.has_value());
  for (const std::string& text :
       {whole + "," + part + "mm", " \t" + whole + "." + part + "\u00A0MM ", "+" + whole + part + "e-4"}) {
    const auto read = parse_length(text, LengthUnit::mm, Sign::any);
    RC_ASSERT(read.has_value());
    RC_ASSERT(bits(read->value.raw()) == bits(plain->value.raw()));
  }
}

RC_GTEST_PROP(AnyText, TheSignOfAnAngleIsThatOfAllItsParts, ()) {
  const auto d = *rc::gen::inRange(0, 90);
  const auto m = *rc::gen::inRange(0, 60);
  const auto s = *rc::gen::inRange(0, 60);
  const std::string text = std::to_string(d) + "°" + std::to_string(m) + "'" + std::to_string(s) + "\"";
  const auto up = parse_angle(text, Sign::any);
  const auto down = parse_angle("-" + text, Sign::any);
  RC_ASSERT(up.has_value());
  RC_ASSERT(down.has_value());
  RC_ASSERT(down->value == -up->value);
  const auto flank = parse_half_angle("-" + text);
  RC_ASSERT(flank.has_value() == (d + m + s == 0));
}

// reading.h: a taper is within two units in the last place. Against an arctangent of 64 bits.
TEST(Tapers, AreWithinTwoUnitsInTheLastPlace) {
  static_assert(std::numeric_limits<long double>::digits >= 64);
  std::mt19937_64 chance(3);
  double worst = 0;
  for (int k = 0; k < 200'000; ++k) {
    const auto rise = 1 + chance() % 10'000'000;
    const auto run = 1 + chance() % 10'000'000;
    const std::string text = std::to_string(rise) + "e-4:" + std::to_string(run) + "e-3";
    const auto read = parse_half_angle(text);
    ASSERT_TRUE(read) << text << ": " << read.error().what;
    const long double exact =
        std::atan(static_cast<long double>(rise) / (20.0L * static_cast<long double>(run)));
    const double ours = read->value.raw();
    const double unit = std::nextafter(ours, 4.0) - ours;
    worst = std::max(worst, static_cast<double>(std::abs(ours - exact)) / unit);
  }
  EXPECT_LE(worst, 2.0);
  EXPECT_GE(worst, 1.0) << "then two is too loose a bound";
}

}  // namespace
}  // namespace hingeline::testing_base

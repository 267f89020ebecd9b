// Readings and conversions against numbers printed elsewhere.

#include <cmath>

#include "support.h"

namespace hingeline::testing_base {
namespace {

double included_degrees(const std::string& taper) {
  const auto half = parse_half_angle(taper);
  EXPECT_TRUE(half) << taper << ": " << (half ? "" : half.error().what);
  return half ? 2 * in_degrees(half->value) : 0.0;
}

// ISO 1119:1998, cone angles as printed in its adoption GOST R 53440, table 1; a taper is the change of
// diameter over the length (ISO 3040). Printed to 1e-8 degrees.
TEST(PublishedValues, ConeAnglesOfTheTapersOfIso1119) {
  const std::pair<const char*, double> rows[] = {
      {"1:3", 18.92464442}, {"1:4", 14.25003270}, {"1:5", 11.42118627}, {"1:6", 9.52728338},
      {"1:8", 7.15266875},  {"1:10", 5.72481045}, {"1:12", 4.77188806}, {"1:15", 3.81830487},
      {"1:20", 2.86419237}, {"1:30", 1.90968251}, {"1:50", 1.14587740},
  };
  for (const auto& [taper, included] : rows) EXPECT_NEAR(included_degrees(taper), included, 1e-8) << taper;
}

// The same table's degrees, minutes and seconds, printed to 1e-4 of a second.
TEST(PublishedValues, TheSameConeAnglesInDegreesMinutesAndSeconds) {
  const std::pair<const char*, const char*> rows[] = {
      {"1:3", "18°55'28.7199\""}, {"1:5", "11°25'16.2706\""}, {"1:10", "5°43'29.3176\""},
      {"1:20", "2°51'51.0925\""}, {"1:50", "1°8'45.1586\""},
  };
  constexpr double kPrinted = 1e-4 / 3600;
  for (const auto& [taper, included] : rows) {
    const auto read = parse_angle(included, Sign::not_negative);
    ASSERT_TRUE(read) << included << ": " << read.error().what;
    EXPECT_NEAR(in_degrees(read->value), included_degrees(taper), kPrinted) << taper;
  }
}

// The same table's standard angles and their tapers 1:x, x = 1 / (2 tan(a/2)), printed to 1e-7.
TEST(PublishedValues, TapersOfTheConeAnglesOfIso1119) {
  const std::pair<const char*, double> rows[] = {
      {"60°", 0.2886751}, {"45°", 0.5},          {"37°30'", 0.6516127},
      {"30°", 0.8660254}, {"22°30'", 1.2071068}, {"15°", 1.8660254},
  };
  for (const auto& [half, x] : rows) {
    const auto read = parse_half_angle(half);
    ASSERT_TRUE(read) << half << ": " << read.error().what;
    EXPECT_NEAR(1 / (2 * tan(read->value)), x, 1e-7) << half;
  }
}

// 1:40: half angle 0.716 degrees (ISO 5356 worked note).
TEST(PublishedValues, OneInForty) { EXPECT_NEAR(included_degrees("1:40") / 2, 0.716160, 5e-7); }

// Morse tapers 0 to 6: inches to the foot as in ASME B5.10, half angles as printed beside them on two pages.
TEST(PublishedValues, MorseTapers) {
  const std::pair<const char*, double> rows[] = {
      {"0.62460:12", 1.4908}, {"0.59858:12", 1.4287}, {"0.59941:12", 1.4307}, {"0.60235:12", 1.4377},
      {"0.62326:12", 1.4876}, {"0.63151:12", 1.5073}, {"0.62565:12", 1.4933},
  };
  for (const auto& [taper, half] : rows) EXPECT_NEAR(included_degrees(taper) / 2, half, 5e-5) << taper;
}

// GNU units 2.22; relative 1e-14.
TEST(PublishedValues, ConversionsOfGnuUnits) {
  const auto same = [](double ours, double units) { EXPECT_NEAR(ours, units, 1e-14 * std::abs(units)); };
  const auto value = [](Place place, const char* text) {
    const auto read = read_at(place, text);
    EXPECT_TRUE(read) << text;
    return read ? read->value : 0.0;
  };
  same(value(Place::mm, "1 in"), 25.4);
  same(value(Place::mm, "12 in"), 304.8);  // foot 0.3048 m
  same(value(Place::mm, "1 thou"), 0.0254);
  same(in_inches(millimetres(0.001)), 3.93700787401575e-5);
  same(value(Place::force, "1 lbf"), 4.4482216152605);
  same(value(Place::force, "1 kgf"), 9.80665);
  same(value(Place::force, "1000 gf"), 9.80665);
  same(value(Place::force, "16 ozf"), 4.4482216152605);
  same(value(Place::angle, "1'"), 2.90888208665722e-4);
  same(value(Place::angle, "60\""), 2.90888208665722e-4);
  same(value(Place::temperature, "68 °F"), 20);
}

}  // namespace
}  // namespace hingeline::testing_base

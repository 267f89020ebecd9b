// Everything that must be read, with the bits it must give. A literal in the table is the double nearest to
// the decimal number written there, which is what reading.h promises.

#include <cmath>
#include <vector>

#include "support.h"

namespace hingeline::testing_base {
namespace {

struct Row {
  Place place;
  std::string_view text;
  double value;
  const char* unit;
  std::optional<double> plus_minus = std::nullopt;
};

void check(const std::vector<Row>& rows) {
  for (const Row& row : rows) {
    SCOPED_TRACE(std::string(row.text));
    const auto read = read_at(row.place, row.text);
    if (!read) {
      ADD_FAILURE() << read.error().what << "; " << read.error().expected;
      continue;
    }
    EXPECT_EQ(bits(read->value), bits(row.value)) << read->value << " and not " << row.value;
    EXPECT_EQ(read->unit, row.unit);
    ASSERT_EQ(read->plus_minus.has_value(), row.plus_minus.has_value());
    if (row.plus_minus) {
      EXPECT_EQ(bits(*read->plus_minus), bits(*row.plus_minus))
          << *read->plus_minus << " and not " << *row.plus_minus;
    }
  }
}

TEST(ReadingAccepts, Lengths) {
  check({
      // Bare, in both kinds of place.
      {Place::mm, "4", 4.0, "mm"},
      {Place::inch, "4", 101.6, "in"},
      {Place::mm, "4.00", 4.0, "mm"},
      {Place::mm, "4,02", 4.02, "mm"},
      {Place::inch, ".1575", 4.0005, "in"},
      {Place::inch, ",1575", 4.0005, "in"},
      {Place::mm, "0", 0.0, "mm"},
      {Place::mm, "00004", 4.0, "mm"},
      {Place::mm, "1,234", 1.234, "mm"},
      {Place::mm, "1.234", 1.234, "mm"},
      // With a unit.
      {Place::mm, "4.00 mm", 4.0, "mm"},
      {Place::inch, "4.00 mm", 4.0, "mm"},
      {Place::mm, "4.00mm", 4.0, "mm"},
      {Place::mm, "4.00 MM", 4.0, "mm"},
      {Place::mm, "85 um", 0.085, "um"},
      {Place::mm, "85 \u00B5m", 0.085, "um"},
      {Place::mm, "85 \u03BCm", 0.085, "um"},
      {Place::mm, "0.1575 in", 4.0005, "in"},
      {Place::mm, "0.1575in", 4.0005, "in"},
      {Place::mm, "0.1575 IN", 4.0005, "in"},
      {Place::mm, "0.1575 in.", 4.0005, "in"},
      {Place::mm, "0.1575 inch", 4.0005, "in"},
      {Place::mm, "0.1575 inches", 4.0005, "in"},
      {Place::mm, "0,1575 in", 4.0005, "in"},
      {Place::mm, ".1575\"", 4.0005, "in"},
      {Place::mm, ".1575 \"", 4.0005, "in"},
      {Place::mm, ".1575''", 4.0005, "in"},
      {Place::mm, ".1575\u201D", 4.0005, "in"},
      {Place::mm, ".1575\u201C", 4.0005, "in"},
      {Place::mm, ".1575\u2033", 4.0005, "in"},
      {Place::mm, ".1575\u02BA", 4.0005, "in"},
      {Place::mm, ".1575\u2019\u2019", 4.0005, "in"},
      {Place::mm, ".1575\u2032\u2032", 4.0005, "in"},
      {Place::mm, "157 thou", 3.9878, "thou"},
      {Place::inch, "157 thou", 3.9878, "thou"},
      {Place::mm, "157.5thou", 4.0005, "thou"},
      // Fractions of an inch.
      {Place::mm, "5/32\"", 3.96875, "in"},
      {Place::mm, "5/32 in", 3.96875, "in"},
      {Place::inch, "5/32", 3.96875, "in"},
      {Place::mm, "5 / 32 \"", 3.96875, "in"},
      {Place::mm, "5\u204432\"", 3.96875, "in"},
      {Place::mm, "1 5/32\"", 29.36875, "in"},
      {Place::mm, "1-5/32\"", 29.36875, "in"},
      {Place::mm, "1\u22125/32\"", 29.36875, "in"},
      {Place::inch, "1 5/32", 29.36875, "in"},
      {Place::mm, "-1-5/32\"", -29.36875, "in"},
      {Place::mm, "-5/32\"", -3.96875, "in"},
      {Place::mm, "-0-5/32\"", -3.96875, "in"},
      {Place::mm, "-0 5/32\"", -3.96875, "in"},
      {Place::mm, "0/32\"", 0.0, "in"},
      {Place::mm, "-0/32\"", 0.0, "in"},
      {Place::mm, "40/32\"", 31.75, "in"},
      {Place::mm, "1/3 in", 8.466666666666666666666666667, "in"},
      {Place::mm, "9999/9998 in", 25.40254050810162032406481296, "in"},
      {Place::mm, "100 1/7 in", 2543.628571428571428571428571, "in"},
      // Signs, powers of ten, zero.
      {Place::mm, "+4", 4.0, "mm"},
      {Place::mm, "-4", -4.0, "mm"},
      {Place::mm, "\u22124", -4.0, "mm"},
      {Place::mm, "-.5", -0.5, "mm"},
      {Place::mm, "-0", 0.0, "mm"},
      {Place::mm, "-0.000 in", 0.0, "in"},
      {Place::mm_not_negative, "-0", 0.0, "mm"},
      {Place::mm_not_negative, "+0", 0.0, "mm"},
      {Place::mm_positive, "+4", 4.0, "mm"},
      {Place::mm, "4e0", 4.0, "mm"},
      {Place::mm, "4E-3", 0.004, "mm"},
      {Place::mm, "4e\u22123", 0.004, "mm"},
      {Place::mm, "4e+3 mm", 4000.0, "mm"},
      {Place::mm, "1.575e-1 in", 4.0005, "in"},
      {Place::mm, "0e999", 0.0, "mm"},
      {Place::mm, "1e-300 mm", 1e-300, "mm"},
      {Place::mm, "5e-324", 5e-324, "mm"},
      {Place::mm, "1000000", 1e6, "mm"},
      {Place::mm, "-1000000", -1e6, "mm"},
      {Place::mm, "1e6 mm", 1e6, "mm"},
      // Blanks of all kinds round and between.
      {Place::mm, "  4  ", 4.0, "mm"},
      {Place::mm, "\t4\tmm\t", 4.0, "mm"},
      {Place::mm, "4\u00A0mm", 4.0, "mm"},
      {Place::mm, "4\u202Fmm", 4.0, "mm"},
      {Place::mm, "4\u2009mm", 4.0, "mm"},
      {Place::mm, "\u20074 mm", 4.0, "mm"},
      {Place::mm, "4                                                             mm", 4.0, "mm"},
      // 64 characters are read, and the last digit counts.
      {Place::mm, "0.12500000000000000000000000000000000000000000000000000000000001", 0.125, "mm"},
      {Place::mm, "1.0000000000000001110223024625156540423631668090820312500000001", 0x1.0000000000001p0,
       "mm"},
      {Place::mm, "1.00000000000000011102230246251565404236316680908203125", 1.0, "mm"},
  });
}

TEST(ReadingAccepts, PlusMinus) {
  check({
      {Place::mm, "4 ± 0.02", 4.0, "mm", 0.02},
      {Place::mm, "4±0.02", 4.0, "mm", 0.02},
      {Place::mm, "4 +/- 0.02", 4.0, "mm", 0.02},
      {Place::mm, "4+/-0.02", 4.0, "mm", 0.02},
      {Place::mm, "4 +- 0.02", 4.0, "mm", 0.02},
      {Place::mm, "4+-0.02", 4.0, "mm", 0.02},
      {Place::mm, "4 +\u2212 0.02", 4.0, "mm", 0.02},
      {Place::mm, "4 +/\u2212 0.02", 4.0, "mm", 0.02},
      {Place::mm, "4 +\u2044- 0.02", 4.0, "mm", 0.02},
      {Place::mm, "4,00 ± 0,02", 4.0, "mm", 0.02},
      {Place::mm, "4 ± .02", 4.0, "mm", 0.02},
      {Place::mm, "4 ± 0", 4.0, "mm", 0.0},
      {Place::mm, "4\u00A0±\u00A00.02\u00A0mm", 4.0, "mm", 0.02},
      {Place::mm, "-4 ± 0.02", -4.0, "mm", 0.02},
      // The unit after both, after the value, after each.
      {Place::mm, "0.085 ± 0.004 mm", 0.085, "mm", 0.004},
      {Place::inch, "0.085 ± 0.004 mm", 0.085, "mm", 0.004},
      {Place::mm, "0.085 mm ± 0.004", 0.085, "mm", 0.004},
      {Place::inch, "0.085 mm ± 0.004", 0.085, "mm", 0.004},
      {Place::mm, "0.085 mm ± 0.004 mm", 0.085, "mm", 0.004},
      {Place::mm, "4 mm ± 5 um", 4.0, "mm", 0.005},
      {Place::mm, "85 um ± 4", 0.085, "um", 0.004},
      {Place::mm, "85 um ± 4 um", 0.085, "um", 0.004},
      {Place::mm, "4 mm ± 1 thou", 4.0, "mm", 0.0254},
      {Place::mm, "157 thou ± 1", 3.9878, "thou", 0.0254},
      {Place::mm, "0.1575 ± 0.0005 in", 4.0005, "in", 0.0127},
      {Place::mm, "0.1575 ± 0.0005\"", 4.0005, "in", 0.0127},
      {Place::mm, "0.1575 in ± 0.01 mm", 4.0005, "in", 0.01},
      {Place::inch, "0.1575 ± 0.0005", 4.0005, "in", 0.0127},
      {Place::mm, "5/32\" ± 1/64", 3.96875, "in", 0.396875},
      {Place::mm, "5/32 ± 1/64 in", 3.96875, "in", 0.396875},
      {Place::mm, "5/32\" ± 0.02 mm", 3.96875, "in", 0.02},
      {Place::mm, "4 mm ± 1/64\"", 4.0, "mm", 0.396875},
      {Place::mm, "1-5/32+/-1/64\"", 29.36875, "in", 0.396875},
      {Place::mm, "4e0 ± 2e-2", 4.0, "mm", 0.02},
      {Place::angle, "12.5 ± 0.5", degrees(12.5).raw(), "deg", degrees(0.5).raw()},
      {Place::angle, "12.5° ± 0.5", degrees(12.5).raw(), "deg", degrees(0.5).raw()},
      {Place::angle, "12.5 ± 0.5°", degrees(12.5).raw(), "deg", degrees(0.5).raw()},
      {Place::angle, "12°30' ± 15'", degrees(12.5).raw(), "deg", degrees(0.25).raw()},
      {Place::angle, "12° ± 15'", degrees(12.0).raw(), "deg", degrees(0.25).raw()},
      {Place::angle, "0.5 ± 0.01 rad", 0.5, "rad", 0.01},
      {Place::half_angle, "1:10 ± 0.2°", std::atan(0.05), "taper", degrees(0.2).raw()},
      {Place::half_angle, "1:10 ± 12'", std::atan(0.05), "taper", degrees(0.2).raw()},
      {Place::half_angle, "30 ± 1", degrees(30.0).raw(), "deg", degrees(1.0).raw()},
      {Place::force, "0.5 ± 0.1 N", 0.5, "N", 0.1},
      {Place::force, "50 ± 5 gf", 0.4903325, "gf", 0.04903325},
      {Place::force, "0.5 N ± 20 mN", 0.5, "N", 0.02},
      // The ± of a temperature is a difference.
      {Place::temperature, "20 ± 2", 20.0, "degC", 2.0},
      {Place::temperature, "20 °C ± 1.8 °F", 20.0, "degC", 1.0},
      {Place::temperature, "68 ± 1.8 °F", 20.0, "degF", 1.0},
      {Place::temperature, "68 °F ± 1 K", 20.0, "degF", 1.0},
      {Place::temperature, "300 K ± 1", 26.85, "K", 1.0},
      {Place::number, "3 ± 1/4", 3.0, "", 0.25},
      {Place::number, "3 +/- 0,5", 3.0, "", 0.5},
  });
}

TEST(ReadingAccepts, Angles) {
  const auto deg = [](double d) { return degrees(d).raw(); };
  check({
      {Place::angle, "12.5", deg(12.5), "deg"},
      {Place::angle, "12,5", deg(12.5), "deg"},
      {Place::angle, "12.5°", deg(12.5), "deg"},
      {Place::angle, "12.5 °", deg(12.5), "deg"},
      {Place::angle, "12.5\u00BA", deg(12.5), "deg"},
      {Place::angle, "12.5\u02DA", deg(12.5), "deg"},
      {Place::angle, "12.5 deg", deg(12.5), "deg"},
      {Place::angle, "12.5 degrees", deg(12.5), "deg"},
      {Place::angle, "1 degree", deg(1.0), "deg"},
      {Place::angle, "12°30'", deg(12.5), "deg"},
      {Place::angle, "12° 30'", deg(12.5), "deg"},
      {Place::angle, "12 ° 30 '", deg(12.5), "deg"},
      {Place::angle, "12°30\u2032", deg(12.5), "deg"},
      {Place::angle, "12°30\u2019", deg(12.5), "deg"},
      {Place::angle, "12°30'15\"", deg(12.50416666666666666666667), "deg"},
      {Place::angle, "12° 30' 15\"", deg(12.50416666666666666666667), "deg"},
      {Place::angle, "12°30\u203215\u2033", deg(12.50416666666666666666667), "deg"},
      {Place::angle, "12°30'15''", deg(12.50416666666666666666667), "deg"},
      {Place::angle, "12°15\"", deg(12.00416666666666666666667), "deg"},
      {Place::angle, "12°30.5'", deg(12.50833333333333333333333), "deg"},
      {Place::angle, "12°30'15.5\"", deg(12.50430555555555555555556), "deg"},
      {Place::angle, "30'", deg(0.5), "deg"},
      {Place::angle, "90'", deg(1.5), "deg"},
      {Place::angle, "30'15\"", deg(0.5041666666666666666666667), "deg"},
      {Place::angle, "36\"", deg(0.01), "deg"},
      {Place::angle, "-12°30'", deg(-12.5), "deg"},
      {Place::angle, "\u221212°30'", deg(-12.5), "deg"},
      {Place::angle, "-0°30'", deg(-0.5), "deg"},
      {Place::angle, "-0°0'36\"", deg(-0.01), "deg"},
      {Place::angle, "-0'36\"", deg(-0.01), "deg"},
      {Place::angle, "30 '", deg(0.5), "deg"},
      {Place::angle, "36 \"", deg(0.01), "deg"},
      {Place::angle, "12°\t30\u00A0' 15 \"", deg(12.50416666666666666666667), "deg"},
      {Place::angle, "-0°0'", 0.0, "deg"},
      {Place::angle, "0°", 0.0, "deg"},
      {Place::angle, "0.5 rad", 0.5, "rad"},
      {Place::angle, "5e-1 RAD", 0.5, "rad"},
      {Place::angle, "360", deg(360.0), "deg"},
      {Place::angle, "-360°0'0\"", deg(-360.0), "deg"},
      {Place::half_angle, "0", 0.0, "deg"},
      {Place::half_angle, "30", deg(30.0), "deg"},
      {Place::half_angle, "89.999999", deg(89.999999), "deg"},
      {Place::half_angle, "12°30'", deg(12.5), "deg"},
      {Place::half_angle, "0.5 rad", 0.5, "rad"},
      {Place::half_angle, "1:10", std::atan(0.05), "taper"},
      {Place::half_angle, "1 : 10", std::atan(0.05), "taper"},
      {Place::half_angle, "1\u223610", std::atan(0.05), "taper"},
      {Place::half_angle, "7:24", std::atan(7.0 / 48.0), "taper"},
      {Place::half_angle, "0.5:5", std::atan(0.05), "taper"},
      {Place::half_angle, "1:0,5", std::atan(1.0), "taper"},
  });
}

TEST(ReadingAccepts, Forces) {
  check({
      {Place::force, "0.5", 0.5, "N"},
      {Place::force, "0.5 N", 0.5, "N"},
      {Place::force, "500 mN", 0.5, "mN"},
      {Place::force, "50 gf", 0.4903325, "gf"},
      {Place::force, "50 GF", 0.4903325, "gf"},
      {Place::force, "1 kgf", 9.80665, "kgf"},
      {Place::force, "1 lbf", 4.4482216152605, "lbf"},
      {Place::force, "1.8 ozf", 0.50042493171680625, "ozf"},
      {Place::force, "16 ozf", 4.4482216152605, "ozf"},
      {Place::force, "-1 N", -1.0, "N"},
      {Place::force_not_negative, "0", 0.0, "N"},
      {Place::force, "1000000", 1e6, "N"},
  });
}

TEST(ReadingAccepts, Temperatures) {
  check({
      {Place::temperature, "20", 20.0, "degC"},
      {Place::temperature, "-5", -5.0, "degC"},
      {Place::temperature, "20 C", 20.0, "degC"},
      {Place::temperature, "20 °C", 20.0, "degC"},
      {Place::temperature, "20°C", 20.0, "degC"},
      {Place::temperature, "20 ° C", 20.0, "degC"},
      {Place::temperature, "20 degC", 20.0, "degC"},
      {Place::temperature, "20 \u2103", 20.0, "degC"},
      {Place::temperature, "68 F", 20.0, "degF"},
      {Place::temperature, "68 °F", 20.0, "degF"},
      {Place::temperature, "68\u2109", 20.0, "degF"},
      {Place::temperature, "32 °F", 0.0, "degF"},
      {Place::temperature, "-40 °F", -40.0, "degF"},
      {Place::temperature, "70 °F", 21.11111111111111111111111, "degF"},
      {Place::temperature, "293.15 K", 20.0, "K"},
      {Place::temperature, "0 K", -273.15, "K"},
      {Place::temperature, "-273.15", -273.15, "degC"},
      {Place::temperature, "-459.67 °F", -273.15, "degF"},
      {Place::temperature, "273.15 K", 0.0, "K"},
      {Place::temperature, "1000", 1000.0, "degC"},
  });
}

TEST(ReadingAccepts, PlainNumbers) {
  check({
      {Place::number, "3", 3.0, ""},
      {Place::number, "0,25", 0.25, ""},
      {Place::number, "1/4", 0.25, ""},
      {Place::number, "2 3/4", 2.75, ""},
      {Place::number, "2-3/4", 2.75, ""},
      {Place::number, "-2.5", -2.5, ""},
      {Place::number, "1/3", 0.3333333333333333333333333, ""},
      {Place::number, "1e9", 1e9, ""},
      {Place::number_not_negative, "0", 0.0, ""},
      {Place::number_positive, "0.001", 0.001, ""},
  });
}

}  // namespace
}  // namespace hingeline::testing_base

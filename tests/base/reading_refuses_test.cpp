// What must be refused: with which Fault, at which character, and a word that the message must hold.

#include <set>
#include <string>
#include <vector>

#include "support.h"

namespace hingeline::testing_base {
namespace {

constexpr Fault kSyntax = Fault::syntax;
constexpr Fault kContent = Fault::content;

struct Row {
  Place place;
  std::string_view text;
  Fault fault;
  int column;
  const char* said;
};

const std::string kSixtyFourBlanks(64, ' ');
const std::string kFourAfterBlanks = kSixtyFourBlanks + "4";
const std::string kFourBeforeBlanks = "4" + kSixtyFourBlanks;
const std::string kSixtyFiveDigits = "4." + std::string(63, '0');
const std::string kSixtyFiveDegrees = [] {
  std::string text = "12";
  for (int k = 0; k < 63; ++k) text += "°";
  return text;
}();

std::vector<Row> rows() {
  using namespace std::string_view_literals;
  return {
      // Nothing there.
      {Place::mm, "", kSyntax, 1, "nothing was typed"},
      {Place::mm, " ", kSyntax, 1, "only blanks"},
      {Place::mm, "\t \t", kSyntax, 1, "only blanks"},
      {Place::mm, "\u00A0\u2009", kSyntax, 1, "only blanks"},
      {Place::angle, "", kSyntax, 1, "nothing was typed"},
      {Place::half_angle, "", kSyntax, 1, "nothing was typed"},
      {Place::force, "", kSyntax, 1, "nothing was typed"},
      {Place::temperature, "", kSyntax, 1, "nothing was typed"},
      {Place::number, "", kSyntax, 1, "nothing was typed"},

      // No number, or none that is finite.
      {Place::mm, "nan", kSyntax, 1, "not a number"},
      {Place::mm, "NaN", kSyntax, 1, "not a number"},
      {Place::mm, "-nan mm", kSyntax, 2, "not a number"},
      {Place::mm, "nan(4)", kSyntax, 1, "not a number"},
      {Place::mm, "inf", kSyntax, 1, "not a finite number"},
      {Place::mm, "INF mm", kSyntax, 1, "not a finite number"},
      {Place::mm, "infinity", kSyntax, 1, "not a finite number"},
      {Place::mm, "-inf", kSyntax, 2, "not a finite number"},
      {Place::mm, "+Infinity", kSyntax, 2, "not a finite number"},
      {Place::mm, "\u221E", kSyntax, 1, "not a finite number"},
      {Place::number, "nan", kSyntax, 1, "not a number"},
      {Place::mm, "4 ± nan", kSyntax, 5, "not a number"},
      {Place::mm, "4 ± inf", kSyntax, 5, "not a finite number"},
      {Place::mm, "mm", kSyntax, 1, "number is missing"},
      {Place::mm, "mm 4", kSyntax, 1, "number is missing"},
      {Place::mm, "four", kSyntax, 1, "number is missing"},
      {Place::mm, "e3", kSyntax, 1, "number is missing"},
      {Place::mm, "\"", kSyntax, 1, "number is missing"},
      {Place::mm, "$4", kSyntax, 1, "number is missing"},
      {Place::mm, "(4)", kSyntax, 1, "number is missing"},
      {Place::mm, "~4", kSyntax, 1, "number is missing"},
      {Place::mm, "<4", kSyntax, 1, "number is missing"},
      {Place::mm, "- 4", kSyntax, 2, "number is missing"},
      {Place::mm, "--4", kSyntax, 2, "number is missing"},
      {Place::mm, "-+4", kSyntax, 2, "number is missing"},
      {Place::mm, "-", kSyntax, 2, "nothing"},
      {Place::mm, "+", kSyntax, 2, "nothing"},
      {Place::mm, ".", kSyntax, 1, "number is missing"},
      {Place::mm, ",", kSyntax, 1, "number is missing"},
      {Place::mm, "-.", kSyntax, 2, "number is missing"},
      {Place::mm, "\uFEFF4", kSyntax, 1, "\\u{feff}"},

      // Too large, too small.
      {Place::mm, "1e999", kContent, 1, "too large"},
      {Place::mm, "-1e999", kContent, 1, "too large"},
      {Place::mm, "1e99999999999999999999", kContent, 1, "too large"},
      {Place::mm, "1e999 in", kContent, 1, "too large"},
      {Place::mm, "1000001", kContent, 1, "too large"},
      {Place::mm, "-1000001 mm", kContent, 1, "too large"},
      {Place::mm, "1000000.000001", kContent, 1, "too large"},
      {Place::mm, "39370.07874016 in", kContent, 1, "too large"},
      {Place::mm, "1e-999", kContent, 1, "too small"},
      {Place::mm, "1e-99999999999999999999", kContent, 1, "too small"},
      {Place::mm, "  1e-400 mm", kContent, 3, "too small"},
      {Place::mm, "4 ± 1e999", kContent, 5, "too large"},
      {Place::mm, "4 ± 1000001", kContent, 5, "too large"},
      {Place::mm, "4 ± 1e-999", kContent, 5, "too small"},
      {Place::angle, "361", kContent, 1, "too large"},
      {Place::angle, "-361", kContent, 1, "too large"},
      {Place::angle, "7 rad", kContent, 1, "too large"},
      {Place::angle, "360°0'1\"", kContent, 1, "too large"},
      {Place::half_angle, "90", kContent, 1, "too large"},
      {Place::half_angle, "90°0'0\"", kContent, 1, "too large"},
      {Place::half_angle, "91°", kContent, 1, "too large"},
      {Place::half_angle, "1.5707963267948966 rad", kContent, 1, "too large"},
      {Place::half_angle, "1:1e-999", kContent, 3, "second number is too small"},
      {Place::half_angle, "1e-999:1", kContent, 1, "first number is too small"},
      {Place::half_angle, "1e-999:1e-999", kContent, 1, "first number is too small"},
      {Place::half_angle, "1e999:1e999", kContent, 1, "first number is too large"},
      {Place::half_angle, "1:1e999", kContent, 3, "second number is too large"},
      {Place::half_angle, "1e300:1e-300", kContent, 1, "too large"},
      {Place::half_angle, "1e-300:1e300", kContent, 1, "too small"},
      {Place::force, "1e7", kContent, 1, "too large"},
      {Place::number, "1e10", kContent, 1, "too large"},
      {Place::temperature, "1001", kContent, 1, "too large"},
      {Place::temperature, "2000 °F", kContent, 1, "too large"},
      {Place::temperature, "-273.16", kContent, 1, "less than can be"},
      {Place::temperature, "-300 °C", kContent, 1, "less than can be"},
      {Place::temperature, "-460 °F", kContent, 1, "less than can be"},
      {Place::temperature, "-1 K", kContent, 1, "less than can be"},
      {Place::temperature, "-1e999", kContent, 1, "less than can be"},

      // A sign where none can be.
      {Place::mm_not_negative, "-4", kContent, 1, "negative"},
      {Place::mm_not_negative, " -4", kContent, 2, "negative"},
      {Place::mm_not_negative, "-0.001", kContent, 1, "negative"},
      {Place::mm_not_negative, "\u22124 mm", kContent, 1, "negative"},
      {Place::mm_not_negative, "-5/32\"", kContent, 1, "negative"},
      {Place::mm_not_negative, "-0-5/32\"", kContent, 1, "negative"},
      {Place::mm_positive, "-4", kContent, 1, "negative"},
      {Place::mm_positive, "0", kContent, 1, "zero"},
      {Place::mm_positive, " 0.00 mm", kContent, 2, "zero"},
      {Place::mm_positive, "-0", kContent, 1, "zero"},
      {Place::mm_positive, "0/32\"", kContent, 1, "zero"},
      {Place::angle_not_negative, "-1", kContent, 1, "negative"},
      {Place::angle_not_negative, "-0°30'", kContent, 1, "negative"},
      {Place::half_angle, "-5", kContent, 1, "negative"},
      {Place::force_not_negative, "-1 N", kContent, 1, "negative"},
      {Place::number_not_negative, "-3", kContent, 1, "negative"},
      {Place::number_positive, "0", kContent, 1, "zero"},

      // Two units, two numbers, more text.
      {Place::mm, "4 mm in", kSyntax, 6, "second unit"},
      {Place::mm, "4 mm mm", kSyntax, 6, "second unit"},
      {Place::mm, "4 mm \"", kSyntax, 6, "second unit"},
      {Place::mm, "4\" in", kSyntax, 4, "second unit"},
      {Place::mm, "4\" mm", kSyntax, 4, "second unit"},
      {Place::mm, "4 mm approx", kSyntax, 6, "second unit"},
      {Place::mm, "4 ± 0.1 mm in", kSyntax, 12, "second unit"},
      {Place::angle, "12°30' deg", kSyntax, 8, "second unit"},
      {Place::angle, "12° deg", kSyntax, 5, "second unit"},
      {Place::angle, "0.5 rad 30'", kSyntax, 9, "second number"},
      {Place::angle, "0.5 rad °", kSyntax, 9, "second unit"},
      {Place::temperature, "20 °C °F", kSyntax, 7, "second unit"},
      {Place::force, "1 N gf", kSyntax, 5, "second unit"},
      {Place::mm, "4 5", kSyntax, 3, "second number"},
      {Place::mm, "4 mm 5", kSyntax, 6, "second number"},
      {Place::mm, "4 mm 5 mm", kSyntax, 6, "second number"},
      {Place::mm, "4 ± 0.1 0.2", kSyntax, 9, "second number"},
      {Place::angle, "12\" 30'", kSyntax, 5, "second number"},
      {Place::number, "3 4", kSyntax, 3, "second number"},
      {Place::mm, "4 mm (worn)", kSyntax, 6, "does not belong"},
      {Place::mm, "4 mm.", kSyntax, 5, "does not belong"},
      {Place::mm, "4 in..", kSyntax, 6, "does not belong"},
      {Place::mm, "4;", kSyntax, 2, "does not belong"},
      {Place::mm, "4 $", kSyntax, 3, "does not belong"},
      {Place::mm, "4 %", kSyntax, 3, "does not belong"},
      {Place::mm, "4 - 0.1", kSyntax, 3, "does not belong"},
      {Place::mm, "4 + 0.1", kSyntax, 3, "does not belong"},
      {Place::mm, "4-5", kSyntax, 2, "does not belong"},
      {Place::mm, "4*2", kSyntax, 2, "does not belong"},
      {Place::mm, "4/5/6\"", kSyntax, 4, "does not belong"},

      // Digits of other scripts, raised figures, made-up fractions.
      {Place::mm, "\u0664", kSyntax, 1, "another script"},       // Arabic-Indic four
      {Place::mm, "4.\u0665 mm", kSyntax, 3, "another script"},  // Arabic-Indic five
      {Place::mm, "\u06F4", kSyntax, 1, "another script"},       // Persian four
      {Place::mm, "\u096A", kSyntax, 1, "another script"},       // Devanagari four
      {Place::mm, "4 ± \u0966", kSyntax, 5, "another script"},   // Devanagari nought
      {Place::mm, "\uFF14", kSyntax, 1, "another script"},       // fullwidth four
      {Place::mm, "4.\uFF15 mm", kSyntax, 3, "another script"},  // fullwidth five
      {Place::mm, "\u0E54", kSyntax, 1, "another script"},       // Thai four
      {Place::mm, "\u09EA", kSyntax, 1, "another script"},       // Bengali four
      {Place::mm, "\U0001D7D2", kSyntax, 1, "another script"},   // mathematical bold four
      {Place::mm, "\U0001D7FF", kSyntax, 1, "another script"},   // mathematical monospace nine
      {Place::angle, "12°\u0663'", kSyntax, 4, "another script"},
      {Place::mm, "\u00BD\"", kSyntax, 1, "made-up fraction"},
      {Place::mm, "1\u00BD\"", kSyntax, 2, "made-up fraction"},
      {Place::mm, "\u215D in", kSyntax, 1, "made-up fraction"},
      {Place::mm, "4\u00B2", kSyntax, 2, "raised figure"},
      {Place::mm, "4\u2082", kSyntax, 2, "raised figure"},
      {Place::mm, "10\u2074", kSyntax, 3, "raised figure"},

      // Hexadecimal; marks between groups of digits; marks without digits.
      {Place::mm, "0x10", kSyntax, 1, "hexadecimal"},
      {Place::mm, "0X1p3", kSyntax, 1, "hexadecimal"},
      {Place::mm, "-0x4", kSyntax, 2, "hexadecimal"},
      {Place::mm, "0x", kSyntax, 1, "hexadecimal"},
      {Place::mm, "4 ± 0x1", kSyntax, 5, "hexadecimal"},
      {Place::mm, "1,234.5", kSyntax, 6, "groups of digits"},
      {Place::mm, "1.234,5", kSyntax, 6, "groups of digits"},
      {Place::mm, "1,234,567", kSyntax, 6, "groups of digits"},
      {Place::mm, "1.5.2", kSyntax, 4, "second decimal mark"},
      {Place::mm, "1'000", kSyntax, 2, "groups of digits"},
      {Place::mm, "1\u2019000", kSyntax, 2, "groups of digits"},
      {Place::mm, "1_000", kSyntax, 2, "groups of digits"},
      {Place::mm, "1 000", kSyntax, 3, "second number"},
      {Place::mm, "1\u00A0000", kSyntax, 3, "second number"},
      {Place::mm, "1\u202F000.5 mm", kSyntax, 3, "second number"},
      {Place::force, "1'000", kSyntax, 2, "groups of digits"},
      {Place::number, "1,234.5", kSyntax, 6, "groups of digits"},
      {Place::mm, "1.", kSyntax, 3, "digits are missing"},
      {Place::mm, "4.mm", kSyntax, 3, "digits are missing"},
      {Place::mm, "4, mm", kSyntax, 3, "digits are missing"},
      {Place::mm, "1..2", kSyntax, 3, "digits are missing"},
      {Place::mm, "1e", kSyntax, 3, "digits are missing"},
      {Place::mm, "1e+", kSyntax, 4, "digits are missing"},
      {Place::mm, "1e mm", kSyntax, 3, "digits are missing"},
      {Place::mm, "1.2e--3", kSyntax, 6, "digits are missing"},
      {Place::mm, "1ee3", kSyntax, 3, "digits are missing"},
      {Place::mm, "1e1.5", kSyntax, 4, "whole number"},
      {Place::mm, "4 e3", kSyntax, 3, "not a unit"},

      // Fractions.
      {Place::mm, "5/32", kSyntax, 1, "inch"},
      {Place::mm, "1 5/32", kSyntax, 1, "inch"},
      {Place::mm, "1-5/32", kSyntax, 1, "inch"},
      {Place::mm, "5/32 mm", kSyntax, 6, "inch"},
      {Place::inch, "5/32 mm", kSyntax, 6, "inch"},
      {Place::mm, "5/32 thou", kSyntax, 6, "inch"},
      {Place::mm, "4 mm ± 1/64", kSyntax, 8, "inch"},
      {Place::mm, "5/0\"", kSyntax, 3, "zero"},
      {Place::mm, "5/\"", kSyntax, 3, "denominator is missing"},
      {Place::mm, "5/", kSyntax, 3, "denominator is missing"},
      {Place::mm, "5//32\"", kSyntax, 3, "denominator is missing"},
      {Place::mm, "5/-32\"", kSyntax, 3, "denominator is missing"},
      {Place::mm, "5/3.2\"", kSyntax, 4, "denominator is not whole"},
      {Place::mm, "/32\"", kSyntax, 1, "number is missing"},
      {Place::mm, "1.5/32\"", kSyntax, 1, "not whole"},
      {Place::mm, "1e1/32\"", kSyntax, 1, "not whole"},
      {Place::mm, "1.5 5/32\"", kSyntax, 1, "not whole"},
      {Place::mm, "1 33/32\"", kSyntax, 3, "not less than one"},
      {Place::mm, "1-32/32\"", kSyntax, 3, "not less than one"},
      {Place::mm, "12345/2\"", kSyntax, 1, "more than 4 digits"},
      {Place::mm, "5/12345\"", kSyntax, 3, "more than 4 digits"},
      {Place::mm, "1234567 1/2\"", kSyntax, 1, "too many digits"},
      {Place::angle, "1/2", kSyntax, 2, "fraction"},
      {Place::half_angle, "1/10", kSyntax, 2, "fraction is no angle"},
      {Place::force, "1/2", kSyntax, 2, "fraction"},
      {Place::temperature, "1/2", kSyntax, 2, "fraction"},
      {Place::number, "1/0", kSyntax, 3, "zero"},

      // Units of another kind.
      {Place::mm, "4 deg", kContent, 3, "unit of angle, not of length"},
      {Place::mm, "4°", kContent, 2, "unit of angle, not of length"},
      {Place::mm, "4 rad", kContent, 3, "unit of angle, not of length"},
      {Place::mm, "4 N", kContent, 3, "unit of force, not of length"},
      {Place::mm, "4 gf", kContent, 3, "unit of force, not of length"},
      {Place::mm, "4 °C", kContent, 3, "unit of temperature, not of length"},
      {Place::mm, "4 C", kContent, 3, "unit of temperature, not of length"},
      {Place::mm, "4 mm ± 0.1 deg", kContent, 12, "unit of angle, not of length"},
      {Place::mm, "4 ± 0.1 N", kContent, 9, "unit of force, not of length"},
      {Place::angle, "12 mm", kContent, 4, "unit of length, not of angle"},
      {Place::angle, "12 in", kContent, 4, "unit of length, not of angle"},
      {Place::angle, "12 °C", kContent, 4, "unit of temperature, not of angle"},
      {Place::half_angle, "12°F", kContent, 3, "unit of temperature, not of angle"},
      {Place::half_angle, "12 N", kContent, 4, "unit of force, not of angle"},
      {Place::force, "5 mm", kContent, 3, "unit of length, not of force"},
      {Place::force, "5\"", kContent, 2, "unit of length, not of force"},
      {Place::force, "5 °", kContent, 3, "unit of angle, not of force"},
      {Place::temperature, "20 mm", kContent, 4, "unit of length, not of temperature"},
      {Place::temperature, "20 deg", kContent, 4, "unit of angle, not of temperature"},
      {Place::number, "3 mm", kContent, 3, "takes no unit"},
      {Place::number, "3°", kContent, 2, "takes no unit"},
      {Place::number, "3\"", kContent, 2, "takes no unit"},

      // Units that are refused, with a hint, and words that are none.
      {Place::mm, "4 mil", kSyntax, 3, "thousandth of an inch or a millimetre"},
      {Place::mm, "4 mils", kSyntax, 3, "thousandth of an inch or a millimetre"},
      {Place::mm, "4 cm", kSyntax, 3, "no unit of the bench"},
      {Place::mm, "4 m", kSyntax, 3, "no unit of the bench"},
      {Place::mm, "4 ft", kSyntax, 3, "foot"},
      {Place::mm, "4 feet", kSyntax, 3, "foot"},
      {Place::mm, "1/2 ft", kSyntax, 5, "foot"},
      {Place::mm, "4'", kSyntax, 2, "feet"},
      {Place::mm, "4 \u2019", kSyntax, 3, "feet"},
      {Place::force, "50 g", kSyntax, 4, "mass"},
      {Place::force, "1.8 oz", kSyntax, 5, "mass"},
      {Place::force, "1 lb", kSyntax, 3, "mass"},
      {Place::force, "1 lbs", kSyntax, 3, "mass"},
      {Place::force, "1 kg", kSyntax, 3, "mass"},
      {Place::force, "1 MN", kSyntax, 3, "million"},
      {Place::force, "1 n", kSyntax, 3, "newton"},
      {Place::mm, "4 furlongs", kSyntax, 3, "not a unit"},
      {Place::mm, "4x5", kSyntax, 2, "not a unit"},
      {Place::mm, "4\u200B", kSyntax, 2, "\\u{200b}"},
      {Place::mm, "4 \u202Emm", kSyntax, 3, "\\u{202e}"},
      {Place::mm, "4 \u043C\u043C", kSyntax, 3, "not a unit"},  // Cyrillic letters that look like mm
      {Place::angle, "12 grad", kSyntax, 4, "not a unit"},
      {Place::force, "0.5 kN", kSyntax, 5, "not a unit"},
      {Place::number, "3 turns", kSyntax, 3, "not a unit"},
      {Place::temperature, "20 °", kSyntax, 4, "scale"},
      {Place::temperature, "20 °X", kSyntax, 4, "scale"},
      {Place::temperature, "68 ° ± 1", kSyntax, 4, "scale"},

      // Too long; not UTF-8; control characters.
      {Place::mm, kSixtyFiveDigits, kSyntax, 65, "more than 64"},
      {Place::mm, kFourAfterBlanks, kSyntax, 65, "more than 64"},
      {Place::mm, kFourBeforeBlanks, kSyntax, 65, "more than 64"},
      {Place::angle, kSixtyFiveDegrees, kSyntax, 65, "more than 64"},
      {Place::mm, "\xFF", kSyntax, 1, "\\xFF"},
      {Place::mm, "\x80", kSyntax, 1, "not UTF-8"},
      {Place::mm, "4\xC2", kSyntax, 2, "not UTF-8"},
      {Place::mm, "4 mm\xE2\x82", kSyntax, 5, "not UTF-8"},
      {Place::mm, "4\xC3\x28", kSyntax, 2, "not UTF-8"},
      {Place::mm, "4\xED\xA0\x80", kSyntax, 2, "not UTF-8"},      // a surrogate
      {Place::mm, "4\xC0\xAF", kSyntax, 2, "not UTF-8"},          // overlong
      {Place::mm, "4\xE0\x80\xAF", kSyntax, 2, "not UTF-8"},      // overlong
      {Place::mm, "4\xF4\x90\x80\x80", kSyntax, 2, "not UTF-8"},  // past the last character
      {Place::mm, "4\xF5\x80\x80\x80", kSyntax, 2, "not UTF-8"},
      {Place::mm, "4 \xB1 0.02", kSyntax, 3, "not UTF-8"},  // ± of an eight-bit encoding
      {Place::angle, "12\xB0", kSyntax, 3, "not UTF-8"},    // ° of an eight-bit encoding
      {Place::mm, "± \xFF", kSyntax, 3, "not UTF-8"},       // ± counts as one character
      {Place::mm, "4\n", kSyntax, 2, "control character"},
      {Place::mm, "4\r\n", kSyntax, 2, "control character"},
      {Place::mm, "\x01", kSyntax, 1, "control character"},
      {Place::mm, "4\0mm"sv, kSyntax, 2, "\\u{0}"},
      {Place::mm, "\0"sv, kSyntax, 1, "control character"},
      {Place::mm, "4\x7F", kSyntax, 2, "control character"},
      {Place::mm, "4\x1B[0m", kSyntax, 2, "control character"},
      {Place::mm, "4\xC2\x85", kSyntax, 2, "control character"},

      // ±.
      {Place::mm, "±", kSyntax, 1, "before ±"},
      {Place::mm, "± 0.02", kSyntax, 1, "before ±"},
      {Place::mm, " +/- 0.02", kSyntax, 2, "before ±"},
      {Place::mm, "+-4", kSyntax, 1, "before ±"},
      {Place::mm, "4 ±", kSyntax, 4, "after ± is missing"},
      {Place::mm, "4 ± ", kSyntax, 5, "after ± is missing"},
      {Place::mm, "4 +/-", kSyntax, 6, "after ± is missing"},
      {Place::mm, "4 +-", kSyntax, 5, "after ± is missing"},
      {Place::mm, "4 ± mm", kSyntax, 5, "number is missing"},
      {Place::mm, "4 ± 0.1 ± 0.2", kSyntax, 9, "second ±"},
      {Place::mm, "4 ± 0.1 mm +/- 0.2", kSyntax, 12, "second ±"},
      {Place::mm, "4 ±± 0.1", kSyntax, 4, "number is missing"},
      {Place::mm, "4 ± ± 0.1", kSyntax, 5, "number is missing"},
      {Place::mm, "4 ± -0.1", kSyntax, 5, "has a sign"},
      {Place::mm, "4 ± \u22120.1", kSyntax, 5, "has a sign"},
      {Place::mm, "4 ± +0.1", kSyntax, 5, "has a sign"},
      {Place::mm, "4 +- -0.1", kSyntax, 6, "has a sign"},
      {Place::mm, "4 ± -0", kSyntax, 5, "has a sign"},
      {Place::temperature, "20 °C ± -1", kSyntax, 9, "has a sign"},
      {Place::mm, "4.00 ± 5 um", kSyntax, 1, "small one"},
      {Place::mm, "4.00 ± 1 thou", kSyntax, 1, "small one"},
      {Place::force, "0.5 ± 20 mN", kSyntax, 1, "small one"},
      {Place::angle, "12 ± 5'", kSyntax, 1, "small one"},
      {Place::angle, "12 ± 5\"", kSyntax, 1, "small one"},
      {Place::angle, "12°30' ± 5", kSyntax, 10, "no mark"},

      // Degrees, minutes and seconds.
      {Place::angle, "12°60'", kSyntax, 4, "not less than 60"},
      {Place::angle, "12°75.5'", kSyntax, 4, "not less than 60"},
      {Place::angle, "12°30'60\"", kSyntax, 7, "not less than 60"},
      {Place::angle, "12°60\"", kSyntax, 4, "not less than 60"},
      {Place::angle, "30'60\"", kSyntax, 4, "not less than 60"},
      {Place::half_angle, "89°60'", kSyntax, 4, "not less than 60"},
      {Place::angle, "12.5°30'", kSyntax, 1, "not whole"},
      {Place::angle, "12°30.5'15\"", kSyntax, 4, "not whole"},
      {Place::angle, "1e1°30'", kSyntax, 1, "not whole"},
      {Place::angle, "12'30°", kSyntax, 6, "out of order"},
      {Place::angle, "12°30°", kSyntax, 6, "out of order"},
      {Place::angle, "12°30'15'", kSyntax, 9, "out of order"},
      {Place::angle, "12°30", kSyntax, 6, "mark for minutes or seconds is missing"},
      {Place::angle, "12°30 mm", kSyntax, 7, "mark for minutes or seconds is missing"},
      {Place::angle, "1'234", kSyntax, 6, "mark for minutes or seconds is missing"},
      {Place::angle, "12°-30'", kSyntax, 4, "does not belong"},

      // Tapers.
      {Place::half_angle, "0:10", kContent, 1, "first number is zero"},
      {Place::half_angle, "0:0", kContent, 1, "first number is zero"},
      {Place::half_angle, "1:0", kContent, 3, "second number is zero"},
      {Place::half_angle, "1:0.00", kContent, 3, "second number is zero"},
      {Place::half_angle, "-1:10", kSyntax, 1, "takes no sign"},
      {Place::half_angle, "+1:10", kSyntax, 1, "takes no sign"},
      {Place::half_angle, "1:-10", kSyntax, 3, "takes no sign"},
      {Place::half_angle, "1:", kSyntax, 3, "number is missing"},
      {Place::half_angle, ":10", kSyntax, 1, "number is missing"},
      {Place::half_angle, "1:10:2", kSyntax, 5, "does not belong"},
      {Place::half_angle, "1:10°", kSyntax, 5, "does not belong"},
      {Place::half_angle, "1:10 mm", kSyntax, 6, "does not belong"},
      {Place::half_angle, "1:10 ± 1", kSyntax, 8, "taper"},
      {Place::half_angle, "1:10 ± 1:20", kSyntax, 8, "taper"},
      {Place::half_angle, "30° ± 1:20", kSyntax, 7, "taper"},
      {Place::angle, "1:10", kSyntax, 2, "ratio"},
      {Place::mm, "1:10", kSyntax, 2, "ratio"},
      {Place::number, "1:10", kSyntax, 2, "ratio"},
  };
}

TEST(ReadingRefuses, EveryRowWithItsFaultColumnAndWord) {
  const auto all = rows();
  ASSERT_GE(all.size(), 150U);
  for (const Row& row : all) {
    SCOPED_TRACE(std::string(row.text));
    const auto read = read_at(row.place, row.text);
    if (read) {
      ADD_FAILURE() << "read as " << read->value << " " << read->unit;
      continue;
    }
    const Error& error = read.error();
    EXPECT_EQ(error.fault, row.fault) << error.what;
    EXPECT_EQ(error.place.column, row.column) << error.what;
    EXPECT_NE(error.what.find(row.said), std::string::npos) << error.what;
    const std::string end = " at character " + std::to_string(error.place.column);
    EXPECT_TRUE(error.what.size() > end.size() && error.what.substr(error.what.size() - end.size()) == end)
        << error.what;
    EXPECT_FALSE(error.expected.empty()) << error.what;
  }
}

TEST(ReadingRefuses, NoRowTwice) {
  std::set<std::pair<Place, std::string_view>> seen;
  for (const Row& row : rows()) EXPECT_TRUE(seen.emplace(row.place, row.text).second) << row.text;
}

TEST(ReadingRefuses, TheHintOfARefusedUnitSaysWhatToType) {
  const auto hint = [](Place place, std::string_view text) { return read_at(place, text).error().expected; };
  EXPECT_NE(hint(Place::mm, "4 mil").find("thou"), std::string::npos);
  EXPECT_NE(hint(Place::mm, "4 cm").find("millimetres"), std::string::npos);
  EXPECT_NE(hint(Place::mm, "4 ft").find("inches"), std::string::npos);
  EXPECT_NE(hint(Place::mm, "4'").find("two marks"), std::string::npos);
  EXPECT_NE(hint(Place::force, "50 g").find("gf"), std::string::npos);
  EXPECT_NE(hint(Place::force, "1 oz").find("ozf"), std::string::npos);
  EXPECT_NE(hint(Place::half_angle, "1/10").find("1:10"), std::string::npos);
  EXPECT_NE(hint(Place::mm, "\u00BD\"").find("1/2"), std::string::npos);
}

TEST(ReadingRefuses, NothingUnseenStandsInAMessage) {
  // Every character of a message can be seen, whatever was typed.
  for (const Row& row : rows()) {
    const auto read = read_at(row.place, row.text);
    ASSERT_FALSE(read);
    for (const char c : read.error().what) {
      const auto byte = static_cast<unsigned char>(c);
      EXPECT_TRUE(byte >= 0x20 && byte != 0x7F) << row.text;
    }
    EXPECT_EQ(read.error().what.find("\u202E"), std::string::npos);
    EXPECT_EQ(read.error().what.find("\u200B"), std::string::npos);
    EXPECT_LE(read.error().what.size(), 200U);
  }
}

}  // namespace
}  // namespace hingeline::testing_base

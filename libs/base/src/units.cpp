#include "units.h"

#include <algorithm>
#include <array>
#include <string>

#include "characters.h"

namespace hingeline::units {
namespace {

struct Spelling {
  std::u32string_view word;  ///< in small letters unless `exactly`
  const Unit* unit;
  bool exactly = false;
};
constexpr std::array kSpellings{
    Spelling{U"mm", &kMillimetre},
    Spelling{U"um", &kMicrometre},
    Spelling{U"\u00B5m", &kMicrometre},
    Spelling{U"\u03BCm", &kMicrometre},
    Spelling{U"in", &kInch},
    Spelling{U"in.", &kInch},
    Spelling{U"inch", &kInch},
    Spelling{U"inches", &kInch},
    Spelling{U"thou", &kThou},
    Spelling{U"deg", &kDegree},
    Spelling{U"degree", &kDegree},
    Spelling{U"degrees", &kDegree},
    Spelling{U"rad", &kRadian},
    Spelling{U"N", &kNewton, true},
    Spelling{U"mN", &kMillinewton, true},
    Spelling{U"gf", &kGramForce},
    Spelling{U"kgf", &kKilogramForce},
    Spelling{U"lbf", &kPoundForce},
    Spelling{U"ozf", &kOunceForce},
    Spelling{U"c", &kCelsius},
    Spelling{U"degc", &kCelsius},
    Spelling{U"\u2103", &kCelsius},
    Spelling{U"f", &kFahrenheit},
    Spelling{U"degf", &kFahrenheit},
    Spelling{U"\u2109", &kFahrenheit},
    Spelling{U"k", &kKelvin},
};

struct Refusal {
  std::u32string_view word;  ///< in small letters
  std::string_view because;
  std::string_view hint;
};
constexpr std::string_view kMil = "can be a thousandth of an inch or a millimetre";
constexpr std::string_view kMilHint = "thou for thousandths of an inch, mm for millimetres";
constexpr std::string_view kBench = "is no unit of the bench";
constexpr std::string_view kFeet = "is a foot, no unit of the bench";
constexpr std::string_view kInches = "inches, as 0.1575 in or 5/32\"";
constexpr std::string_view kMass = "is a mass";
constexpr std::array kRefusals{
    Refusal{U"mil", kMil, kMilHint},
    Refusal{U"mils", kMil, kMilHint},
    Refusal{U"cm", kBench, "millimetres, as 4.00 mm"},
    Refusal{U"m", kBench, "millimetres, as 4.00 mm"},
    Refusal{U"ft", kFeet, kInches},
    Refusal{U"foot", kFeet, kInches},
    Refusal{U"feet", kFeet, kInches},
    Refusal{U"g", kMass, "gf for the force of a gram's weight"},
    Refusal{U"kg", kMass, "kgf for the force of a kilogram's weight"},
    Refusal{U"oz", kMass, "ozf for the force of an ounce's weight"},
    Refusal{U"lb", kMass, "lbf for the force of a pound's weight"},
    Refusal{U"lbs", kMass, "lbf for the force of a pound's weight"},
    Refusal{U"n", "is not how the newton is written", "N, or mN for thousandths"},
    Refusal{U"mn", "can be a thousandth or a million of newtons", "mN for thousandths of a newton"},
};

}  // namespace

std::string_view name(Kind kind) {
  switch (kind) {
    case Kind::length:
      return "length";
    case Kind::angle:
      return "angle";
    case Kind::force:
      return "force";
    case Kind::temperature:
      return "temperature";
    case Kind::number:
      break;
  }
  return "number";
}

Word look_up(std::u32string_view word) {
  std::u32string small(word);
  std::transform(small.begin(), small.end(), small.begin(), characters::lower);
  for (const Spelling& spelling : kSpellings) {
    if (spelling.word == (spelling.exactly ? word : small)) return {spelling.unit, {}, {}};
  }
  for (const Refusal& refusal : kRefusals) {
    if (refusal.word == small) return {nullptr, refusal.because, refusal.hint};
  }
  return {};
}

}  // namespace hingeline::units

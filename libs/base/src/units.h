#pragma once
/// \file
/// The words typed for units, and those refused because people mean different things by them.

#include <cstdint>
#include <string_view>

namespace hingeline::units {

enum class Kind { number, length, angle, force, temperature };

/// "length", "angle" and so on, for messages.
std::string_view name(Kind kind);

/// How typed numbers of a kind become inner ones.
enum class Scale {
  exact,       ///< x factor x 10^power, exactly
  degree,      ///< degrees() of the number
  arc_second,  ///< degrees() of the number / 3600
  fahrenheit,  ///< (number - 32) x 5 / 9; differences x 5 / 9
  kelvin       ///< number - 273.15; differences as they are
};

struct Unit {
  Kind kind = Kind::number;
  std::string_view canonical;
  Scale scale = Scale::exact;
  std::uint64_t factor = 1;
  int power = 0;
  /// Whether a value without a unit may take this one over from its ±. Not so for the small units: in
  /// `4.00 ± 5 um` nobody means 4.00 um.
  bool lends = true;
};

inline constexpr Unit kMillimetre{Kind::length, "mm"};
inline constexpr Unit kMicrometre{Kind::length, "um", Scale::exact, 1, -3, false};
inline constexpr Unit kInch{Kind::length, "in", Scale::exact, 254, -1};
inline constexpr Unit kThou{Kind::length, "thou", Scale::exact, 254, -4, false};
inline constexpr Unit kDegree{Kind::angle, "deg", Scale::degree};
inline constexpr Unit kArcSecond{Kind::angle, "deg", Scale::arc_second, 1, 0, false};
inline constexpr Unit kRadian{Kind::angle, "rad"};
// Factors: see quantity.h; an ounce-force is 1/16 of a pound-force.
inline constexpr Unit kNewton{Kind::force, "N"};
inline constexpr Unit kMillinewton{Kind::force, "mN", Scale::exact, 1, -3, false};
inline constexpr Unit kGramForce{Kind::force, "gf", Scale::exact, 980665, -8};
inline constexpr Unit kKilogramForce{Kind::force, "kgf", Scale::exact, 980665, -5};
inline constexpr Unit kPoundForce{Kind::force, "lbf", Scale::exact, 44482216152605, -13};
inline constexpr Unit kOunceForce{Kind::force, "ozf", Scale::exact, 27801385095378125, -17};
inline constexpr Unit kCelsius{Kind::temperature, "degC"};
inline constexpr Unit kFahrenheit{Kind::temperature, "degF", Scale::fahrenheit};
inline constexpr Unit kKelvin{Kind::temperature, "K", Scale::kelvin};
inline constexpr Unit kNone{};

/// What a word is: a unit, or a word that is refused with a hint, or (both empty) not known.
struct Word {
  const Unit* unit = nullptr;
  std::string_view refused_because;
  std::string_view hint;
};
/// Large and small letters are one, except where they tell milli from mega (mN). `word` may hold the
/// micro sign or the Greek letter.
Word look_up(std::u32string_view word);

}  // namespace hingeline::units

#pragma once
/// \file
/// Readings as people type them: `4`, `4.00 mm`, `0.1575 in`, `.1575"`, `157 thou`, `5/32"`,
/// `4,02`, `12°30'`, `1:10`, each optionally followed by `± 0.02` (or `+/- 0.02`, `+- 0.02`), with
/// its own unit or that of the value.
///
/// **Exact.** Decimal text is changed to the inner unit in decimal and rounded once: lengths, forces and
/// temperatures are the double nearest to the true decimal value (half a unit in the last place), so
/// `0.1575 in` and `4.0005 mm` give the same bits, and so do `5/32"` and `3.96875 mm`. Angles in degrees
/// are degrees() of the nearest double; a taper's atan adds at most two units in the last place. The
/// locale plays no part. Source of the factors: see quantity.h.
///
/// **Numbers.** A sign (also U+2212), digits 0-9 with one decimal point or decimal comma, and a power of
/// ten (`1e-3`). `1,234` is 1.234: marks between groups of digits are never read, and text that could only
/// be such (`1,234.5`, `1'000`, `1 000`) is refused. No hexadecimal, NaN or infinity. Fractions `5/32`,
/// `1 5/32` and `1-5/32` of an inch, or plain; without a mark they are refused where millimetres are meant.
///
/// **Units.** Lengths: mm, um (µm), in (inch, inches, in., `"`, two `'`), thou. Refused with a hint, as
/// people mean different things by them or never measure keys with them: mil, cm, m, ft and `'`. Angles:
/// deg, `°`, `'`, `"`, rad. Forces: N, mN, gf, kgf, ozf, lbf; a mass (g, oz) is refused with a hint.
/// Temperatures: °C, C, °F, F, K. A value without a unit takes that of its ± (`0.085 ± 0.004 mm`), else
/// the place's own; beside a ± in um, thou, mN, minutes or seconds it must have a unit of its own, for
/// nobody means 4.00 um by `4.00 ± 5 um`. Curled and slanted quotes are marks too; blanks may be tabs or
/// non-breaking.
///
/// **Limits.** 64 characters; sizes as kLargestLength and its neighbours say, for ± as well. Negative zero
/// is read as zero. Text in any other encoding than UTF-8 is refused.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline {

inline constexpr std::size_t kLongestReading = 64;  ///< characters
inline constexpr Length kLargestLength = millimetres(1e6);
inline constexpr Angle kLargestAngle = degrees(360.0);
inline constexpr Force kLargestForce = newtons(1e6);
inline constexpr Temperature kHottest = celsius(1000.0);  ///< and nothing below absolute zero
inline constexpr double kLargestNumber = 1e9;

/// What a length without a unit is in.
enum class LengthUnit { mm, inch };
/// Which numbers a place takes.
enum class Sign { any, not_negative, positive };

/// One typed reading. `plus_minus` is the expanded uncertainty as people give it (k = 2, about
/// 95 %), always >= 0, absent when none was typed; of a temperature it is a difference.
template <class Q>
struct Reading {
  Q value;
  std::optional<Q> plus_minus;
  /// As typed: "mm", "um", "in", "thou"; "deg" (also of minutes and seconds), "rad", "taper"; "N", "mN",
  /// "gf", "kgf", "ozf", "lbf"; "degC", "degF", "K".
  std::string unit;
};

/// `Error::what` tells what was found and ends with its place ("at character 5"); `Error::expected` says
/// how it would be right; `Error::place.column` is that character, counted from 1. Text that is no reading is
/// Fault::syntax, a wrong kind of unit, sign or size Fault::content.
Expected<Reading<Length>> parse_length(std::string_view text, LengthUnit unit_when_bare, Sign sign);
/// Degrees when bare: `12.5`, `12.5°`, `12°30'15"`, `30'`, `0.5 rad`. Minutes and seconds after a larger
/// part are less than 60; only the last part may have decimals.
Expected<Reading<Angle>> parse_angle(std::string_view text, Sign sign);
/// A flank's *half* angle, 0 <= a < 90 degrees: as parse_angle, and also a taper `1:10` or `7:24` (ISO 3040:
/// change of diameter over length, half angle = atan(1 / (2 x 10))). A taper's ± is an angle with its unit.
Expected<Reading<Angle>> parse_half_angle(std::string_view text);
/// Newtons when bare.
Expected<Reading<Force>> parse_force(std::string_view text, Sign sign);
/// Degrees Celsius when bare; the ± of a temperature in °F or K is a difference.
Expected<Reading<Temperature>> parse_temperature(std::string_view text);
/// A plain number (turns, a ratio) with optional ±.
struct PlainReading {
  double value = 0.0;
  std::optional<double> plus_minus;
};
Expected<PlainReading> parse_number(std::string_view text, Sign sign);

/// Shows a length in the unit asked for with `decimals` digits (none when negative), e.g. "0.085 mm",
/// "0.0033 in"; a length that shows as zero has no sign.
std::string show_length(Length v, LengthUnit unit, int decimals);
/// The default number of decimals for a bench figure: 3 for mm, 4 for inch.
int bench_decimals(LengthUnit unit);
/// The shortest decimal text with the unit that parse_length reads back as the same bits, for every
/// length up to kLargestLength (negative zero as zero); nearest to the true value among those as short.
/// Larger ones have their text too, but parse_length refuses it, as it does that of what is not finite.
std::string exact_text(Length v, LengthUnit unit);

}  // namespace hingeline

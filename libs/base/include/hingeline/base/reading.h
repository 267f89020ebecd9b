#pragma once
/// \file
/// Readings as people type them: `4`, `4.00 mm`, `0.1575 in`, `.1575"`, `157 thou`, `5/32"`,
/// `4,02`, `12°30'`, `1:10`, each optionally followed by `± 0.02` (or `+/- 0.02`, `+- 0.02`), with
/// its own unit or that of the value.
///
/// Decimal text in inches, thou or fractions of an inch is turned into millimetres exactly: the
/// result is the double nearest to the true decimal value, so `0.1575 in` and `4.0005 mm` give the
/// same bits. (Worst error: half a unit in the last place. Source of the factor: see quantity.h.)

#include <optional>
#include <string>
#include <string_view>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline {

enum class LengthUnit { mm, inch };  // thou, micrometres and fractions are typed forms of these two
/// Which numbers a place takes.
enum class Sign { any, not_negative, positive };

/// One typed reading. `plus_minus` is the expanded uncertainty as people give it (k = 2, about
/// 95 %), always >= 0, absent when none was typed.
template <class Q>
struct Reading {
  Q value;
  std::optional<Q> plus_minus;
  std::string unit;  ///< canonical unit as typed: "mm", "um", "in", "thou", "deg", "rad", "taper", "N", "gf",
                     ///< "ozf", "lbf", "degC", "degF"
};

/// The words in `Error::what` name the byte offset ("at character 5"), the text found there, and
/// `Error::expected` shows two or three forms that would be right; `Error::place.column` is the
/// character offset from 1.
Expected<Reading<Length>> parse_length(std::string_view text, LengthUnit unit_when_bare, Sign sign);
/// Degrees when bare; also `12°30'`, `12d30m15s`-free: degrees-minutes-seconds with ° ' ", `0.5 rad`.
Expected<Reading<Angle>> parse_angle(std::string_view text, Sign sign);
/// A flank's *half* angle: as parse_angle, and also a taper `1:10` (ISO 3040: change of diameter
/// over length, half angle = atan(1 / (2 x 10))).
Expected<Reading<Angle>> parse_half_angle(std::string_view text);
Expected<Reading<Force>> parse_force(std::string_view text, Sign sign);
Expected<Reading<Temperature>> parse_temperature(std::string_view text);
/// A plain number (turns, a ratio) with optional ±; the decimal comma is taken.
struct PlainReading {
  double value = 0.0;
  std::optional<double> plus_minus;
};
Expected<PlainReading> parse_number(std::string_view text, Sign sign);

/// Shows a length in the unit asked for with `decimals` digits, e.g. "0.085 mm", "0.0033 in".
std::string show_length(Length v, LengthUnit unit, int decimals);
/// The default number of decimals for a bench figure: 3 for mm, 4 for inch.
int bench_decimals(LengthUnit unit);
/// The shortest decimal text that parses back to exactly this length in the unit, with the unit.
std::string exact_text(Length v, LengthUnit unit);

}  // namespace hingeline

#pragma once
/// \file
/// Quantities as documents hold them: between typed text and inner units, exact both ways.

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fields.h"
#include "hingeline/base/reading.h"

namespace hingeline::record {

/// Numbers nearer to 0 than this, in the inner unit, are refused. No bench can tell them from it.
inline constexpr double kSmallest = 1e-12;

/// What there is to know about one kind of quantity.
template <class Q>
struct KindOf;
template <>
struct KindOf<Length> {
  static constexpr const char* name = "a length";
  static constexpr const char* forms = "4.00 mm, 0.1575 in, 5/32\"";
  static constexpr const char* inner_unit = "mm";
  static constexpr double most = 10000;  ///< mm
  static constexpr double least = -most;
};
template <>
struct KindOf<Angle> {
  static constexpr const char* name = "an angle";
  static constexpr const char* forms = "20 deg, 12°30'";
  static constexpr const char* inner_unit = "rad";
  static constexpr double most = 6.3;  ///< rad, one whole turn
  static constexpr double least = -most;
};
template <>
struct KindOf<Temperature> {
  static constexpr const char* name = "a temperature";
  static constexpr const char* forms = "20 degC, 68 degF";
  static constexpr const char* inner_unit = "degC";
  static constexpr double most = 1000;
  static constexpr double least = -273.15;
};
template <>
struct KindOf<double> {
  static constexpr const char* name = "a number";
  static constexpr const char* forms = "";
  static constexpr const char* inner_unit = "";
  static constexpr double most = 1e6;
  static constexpr double least = -most;
};

inline double inner(double v) { return v; }
template <class K>
double inner(Quantity<K> q) {
  return q.raw();
}

inline void set_inner(double& q, double v) { q = v; }
template <class K>
void set_inner(Quantity<K>& q, double v) {
  q = Quantity<K>::of(v);
}

/// The mean of repeated readings, summed in the order taken; there must be one.
template <class Q>
Q mean_of(const std::vector<Q>& repeats) {
  double sum = 0;
  for (const Q& repeat : repeats) sum += inner(repeat);
  Q mean{};
  set_inner(mean, sum / static_cast<double>(repeats.size()));
  return mean;
}

/// Units a document may name for this kind of quantity.
template <class Q>
std::span<const char* const> units_of(const Rule& rule);

/// Typed text of a quantity with its rule: base's reading, the flank's bounds, no more than what a bench
/// can hold and, except for 0, no less than kSmallest: such a number would take more digits than a
/// reading may have. `unit` of the result is never empty except for plain numbers without one.
template <class Q>
Expected<Reading<Q>> parse_typed(std::string_view text, const Rule& rule, LengthUnit bare);

/// The number's digits and its unit as one would type them: "4.00" and "mm" give "4.00 mm", "10"
/// and "taper" give "1:10".
std::string typed(std::string_view digits, std::string_view unit);

/// Decimal digits without an exponent, digit for digit the same number: "1.5e-3" gives "0.0015".
/// Empty for exponents beyond 60 either way.
std::string without_exponent(std::string_view digits);

/// The fewest decimal digits in that unit that parse back to exactly this value; nothing when no
/// decimal does (a third of an inch typed in another unit).
template <class Q>
std::optional<std::string> digits_in(Q value, const std::string& unit, const Rule& rule);

/// An uncertainty as typed after a value in `unit`: its digits alone when it can be said in that unit,
/// else with a unit of its own. What no document may hold comes with 17 digits, for reading to refuse.
template <class Q>
std::string uncertainty_text(Q plus_minus, const std::string& unit, const Rule& rule);

}  // namespace hingeline::record

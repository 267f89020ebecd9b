#include "quantity_text.h"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <numbers>

#include "json.h"

namespace hingeline::record {
namespace {

constexpr std::array<const char*, 4> kLengthUnits{"mm", "um", "in", "thou"};
constexpr std::array<const char*, 2> kAngleUnits{"deg", "rad"};
constexpr std::array<const char*, 3> kFlankUnits{"deg", "rad", "taper"};
constexpr std::array<const char*, 3> kTemperatureUnits{"degC", "degF", "K"};

Expected<Reading<Length>> read(std::string_view text, const Rule& rule, LengthUnit bare, Length) {
  return parse_length(text, bare, rule.sign);
}
Expected<Reading<Angle>> read(std::string_view text, const Rule& rule, LengthUnit, Angle) {
  return rule.half_angle ? parse_half_angle(text) : parse_angle(text, rule.sign);
}
Expected<Reading<Temperature>> read(std::string_view text, const Rule&, LengthUnit, Temperature) {
  return parse_temperature(text);
}
/// A plain number with its unit behind it, before or after its ±: "19 1e-6/K", "19 1e-6/K ± 1".
Expected<Reading<double>> read(std::string_view text, const Rule& rule, LengthUnit, double) {
  std::string number(text);
  const std::string unit = rule.unit;
  if (!unit.empty()) {
    const auto at = number.find(' ' + unit);
    const auto rest = at == std::string::npos ? at : number.find_first_not_of(' ', at + 1 + unit.size());
    // What follows the unit is nothing, or the ± in one of its spellings.
    const bool fits = at != std::string::npos &&
                      (rest == std::string::npos || number[rest] == '+' || number.compare(rest, 2, "±") == 0);
    if (!fits) {
      return fail(Fault::content, fmt::format("the unit \"{}\" is missing", unit),
                  fmt::format("a number and {}", unit));
    }
    number.erase(at, 1 + unit.size());
  }
  return parse_number(number, rule.sign).map([&](const PlainReading& plain) {
    return Reading<double>{plain.value, plain.plus_minus, unit};
  });
}

/// How many of the unit make up one of the inner unit; for a taper there is no such number.
long double scale_of(std::string_view unit) {
  if (unit == "um") return 1000.0L;
  if (unit == "in") return 1.0L / 25.4L;
  if (unit == "thou") return 1.0L / 0.0254L;
  if (unit == "deg") return 180.0L / std::numbers::pi_v<long double>;
  if (unit == "degF") return 1.8L;
  return 1.0L;
}

/// The value in the unit, as near as long double gets.
long double in_unit(double value, std::string_view unit) {
  const long double v = value;
  if (unit == "taper") return 1.0L / (2.0L * std::tan(v));
  const long double zero = unit == "degF" ? 32.0L : unit == "K" ? 273.15L : 0.0L;
  return v * scale_of(unit) + zero;
}

/// Decimal digits of v, `count` of them significant.
std::string decimal(long double v, int count) {
  return without_exponent(fmt::format("{:.{}e}", v, count - 1));
}

/// `digits` without zeros that say nothing.
std::string trimmed(std::string digits) {
  if (digits.find('.') == std::string::npos) return digits;
  digits.erase(digits.find_last_not_of('0') + 1);
  if (digits.back() == '.') digits.pop_back();
  return digits;
}

}  // namespace

template <>
std::span<const char* const> units_of<Length>(const Rule&) {
  return kLengthUnits;
}
template <>
std::span<const char* const> units_of<Angle>(const Rule& rule) {
  if (rule.half_angle) return kFlankUnits;
  return kAngleUnits;
}
template <>
std::span<const char* const> units_of<Temperature>(const Rule&) {
  return kTemperatureUnits;
}
template <>
std::span<const char* const> units_of<double>(const Rule& rule) {
  return rule.unit[0] == '\0' ? std::span<const char* const>{} : std::span<const char* const>{&rule.unit, 1};
}

template <class Q>
Expected<Reading<Q>> parse_typed(std::string_view text, const Rule& rule, LengthUnit bare) {
  Expected<Reading<Q>> reading = read(text, rule, bare, Q{});
  if (!reading) return reading;
  const double value = inner(reading->value);
  constexpr double kQuarterTurn = std::numbers::pi / 2;
  const double most = std::is_same_v<Q, double> ? rule.most : KindOf<Q>::most;
  const char* const unit_name = std::is_same_v<Q, double> ? rule.unit : KindOf<Q>::inner_unit;
  if (rule.half_angle && !(value > 0 && value < kQuarterTurn)) {
    return fail(Fault::content, fmt::format("{} is not a flank's half angle", json::in_quotes(text)),
                "more than 0 and less than 90 degrees");
  }
  if (!(value <= most)) {
    return fail(Fault::content, fmt::format("{} is larger than can be", json::in_quotes(text)),
                fmt::format("at most {:g} {}", most, unit_name));
  }
  if (!(value >= KindOf<Q>::least)) {
    return fail(Fault::content, fmt::format("{} is less than can be", json::in_quotes(text)),
                fmt::format("at least {:g} {}", KindOf<Q>::least, unit_name));
  }
  if (value != 0 && std::abs(value) < kSmallest) {
    return fail(Fault::content, fmt::format("{} is nearer to 0 than can be", json::in_quotes(text)),
                fmt::format("0, or at least {:g} {}", kSmallest, unit_name));
  }
  if (reading->plus_minus) {
    const double doubt = inner(*reading->plus_minus);
    if (!(doubt <= most) || (doubt != 0 && doubt < kSmallest)) {
      return fail(Fault::content, fmt::format("{} has an uncertainty that cannot be", json::in_quotes(text)),
                  fmt::format("0, or {:g} to {:g} {}", kSmallest, most, unit_name));
    }
  }
  return reading;
}

std::string typed(std::string_view digits, std::string_view unit) {
  if (unit.empty()) return std::string(digits);
  if (unit == "taper") {
    return digits.find(':') == std::string_view::npos ? fmt::format("1:{}", digits) : std::string(digits);
  }
  return fmt::format("{} {}", digits, unit);
}

std::string without_exponent(std::string_view digits) {
  const auto e = digits.find_first_of("eE");
  if (e == std::string_view::npos) return std::string(digits);
  std::string_view power_text = digits.substr(e + 1);
  if (!power_text.empty() && power_text.front() == '+') power_text.remove_prefix(1);
  int power = 0;
  constexpr int kMostPower = 60;
  const auto [end, fault] = std::from_chars(power_text.data(), power_text.data() + power_text.size(), power);
  if (fault != std::errc{} || end != power_text.data() + power_text.size() || std::abs(power) > kMostPower)
    return {};
  std::string_view mantissa = digits.substr(0, e);
  std::string sign;
  if (!mantissa.empty() && mantissa.front() == '-') {
    sign = "-";
    mantissa.remove_prefix(1);
  }
  std::string all;
  int point = 0;
  bool seen_point = false;
  for (const char c : mantissa) {
    if (c == '.') {
      seen_point = true;
    } else {
      all += c;
      point += seen_point ? 0 : 1;
    }
  }
  point += power;
  if (point <= 0) {
    all.insert(0, static_cast<std::size_t>(1 - point), '0');
    point = 1;
  }
  if (static_cast<std::size_t>(point) > all.size())
    all.append(static_cast<std::size_t>(point) - all.size(), '0');
  std::string whole = all.substr(0, static_cast<std::size_t>(point));
  const auto first = std::min(whole.find_first_not_of('0'), whole.size() - 1);
  whole.erase(0, first);
  const std::string rest = all.substr(static_cast<std::size_t>(point));
  return sign + whole + (rest.empty() ? "" : "." + rest);
}

template <class Q>
std::optional<std::string> digits_in(Q value, const std::string& unit, const Rule& rule) {
  const auto comes_back = [&](const std::string& digits) {
    const auto reading = parse_typed<Q>(typed(digits, unit), rule, LengthUnit::mm);
    return reading && reading->value == value;
  };
  const long double v = in_unit(inner(value), unit);
  if (!std::isfinite(v)) return std::nullopt;
  // A long double's 64 bits are 19.3 digits: the last ones tried lie nearer the true decimal than
  // half a step of any double.
  constexpr int kMostDigits = 20;
  for (int count = 1; count <= kMostDigits; ++count) {
    const std::string digits = trimmed(decimal(v, count));
    if (!digits.empty() && comes_back(digits)) return digits;
  }
  // An angle is its degrees' double times a rounded factor, or a rounded arc tangent: the double typed may
  // lie a few steps off.
  constexpr int kSteps = 8;
  const double near = static_cast<double>(v);
  for (const double way : {-HUGE_VAL, HUGE_VAL}) {
    double candidate = near;
    for (int i = 0; i <= kSteps; ++i) {
      const std::string digits = trimmed(decimal(candidate, 17));
      if (!digits.empty() && comes_back(digits)) return digits;
      candidate = std::nextafter(candidate, way);
    }
  }
  return std::nullopt;
}

template <class Q>
std::string uncertainty_text(Q plus_minus, const std::string& unit, const Rule& rule) {
  Rule any = rule;
  any.sign = Sign::any;
  any.unit = "";
  const std::string probe = typed("1", std::is_same_v<Q, double> ? "" : unit);
  const auto comes_back = [&](const std::string& text) {
    const auto reading = parse_typed<Q>(fmt::format("{} ± {}", probe, text), any, LengthUnit::mm);
    return reading && reading->plus_minus && *reading->plus_minus == plus_minus;
  };
  // A taper is no measure of a difference: degrees are what one would type.
  const char* const own = unit == "taper" ? "deg" : unit.c_str();
  for (const char* in : {own, KindOf<Q>::inner_unit}) {
    const long double v = inner(plus_minus) * scale_of(in);
    constexpr int kMostDigits = 20;
    for (int count = 1; count <= kMostDigits; ++count) {
      const std::string digits = trimmed(decimal(v, count));
      if (digits.empty()) break;
      std::string text = unit == in || std::is_same_v<Q, double> ? digits : typed(digits, in);
      if (comes_back(text)) return text;
    }
  }
  return typed(fmt::format("{:.17g}", inner(plus_minus)), KindOf<Q>::inner_unit);
}

template Expected<Reading<Length>> parse_typed<Length>(std::string_view, const Rule&, LengthUnit);
template Expected<Reading<Angle>> parse_typed<Angle>(std::string_view, const Rule&, LengthUnit);
template Expected<Reading<Temperature>> parse_typed<Temperature>(std::string_view, const Rule&, LengthUnit);
template Expected<Reading<double>> parse_typed<double>(std::string_view, const Rule&, LengthUnit);
template std::optional<std::string> digits_in<Length>(Length, const std::string&, const Rule&);
template std::optional<std::string> digits_in<Angle>(Angle, const std::string&, const Rule&);
template std::optional<std::string> digits_in<Temperature>(Temperature, const std::string&, const Rule&);
template std::optional<std::string> digits_in<double>(double, const std::string&, const Rule&);

template std::string uncertainty_text<Length>(Length, const std::string&, const Rule&);
template std::string uncertainty_text<Angle>(Angle, const std::string&, const Rule&);
template std::string uncertainty_text<Temperature>(Temperature, const std::string&, const Rule&);
template std::string uncertainty_text<double>(double, const std::string&, const Rule&);
}  // namespace hingeline::record

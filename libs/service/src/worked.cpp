#include "hingeline/service/worked.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <type_traits>

#include "json_parts.h"
#include "standard.h"

namespace hingeline::service {
namespace {

using record::Entry;

double raw(double v) { return v; }
template <class K>
double raw(Quantity<K> q) {
  return q.raw();
}

template <class Q>
Given from(const std::string& name, const Entry<Q>& e, Origin origin, const std::string& unit,
           const record::Shop& shop) {
  const Reckoned r = reckon(e, shop);
  return {name, r.value, r.standard, unit, origin, e.place.pointer, r.rectangular};
}

template <class Q>
std::optional<Given> settle(const std::string& name, const Entry<Q>& own, const Entry<Q>& preset,
                            const std::string& unit, const record::Shop& shop) {
  if (own.known()) return from(name, own, own.origin, unit, shop);
  const auto ranged = [&](const Entry<Q>& e, const std::string& pointer) {
    const double half = (raw(e.range->high) - raw(e.range->low)) / 2;
    return Given{name, raw(e.range->low) + half, half / std::numbers::sqrt3, unit, Origin::unknown, pointer,
                 true};
  };
  if (own.range) return ranged(own, own.place.pointer);
  if (preset.known()) {
    // A preset without a ± is a rule of the shop's, not a reading.
    const double standard = preset.plus_minus ? raw(*preset.plus_minus) / 2 : 0;
    return Given{name, raw(preset.value), standard, unit, Origin::preset, {}, false};
  }
  if (preset.range) return ranged(preset, {});
  return std::nullopt;
}

/// Decimals that show two digits of the ±, or three of a value without one.
int decimals(double value, double plus_minus) {
  const double of = plus_minus > 0 ? plus_minus : std::abs(value);
  const int digits = plus_minus > 0 ? 2 : 3;
  if (!(of > 0) || !std::isfinite(of)) return 0;
  const int places = digits - 1 - static_cast<int>(std::floor(std::log10(of)));
  return std::clamp(places, 0, 9);
}

std::string shown(double v, int places) {
  std::string out = fmt::format("{:.{}f}", v, places);
  if (out.find_first_not_of("-0.") == std::string::npos && out.front() == '-') out.erase(0, 1);
  return out;
}

std::string with_origin(const Given& g) {
  return g.pointer.empty() ? word(g.origin) : fmt::format("{}, {}", word(g.origin), g.pointer);
}

}  // namespace

double Given::plus_minus() const { return standard * (rectangular ? std::numbers::sqrt3 : 2.0); }

std::optional<Given> given(const std::string& name, const record::LengthEntry& own,
                           const record::LengthEntry& preset, const record::Shop& shop) {
  return settle(name, own, preset, "mm", shop);
}
std::optional<Given> given(const std::string& name, const record::AngleEntry& own,
                           const record::AngleEntry& preset, const record::Shop& shop) {
  return settle(name, own, preset, "rad", shop);
}
std::optional<Given> given(const std::string& name, const record::TemperatureEntry& own,
                           const record::TemperatureEntry& preset, const record::Shop& shop) {
  return settle(name, own, preset, "degC", shop);
}
std::optional<Given> given(const std::string& name, const record::NumberEntry& own,
                           const record::NumberEntry& preset, const std::string& unit,
                           const record::Shop& shop) {
  return settle(name, own, preset, unit, shop);
}

Given reckoned(std::string name, double value, double standard, std::string unit) {
  return {std::move(name), value, standard, std::move(unit), Origin::read, {}, false};
}

Worked work(std::string code, std::string name, std::string unit, std::string formula,
            std::vector<Given> givens, const std::function<double(std::span<const double>)>& model) {
  std::vector<Heading> one;
  one.push_back({std::move(code), std::move(name), std::move(unit), std::move(formula)});
  return std::move(
      work(std::move(one), std::move(givens), [&](std::span<const double> in, std::span<double> out) {
        out[0] = model(in);
      }).front());
}

std::vector<Worked> work(std::vector<Heading> headings, std::vector<Given> givens,
                         const std::function<void(std::span<const double>, std::span<double>)>& model) {
  const std::size_t count = headings.size();
  std::vector<double> at;
  at.reserve(givens.size());
  for (const Given& g : givens) at.push_back(g.value);
  std::vector<double> value(count);
  model(at, value);
  const bool any = std::any_of(value.begin(), value.end(), [](double v) { return std::isfinite(v); });
  // What each given's standard uncertainty makes of each result.
  std::vector<double> parts(givens.size() * count, 0.0);
  std::vector<double> above(count);
  std::vector<double> below(count);
  for (std::size_t i = 0; any && i < givens.size(); ++i) {
    const double step = givens[i].standard;
    if (!(step > 0 && std::isfinite(step))) continue;
    const double here = at[i];
    at[i] = here + step;
    model(at, above);
    at[i] = here - step;
    model(at, below);
    at[i] = here;
    for (std::size_t k = 0; k < count; ++k) {
      double& part = parts[i * count + k];
      if (std::isfinite(above[k]) && std::isfinite(below[k])) {
        part = (above[k] - below[k]) / 2;
      } else if (std::isfinite(above[k])) {
        part = above[k] - value[k];
      } else if (std::isfinite(below[k])) {
        part = value[k] - below[k];
      }
    }
  }
  std::vector<Worked> all;
  all.reserve(count);
  for (std::size_t k = 0; k < count; ++k) {
    Heading& h = headings[k];
    Worked out{
        std::move(h.code), std::move(h.name), std::move(h.unit), std::move(h.formula), value[k], 0, {}, {}};
    const bool finite = std::isfinite(value[k]);
    if (!finite) out.value = std::numeric_limits<double>::quiet_NaN();
    double variance = 0;
    out.effects.reserve(givens.size());
    for (std::size_t i = 0; i < givens.size(); ++i) {
      const double part = parts[i * count + k];
      const double step = givens[i].standard;
      variance += part * part;
      const double moves = finite && step > 0 ? part * givens[i].plus_minus() / step : 0;
      out.effects.push_back({k + 1 < count ? givens[i] : std::move(givens[i]), moves});
    }
    if (finite) {
      out.standard = std::sqrt(variance);
      constexpr double kTooSmallToName = 1e-3;
      std::erase_if(out.effects, [&](const Effect& e) {
        return e.given.standard > 0 && std::abs(e.moves) < kTooSmallToName * out.plus_minus();
      });
      std::stable_sort(out.effects.begin(), out.effects.end(), [](const Effect& a, const Effect& b) {
        return std::abs(a.moves) > std::abs(b.moves);
      });
    }
    all.push_back(std::move(out));
  }
  return all;
}

std::string show(double value, double plus_minus, const std::string& unit, LengthUnit lengths) {
  if (!std::isfinite(value)) return "-";
  std::string name = unit;
  double scale = 1;
  if (unit == "mm" && lengths == LengthUnit::inch) {
    scale = 1 / kMillimetresPerInch;
    name = "in";
  } else if (unit == "rad") {
    scale = 180 / std::numbers::pi;
    name = "°";
  } else if (unit == "degC") {
    name = "°C";
  }
  if (!name.empty() && name != "°") name.insert(0, 1, ' ');
  const double v = value * scale;
  const double pm = plus_minus * scale;
  const int places = decimals(v, pm);
  if (!(pm > 0)) return shown(v, places) + name;
  return fmt::format("{} ± {}{}", shown(v, places), shown(pm, places), name);
}

std::string show(const Worked& result, LengthUnit unit) {
  return show(result.value, result.plus_minus(), result.unit, unit);
}

std::string show(const Given& given, LengthUnit unit) {
  if (!given.rectangular) return show(given.value, given.plus_minus(), given.unit, unit);
  const double pm = given.plus_minus();
  std::string low = show(given.value - pm, 0, given.unit, unit);
  if (const std::size_t blank = low.find(' '); blank != std::string::npos) low.resize(blank);
  return low + " to " + show(given.value + pm, 0, given.unit, unit);
}

std::vector<std::string> explain(const Worked& result, LengthUnit unit) {
  std::vector<std::string> out;
  out.push_back(fmt::format("{} = {}", result.name, show(result, unit)));
  if (!result.formula.empty()) out.push_back("by " + result.formula);
  for (const Effect& e : result.effects) {
    std::string line = fmt::format("{}: {} ({})", e.given.name, show(e.given, unit), with_origin(e.given));
    if (e.moves != 0) line += fmt::format("; moves it by {}", show(std::abs(e.moves), 0, result.unit, unit));
    out.push_back(std::move(line));
  }
  if (!result.remark.empty()) out.push_back(result.remark);
  return out;
}

nlohmann::ordered_json json_of(const Worked& result) {
  Json inputs = Json::array();
  for (const Effect& e : result.effects) {
    inputs.push_back({{"name", e.given.name},
                      {"value", number(e.given.value)},
                      {"plus_minus", number(e.given.plus_minus())},
                      {"unit", e.given.unit},
                      {"origin", word(e.given.origin)},
                      {"pointer", e.given.pointer},
                      {"moves", number(e.moves)}});
  }
  Json out = {{"value", number(result.value)},
              {"plus_minus", number(result.plus_minus())},
              {"unit", result.unit},
              {"formula", result.formula},
              {"inputs", std::move(inputs)}};
  if (!result.remark.empty()) out["remark"] = result.remark;
  return out;
}

}  // namespace hingeline::service

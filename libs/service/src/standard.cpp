#include "standard.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "hingeline/numeric/statistics.h"

namespace hingeline::service {
namespace {

using record::Entry;
using record::Measuring;

double raw(double v) { return v; }
template <class K>
double raw(Quantity<K> q) {
  return q.raw();
}

/// What an instrument adds to a reading, as variances.
struct Doubt {
  double spread_evenly = 0;
  double rest = 0;
  double shift = 0;  ///< from the reading to the middle of what it says

  [[nodiscard]] double standard() const { return std::sqrt(spread_evenly + rest); }
  [[nodiscard]] bool rectangular() const {
    constexpr double kNearlyAll = 0.9;
    return spread_evenly > kNearlyAll * (spread_evenly + rest);
  }
};

double of(const record::LengthEntry& e) { return e.known() ? e.value.raw() : 0; }

Doubt doubt_of(const Measuring& m, double typed, bool with_scatter) {
  const auto squared = [](double standard) { return standard * standard; };
  Doubt d;
  const double step = of(m.leaf_step);
  d.spread_evenly = squared(step / std::sqrt(12.0)) + squared(of(m.resolution) / std::sqrt(12.0));
  d.shift = step / 2;
  d.rest = squared(of(m.plus_minus) / 2);
  if (m.share.known()) d.rest += squared(m.share.value * typed / 2);
  if (with_scatter) d.rest += squared(of(m.scatter) / 2);
  return d;
}

Doubt unstated(double plus_minus) { return {0, plus_minus * plus_minus / 4, 0}; }

/// `instrument` is asked only when the entry has no ± of its own.
template <class Q, class Instrument>
Reckoned reckon_with(const Entry<Q>& e, const Instrument& instrument) {
  const Doubt own = e.plus_minus ? unstated(raw(*e.plus_minus)) : instrument(e.repeats.size() < 2);
  Reckoned out{raw(e.value) + own.shift, own.standard(), own.rectangular()};
  if (e.repeats.size() < 2) return out;
  std::vector<double> values;
  values.reserve(e.repeats.size());
  for (const Q r : e.repeats) values.push_back(raw(r));
  // A ± is k = 2, which is 95.45 % of a normal: with few repeats Student's factor takes its place.
  constexpr double kTwoSigma = 0.9544997361036416;
  const double expanded = numeric::combine(numeric::type_a(values), own.standard(),
                                           std::numeric_limits<double>::infinity(), kTwoSigma)
                              .expanded;
  out.rectangular = out.rectangular && expanded / 2 <= own.standard() * 1.05;
  out.standard = expanded / 2;
  return out;
}

}  // namespace

const Measuring* measuring_of(const record::Shop& shop, const std::string& name) {
  if (name.empty()) return nullptr;
  const auto m = std::find_if(shop.measuring.begin(), shop.measuring.end(),
                              [&](const Measuring& x) { return x.name == name; });
  return m == shop.measuring.end() ? nullptr : &*m;
}

Reckoned reading_by(const Measuring& instrument, Length typed) {
  const Doubt d = doubt_of(instrument, typed.raw(), true);
  return {typed.raw() + d.shift, d.standard(), d.rectangular()};
}

Reckoned reckon(const record::LengthEntry& e, const record::Shop& shop) {
  return reckon_with(e, [&](bool single) {
    if (const Measuring* m = measuring_of(shop, e.with)) return doubt_of(*m, e.value.raw(), single);
    const auto& preset = shop.presets.plus_minus_unstated;
    return unstated(preset.known() ? preset.value.raw() : 0.02);
  });
}

Reckoned reckon(const record::AngleEntry& e, const record::Shop& shop) {
  return reckon_with(e, [&](bool) {
    const auto& preset = shop.presets.angle_plus_minus_unstated;
    return unstated(preset.known() ? preset.value.raw() : degrees(0.5).raw());
  });
}

Reckoned reckon(const record::TemperatureEntry& e, const record::Shop&) {
  return reckon_with(e, [](bool) { return Doubt{}; });
}

Reckoned reckon(const record::NumberEntry& e, const record::Shop&) {
  return reckon_with(e, [](bool) { return Doubt{}; });
}

}  // namespace hingeline::service

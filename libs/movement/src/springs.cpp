#include "hingeline/movement/springs.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <numbers>

namespace hingeline::movement {
namespace {

using std::numbers::pi;

tl::unexpected<Error> not_above_zero(const char* what) {
  return fail(Fault::geometry, fmt::format("{} must be above 0", what), "a finite value above 0");
}
template <class Q>
bool above_zero(Q q) {
  return is_finite(q) && q.raw() > 0;
}

/// N/mm^2 of a modulus or stress.
double in_newtons_per_square_millimetre(Pressure p) { return in_megapascals(p); }

/// What is wrong with the measures a kind uses; nullptr: nothing.
const char* faulty_measure(const Spring& s) {
  if (s.kind == SpringKind::needle) {
    if (!above_zero(s.diameter)) return "a needle spring's diameter";
  } else {
    if (!above_zero(s.width)) return "a flat spring's width";
    if (!above_zero(s.thickness)) return "a flat spring's thickness";
  }
  if (!above_zero(s.length)) return "a spring's length";
  if (!above_zero(s.modulus)) return "the elastic modulus";
  return nullptr;
}

double deflection_factor(FlatShape shape) {
  switch (shape) {
    case FlatShape::rectangular:
      return 4;
    case FlatShape::tapered:
      return 5.22;
    case FlatShape::triangular:
      break;
  }
  return 6;
}

double stiffness_of(const Spring& s) {
  const double e = in_newtons_per_square_millimetre(s.modulus);
  const double l = in_millimetres(s.length);
  if (s.kind == SpringKind::needle) {
    const double d = in_millimetres(s.diameter);
    return 3 * e * (pi * d * d * d * d / 64) / (l * l * l);
  }
  const double t = in_millimetres(s.thickness);
  return e * in_millimetres(s.width) * t * t * t / (deflection_factor(s.shape) * l * l * l);
}

/// Stress at the foot per newton at the end, N/mm^2.
double stress_per_newton(const Spring& s) {
  const double l = in_millimetres(s.length);
  if (s.kind == SpringKind::needle) {
    const double d = in_millimetres(s.diameter);
    return 32 * l / (pi * d * d * d);
  }
  const double t = in_millimetres(s.thickness);
  return 6 * l / (in_millimetres(s.width) * t * t);
}

/// End slope per deflection over length, small deflections: 3/2 for a bar of one section, 2 for a triangular
/// strip (its curvature is the same all along); a tapered one lies between.
double slope_per_deflection(const Spring& s) {
  const bool one_section = s.kind == SpringKind::needle || s.shape == FlatShape::rectangular;
  return one_section ? 1.5 : 2.0;
}

/// Shape of the elastica with this slope at its end, 0 < slope < pi / 2: the root of the load parameter
/// F L^2 / (E I), and deflection over length. With phi = slope (1 - s^2) the integrands of
///   sqrt(load) = integral of dphi / sqrt(2 (sin slope - sin phi)),  deflection: the same times sin phi,
/// are smooth, and everything summed is positive.
struct Elastica {
  double root_load;
  double deflection;
};
Elastica elastica(double slope) {
  // On -1 to 1; of nodes and weights the positive half.
  using Rule = boost::math::quadrature::gauss<double, 40>;
  static const auto& nodes = Rule::abscissa();
  static const auto& weights = Rule::weights();
  double root_load = 0;
  double across = 0;
  for (std::size_t k = 0; k < nodes.size(); ++k) {
    for (const double s : {(1 + nodes[k]) / 2, (1 - nodes[k]) / 2}) {
      const double u = slope * s * s;
      // sin slope - sin phi = 2 cos((slope + phi) / 2) sin((slope - phi) / 2) with slope - phi = u.
      const double f = weights[k] / 2 * slope * s / std::sqrt(std::cos(slope - u / 2) * std::sin(u / 2));
      root_load += f;
      across += f * std::sin(slope - u);
    }
  }
  return {root_load, across / root_load};
}

constexpr double kSteepest = 85 * pi / 180;
/// Deflection over length at the steepest.
double farthest() {
  static const double share = elastica(kSteepest).deflection;
  return share;
}
tl::unexpected<Error> too_far() {
  return fail(Fault::geometry, "no spring bends this far for its length",
              fmt::format("a deflection from 0 to {:.2f} of the length", farthest()));
}

struct StrengthRow {
  double inch;
  double least;  ///< ksi
  double most;
};
// ASTM A228, as copied in a public table.
constexpr std::array<StrengthRow, 17> kMusicWire{{{.004, 439, 485},
                                                  {.006, 415, 459},
                                                  {.008, 399, 441},
                                                  {.009, 393, 434},
                                                  {.010, 387, 428},
                                                  {.011, 382, 422},
                                                  {.012, 377, 417},
                                                  {.013, 373, 412},
                                                  {.014, 369, 408},
                                                  {.015, 365, 404},
                                                  {.016, 362, 400},
                                                  {.018, 356, 393},
                                                  {.020, 350, 387},
                                                  {.022, 345, 382},
                                                  {.024, 341, 377},
                                                  {.026, 337, 373},
                                                  {.032, 327, 361}}};
constexpr double kPascalsPerKsi = 6894.75729316836e3;
/// Room for a size that is the table's end given in millimetres and rounded once.
constexpr double kSameSize = 1e-9;

// Music wire gauge, two public tables.
constexpr std::array<Gauge, 26> kGauges{
    {{"6/0", inches(.004)}, {"5/0", inches(.005)}, {"4/0", inches(.006)}, {"3/0", inches(.007)},
     {"2/0", inches(.008)}, {"0", inches(.009)},   {"1", inches(.010)},   {"2", inches(.011)},
     {"3", inches(.012)},   {"4", inches(.013)},   {"5", inches(.014)},   {"6", inches(.016)},
     {"7", inches(.018)},   {"8", inches(.020)},   {"9", inches(.022)},   {"10", inches(.024)},
     {"11", inches(.026)},  {"12", inches(.029)},  {"13", inches(.031)},  {"14", inches(.033)},
     {"15", inches(.035)},  {"16", inches(.037)},  {"17", inches(.039)},  {"18", inches(.041)},
     {"19", inches(.043)},  {"20", inches(.045)}}};

}  // namespace

const char* word(SpringKind kind) { return kind == SpringKind::needle ? "needle" : "flat"; }
const char* word(FlatShape shape) {
  switch (shape) {
    case FlatShape::rectangular:
      return "rectangular";
    case FlatShape::tapered:
      return "tapered";
    case FlatShape::triangular:
      break;
  }
  return "triangular";
}

Expected<Stiffness> stiffness(const Spring& spring) {
  if (const char* fault = faulty_measure(spring)) return not_above_zero(fault);
  return newtons_per_millimetre(stiffness_of(spring));
}

Expected<Bow> exact_bow(double deflection_over_length) {
  const double asked = deflection_over_length;
  if (!(asked >= 0) || asked > farthest()) return too_far();
  // Below this the exact shape differs from the formula by less than 1e-13.
  if (asked < 1e-7) return Bow{1, 1, radians(1.5 * asked)};
  // The slope over the share asked for grows from 1.5 to 1.772 at the steepest.
  std::uintmax_t steps = 60;
  const auto [low, high] = boost::math::tools::toms748_solve(
      [asked](double slope) { return elastica(slope).deflection - asked; }, 1.49 * asked,
      std::min(1.8 * asked, kSteepest), boost::math::tools::eps_tolerance<double>(51), steps);
  const double slope = (low + high) / 2;
  const double load = std::pow(elastica(slope).root_load, 2);
  // The root's lever: the bar's extent along itself, sqrt(2 sin(slope) / load) of its length.
  const double lever = std::sqrt(2 * std::sin(slope) / load);
  const double force = load / (3 * asked);
  return Bow{force, force * lever, radians(slope)};
}

Expected<Pressure> stress(const Spring& spring, Length deflection) {
  if (const char* fault = faulty_measure(spring)) return not_above_zero(fault);
  if (!is_finite(deflection) || deflection.raw() < 0) {
    return fail(Fault::geometry, "a spring's deflection must not be below 0", "0 or more");
  }
  if (deflection / spring.length > farthest()) return too_far();
  const double force = stiffness_of(spring) * in_millimetres(deflection);
  return megapascals(force * stress_per_newton(spring));
}

Expected<Bent> bend(const Spring& spring, Length deflection) {
  const auto at_foot = stress(spring, deflection);
  if (!at_foot) return tl::unexpected(at_foot.error());
  const double share = deflection / spring.length;
  return exact_bow(share).map([&](const Bow& bow) {
    return Bent{newtons(stiffness_of(spring) * in_millimetres(deflection)), *at_foot, bow,
                slope_per_deflection(spring) * share > in_radians(kSmallSlope)};
  });
}

Pressure strength_by_formula(Length diameter) {
  return pascals(201 * kPascalsPerKsi / std::pow(in_inches(diameter), .145));
}

Expected<WireStrength> music_wire_strength(Length diameter) {
  if (!above_zero(diameter)) return not_above_zero("a wire's diameter");
  const double d = in_inches(diameter);
  if (d < kMusicWire.front().inch * (1 - kSameSize) || d > kMusicWire.back().inch * (1 + kSameSize)) {
    const Pressure middle = strength_by_formula(diameter);
    return WireStrength{middle * 0.9, middle * 1.1, false};
  }
  const auto above = std::upper_bound(kMusicWire.begin() + 1, kMusicWire.end() - 1, d,
                                      [](double v, const StrengthRow& row) { return v < row.inch; });
  const StrengthRow& high = *above;
  const StrengthRow& low = *(above - 1);
  const double share = std::clamp(std::log(d / low.inch) / std::log(high.inch / low.inch), 0.0, 1.0);
  return WireStrength{pascals(std::lerp(low.least, high.least, share) * kPascalsPerKsi),
                      pascals(std::lerp(low.most, high.most, share) * kPascalsPerKsi), true};
}

std::span<const Gauge> music_wire_gauges() { return kGauges; }

std::optional<Gauge> gauge_of(Length diameter) {
  const auto nearest = std::ranges::min_element(
      kGauges, {}, [&](const Gauge& g) { return std::abs(in_millimetres(g.diameter - diameter)); });
  const Length tolerance = nearest->diameter <= inches(.010) ? inches(.0002) : inches(.0003);
  if (!(abs(nearest->diameter - diameter) <= tolerance * (1 + kSameSize))) return std::nullopt;
  return *nearest;
}

Expected<WireChoice> choose_wire(const WireWish& wish, std::span<const Length> sizes) {
  if (!above_zero(wish.length)) return not_above_zero("the spring's length");
  if (!above_zero(wish.works_at)) return not_above_zero("the distance at which the spring works");
  if (!above_zero(wish.touch_arm)) return not_above_zero("the touch's arm");
  if (!above_zero(wish.swing)) return not_above_zero("the key's swing");
  if (!above_zero(wish.modulus)) return not_above_zero("the elastic modulus");
  if (wish.strength && !above_zero(*wish.strength)) return not_above_zero("the material's strength");
  if (!is_finite(wish.touch) || wish.touch.raw() < 0) {
    return fail(Fault::geometry, "the touch wanted must not be below 0", "0 or more");
  }
  if (!(wish.share > 0) || wish.share > 1) {
    return fail(Fault::geometry, "the share of the strength must lie above 0, up to 1", "as 0.75");
  }

  WireChoice choice;
  const double gear = wish.works_at / wish.touch_arm;
  const Length rise = wish.works_at * in_radians(wish.swing);
  for (const Length size : sizes) {
    Spring spring;
    spring.diameter = size;
    spring.length = wish.length;
    spring.modulus = wish.modulus;
    const auto rate = stiffness(spring);
    if (!rate) return tl::unexpected(rate.error());
    WireOption o;
    o.diameter = size;
    o.spring_at_rest = wish.touch / gear;
    o.set = millimetres(o.spring_at_rest.raw() / rate->raw());
    o.touch_at_rest = wish.touch;
    const Length pressed = o.set + rise;
    const Force force = newtons(rate->raw() * pressed.raw());
    o.touch_pressed = force * gear;
    o.stress_pressed = megapascals(force.raw() * stress_per_newton(spring));
    Pressure strength;
    if (wish.strength) {
      strength = *wish.strength;
    } else {
      strength = music_wire_strength(size)->least;
    }
    o.share = o.stress_pressed / strength;
    const auto bow = exact_bow(pressed / wish.length);
    o.slope = bow ? bow->slope : degrees(90);
    if (!bow || 1.5 * (pressed / wish.length) > in_radians(kSmallSlope)) {
      o.fit = WireFit::bends_too_far;
    } else if (o.share > wish.share) {
      o.fit = WireFit::too_much_stress;
    } else if (!choice.best || size < choice.options[*choice.best].diameter) {
      choice.best = choice.options.size();
    }
    choice.options.push_back(o);
  }
  return choice;
}

}  // namespace hingeline::movement

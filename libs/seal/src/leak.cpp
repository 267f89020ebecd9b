#include "hingeline/seal/leak.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "arc.h"

namespace hingeline::seal {
namespace {

using std::numbers::pi;

/// Gauss-Legendre with 24 points on [-1, 1], the positive half.
constexpr std::array<double, 12> kNodes{0.06405689286260563, 0.1911188674736163, 0.3150426796961634,
                                        0.4337935076260451,  0.5454214713888396, 0.6480936519369755,
                                        0.7401241915785544,  0.820001985973903,  0.886415527004401,
                                        0.9382745520027328,  0.9747285559713095, 0.9951872199970213};
constexpr std::array<double, 12> kWeights{0.12793819534675221, 0.1258374563468283,   0.12167047292780342,
                                          0.11550566805372561, 0.1074442701159656,   0.09761865210411406,
                                          0.08619016153195329, 0.07334648141108041,  0.05929858491543674,
                                          0.04427743881741955, 0.028531388628933743, 0.012341229799987091};

template <class F>
double integral(double from, double to, F&& f) {
  const double middle = (from + to) / 2;
  const double half = (to - from) / 2;
  double sum = 0;
  for (std::size_t k = 0; k < kNodes.size(); ++k)
    sum += kWeights[k] * (f(middle - half * kNodes[k]) + f(middle + half * kNodes[k]));
  return half * sum;
}

/// The same over an angle, of functions of its cosine and sine: those are asked for at the same places every
/// time.
class Turn {
 public:
  Turn(double from, double to) : half_((to - from) / 2) {
    const double middle = (from + to) / 2;
    for (std::size_t k = 0; k < kNodes.size(); ++k) {
      below_[k] = place(middle - half_ * kNodes[k]);
      above_[k] = place(middle + half_ * kNodes[k]);
    }
  }
  template <class F>
  [[nodiscard]] double integral(F&& f) const {
    double sum = 0;
    for (std::size_t k = 0; k < kNodes.size(); ++k)
      sum += kWeights[k] * (f(below_[k].cosine, below_[k].sine) + f(above_[k].cosine, above_[k].sine));
    return half_ * sum;
  }

 private:
  struct Place {
    double cosine, sine;
  };
  static Place place(double angle) { return {std::cos(angle), std::sin(angle)}; }

  double half_;
  std::array<Place, kNodes.size()> below_{};
  std::array<Place, kNodes.size()> above_{};
};

/// Integrals over an arc in which sin(psi / 2) = sqrt(q) sin(phi): what is asked of the gap becomes smooth at
/// the ends of the arc, however narrow it is.
template <class F>
double over_arc(const Wedge& gap, F&& of_gap) {
  const double level = gap.level.raw();
  const double swing = gap.swing.raw();
  if (level <= -swing) return 0;
  if (level >= swing) {
    // Twice the half round. In halves: a narrow place opposite a wide one needs them.
    static const Turn first(0, pi / 2);
    static const Turn second(pi / 2, pi);
    const auto f = [&](double cosine, double) { return of_gap(level + swing * cosine); };
    return 2 * (first.integral(f) + second.integral(f));
  }
  static const Turn first(0, pi / 4);
  static const Turn second(pi / 4, pi / 2);
  const double q = arc_of(level, swing).half_sine;
  const double root = std::sqrt(q);
  const auto f = [&](double c, double s) {
    return of_gap(2 * swing * q * c * c) * 2 * root * c / std::sqrt(1 - q * s * s);
  };
  return 2 * (first.integral(f) + second.integral(f));
}

/// The same over gaps at equal steps with straight lines between, positive parts only.
template <class F>
double over_samples(std::span<const Length> gaps, F&& of_gap) {
  const double step = 2 * pi / static_cast<double>(gaps.size());
  double sum = 0;
  for (std::size_t k = 0; k < gaps.size(); ++k) {
    double low = gaps[k].raw();
    double high = gaps[(k + 1) % gaps.size()].raw();
    if (low > high) std::swap(low, high);
    if (high <= 0) continue;
    const double begin = low >= 0 ? 0 : -low / (high - low);
    sum += step * integral(begin, 1, [&](double x) { return of_gap(std::max(0.0, low + (high - low) * x)); });
  }
  return sum;
}

/// Integral of the gap's power n over one step of samples: exact.
double power_over_samples(std::span<const Length> gaps, int n) {
  const double step = 2 * pi / static_cast<double>(gaps.size());
  double sum = 0;
  for (std::size_t k = 0; k < gaps.size(); ++k) {
    double low = gaps[k].raw();
    double high = gaps[(k + 1) % gaps.size()].raw();
    if (low > high) std::swap(low, high);
    if (high <= 0) continue;
    if (low < 0) {
      sum += step * std::pow(high, n + 1) / ((n + 1) * (high - low));
      continue;
    }
    // (high^(n+1) - low^(n+1)) / ((n + 1) (high - low)) without the division.
    double terms = 0;
    for (int i = 0; i <= n; ++i) terms += std::pow(high, i) * std::pow(low, n - i);
    sum += step * terms / (n + 1);
  }
  return sum;
}

/// Air at the conditions, in numbers.
struct Air {
  double over;       ///< Pa
  double viscosity;  ///< mPa s
  double density;    ///< kg/m^3
  double discharge;
};

Air air_of(const Conditions& c) {
  return {c.over.raw(), air_viscosity(c.air).raw(), air_density(c.air, c.ambient), c.discharge};
}

/// Mean speed in a slit, mm/s, with friction and the loss at its ends in series:
/// dp = (12 mu w / h^2) u + rho u^2 / (2 Cd^2), the positive root in the form that does not cancel.
double speed(double gap, double land, const Air& air) {
  if (gap <= 0 || air.over <= 0) return 0;
  // Pa per mm/s: mPa s x mm / mm^2 = 1e-3 Pa s/mm.
  const double friction = 12e-3 * air.viscosity * land / (gap * gap);
  // Pa per (mm/s)^2: kg/m^3 = 1e-6 Pa/(mm/s)^2.
  const double inertia = 0.5e-6 * air.density / (air.discharge * air.discharge);
  return 2 * air.over / (friction + std::sqrt(friction * friction + 4 * inertia * air.over));
}

double discharge_speed(const Air& air) {
  return air.over <= 0 ? 0 : air.discharge * std::sqrt(2e6 * air.over / air.density);
}

constexpr double kMillilitre = 1e-3;  // of a mm^3

Expected<void> possible(const Rim& rim, const Conditions& c) {
  if (!(rim.tone_hole.raw() > 0) || !is_finite(rim.tone_hole))
    return fail(Fault::geometry, "a tone hole of no size", "a diameter above 0");
  if (!(rim.land.raw() > 0) || !is_finite(rim.land))
    return fail(Fault::geometry, "a tone hole's rim of no width", "a land above 0");
  if (!(c.over.raw() >= 0) || !is_finite(c.over))
    return fail(Fault::geometry, "a test pressure below 0", "0 or more");
  if (!(c.ambient.raw() > 0) || !is_finite(c.ambient))
    return fail(Fault::geometry, "no air pressure", "an air pressure above 0");
  if (!(c.discharge > 0 && c.discharge <= 1))
    return fail(Fault::geometry, "a discharge coefficient that cannot be", "above 0, at most 1");
  if (!(air_viscosity(c.air).raw() > 0) || !std::isfinite(air_density(c.air, c.ambient)))
    return fail(Fault::geometry, "air at no temperature", "a temperature above -273 degC");
  return {};
}

/// Completes what follows from the three integrals over the rim.
Leak told(double cube, double area, double series, double widest, const Rim& rim, const Conditions& c) {
  const Air air = air_of(c);
  const double radius = rim.tone_hole.raw() / 2;
  const double land = straight_land(rim).raw();
  Leak l;
  l.widest = Length::of(std::max(0.0, widest));
  l.slit =
      slit_flow(Length::of(radius), Length::of(1), Length::of(land), c.over, Viscosity::of(air.viscosity)) *
      cube;
  l.orifice = orifice_flow(area * radius, c.over, air.density, c.discharge);
  l.flow = std::min({Flow::of(series * radius * kMillilitre), l.slit, l.orifice});
  l.hole = as_hole(l.flow, c);
  const double u = speed(l.widest.raw(), land, air);
  // mm/s x mm x kg/m^3 / mPa s = 1e-3.
  l.reynolds = 1e-3 * air.density * u * l.widest.raw() / air.viscosity;
  const double ends = u / (air.over > 0 ? discharge_speed(air) : 1);
  l.entry_share = ends * ends;
  l.rules = l.flow.raw() <= 0                      ? Rules::nothing
            : l.entry_share < kMostEntryShare      ? Rules::slit
            : l.entry_share <= 1 - kMostEntryShare ? Rules::both
                                                   : Rules::orifice;
  return l;
}

}  // namespace

Viscosity air_viscosity(Temperature air) {
  const double kelvin = air.raw() + 273.15;
  return Viscosity::of(1.458e-3 * kelvin * std::sqrt(kelvin) / (kelvin + 110.4));
}

double air_density(Temperature air, Pressure ambient) {
  return ambient.raw() / (287.05287 * (air.raw() + 273.15));
}

Wedge wedge_of(Length side, Length front) {
  const double half = std::hypot(side.raw(), front.raw()) / 2;
  return {Length::of(half), Length::of(half)};
}

double mean_cube(const Wedge& gap) {
  const double level = gap.level.raw();
  const double swing = gap.swing.raw();
  if (level <= -swing) return 0;
  if (level >= swing) return level * (level * level + 1.5 * swing * swing);
  return swing * swing * swing * arc_integral_3(arc_of(level, swing)) / pi;
}

double open_area(const Wedge& gap, Length tone_hole) {
  const double level = gap.level.raw();
  const double swing = gap.swing.raw();
  if (level <= -swing) return 0;
  const double mean = level >= swing ? level : swing * arc_integral_1(arc_of(level, swing)) / pi;
  return pi * tone_hole.raw() * mean;
}

double open_share(const Wedge& gap) {
  const double level = gap.level.raw();
  const double swing = gap.swing.raw();
  if (level <= -swing) return 0;
  return level >= swing ? 1 : arc_of(level, swing).omega / pi;
}

Length straight_land(const Rim& rim) {
  return rim.tone_hole / 2 * std::log1p(2 * (rim.land / rim.tone_hole));
}

Flow slit_flow(Length width, Length gap, Length land, Pressure over, Viscosity viscosity) {
  const double h = gap.raw();
  // mm^3 Pa / (mPa s) = 1e3 mm^3/s = 1 mL/s.
  return Flow::of(width.raw() * h * h * h * over.raw() / (12 * viscosity.raw() * land.raw()));
}

Flow orifice_flow(double area, Pressure over, double density, double discharge) {
  // mm^2 m/s = 1 mL/s.
  return Flow::of(discharge * area * std::sqrt(2 * over.raw() / density));
}

Length as_hole(Flow flow, const Conditions& c) {
  if (!(flow.raw() > 0)) return {};
  const Flow of_a_square_millimetre = orifice_flow(1, c.over, air_density(c.air, c.ambient), c.discharge);
  return Length::of(std::sqrt(4 / pi * (flow / of_a_square_millimetre)));
}

const char* word(Rules rules) {
  switch (rules) {
    case Rules::slit:
      return "friction";
    case Rules::both:
      return "friction and inertia";
    case Rules::orifice:
      return "inertia";
    case Rules::nothing:
      break;
  }
  return "no flow";
}

Expected<Leak> leak(const Wedge& gap, const Rim& rim, const Conditions& conditions) {
  if (const auto ok = possible(rim, conditions); !ok) return tl::unexpected(ok.error());
  if (!is_finite(gap.level) || !is_finite(gap.swing) || gap.swing.raw() < 0)
    return fail(Fault::geometry, "a gap that cannot be", "a finite gap");
  const Air air = air_of(conditions);
  const double land = straight_land(rim).raw();
  const double series = over_arc(gap, [&](double h) { return h * speed(h, land, air); });
  Leak l = told(2 * pi * mean_cube(gap), open_area(gap, Length::of(2)), series, gap.widest().raw(), rim,
                conditions);
  l.open_share = open_share(gap);
  return l;
}

Expected<Leak> leak(std::span<const Length> gaps, const Rim& rim, const Conditions& conditions) {
  if (const auto ok = possible(rim, conditions); !ok) return tl::unexpected(ok.error());
  if (gaps.size() < 3) return fail(Fault::geometry, "too few gaps round a rim", "3 or more");
  if (!std::all_of(gaps.begin(), gaps.end(), [](Length h) { return is_finite(h); }))
    return fail(Fault::geometry, "a gap that cannot be", "finite gaps");
  const Air air = air_of(conditions);
  const double land = straight_land(rim).raw();
  const double series = over_samples(gaps, [&](double h) { return h * speed(h, land, air); });
  Leak l = told(power_over_samples(gaps, 3), power_over_samples(gaps, 1), series,
                std::max_element(gaps.begin(), gaps.end())->raw(), rim, conditions);
  l.open_share = power_over_samples(gaps, 0) / (2 * pi);
  return l;
}

Expected<Flow> flow_of(const Decay& d, const Conditions& c) {
  if (!(d.to.raw() > 0) || !(d.from > d.to) || !is_finite(d.from))
    return fail(Fault::geometry, "a pressure that does not fall", "from above to, both above 0");
  if (!(d.time.raw() > 0) || !is_finite(d.time))
    return fail(Fault::geometry, "a fall of pressure in no time", "a time above 0");
  if (!(d.volume > 0) || !std::isfinite(d.volume))
    return fail(Fault::geometry, "a body without volume", "a volume above 0");
  const double fall = std::log1p((d.from - d.to) / d.to);
  return Flow::of(d.volume / d.time.raw() * fall * (c.over / c.ambient));
}

Length TakeUp::mean() const {
  double sum = 0;
  for (std::size_t k = 0; k < at.size(); ++k) sum += share[k] * at[k].raw();
  return Length::of(sum);
}

Length TakeUp::standard() const {
  const double middle = mean().raw();
  double sum = 0;
  for (std::size_t k = 0; k < at.size(); ++k)
    sum += share[k] * (at[k].raw() - middle) * (at[k].raw() - middle);
  return Length::of(std::sqrt(sum));
}

Length TakeUp::quantile(double share_below) const {
  double sum = 0;
  for (std::size_t k = 0; k < at.size(); ++k) {
    const double next = sum + share[k];
    if (next >= share_below && share[k] > 0) {
      // The share of a point lies evenly about it; none below the first.
      const double step = at.size() > 1 ? (at[1] - at[0]).raw() : 0;
      const double inside = (share_below - sum) / share[k] - 0.5;
      return std::clamp(at[k] + Length::of(step * inside), at.front(), at.back());
    }
    sum = next;
  }
  return at.empty() ? Length{} : at.back();
}

Expected<Flow> flow_of_all(std::span<const Opening> openings, Length take_up, const Conditions& conditions) {
  Flow sum;
  for (const Opening& o : openings) {
    const auto l = leak(less(o.gap, std::max(Length{}, take_up + o.own)), o.rim, conditions);
    if (!l) return tl::unexpected(l.error());
    sum += l->flow;
  }
  return sum;
}

Expected<Weighed> weigh(std::span<const Opening> openings, const FlowReading& reading, Length mean,
                        Length standard, Length most, const Conditions& conditions) {
  if (!(reading.standard.raw() > 0) || !is_finite(reading.standard) || !is_finite(reading.flow))
    return fail(Fault::geometry, "a leak reading without an uncertainty", "an uncertainty above 0");
  if (!(reading.model >= 0) || !std::isfinite(reading.model))
    return fail(Fault::geometry, "a share of doubt below 0", "0 or more");
  if (!(standard.raw() > 0) || !is_finite(standard) || !is_finite(mean))
    return fail(Fault::geometry, "a take-up without an uncertainty", "an uncertainty above 0");
  if (!(most.raw() > 0) || !is_finite(most))
    return fail(Fault::geometry, "no take-up allowed at all", "a largest take-up above 0");
  std::vector<double> log_prior(kTakeUpPoints);
  std::vector<double> log_posterior(kTakeUpPoints);
  std::vector<double> flows(kTakeUpPoints);
  Weighed w;
  for (std::size_t k = 0; k < kTakeUpPoints; ++k) {
    const Length t = most * (static_cast<double>(k) / static_cast<double>(kTakeUpPoints - 1));
    const auto sum = flow_of_all(openings, t, conditions);
    if (!sum) return tl::unexpected(sum.error());
    flows[k] = sum->raw();
    const double z = (t - mean) / standard;
    log_prior[k] = -z * z / 2;
    const double sigma = std::hypot(reading.standard.raw(), reading.model * flows[k]);
    const double off = (reading.flow.raw() - flows[k]) / sigma;
    log_posterior[k] = log_prior[k] - off * off / 2 - std::log(sigma);
    w.prior.at.push_back(t);
  }
  w.posterior.at = w.prior.at;
  const auto shares = [](const std::vector<double>& logs) {
    const double top = *std::max_element(logs.begin(), logs.end());
    std::vector<double> out;
    double sum = 0;
    for (std::size_t k = 0; k < logs.size(); ++k) {
      // The two ends of the grid stand for half a step each.
      const double end = k == 0 || k + 1 == logs.size() ? 0.5 : 1.0;
      out.push_back(end * std::exp(logs[k] - top));
      sum += out.back();
    }
    for (double& s : out) s /= sum;
    return out;
  };
  w.prior.share = shares(log_prior);
  w.posterior.share = shares(log_posterior);
  const auto expected = [&](const TakeUp& t) {
    double sum = 0;
    for (std::size_t k = 0; k < flows.size(); ++k) sum += t.share[k] * flows[k];
    return Flow::of(sum);
  };
  w.expected_before = expected(w.prior);
  w.expected_after = expected(w.posterior);
  w.most = Flow::of(flows.front());
  w.unexplained = std::max(Flow{}, reading.flow - w.most);
  return w;
}

}  // namespace hingeline::seal

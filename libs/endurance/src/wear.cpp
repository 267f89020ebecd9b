#include "hingeline/endurance/wear.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>

#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"

namespace hingeline::endurance {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kPascalsPerNewtonSquareMillimetre = 1e6;
/// A normal beyond so many standard deviations is left out: 1e-18.
constexpr double kFar = 8.8;
constexpr double kMostSpread = 50;
/// ln of the longest time looked at, years.
const double kLongestLogYears = std::log(1e12);

double density(double z) { return std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi); }

/// The integral of f from `from` to `to`, halved until each piece is right to `within`, at most 14 times.
template <class F>
double integral(const F& f, double from, double to, double within, int halvings = 14) {
  double error = 0;
  const double whole =
      boost::math::quadrature::gauss_kronrod<double, 31>::integrate(f, from, to, 0, 0, &error);
  // Boost gives the error of the integral mapped to -1 to 1.
  if (error * (to - from) / 2 <= within || halvings == 0) return whole;
  const double middle = from + (to - from) / 2;
  return integral(f, from, middle, within, halvings - 1) + integral(f, middle, to, within, halvings - 1);
}
/// The same over a line cut at the given places, in order.
template <class F>
double integral(const F& f, std::span<const double> cuts, double within) {
  double sum = 0;
  for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
    if (cuts[i] < cuts[i + 1]) sum += integral(f, cuts[i], cuts[i + 1], within);
  }
  return sum;
}

bool is_lognormal(const Lognormal& l) {
  return l.median > 0 && l.median < kInfinity && l.spread >= 0 && l.spread <= kMostSpread;
}

}  // namespace

// ---- Archard ---------------------------------------------------------------------------------------

double worn_volume(double k, Force load, Length slid, Pressure hardness, Archard form) {
  const double per_square_millimetre = in_pascals(hardness) / kPascalsPerNewtonSquareMillimetre;
  return k * in_newtons(load) * in_millimetres(slid) /
         (per_square_millimetre * (form == Archard::third ? 3 : 1));
}

Expected<Rubbing> flank(Length small_radius, Length large_radius, Angle half_angle, double share) {
  const double r = in_millimetres(small_radius);
  const double R = in_millimetres(large_radius);
  const double a = in_radians(half_angle);
  if (!(r >= 0 && r < R && R < kInfinity))
    return fail(Fault::geometry, fmt::format("a flank from radius {} to {} mm", r, R),
                "a flank with some width");
  if (!(a > 0 && a <= std::numbers::pi / 2))
    return fail(Fault::geometry, fmt::format("a half angle of {} degrees", in_degrees(half_angle)),
                "more than 0, at most 90 degrees");
  if (!(share > 0 && share <= 1))
    return fail(Fault::geometry, fmt::format("a share of {} of the flank", share), "more than 0, at most 1");
  // (R^3 - r^3)/(R^2 - r^2) without the difference that a narrow flank would lose.
  const double mean = 2.0 / 3 * (R * R + R * r + r * r) / (R + r);
  return Rubbing{millimetres(mean), share * std::numbers::pi * (R - r) * (R + r) / std::sin(a), half_angle};
}

Expected<Rubbing> face(Length inner_radius, Length outer_radius, double share) {
  return flank(inner_radius, outer_radius, radians(std::numbers::pi / 2), share);
}

Length freer_per_closing(double k, Force load, const Rubbing& rubbing, Angle swept, Pressure hardness,
                         Archard form) {
  const Length slid = rubbing.mean_radius * in_radians(swept);
  const double depth = worn_volume(k, load, slid, hardness, form) / rubbing.area;
  return millimetres(depth / sin(rubbing.half_angle));
}

// ---- figures known by their order of magnitude -----------------------------------------------------

double Lognormal::quantile(double share) const {
  return median * std::exp(spread * numeric::inverse_normal(share));
}

Expected<Lognormal> lognormal_within(double low, double high, double coverage) {
  if (!(low > 0 && low <= high && high < kInfinity))
    return fail(Fault::content, fmt::format("a range from {} to {}", low, high),
                "both above 0, the lower one first");
  if (!(coverage > 0 && coverage < 1))
    return fail(Fault::content, fmt::format("a coverage of {}", coverage), "between 0 and 1, both left out");
  const double reach = numeric::inverse_normal((1 + coverage) / 2);
  return Lognormal{std::sqrt(low) * std::sqrt(high), (std::log(high) - std::log(low)) / (2 * reach)};
}

Lognormal operator*(const Lognormal& a, const Lognormal& b) {
  return {a.median * b.median, std::hypot(a.spread, b.spread)};
}
Lognormal operator*(const Lognormal& a, double factor) { return {a.median * factor, a.spread}; }

// ---- what the key itself has shown -----------------------------------------------------------------

Expected<Growth> growth_in(std::span<const PlayAt> series) {
  if (series.size() < 2)
    return fail(Fault::content, "a growth from fewer than two readings",
                "two readings of one fit, some time apart");
  double weight = 0;
  double mean_time = 0;
  double mean_play = 0;
  for (const PlayAt& p : series) {
    const double u = in_millimetres(p.standard);
    if (!(u > 0 && u < kInfinity) || !is_finite(p.play))
      return fail(Fault::content, "an end play that is not finite, or with no uncertainty",
                  "a reading with its ±");
    weight += 1 / (u * u);
  }
  const auto time = [&](const PlayAt& p) {
    return static_cast<double>(seconds_between(series.front().when, p.when)) / kSecondsPerYear;
  };
  for (const PlayAt& p : series) {
    const double u = in_millimetres(p.standard);
    mean_time += time(p) / (u * u * weight);
    mean_play += in_millimetres(p.play) / (u * u * weight);
  }
  double across = 0;
  double along = 0;
  for (const PlayAt& p : series) {
    const double u = in_millimetres(p.standard);
    const double t = (time(p) - mean_time) / u;
    along += t * t;
    across += t * (in_millimetres(p.play) - mean_play) / u;
  }
  if (!(along > 0))
    return fail(Fault::content, "readings that are all of one moment", "readings some time apart");
  return Growth{millimetres(across / along), millimetres(1 / std::sqrt(along))};
}

Expected<Lognormal> sharpened(const Lognormal& per_year, std::span<const Growth> seen, double unsteady) {
  if (!is_lognormal(per_year)) {
    return fail(Fault::content, fmt::format("a growth of {} mm a year", per_year.median),
                "more than 0, with a finite spread");
  }
  if (!(unsteady >= 0 && unsteady < kInfinity))
    return fail(Fault::content, fmt::format("an unsteadiness of {}", unsteady), "0 or more");
  for (const Growth& g : seen) {
    if (!(g.standard > millimetres(0)) || !is_finite(g.standard) || !is_finite(g.per_year))
      return fail(Fault::content, "a growth that is not finite, or with no uncertainty",
                  "a growth with its ±");
  }
  if (seen.empty() || per_year.spread == 0) return per_year;

  // In z, the prior's standard normal. ln of the posterior less a constant.
  const auto log_weight = [&](double z) {
    const double growth = per_year.median * std::exp(per_year.spread * z);
    double out = -z * z / 2;
    for (const Growth& g : seen) {
      const double u = std::hypot(in_millimetres(g.standard), unsteady * growth);
      const double off = (in_millimetres(g.per_year) - growth) / u;
      out -= off * off / 2 + std::log(u);
    }
    return out;
  };
  // The peak lies between the prior's and the series' own, and close to one's if that is sharp: look on a net
  // over them all, and at each.
  constexpr int kNet = 2'000;
  std::vector<double> places{0};
  double reach = kFar;
  for (const Growth& g : seen) {
    if (in_millimetres(g.per_year) <= 0) continue;
    places.push_back(std::log(in_millimetres(g.per_year) / per_year.median) / per_year.spread);
    reach = std::max(reach, std::abs(places.back()) + 1);
  }
  for (int i = 0; i <= kNet; ++i) places.push_back(-reach + 2 * reach * i / kNet);
  double peak = -kInfinity;
  double peak_at = 0;
  for (const double z : places) {
    if (const double w = log_weight(z); w > peak) {
      peak = w;
      peak_at = z;
    }
  }
  std::sort(places.begin(), places.end());
  const auto found = std::lower_bound(places.begin(), places.end(), peak_at);
  double low = found == places.begin() ? peak_at - 1 : *(found - 1);
  double high = peak_at + 2 * reach / kNet;
  for (int i = 0; i < 100; ++i) {
    const double left = low + (high - low) / 3;
    const double right = high - (high - low) / 3;
    if (log_weight(left) < log_weight(right)) {
      low = left;
    } else {
      high = right;
    }
  }
  peak_at = (low + high) / 2;
  peak = log_weight(peak_at);
  // Where it has fallen by e^-40, to either side.
  const auto edge = [&](double way) {
    double step = 1e-9;
    while (peak - log_weight(peak_at + way * step) < 40) step *= 1.3;
    return peak_at + way * step;
  };
  const double from = edge(-1);
  const double to = edge(1);
  const std::array cuts{from, from + (peak_at - from) / 3, peak_at, peak_at + (to - peak_at) / 3, to};
  const auto moment = [&](const auto& f) {
    return integral([&](double z) { return f(z) * std::exp(log_weight(z) - peak); }, cuts,
                    1e-11 * (to - from));
  };
  // In widths of the peak, so that all three integrals are of like size.
  const double width = to - from;
  const double whole = moment([](double) { return 1.0; });
  const double mean = peak_at + width * moment([&](double z) { return (z - peak_at) / width; }) / whole;
  const double variance =
      width * width * moment([&](double z) { return (z - mean) / width * ((z - mean) / width); }) / whole;
  return Lognormal{per_year.median * std::exp(per_year.spread * mean), per_year.spread * std::sqrt(variance)};
}

// ---- when it is due --------------------------------------------------------------------------------

Expected<Due> Due::of(Length now, Length standard, Length edge, const Lognormal& growth_per_year) {
  if (!is_lognormal(growth_per_year)) {
    return fail(Fault::content, fmt::format("a growth of {} mm a year", growth_per_year.median),
                "more than 0, with a finite spread");
  }
  if (!is_finite(now) || !is_finite(edge) || !is_finite(standard) || standard < millimetres(0))
    return fail(Fault::content, "an end play or edge that is not finite", "lengths, with a ± of 0 or more");
  return Due(in_millimetres(edge - now), in_millimetres(standard), growth_per_year);
}

double Due::passed_by(Duration when) const {
  const double t = in_years(when);
  if (t < 0) return 0;
  if (t == kInfinity) return 1;
  // P(room <= growth t): over the room's normal, the chance that the growth makes it.
  if (standard_ == 0) {
    if (room_ <= 0) return 1;
    if (t == 0) return 0;
    const double off = std::log(growth_.median) + std::log(t) - std::log(room_);
    return growth_.spread > 0 ? numeric::normal_below(off / growth_.spread) : (off >= 0 ? 1 : 0);
  }
  const double gone = -room_ / standard_;
  if (t == 0) return numeric::normal_below(gone);
  const double grown = growth_.median * t;
  if (growth_.spread == 0) return numeric::normal_below((grown - room_) / standard_);
  const auto chance = [&](double z) {
    const double room = room_ + standard_ * z;
    if (room <= 0) return 0.0;
    return density(z) * numeric::normal_below((std::log(grown) - std::log(room)) / growth_.spread);
  };
  // Between room small enough that any growth makes it and room that none does, as far as either goes; cut
  // where the bulk of room and growth lies, which may be narrow one against the other.
  const auto place = [&](double growth_at) {
    return (grown * std::exp(growth_.spread * growth_at) - room_) / standard_;
  };
  const double from = std::clamp(std::max(gone, place(-kFar)), -kFar, kFar);
  const double to = std::clamp(place(kFar), from, kFar);
  std::array cuts{from, -2.0, 0.0, 2.0, place(-2), place(0), place(2), to};
  for (double& cut : cuts) cut = std::clamp(cut, from, to);
  std::sort(cuts.begin(), cuts.end());
  const double sure = numeric::normal_below(std::max(gone, from));
  // What 15 points are off by; the 31 that are taken are off by far less.
  constexpr double kWithin = 1e-10;
  return std::clamp(sure + integral(chance, cuts, kWithin), 0.0, 1.0);
}

Duration Due::by(double chance) const {
  if (passed_by(years(0)) >= chance) return years(0);
  // As places of the normal distribution, which go nearly straight with the logarithm of time.
  const auto place = [](double share) {
    return numeric::inverse_normal(std::clamp(share, 1e-300, 1 - 1e-15));
  };
  const double wanted = place(chance);
  const auto off = [&](double log_years) { return place(passed_by(years(std::exp(log_years)))) - wanted; };
  // From where it would be with room and growth both lognormal, in growing steps to either side of the root.
  const double room = std::max(room_, standard_);
  const double spread = std::hypot(growth_.spread, standard_ / room);
  double here = std::log(room) - std::log(growth_.median) + spread * wanted;
  here = std::clamp(here, -kLongestLogYears, kLongestLogYears);
  double off_here = off(here);
  const double way = off_here < 0 ? 1 : -1;
  double step = std::max(1.25 * spread * std::abs(off_here), 1e-9);
  double there = here;
  double off_there = off_here;
  while ((off_there < 0) == (off_here < 0)) {
    if (there == way * kLongestLogYears) return years(way > 0 ? kInfinity : 0);
    here = there;
    off_here = off_there;
    there = std::clamp(here + way * step, -kLongestLogYears, kLongestLogYears);
    off_there = off(there);
    step *= 2;
  }
  if (way < 0) {
    std::swap(here, there);
    std::swap(off_here, off_there);
  }
  std::uintmax_t most = 200;
  const auto [from, to] = boost::math::tools::toms748_solve(
      off, here, there, off_here, off_there, boost::math::tools::eps_tolerance<double>(40), most);
  return years(std::exp(from + (to - from) / 2));
}

}  // namespace hingeline::endurance

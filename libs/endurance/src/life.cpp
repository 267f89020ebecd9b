#include "hingeline/endurance/life.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>
#include <string>

namespace hingeline::endurance {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kMostUnits = 1e15;

bool is_share(double x) { return x > 0 && x < 1; }
bool is_positive(double x) { return x > 0 && x < kInfinity; }

tl::unexpected<Error> no_share(const char* what, double value) {
  return fail(Fault::content, fmt::format("a {} of {}", what, value),
              "a share between 0 and 1, both left out");
}
tl::unexpected<Error> not_positive(const char* what, double value) {
  return fail(Fault::content, fmt::format("a {} of {}", what, value), "a number above 0");
}

double chi_square(double share_below, double degrees_of_freedom) {
  return boost::math::quantile(boost::math::chi_squared(degrees_of_freedom), share_below);
}
/// The quantile with `share` above it: exact where 1 - share would round.
double chi_square_above(double share, double degrees_of_freedom) {
  return boost::math::quantile(boost::math::complement(boost::math::chi_squared(degrees_of_freedom), share));
}

/// The root of a monotone f between two points, in either order, where its signs differ.
template <class F>
double root_between(const F& f, double one, double other) {
  const double low = std::min(one, other);
  const double high = std::max(one, other);
  std::uintmax_t most = 200;
  const double at_low = f(low);
  const double at_high = f(high);
  if (at_low == 0) return low;
  if (at_high == 0) return high;
  const auto [from, to] = boost::math::tools::toms748_solve(
      f, low, high, at_low, at_high, boost::math::tools::eps_tolerance<double>(52), most);
  return from + (to - from) / 2;
}

/// The smallest value of a function with one valley between two points, and where it is.
struct Valley {
  double at;
  double value;
};
template <class F>
Valley lowest(const F& f, double low, double high) {
  Valley best{low, f(low)};
  const auto look = [&](double x) {
    const double y = f(x);
    if (y < best.value) best = {x, y};
    return y;
  };
  look(high);
  const double golden = (std::sqrt(5.0) - 1) / 2;
  double left = high - golden * (high - low);
  double right = low + golden * (high - low);
  double at_left = look(left);
  double at_right = look(right);
  // 80 steps narrow any range of shapes to the grain of double.
  for (int step = 0; step < 80 && low < high; ++step) {
    if (at_left <= at_right) {
      high = right;
      right = left;
      at_right = at_left;
      left = high - golden * (high - low);
      at_left = look(left);
    } else {
      low = left;
      left = right;
      at_left = at_right;
      right = low + golden * (high - low);
      at_right = look(right);
    }
  }
  return best;
}

/// x / (e^x - 1): 1 at 0, falling to 0.
double falling(double x) {
  if (x < 1e-300) return 1;
  return x > 700 ? 0 : x / std::expm1(x);
}
/// Its derivative: -1/2 at 0, rising to 0.
double falling_slope(double x) {
  if (x < 1e-5) return -0.5 + x / 6;
  if (x > 700) return 0;
  const double e = std::expm1(x);
  return (e - x * (e + 1)) / (e * e);
}

Expected<std::size_t> failures_of(std::span<const Life> lives) {
  std::size_t failures = 0;
  for (const Life& life : lives) {
    if (!(life.sound_to >= 0 && life.sound_to < kInfinity) || !(life.failed_by >= life.sound_to) ||
        !(life.failed_by > 0)) {
      return fail(Fault::content,
                  fmt::format("a unit sound to {} that had failed by {}", life.sound_to, life.failed_by),
                  "lives from 0 up, the failure after the last look at which it was sound");
    }
    if (life.failed()) ++failures;
  }
  return failures;
}

}  // namespace

// ---- no failure ------------------------------------------------------------------------------------

Expected<Units> units_without_failure(const Proof& proof, Convention convention) {
  if (!is_share(proof.reliability)) return no_share("reliability", proof.reliability);
  if (!is_share(proof.confidence)) return no_share("confidence", proof.confidence);
  if (!is_positive(proof.lives)) return not_positive("length of run", proof.lives);
  if (!is_positive(proof.shape)) return not_positive("Weibull shape", proof.shape);
  const double each = std::pow(proof.lives, proof.shape);
  const double run = std::log1p(-proof.confidence) / std::log(proof.reliability);
  const double exact = (convention == Convention::success_run ? run - 1 : run) / each;
  if (!(std::abs(exact) <= kMostUnits)) {
    return fail(Fault::content, "more units than anybody can run",
                "a lower reliability or confidence, or a longer run");
  }
  // What is whole but for rounding stays as it is: 2 units for 50 % at 75 %.
  const double grain = 1e-12 * std::max(1.0, std::abs(exact));
  return Units{exact, std::max(1.0, std::ceil(exact - grain))};
}

Expected<double> reliability_without_failure(double units, double confidence, double lives, double shape,
                                             Convention convention) {
  if (!is_positive(units)) return not_positive("number of units", units);
  if (!is_share(confidence)) return no_share("confidence", confidence);
  if (!is_positive(lives)) return not_positive("length of run", lives);
  if (!is_positive(shape)) return not_positive("Weibull shape", shape);
  const double run = units * std::pow(lives, shape) + (convention == Convention::success_run ? 1 : 0);
  return std::exp(std::log1p(-confidence) / run);
}

// ---- shares and rates ------------------------------------------------------------------------------

Expected<Bounds> share_bounds(std::size_t hits, std::size_t units, double confidence, Sides sides) {
  if (units == 0) return fail(Fault::content, "a share of no units", "at least one unit");
  if (hits > units)
    return fail(Fault::content, fmt::format("{} of {} units", hits, units), "no more than there are");
  if (!is_share(confidence)) return no_share("confidence", confidence);
  const double tail = (1 - confidence) / (sides == Sides::two ? 2 : 1);
  const auto k = static_cast<double>(hits);
  const auto n = static_cast<double>(units);
  Bounds out{0, 1};
  if (hits > 0 && sides != Sides::upper) out.low = boost::math::ibeta_inv(k, n - k + 1, tail);
  if (hits < units && sides != Sides::lower) out.high = boost::math::ibetac_inv(k + 1, n - k, tail);
  return out;
}

Expected<Bounds> mean_life_bounds(double total, std::size_t failures, double confidence, Sides sides) {
  if (!is_positive(total)) return not_positive("total life", total);
  if (!is_share(confidence)) return no_share("confidence", confidence);
  const double tail = (1 - confidence) / (sides == Sides::two ? 2 : 1);
  const auto r = static_cast<double>(failures);
  Bounds out{0, kInfinity};
  if (sides != Sides::upper) out.low = 2 * total / chi_square_above(tail, 2 * r + 2);
  if (failures > 0 && sides != Sides::lower) out.high = 2 * total / chi_square(tail, 2 * r);
  return out;
}

// ---- Weibull ---------------------------------------------------------------------------------------

double Weibull::reliability(double life_asked) const {
  return std::exp(-std::pow(life_asked / scale, shape));
}
double Weibull::life(double share) const { return scale * std::pow(-std::log1p(-share), 1 / shape); }

WeibullFit::Slopes WeibullFit::slopes(At at) const {
  Slopes out{0, 0, 0};
  for (const Unit& u : units_) {
    const double z = at.b * u.low - at.a;
    const double e = std::exp(z);
    switch (u.kind) {
      case Unit::Kind::failed:
        out.value += std::log(at.b) + z - e;
        out.by_a += e - 1;
        out.by_b += 1 / at.b + (u.low == 0 ? 0 : u.low * (1 - e));
        break;
      case Unit::Kind::suspended:
        out.value -= e;
        out.by_a += e;
        if (u.low != 0) out.by_b -= u.low * e;
        break;
      case Unit::Kind::within: {
        // Between two looks the wear-out e grew by d: ln(exp(-e) - exp(-e - d)).
        const double ahead = at.b * u.high - at.a;
        const double late = std::exp(ahead);
        const double d = -late * std::expm1(z - ahead);
        const double h = falling(d);
        out.value += -e + (d > 700 ? 0 : std::log(-std::expm1(-d)));
        out.by_a += e - h;
        // h/d = 1/(e^d - 1); both of its terms vanish where late has overflowed.
        const double early = e > 0 && u.low != 0 ? u.low * e : 0;
        out.by_b -= early;
        if (h > 0) out.by_b += (u.high * late - early) * (h / d);
        break;
      }
    }
  }
  return out;
}

double WeibullFit::best_a(double b) const {
  // With s = e^-a, the slope by a is the concave, increasing s * (sum of e^(b low)) - r - sum(h(s d) - 1).
  // From the left of its root Newton's steps never pass it.
  double sum = 0;
  double failures = 0;
  std::vector<double> spans;
  for (const Unit& u : units_) {
    if (u.kind == Unit::Kind::suspended || u.kind == Unit::Kind::failed) sum += std::exp(b * u.low);
    if (u.kind == Unit::Kind::failed) ++failures;
    if (u.kind == Unit::Kind::within) {
      sum += std::exp(b * u.low);
      spans.push_back(-std::exp(b * u.high) * std::expm1(b * (u.low - u.high)));
    }
  }
  double half_spans = 0;
  for (const double d : spans) half_spans += d / 2;
  double s = (failures + static_cast<double>(spans.size())) / (sum + half_spans);
  for (int step = 0; step < 500 && !spans.empty(); ++step) {
    double value = s * sum - failures;
    double slope = sum;
    for (const double d : spans) {
      value -= falling(s * d);
      slope -= d * falling_slope(s * d);
    }
    const double next = s - value / slope;
    const bool done = !(next > s * (1 + 1e-15));
    s = std::max(s, next);
    if (done) break;
  }
  return -std::log(s);
}

Expected<WeibullFit> WeibullFit::of(std::span<const Life> lives) {
  const auto failures = failures_of(lives);
  if (!failures) return tl::unexpected(failures.error());
  const auto nothing = [](const char* why) {
    return fail(Fault::content, why, "units that failed at different lives, and some seen sound before");
  };
  if (*failures == 0) return nothing("no unit has failed: there is nothing to fit a shape to");
  double longest = 0;
  double soonest = kInfinity;
  for (const Life& life : lives) {
    longest = std::max(longest, life.sound_to);
    soonest = std::min(soonest, life.failed_by);
  }
  if (longest == 0) return nothing("every unit had failed when it was first looked at");
  // A step there fits every unit better than any shape does.
  if (longest <= soonest)
    return nothing("all could have failed at one and the same life: any high shape fits them");

  WeibullFit fit;
  fit.shift_ = std::log(longest);
  double highest = 0;
  for (const Life& life : lives) {
    const double low = life.sound_to > 0 ? std::log(life.sound_to) - fit.shift_ : -kInfinity;
    if (!life.failed()) {
      // One that was never looked at says nothing.
      if (life.sound_to > 0) fit.units_.push_back({Unit::Kind::suspended, low, 0});
    } else if (life.failed_by == life.sound_to) {
      fit.units_.push_back({Unit::Kind::failed, low, 0});
      fit.sum_of_log_lives_ += std::log(life.sound_to);
    } else {
      const double high = std::log(life.failed_by) - fit.shift_;
      fit.units_.push_back({Unit::Kind::within, low, high});
      highest = std::max(highest, high);
    }
  }
  // So that e^(b high) never overflows.
  if (highest > 0) fit.most_b_ = std::min(kMostShape, 700 / highest);

  const auto slope = [&](double b) { return fit.slopes({fit.best_a(b), b}).by_b; };
  double low = 1;
  double high = 1;
  if (slope(1) > 0) {
    while (slope(high) > 0) {
      low = high;
      if (high >= fit.most_b_)
        return nothing("the failures lie so close together that any high shape fits them");
      high = std::min(2 * high, fit.most_b_);
    }
  } else {
    while (!(slope(low) > 0)) {
      high = low;
      low /= 2;
      if (low < kLeastShape) return nothing("the failures come so early that no shape above 0 fits them");
    }
  }
  const double b = root_between(slope, low, high);
  fit.top_at_ = {fit.best_a(b), b};
  fit.top_ = fit.slopes(fit.top_at_).value - fit.sum_of_log_lives_;
  fit.best_ = {b, std::exp(fit.top_at_.a / b + fit.shift_)};
  return fit;
}

double WeibullFit::log_likelihood(const Weibull& w) const {
  return slopes({w.shape * (std::log(w.scale) - shift_), w.shape}).value - sum_of_log_lives_;
}

double WeibullFit::best_on_line(double y, double c) const {
  // On a = b y - c the likelihood is concave in b, so its slope changes sign once, if at all.
  const auto at = [&](double b) { return At{b * y - c, b}; };
  const auto slope = [&](double b) {
    const Slopes s = slopes(at(b));
    return s.by_b + y * s.by_a;
  };
  double low = top_at_.b;
  double high = top_at_.b;
  if (slope(low) > 0) {
    while (slope(high) > 0 && high < most_b_) {
      low = high;
      high = std::min(2 * high, most_b_);
    }
    if (slope(high) > 0) return slopes(at(high)).value;
  } else {
    while (!(slope(low) > 0) && low > kLeastShape / 2) {
      high = low;
      low /= 2;
    }
    if (!(slope(low) > 0)) return slopes(at(low)).value;
  }
  return slopes(at(root_between(slope, low, high))).value;
}

double WeibullFit::level(double confidence) const {
  return slopes(top_at_).value - chi_square(confidence, 1) / 2;
}

template <class Profile>
double WeibullFit::edge(double from, double step, double least, double most, const Profile& profile) const {
  // Away from the best value a profile only falls.
  double inside = from;
  double outside = from;
  const double end = step > 0 ? most : -most;
  while (true) {
    inside = outside;
    if (inside == end) return end;
    outside = step > 0 ? std::min(outside + step, end) : std::max(outside + step, end);
    if (!(profile(outside) >= least)) break;
    step *= 2;
  }
  return root_between([&](double x) { return std::max(profile(x), least - 1e6) - least; }, inside, outside);
}

Bounds WeibullFit::shape_bounds(double confidence) const {
  const double least = level(confidence);
  const auto profile = [&](double log_b) {
    const double b = std::exp(log_b);
    return slopes({best_a(b), b}).value;
  };
  // In ln shape; beyond what is looked at nothing bounds it.
  const double from = std::log(top_at_.b);
  const double end_high = std::log(most_b_);
  const auto held = [&](double x) { return profile(std::min(x, end_high)); };
  const double high = edge(from, 0.1, least, 50, held);
  const double low = edge(from, -0.1, least, 50, held);
  return {low <= -50 ? 0 : std::exp(low), high >= end_high ? kInfinity : std::exp(high)};
}

Bounds WeibullFit::life_bounds(double share, double confidence) const {
  const double c = std::log(-std::log1p(-share));
  const double best = (top_at_.a + c) / top_at_.b;
  const double least = level(confidence);
  const auto profile = [&](double y) { return best_on_line(y, c); };
  const double reach = std::abs(best) + 700;
  const double low = edge(best, -0.1 / top_at_.b, least, reach, profile);
  const double high = edge(best, 0.1 / top_at_.b, least, reach, profile);
  return {low <= -reach ? 0 : std::exp(low + shift_), high >= reach ? kInfinity : std::exp(high + shift_)};
}

Bounds WeibullFit::scale_bounds(double confidence) const {
  return life_bounds(-std::expm1(-1.0), confidence);
}

Bounds WeibullFit::reliability_bounds(double life, double confidence) const {
  const double y = std::log(life) - shift_;
  const double best = top_at_.b * y - top_at_.a;
  const double least = level(confidence);
  const auto profile = [&](double c) { return best_on_line(y, c); };
  const double reach = std::abs(best) + 700;
  const double low = edge(best, -0.1, least, reach, profile);
  const double high = edge(best, 0.1, least, reach, profile);
  return {std::exp(-std::exp(high)), std::exp(-std::exp(low))};
}

// ---- few failures: an assumed shape ----------------------------------------------------------------

Expected<AssumedShape> with_assumed_shape(std::span<const Life> lives, double least_shape, double most_shape,
                                          double life, double confidence) {
  const auto failures = failures_of(lives);
  if (!failures) return tl::unexpected(failures.error());
  if (!is_positive(life)) return not_positive("life", life);
  if (!is_share(confidence)) return no_share("confidence", confidence);
  if (!(least_shape >= kLeastShape && least_shape <= most_shape && most_shape <= kMostShape)) {
    return fail(Fault::content, fmt::format("Weibull shapes from {} to {}", least_shape, most_shape),
                fmt::format("a range within {} to {}, the lower one first", kLeastShape, kMostShape));
  }
  std::vector<double> logs;
  for (const Life& unit : lives) {
    if (unit.sound_to > 0) logs.push_back(std::log(unit.sound_to));
  }
  if (logs.empty())
    return fail(Fault::content, "no unit was seen sound after the first closing",
                "a look at a unit that runs");
  const double half_chi = chi_square_above(1 - confidence, 2 * static_cast<double>(*failures) + 2) / 2;
  const double longest = *std::max_element(logs.begin(), logs.end());
  // ln of the sum of t^shape, kept from overflowing.
  const auto log_sum = [&](double shape) {
    double sum = 0;
    for (const double y : logs) sum += std::exp(shape * (y - longest));
    return shape * longest + std::log(sum);
  };
  AssumedShape out;
  out.failures = *failures;
  // Both are least where the function under them is: it has one valley.
  const Valley run =
      lowest([&](double shape) { return log_sum(shape) - shape * std::log(life); }, least_shape, most_shape);
  out.reliability_shape = run.at;
  out.reliability = std::exp(-half_chi * std::exp(-run.value));
  const double tenth = std::log(-std::log1p(-0.1)) - std::log(half_chi);
  const Valley b10 =
      lowest([&](double shape) { return (log_sum(shape) + tenth) / shape; }, least_shape, most_shape);
  out.b10_shape = b10.at;
  out.b10 = std::exp(b10.value);
  return out;
}

}  // namespace hingeline::endurance

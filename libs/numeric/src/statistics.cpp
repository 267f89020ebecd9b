#include "hingeline/numeric/statistics.h"

#include <algorithm>
#include <array>
#include <boost/math/distributions/students_t.hpp>
#include <cassert>
#include <cmath>
#include <limits>

#include "hingeline/numeric/random.h"

namespace hingeline::numeric {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

/// A sum that keeps what rounding takes from it (Neumaier 1974): its error does not grow with the terms.
class Sum {
 public:
  void add(double x) {
    const double next = sum_ + x;
    lost_ += std::abs(sum_) >= std::abs(x) ? (sum_ - next) + x : (x - next) + sum_;
    sum_ = next;
  }
  [[nodiscard]] double value() const { return sum_ + lost_; }

 private:
  double sum_ = 0;
  double lost_ = 0;
};

/// Mean, taken about the first value and then about itself: values far from zero lose no digits.
double mean_of(std::span<const double> values) {
  const auto about = [&](double origin) {
    Sum sum;
    for (const double x : values) sum.add(x - origin);
    return origin + sum.value() / static_cast<double>(values.size());
  };
  return about(about(values.front()));
}

/// Draws between the ends of an interval that covers this share of `count` draws.
std::size_t draws_covered(std::size_t count, double coverage) {
  assert(count > 0);
  assert(coverage > 0 && coverage < 1);
  const auto covered = static_cast<std::size_t>(std::floor(coverage * static_cast<double>(count) + 0.5));
  return std::min(covered, count - 1);
}

/// Share of the normal distribution above z.
double above(double z) { return 0.5 * std::erfc(z / std::sqrt(2.0)); }

}  // namespace

Summary summarise(std::span<const double> values) {
  assert(!values.empty());
  Summary out{values.size(), mean_of(values), 0};
  if (values.size() == 1) return out;
  Sum squares;
  Sum rest;  // what rounding left of the mean
  for (const double x : values) {
    const double d = x - out.mean;
    squares.add(d * d);
    rest.add(d);
  }
  const auto n = static_cast<double>(values.size());
  out.standard_deviation =
      std::sqrt(std::max(0.0, squares.value() - rest.value() * rest.value() / n) / (n - 1));
  return out;
}

double lag_1_autocorrelation(std::span<const double> values) {
  assert(!values.empty());
  const double mean = mean_of(values);
  Sum squares;
  Sum products;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double d = values[i] - mean;
    squares.add(d * d);
    if (i > 0) products.add(d * (values[i - 1] - mean));
  }
  return products.value() / squares.value();
}

double quantile(std::span<const double> sorted, double p) {
  assert(!sorted.empty());
  assert(p >= 0 && p <= 1);
  const double place = p * static_cast<double>(sorted.size()) - 0.5;
  if (place <= 0) return sorted.front();
  const auto below = static_cast<std::size_t>(place);
  if (below + 1 >= sorted.size()) return sorted.back();
  return std::lerp(sorted[below], sorted[below + 1], place - static_cast<double>(below));
}

Ranks symmetric_ranks(std::size_t count, double coverage) {
  const std::size_t covered = draws_covered(count, coverage);
  // JCGM counts draws from 1.
  const std::size_t first = (count - covered + 1) / 2 - 1;
  return {first, first + covered};
}

Interval symmetric_interval(std::span<const double> sorted, double coverage) {
  const Ranks ends = symmetric_ranks(sorted.size(), coverage);
  return {sorted[ends.low], sorted[ends.high]};
}

Interval shortest_interval(std::span<const double> sorted, double coverage) {
  const std::size_t covered = draws_covered(sorted.size(), coverage);
  std::size_t best = 0;
  for (std::size_t first = 1; first + covered < sorted.size(); ++first) {
    if (sorted[first + covered] - sorted[first] < sorted[best + covered] - sorted[best]) best = first;
  }
  return {sorted[best], sorted[best + covered]};
}

double student_t(double coverage, double degrees_of_freedom) {
  assert(coverage > 0 && coverage < 1);
  assert(degrees_of_freedom > 0);
  const double tail = (1 - coverage) / 2;
  if (degrees_of_freedom == kInfinity) return -inverse_normal(tail);
  return -boost::math::quantile(boost::math::students_t(degrees_of_freedom), tail);
}

double welch_satterthwaite(std::span<const Part> parts) {
  // Shares of the whole instead of fourth powers, which would leave the range of double soonest.
  double whole = 0;
  for (const Part& part : parts) whole += part.standard * part.standard;
  double doubt = 0;
  for (const Part& part : parts) {
    if (part.standard == 0) continue;
    assert(part.degrees_of_freedom > 0);
    const double share = part.standard * part.standard / whole;
    doubt += share * share / part.degrees_of_freedom;
  }
  return doubt > 0 ? 1 / doubt : kInfinity;
}

TypeA type_a(std::span<const double> readings) {
  const Summary s = summarise(readings);
  const auto n = static_cast<double>(s.count);
  return {s.mean, s.standard_deviation / std::sqrt(n), n - 1};
}

Combined combine(const TypeA& readings, double type_b_standard, double type_b_degrees_of_freedom,
                 double coverage) {
  assert(type_b_standard >= 0);
  const std::array parts{Part{readings.standard, readings.degrees_of_freedom},
                         Part{type_b_standard, type_b_degrees_of_freedom}};
  Combined out{readings.mean, std::hypot(readings.standard, type_b_standard), welch_satterthwaite(parts), 0};
  out.expanded = student_t(coverage, out.degrees_of_freedom) * out.standard;
  return out;
}

Conformity decide(double value, double standard, double low, double high, double confidence) {
  assert(low <= high);
  assert(standard >= 0);
  assert(confidence >= 0.5 && confidence < 1);
  if (standard == 0) return value >= low && value <= high ? Conformity::inside : Conformity::outside;
  const double under = (low - value) / standard;
  const double over = (value - high) / standard;
  const double guard = inverse_normal(confidence);
  if (under > guard || over > guard) return Conformity::outside;
  const double doubt = above(-under) + above(-over);
  return doubt <= 1 - confidence ? Conformity::inside : Conformity::undecided;
}

}  // namespace hingeline::numeric

#include "arc.h"

#include <cmath>

namespace hingeline::seal {
namespace {

/// Below this share the closed forms cancel.
constexpr double kNarrow = 0.12;

/// With sin(psi / 2) = sqrt(q) sin(phi), q = sin^2(omega / 2):
/// J_n = 2^(n+1) q^(n+1/2) integral over [0, pi/2] of cos^(2n+1)(phi) (1 - q sin^2(phi))^(-1/2),
/// and the root is a power series in q sin^2(phi). Terms fall at least by q each.
double series(int n, double q) {
  // Integral of cos^(2n+1): 2/3, 8/15, 16/35.
  double whole = 1;
  for (int k = 1; k <= n; ++k) whole *= 2.0 * k / (2.0 * k + 1);
  double term = whole;
  double sum = term;
  for (int k = 1; k < 40; ++k) {
    // Of the root: (2k - 1) / (2k); of the integral with sin^(2k): (2k - 1) / (2k + 2n + 1).
    term *= q * (2.0 * k - 1) / (2.0 * k) * (2.0 * k - 1) / (2.0 * k + 2.0 * n + 1);
    sum += term;
    if (term < 1e-17 * sum) break;
  }
  return std::ldexp(std::pow(q, n) * std::sqrt(q) * sum, n + 1);
}

}  // namespace

Arc arc_of(double level, double swing) {
  const double above = swing + level;
  const double below = swing - level;
  Arc arc{};
  arc.omega = 2 * std::atan2(std::sqrt(above), std::sqrt(below));
  arc.cosine = -level / swing;
  arc.sine = std::sqrt(above * below) / swing;
  arc.half_sine = above / (2 * swing);
  return arc;
}

double arc_integral_1(const Arc& a) {
  if (a.half_sine < kNarrow) return series(1, a.half_sine);
  return a.sine - a.omega * a.cosine;
}

double arc_integral_2(const Arc& a) {
  if (a.half_sine < kNarrow) return series(2, a.half_sine);
  return a.omega * (a.cosine * a.cosine + 0.5) - 1.5 * a.sine * a.cosine;
}

double arc_integral_3(const Arc& a) {
  if (a.half_sine < kNarrow) return series(3, a.half_sine);
  const double c = a.cosine;
  const double s = a.sine;
  return s - s * s * s / 3 + 1.5 * c * c * s - 1.5 * a.omega * c - a.omega * c * c * c;
}

}  // namespace hingeline::seal

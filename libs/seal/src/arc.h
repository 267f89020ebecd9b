#pragma once
/// \file
/// Integrals over the part of a ring where a wedge is positive.
///
/// A wedge round a ring is level + swing cos(psi) with swing >= 0. It is positive for |psi| < omega, where
/// cos(omega) = -level / swing. There it equals swing (cos(psi) - cos(omega)), so everything that is asked of
/// it is one of J_n = integral from 0 to omega of (cos(psi) - cos(omega))^n.

#include <array>

namespace hingeline::seal {

/// The positive part of level + swing cos(psi).
struct Arc {
  double omega;      ///< half of it, 0 to pi
  double cosine;     ///< of omega
  double sine;       ///< of omega
  double half_sine;  ///< sin^2(omega / 2), without cancellation: share of the ring's height that is positive
};

/// swing > 0 and -swing < level < swing.
Arc arc_of(double level, double swing);

/// J_1, J_2, J_3 for 0 < omega < pi. Relative error at most kArcWorstError: a closed form for wide arcs, its
/// power series in sin^2(omega / 2), all of whose terms have one sign, for narrow ones.
inline constexpr double kArcWorstError = 2e-12;
double arc_integral_1(const Arc& arc);
double arc_integral_2(const Arc& arc);
double arc_integral_3(const Arc& arc);

}  // namespace hingeline::seal

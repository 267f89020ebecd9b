#pragma once
/// \file
/// What units that were run show about how long such units last.
///
/// Lives are plain numbers in one unit of the caller's choice (closings, hours): every result has that unit.
/// Reliability and confidence are shares strictly between 0 and 1. "Failure" is what was found at an
/// inspection.
///
/// Sources: W. Weibull (1951) for the distribution; Clopper and Pearson, Biometrika 26 (1934) 404;
/// NIST/SEMATECH e-Handbook 7.2.4.2 and 8.4.5.1 for the binomial and chi-square bounds; Nelson, Applied Life
/// Data Analysis, and Abernethy, The New Weibull Handbook (Weibull with an assumed shape), from memory; J.
/// Burridge, J. R. Stat. Soc. B 43 (1981) 41, for the concavity that the fit rests on, from memory.

#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "hingeline/base/error.h"

namespace hingeline::endurance {

/// What is known of one unit: it was sound up to `sound_to` and had failed by `failed_by`.
/// failed_by infinite: it was sound when last seen (suspended, right-censored). failed_by == sound_to: it
/// failed at that very life. Otherwise it failed between the two (interval-censored); sound_to may be 0.
struct Life {
  double sound_to = 0;
  double failed_by = std::numeric_limits<double>::infinity();

  [[nodiscard]] bool failed() const { return failed_by < std::numeric_limits<double>::infinity(); }
  static Life suspended_at(double life) { return {life, std::numeric_limits<double>::infinity()}; }
  static Life failed_at(double life) { return {life, life}; }
  static Life failed_within(double from, double to) { return {from, to}; }
  friend bool operator==(const Life&, const Life&) = default;
};

// ---- no failure ------------------------------------------------------------------------------------

/// How many units without a failure show what.
enum class Convention {
  classical,   ///< R^n = 1 - C
  success_run  ///< R^(n + 1) = 1 - C: Bayes with every reliability as likely as any other beforehand
};
/// A statement "reliability of at least R at life T, with confidence C".
struct Proof {
  double reliability = 0.95;
  double confidence = 0.95;
  double lives = 1;  ///< each unit was run for so many times T; above 0
  double shape = 1;  ///< Weibull shape that carries the longer run over to T; above 0; no matter at lives 1
};
struct Units {
  double exact = 0;  ///< as the formula gives it; below 0 for a success run that needs no unit
  double whole = 0;  ///< the least whole number that will do, at least 1
};
/// Units that have to be run without a failure: ln(1 - C) / (ln R lives^shape). Fault::content for values out
/// of range and for more than 1e15 units.
Expected<Units> units_without_failure(const Proof& proof, Convention convention = Convention::classical);
/// The reliability that `units` without a failure show, each run for `lives` times the life in question.
/// `units` above 0, whole or not. Fault::content for values out of range.
Expected<double> reliability_without_failure(double units, double confidence, double lives = 1,
                                             double shape = 1, Convention convention = Convention::classical);

// ---- shares and rates ------------------------------------------------------------------------------

struct Bounds {
  double low = 0;
  double high = 0;  ///< may be infinite where nothing bounds it
};
enum class Sides { two, lower, upper };

/// Clopper and Pearson's bounds of a share from `hits` of `units`: its coverage is at least `confidence`,
/// whatever the share. One-sided: the other bound is 0 or 1. Relative error under 1e-12. Fault::content for
/// no units, more hits than units, or a confidence out of range.
Expected<Bounds> share_bounds(std::size_t hits, std::size_t units, double confidence,
                              Sides sides = Sides::two);

/// Bounds of the mean life between failures from `failures` in `total` of life of all units together, the
/// test ended by the clock: 2T/chi2(2r + 2) and 2T/chi2(2r). A constant rate of failures is assumed: a
/// Weibull shape of 1. With no failure the upper bound is infinite. Fault::content for a total not above 0 or
/// a confidence out of range.
Expected<Bounds> mean_life_bounds(double total, std::size_t failures, double confidence,
                                  Sides sides = Sides::two);

// ---- Weibull ---------------------------------------------------------------------------------------

/// Share failed by life t: 1 - exp(-(t/scale)^shape).
struct Weibull {
  double shape = 1;
  double scale = 1;  ///< the life by which 63.2 % have failed
  /// Share still sound at a life >= 0.
  [[nodiscard]] double reliability(double life) const;
  /// The life by which a share of units has failed; 0.1 gives B10. `share` strictly between 0 and 1.
  [[nodiscard]] double life(double share) const;
};

/// Shapes that are looked at.
inline constexpr double kLeastShape = 1e-3;
inline constexpr double kMostShape = 1e3;

/// A Weibull distribution fitted to units by maximum likelihood, and what its likelihood leaves open.
///
/// In a = shape ln(scale) and b = shape, the log-likelihood of failed, suspended and interval-censored units
/// is concave: each unit's share in it is a log-concave density, or its integral over an interval, in
/// quantities linear in a and b. So for a fixed shape the best scale is the one root of an increasing
/// function, the slope of the likelihood profiled over the scale falls steadily as the shape grows, and its
/// root, bracketed, is the one maximum. Relative error of shape and scale under 1e-9 where the units tell
/// them at all.
///
/// Bounds are from the likelihood ratio: all values at which the profile stays within half the chi-square
/// quantile (one degree of freedom) of its maximum. They are approximate with few failures, as all but exact
/// bounds are; unlike those from the Fisher matrix they stay in range and do not depend on how the parameters
/// are written down.
class WeibullFit {
 public:
  /// Fault::content when there is a life that is not finite, below 0 or upside down, a unit that failed by 0,
  /// or nothing to fit: no unit failed, all had failed when first seen, or the likelihood goes on growing
  /// towards a shape outside kLeastShape to kMostShape (as when all fail at one life).
  static Expected<WeibullFit> of(std::span<const Life> lives);

  [[nodiscard]] const Weibull& best() const { return best_; }
  [[nodiscard]] double log_likelihood() const { return top_; }
  /// Of any distribution, for the same units.
  [[nodiscard]] double log_likelihood(const Weibull& w) const;

  /// Bounds at a two-sided confidence; one side alone at 2C - 1 has the one-sided confidence C.
  [[nodiscard]] Bounds shape_bounds(double confidence) const;
  [[nodiscard]] Bounds scale_bounds(double confidence) const;
  /// Of the life by which a share has failed.
  [[nodiscard]] Bounds life_bounds(double share, double confidence) const;
  /// Of the share still sound at a life above 0.
  [[nodiscard]] Bounds reliability_bounds(double life, double confidence) const;

 private:
  /// One unit in logarithms, shifted so that the longest life seen sound is 0.
  struct Unit {
    enum class Kind { failed, suspended, within } kind;
    double low;   ///< ln of sound_to; -infinity for 0
    double high;  ///< within: ln of failed_by
  };
  /// A point: ln(t/scale) shape = b y - a for y as in Unit.
  struct At {
    double a;
    double b;
  };
  struct Slopes {
    double value;  ///< the log-likelihood
    double by_a;
    double by_b;
  };
  WeibullFit() = default;
  [[nodiscard]] Slopes slopes(At at) const;
  [[nodiscard]] double best_a(double b) const;
  [[nodiscard]] double best_on_line(double y, double c) const;
  template <class Profile>
  [[nodiscard]] double edge(double from, double step, double level, double most,
                            const Profile& profile) const;
  [[nodiscard]] double level(double confidence) const;

  std::vector<Unit> units_;
  double shift_ = 0;
  double sum_of_log_lives_ = 0;  ///< of those that failed at a known life
  double most_b_ = kMostShape;
  At top_at_{};
  Weibull best_;
  double top_ = 0;
};

// ---- few failures: an assumed shape ----------------------------------------------------------------

/// What units show of reliability and life when the shape is not fitted but taken from a range.
struct AssumedShape {
  double reliability = 0;        ///< lower bound at the life asked about, at the worst shape of the range
  double reliability_shape = 1;  ///< that shape
  double b10 = 0;                ///< lower bound of the life by which a tenth fail, at its worst shape
  double b10_shape = 1;
  std::size_t failures = 0;
};
/// Lower bounds at a one-sided confidence, for any number of failures, none included: with shape fixed,
/// t^shape is exponential, so scale^shape >= 2 sum(t^shape)/chi2(C; 2r + 2). A unit that failed between two
/// looks counts with the time it was seen sound: on the safe side. Both bounds are quasi-convex in the shape,
/// so the worst shape of the range is found by narrowing down.
///
/// Fault::content for lives as in WeibullFit, a life not above 0, shapes out of kLeastShape to kMostShape or
/// upside down, a confidence out of range, or when no unit was seen sound at any life above 0.
Expected<AssumedShape> with_assumed_shape(std::span<const Life> lives, double least_shape, double most_shape,
                                          double life, double confidence);

}  // namespace hingeline::endurance

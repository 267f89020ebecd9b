#pragma once
/// \file
/// Small statistics of readings and draws, in whatever unit they come: results have the unit of the values.
///
/// Sources: JCGM 100:2008 (GUM), JCGM 101:2008 (its Monte Carlo supplement), ISO 14253-1:2017. Counts,
/// coverages and degrees of freedom are set by code, not typed by people: what a function asks of them is
/// asserted.

#include <cmath>
#include <cstddef>
#include <numbers>
#include <span>

namespace hingeline::numeric {

/// Share of a standard normal below z.
inline double normal_below(double z) { return std::erfc(-z / std::numbers::sqrt2) / 2; }

struct Summary {
  std::size_t count;
  double mean;
  double standard_deviation;  ///< with count - 1; 0 for a single value
};

/// Two passes about a shifted origin: the certified digits of the NIST StRD univariate sets, as far as their
/// data can be held in double. At least one value, all finite.
Summary summarise(std::span<const double> values);

/// Sum of neighbours' products of deviations over the sum of squared deviations, as NIST StRD defines it;
/// -1 to 1. NaN when all values are equal. At least one value.
double lag_1_autocorrelation(std::span<const double> values);

/// The value below which a share `p` of the distribution lies that the draws stand for: draw r of M (from 1,
/// ascending) at the share (r - 1/2) / M, straight lines between, the outermost draws beyond (JCGM 101, 7.5
/// and annex D; from memory). `p` from 0 to 1, at least one value, ascending.
double quantile(std::span<const double> sorted, double p);

struct Interval {
  double low;
  double high;
};

/// Coverage intervals from M draws in ascending order, by counting: from draw r to draw r + q, where q is
/// coverage x M rounded (JCGM 101, 5.3 and 7.7; from memory). The symmetric one leaves out as many draws
/// below as above, or one fewer below; the shortest is the lowest of the narrowest. `coverage` strictly
/// between 0 and 1, at least one value; with few draws the interval is all of them.
Interval symmetric_interval(std::span<const double> sorted, double coverage);
Interval shortest_interval(std::span<const double> sorted, double coverage);
/// Where the ends of the symmetric interval stand among `count` ascending draws, counted from 0.
struct Ranks {
  std::size_t low;
  std::size_t high;
};
Ranks symmetric_ranks(std::size_t count, double coverage);

/// Two-sided factor t: a share `coverage` of Student's distribution lies within -t and t (JCGM 100, table
/// G.2). `coverage` strictly between 0 and 1; degrees of freedom above 0, whole or not; infinity gives the
/// normal distribution. Relative error under 1e-12.
double student_t(double coverage, double degrees_of_freedom);

/// One part of a combined uncertainty: u_i = |sensitivity| x standard uncertainty, and how well it is known.
struct Part {
  double standard;
  double degrees_of_freedom;  ///< above 0, or infinity; not looked at when `standard` is 0
};

/// Effective degrees of freedom, Welch-Satterthwaite (JCGM 100, G.4.1, G.2b), as computed: not cut to a whole
/// number. Infinity when no part with an uncertainty has finite degrees of freedom.
double welch_satterthwaite(std::span<const Part> parts);

/// What repeated readings say by their scatter alone (JCGM 100, 4.2).
struct TypeA {
  double mean;
  double standard;            ///< of the mean: s / sqrt(n); 0 for a single reading, whose scatter is unknown
  double degrees_of_freedom;  ///< n - 1
};

/// At least one reading, all finite. A single reading or readings all alike have no scatter to see: the
/// type B part of combine() must then hold what the instrument can do.
TypeA type_a(std::span<const double> readings);

struct Combined {
  double value;
  double standard;
  double degrees_of_freedom;  ///< effective; infinity when nothing limits it
  double expanded;            ///< half-width of the interval with the coverage asked for
};

/// Scatter and instrument together: standards add by squares, the degrees of freedom by Welch-Satterthwaite
/// and the half-width is Student's factor at these (JCGM 100, annex G). The type B standard is 0 or more, its
/// degrees of freedom above 0 or infinity (JCGM 100, G.4.2).
Combined combine(const TypeA& readings, double type_b_standard, double type_b_degrees_of_freedom,
                 double coverage);

enum class Conformity {
  inside,    ///< proven to be within the limits
  outside,   ///< proven to be beyond one of them
  undecided  ///< the uncertainty is too large to say
};

/// Decision rule of ISO 14253-1:2017: the acceptance zone is the limits less a guard band, the rejection zone
/// begins a guard band beyond them; at a confidence of 0.95 the band is 1.65 standard uncertainties
/// (1.644854). The standard's band supposes an uncertainty small beside the limits' distance; where it is
/// not, `inside` also asks that both tails together leave the confidence.
///
/// `low` <= `high`, either may be infinite; `standard` 0 or more; `confidence` from 0.5 up, below 1.
Conformity decide(double value, double standard, double low, double high, double confidence);

}  // namespace hingeline::numeric

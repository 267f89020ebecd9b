#pragma once
/// \file
/// A bent body: from readings along a straightedge to a curvature, from a curvature to what it does to
/// each key, and back from the keys to the curvature.
///
/// Frame: the body is bent in one plane. Distances from its neutral axis in that plane carry a sign: above
/// 0 on one side, below 0 on the other, the same for hinge lines, for the side the straightedge lies on and
/// for the bend. A curvature is above 0 when the hollow side is the one above 0. Lengths along the body run
/// from the end of the straightedge that stations are counted from.
///
/// Sources: sagitta of a circle, kappa = 8f/(C^2 + 4f^2) ("Mechanics of Materials": r 10, c 12 gives 2);
/// plane sections stay plane, so a line at y is longer by -kappa y S (the same); uncertainties JCGM
/// 100:2008.

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/measured.h"
#include "hingeline/base/quantity.h"
#include "hingeline/body/posts.h"

namespace hingeline::body {

struct CurvatureKind;
/// One over a radius; inner unit 1/mm.
using Curvature = Quantity<CurvatureKind>;
constexpr Curvature per_millimetre(double v) { return Curvature::of(v); }
constexpr double in_per_millimetre(Curvature v) { return v.raw(); }

/// A value with this standard uncertainty.
template <class Q>
constexpr Measured<Q> with_standard(Q value, Q standard) {
  return {value, standard * 2.0, Origin::read};
}

/// Curvature of the circle through both ends of a chord and a point `sagitta` off its middle:
/// 8f/(C^2 + 4f^2), with the sign of the sagitta. Exact; chord above 0.
Curvature curvature_from_sagitta(Length sagitta, Length chord);
/// The sagitta of a circle's smaller arc over a chord. Fault::geometry for a chord longer than its diameter.
Expected<Length> sagitta_of(Curvature curvature, Length chord);
/// 1/|kappa|; infinite for a straight body.
Length radius_of(Curvature curvature);

// ---- readings along a straightedge -----------------------------------------------------------------

/// One height: the gap between straightedge and body at a station. Only differences from a straight line
/// count, so the straightedge may stand off at both ends.
struct BowReading {
  Measured<Length> station;
  Measured<Length> height;
};

struct BowReadings {
  Measured<Length> chord;  ///< between the ends of the straightedge, where it touches; above 0 when used
  std::vector<BowReading> readings;
  Length surface;  ///< from the neutral axis to the surface the straightedge lies on: half the diameter
  int side = 1;    ///< +1: it lies on the side above 0; -1: on the other
};

/// A bend over part of the body.
struct Stretch {
  Length from;
  Length to;
  Measured<Curvature> curvature;  ///< of the neutral axis
};

struct Bow {
  /// Of the neutral axis. Where the bend is not even its standard uncertainty is wider by the root of
  /// chi-square over the degrees of freedom.
  Measured<Curvature> curvature;
  Length from;  ///< first and last station
  Length to;
  double chi_square = 0;
  std::size_t degrees_of_freedom = 0;
  double chance = 1;  ///< of a chi-square as large, were the bend even; 1 without degrees of freedom
  bool even = true;   ///< chance is not below kUnevenChance
  std::vector<Length> residuals;   ///< read less fitted, in the order of the readings
  std::vector<Stretch> stretches;  ///< over each three neighbouring stations; with 4 or more readings
};

/// Readings that would lie so badly only once in a hundred times are not one even bend.
inline constexpr double kUnevenChance = 0.01;
/// No height, station or chord is known better than this.
inline constexpr Length kLeastDoubt = millimetres(1e-6);
/// Heights may differ by at most this share of the distance between the outer stations: a body that is
/// bent more is past straightening by such figures.
inline constexpr double kMostRise = 0.25;
/// Error of the fitted curvature beside that of an exact least-squares circle, relative to the larger of
/// it and of its standard uncertainty. Found against another formula in NumPy: 9e-13.
inline constexpr double kFitWorstError = 1e-11;

/// The bend: one reading, with the chord's ends touching, by the circle through three points; two readings
/// with the chord's ends as two more (touching within the readings' doubt); three or more by weighted
/// least squares of a circle whose place and tilt are free. Weights from heights and, by the slope there,
/// stations. The surface's curvature is turned into the neutral axis's.
///
/// Fault::content without readings, or with fewer than three different places in all; Fault::geometry for
/// heights no body has (kMostRise), a chord of 0, or a station outside the chord when the ends are needed.
Expected<Bow> fit_bow(const BowReadings& readings);

/// The curvature a stretch of the body has: the same fit over the stations in it and the nearest ones
/// outside, three at least. Same faults.
Expected<Stretch> bend_between(const BowReadings& readings, Length from, Length to);

// ---- what the bend does ----------------------------------------------------------------------------

/// A key's place on the body.
struct KeyOnBody {
  Length span;                ///< between the posts' inner faces, as it is now; above 0
  Measured<Length> off_axis;  ///< hinge line from the neutral axis, signed
  /// Both joints where points ride on flanks; empty: a tilt there costs nothing that is reckoned here.
  std::array<std::optional<ConeJoint>, 2> joints;
};

/// What a bend changed, now less straight.
struct BendEffect {
  Measured<Length> span_change;  ///< above 0: the posts stand farther apart
  Angle lean;                    ///< of each post against the hinge line, >= 0
  Length tilt_cost;              ///< end play lost in both joints by that lean, >= 0
  Measured<Length> end_play;     ///< span_change less tilt_cost
};

/// How far apart two posts at `off_axis` have come by the bend: the chord S now less the arc that was
/// straight, S0 = (2/kappa) asin(kappa S / (2 (1 - kappa y))). For small bends -kappa y S. Fault::geometry
/// where the line lies at or beyond the bend's centre or the chord does not fit its circle.
Expected<Length> span_change(Length span, Length off_axis, Curvature curvature);

/// Uncertainty: one standard deviation of curvature and of off_axis both ways, the larger change of each,
/// added by squares. Fault::geometry as span_change.
Expected<BendEffect> bend_effect(const KeyOnBody& key, Measured<Curvature> curvature);

/// A key's end play and what it should be.
struct KeyPlay {
  Measured<Length> end_play;
  Length low;  ///< window
  Length high;
};

/// What the bend explains of one key's end play.
struct Explained {
  Length excess;  ///< over the window, above 0; under it, below 0; 0: within
  /// Effect over excess: 1 explains all of it, below 0 the bend works the other way. Absent within the
  /// window.
  std::optional<Measured<double>> share;
  Measured<Length> remains;  ///< end play after straightening
};
Explained explain(const KeyPlay& play, const BendEffect& effect);

// ---- from the keys to the bend ---------------------------------------------------------------------

struct KeyWitness {
  KeyOnBody key;
  KeyPlay play;
};

/// What keys do without a bend, as standard deviations.
struct OwnPlay {
  Length each = millimetres(0.015);    ///< one key about the middle of its window
  Length common = millimetres(0.015);  ///< all keys together, as wear and a warm bench do
};

/// How one key sits with the rest.
struct WitnessAnswer {
  Length expected;      ///< its end play by the bend that the keys tell
  double distance = 0;  ///< read less what the others foretell, over their joint standard uncertainty
  bool used = true;     ///< false: contradicts, was left out
};

struct BendFromKeys {
  Measured<Curvature> curvature;
  Measured<Length> common;  ///< what all keys have alike beyond the middle of their windows
  double chi_square = 0;
  std::size_t degrees_of_freedom = 0;  ///< of the keys used, less one for the bend
  std::vector<WitnessAnswer> keys;     ///< in the order given
};

/// A key farther than this from what the others foretell contradicts them (standard uncertainties).
inline constexpr double kContradicts = 3.0;

/// Weighted least squares of one curvature and one common part over all keys' end plays: end play less
/// the window's middle = common + the bend's effect + the key's own. A key that contradicts the others is
/// left out, the farthest first, as long as more than half of them, and at least three, stay. Above one,
/// chi-square over its degrees of freedom widens the uncertainty.
///
/// Fault::content when no key's end play depends on the bend; Fault::geometry as bend_effect.
Expected<BendFromKeys> bend_from_keys(std::span<const KeyWitness> keys, const OwnPlay& own);

/// Two findings of one bend.
struct Comparison {
  double distance = 0;           ///< difference over the joint standard uncertainty, >= 0
  Measured<Curvature> together;  ///< weighted mean; to be used when they do not contradict
  [[nodiscard]] bool contradict() const { return distance > kContradicts; }
};
Comparison compare(Measured<Curvature> read, Measured<Curvature> told);

}  // namespace hingeline::body

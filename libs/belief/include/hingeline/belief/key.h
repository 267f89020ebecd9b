#pragma once
/// \file
/// A key as numbers that each have an uncertainty and an origin, and the figures computed from them.

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/measured.h"
#include "hingeline/contact/profile.h"
#include "hingeline/mechanism/hinge.h"

namespace hingeline::belief {

using mechanism::Side;

enum class HingeKind { pivot, rod };

struct JointGeometry {
  contact::PointForm point;
  contact::HoleForm hole;
  /// Where the point alone would stop the key: signed gap between post face and key end there
  /// (protrusion less home insertion). Below 0 the post's face stops the key first.
  Length stop;
  /// Set while a protrusion is what is known: `stop` then follows from it. Estimates come back with
  /// `stop` worked out and this empty.
  std::optional<Length> protrusion;
};

/// One possible truth about a key.
struct KeyGeometry {
  HingeKind kind = HingeKind::pivot;
  Length span;
  Length key_length;
  JointGeometry upper;
  JointGeometry lower;
  Length rod_diameter;
  Length bore;
  std::optional<mechanism::Pad> pad;

  [[nodiscard]] JointGeometry& at(Side s) { return s == Side::upper ? upper : lower; }
  [[nodiscard]] const JointGeometry& at(Side s) const { return s == Side::upper ? upper : lower; }
};

/// The hinge of that truth. Fault::geometry when its parts cannot be.
Expected<mechanism::Hinge> build_hinge(const KeyGeometry& key);

/// Everything computed about a key that has a unit of length.
enum class Figure {
  end_play,
  gap_upper,  ///< face gap with the key pushed home up
  gap_lower,
  face_gap,    ///< both together
  rock_upper,  ///< rock at the key's ends and at the pad's station
  rock_lower,
  rock_pad,
  side_gap,
  front_gap,
  worst_gap,
  seat_wander,
  home_rock_upper,  ///< rock that stays with the key pushed home there
  home_rock_lower,
  insertion_upper,  ///< of the tip when home
  insertion_lower,
  tip_floor_upper,  ///< from the tip, home, to the floor's edge
  tip_floor_lower
};
inline constexpr std::size_t kFigureCount = 17;
using Figures = std::array<double, kFigureCount>;  ///< mm; NaN where the figure does not apply
/// The figure's name as shown ("end play") and as typed on the command line ("end-play").
const char* word(Figure f);
const char* code(Figure f);
std::optional<Figure> figure_of(const std::string& code);

/// All figures of one truth.
Figures figures_of(const KeyGeometry& key, const mechanism::Hinge& hinge);

/// A number the geometry is made of.
struct Input {
  std::string name;     ///< "upper point half angle"
  std::string pointer;  ///< where it stands in the document; empty when it was assumed
  bool is_angle = false;
  double value = 0;     ///< mm or rad
  double standard = 0;  ///< standard uncertainty, same unit
  Origin origin = Origin::unknown;
  void (*set)(KeyGeometry&, double) = nullptr;
  /// Set where the number is the protrusion of that end's point.
  std::optional<Side> protrusion_of = std::nullopt;
  /// The number lies in value ± √3 standard, anywhere alike: a range, or a reading by leaves.
  bool rectangular = false;
};

/// A reading of something that follows from the geometry.
struct Observation {
  enum class Of { end_play, gap_upper, gap_lower, rock };
  Of of = Of::end_play;
  std::string pointer;
  Length station;  ///< rock only
  Length value;
  Length standard;
  Origin origin = Origin::read;
};

/// "end play", "upper face gap", ...
const char* word(Observation::Of of);

/// What is known about one key.
struct KeyKnowledge {
  KeyGeometry geometry;  ///< all inputs at their values
  std::vector<Input> inputs;
  std::vector<Observation> observations;
};

/// A figure with how sure it is.
struct FigureValue {
  double value = 0;       ///< mm; NaN: does not apply to this key
  double plus_minus = 0;  ///< expanded, k = 2
  double low = 0;         ///< value -+ plus_minus, kept within what the figure can be
  double high = 0;
  bool is_range = false;  ///< an unknown input makes most of the uncertainty: say it as a range
};

/// How one reading sits with everything else.
struct Agreement {
  Observation observation;
  double predicted = 0;     ///< mm, from all else
  double predicted_pm = 0;  ///< k = 2
  double distance = 0;      ///< |read - predicted| over their joint standard uncertainty
  bool used = true;         ///< false: contradicts, was left out
};

/// Beyond this distance a reading is said to contradict the others (3 standard uncertainties).
inline constexpr double kContradicts = 3.0;

struct Estimate {
  KeyGeometry geometry;
  std::array<FigureValue, kFigureCount> figures;
  std::vector<Agreement> agreements;
  /// Standard deviation of every input after the readings, same order as inputs.
  std::vector<double> standard;
  std::vector<double> value;
  [[nodiscard]] const FigureValue& operator[](Figure f) const { return figures[static_cast<std::size_t>(f)]; }
};

/// Fuses parts and readings by their uncertainties: weighted least squares about the exact engine
/// (Gauss-Newton, four steps at most), then the figures at the result with their uncertainty from
/// symmetric steps of one standard deviation along the joint distribution's axes, the larger of the
/// two sides (JCGM 100:2008, 5.1.3 note 2, taken on the safe side at kinks).
///
/// A protrusion is first turned into where its point stops the key, with the uncertainty of the home
/// insertion added: end play and face gaps are straight lines in that, so a reading of them settles
/// them as well as it was read, whatever corners the tapers have. A reading that contradicts the rest
/// by more than kContradicts is left out and reported; a rock reading never moves the geometry.
Expected<Estimate> estimate(const KeyKnowledge& key);

/// How much each input moves each figure for one standard uncertainty of that input as it was given,
/// mm: [input][figure], the larger of both directions, all else fixed at the estimate.
std::vector<Figures> effects(const KeyKnowledge& key, const Estimate& estimate);

}  // namespace hingeline::belief

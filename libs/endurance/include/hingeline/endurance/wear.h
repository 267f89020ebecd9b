#pragma once
/// \file
/// Wear over years of playing: how fast a fit's end play grows, and when it will have left its window.
///
/// Archard: the volume worn off is V = k F s / H, for load F, way slid s and the softer side's hardness H.
/// The coefficient k of one and the same joint differs by decades with metal, oil and dirt, so nothing here
/// is a date: figures that are known by their order of magnitude only are lognormal, and results are ranges.
/// What a key has worn since its last fit sharpens its own figure.
///
/// Sources: Archard, J. Appl. Phys. 24 (1953) 981, from memory; coefficients of pairs of materials come in
/// from the shop's presets.

#include <span>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/moment.h"
#include "hingeline/base/quantity.h"

namespace hingeline::endurance {

/// Seconds in a year, the calendar's mean: 365.2425 days.
inline constexpr double kSecondsPerYear = 365.2425 * 86'400;
constexpr Duration years(double v) { return seconds(v * kSecondsPerYear); }
constexpr double in_years(Duration v) { return v / seconds(kSecondsPerYear); }

// ---- Archard ---------------------------------------------------------------------------------------

/// Tables give k for one of two formulas.
enum class Archard {
  plain,  ///< V = k F s / H
  third   ///< V = k F s / (3 H)
};
/// Worn volume, mm^3. Exact but for rounding.
double worn_volume(double k, Force load, Length slid, Pressure hardness, Archard form = Archard::plain);

/// Two surfaces that turn on each other about one axis: a cone's flank or a flat end face.
struct Rubbing {
  Length mean_radius;  ///< that the way slid is reckoned at
  double area = 0;     ///< that carries, mm^2
  Angle half_angle;    ///< between surface and axis; 90 degrees for a face
};
/// A flank between two radii, of which a share of the round carries. Under even pressure the mean radius is
/// 2/3 (R^3 - r^3)/(R^2 - r^2). Fault::geometry unless 0 <= small < large, 0 < half_angle <= 90 degrees and
/// 0 < share <= 1.
Expected<Rubbing> flank(Length small_radius, Length large_radius, Angle half_angle, double share = 1);
/// A tube's end face on its post: a flank of 90 degrees.
Expected<Rubbing> face(Length inner_radius, Length outer_radius, double share = 1);

/// How far the key gets freer along its hinge line in one closing, from one pair of surfaces, both sides'
/// wear together: worn depth V/area over the sine of the half angle. `swept` is the angle turned through in
/// opening and closing once: twice the key's swing. `load` presses the surfaces together. Even wear over what
/// carries is assumed; where a joint wears on one side first, it is the mean.
Length freer_per_closing(double k, Force load, const Rubbing& rubbing, Angle swept, Pressure hardness,
                         Archard form = Archard::plain);

// ---- figures known by their order of magnitude -----------------------------------------------------

/// ln of the figure is normal.
struct Lognormal {
  double median = 1;  ///< above 0
  double spread = 0;  ///< standard deviation of ln; 0: certain
  /// The value below which a share lies, strictly between 0 and 1.
  [[nodiscard]] double quantile(double share) const;
};
/// The one with `coverage` between low and high, as much left out below as above. Fault::content unless
/// 0 < low <= high, both finite, and 0 < coverage < 1.
Expected<Lognormal> lognormal_within(double low, double high, double coverage = 0.9);
/// Of independent figures.
Lognormal operator*(const Lognormal& a, const Lognormal& b);
Lognormal operator*(const Lognormal& a, double factor);

// ---- what the key itself has shown -----------------------------------------------------------------

/// An end play at a moment, with its standard uncertainty.
struct PlayAt {
  Moment when;
  Length play;
  Length standard;  ///< above 0
};
/// Growth of end play a year, mm, as a series of readings between one fit and the next shows it.
struct Growth {
  Length per_year;
  Length standard;
};
/// The weighted straight line through a series: errors of readings independent of each other, the end play at
/// the start unknown. Fault::content for fewer than two readings, all of one moment, or a standard not above
/// 0.
Expected<Growth> growth_in(std::span<const PlayAt> series);

/// Growth a year after what was seen. ln of the growth is normal beforehand; each series is a reading of
/// that growth with a normal error of its own `standard` and, besides, of `unsteady` times the growth, for
/// playing and oil differ from one time to the next. The posterior is integrated (not linearised: a series
/// may well show a growth below 0) and given as the lognormal with its mean and standard deviation of ln.
/// Where readings are sharp it is the conjugate normal in ln.
///
/// Relative error under 1e-6 of the median. Fault::content for a prior that is not above 0 and finite, a
/// standard not above 0, or an `unsteady` below 0.
Expected<Lognormal> sharpened(const Lognormal& per_year, std::span<const Growth> seen, double unsteady);

// ---- when it is due --------------------------------------------------------------------------------

/// The time until end play has grown from its present value to the window's upper edge:
/// (edge - now) / growth, with the present value normal and the growth lognormal.
class Due {
 public:
  /// `growth_per_year` in mm. Fault::content for a growth whose median is not above 0 and finite or whose
  /// spread is below 0 or above 50, a standard below 0, or lengths that are not finite.
  static Expected<Due> of(Length now, Length standard, Length edge, const Lognormal& growth_per_year);

  /// Chance that the edge has been passed by then; at 0, that it is passed already. Absolute error under
  /// 1e-9.
  [[nodiscard]] double passed_by(Duration when) const;
  /// The time by which the edge has been passed with that chance, strictly between 0 and 1; 0 when it is
  /// passed already with no less. Infinite where it lies beyond 1e12 years.
  [[nodiscard]] Duration by(double chance) const;

 private:
  Due(double room, double standard, const Lognormal& growth)
      : room_(room), standard_(standard), growth_(growth) {}
  double room_;      ///< mm
  double standard_;  ///< mm
  Lognormal growth_;
};

}  // namespace hingeline::endurance

#pragma once
/// \file
/// Oils: grades, how thick they are at a temperature, and what a viscosity index says.
///
/// Sources: ISO 3448 (grades), ASTM D341 (viscosity over temperature, the short form for 2 mm^2/s and more),
/// ASTM D2270 (viscosity index; L and H by the quadratics of its appendix X2, within 0.1 % of its table).
/// None of them knows at what cold an oil stops flowing.

#include <span>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline::movement {

/// Density, grams per millilitre.
struct DensityKind;
using Density = Quantity<DensityKind>;
constexpr Density grams_per_millilitre(double v) { return Density::of(v); }
constexpr double in_grams_per_millilitre(Density v) { return v.raw(); }

/// One grade of ISO 3448: its midpoint at 40 degC; an oil of the grade lies within a tenth of it.
struct OilGrade {
  int number;
  KinematicViscosity midpoint;
};
inline constexpr double kGradeTolerance = 0.1;
/// VG 2 to VG 1500, thinnest first.
std::span<const OilGrade> oil_grades();
/// Fault::not_found for a number that is no grade.
Expected<OilGrade> oil_grade(int number);

/// How thick an oil is over temperature: log10 log10(v + 0.7) = A - B log10 T, v in mm^2/s, T in K.
class OilCurve {
 public:
  /// Through two points. Fault::geometry unless both viscosities are finite and at least 0.4 mm^2/s (what the
  /// short form can say), the temperatures differ, lie above -273.15 degC, and the oil is not thicker when
  /// warmer.
  static Expected<OilCurve> through(Temperature t1, KinematicViscosity v1, Temperature t2,
                                    KinematicViscosity v2);

  [[nodiscard]] double a() const { return a_; }
  [[nodiscard]] double b() const { return b_; }
  /// At temperatures above -273.15 degC; not below 0. Infinite where it is past what a double holds.
  [[nodiscard]] KinematicViscosity at(Temperature t) const;
  /// Below 2 mm^2/s the short form of D341 is past its range.
  [[nodiscard]] bool past_range(Temperature t) const { return at(t) < centistokes(2); }

 private:
  OilCurve(double a, double b) : a_(a), b_(b) {}
  double a_;
  double b_;
};

/// Viscosity index of an oil from its viscosities at 40 and 100 degC (D2270, procedure A up to 100, B above),
/// not rounded. Fault::geometry: v100 below 2 mm^2/s (not defined there), or v40 not above v100.
Expected<double> viscosity_index(KinematicViscosity v40, KinematicViscosity v100);
/// The viscosity at 100 degC that gives this index (the inverse, by root finding: relative error under 1e-10,
/// but for the table's own joins, where the index jumps by less than 0.2).
/// Fault::geometry where none does: the index wanted is out of reach for v40.
Expected<KinematicViscosity> viscosity_at_100(KinematicViscosity v40, double index);

/// L and H of D2270 for a viscosity at 100 degC of 2 mm^2/s or more: what oils of index 0 and 100 with that
/// v100 have at 40 degC.
struct IndexBase {
  double low;   ///< L, mm^2/s
  double high;  ///< H, mm^2/s
};
IndexBase index_base(KinematicViscosity v100);

/// Density at a temperature from that at 15 degC and the thermal expansion by volume, 1/K.
Density density_at(Density at_15, double expansion, Temperature t);
/// Dynamic viscosity.
Viscosity dynamic(KinematicViscosity v, Density density);

}  // namespace hingeline::movement

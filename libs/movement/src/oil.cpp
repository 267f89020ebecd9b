#include "hingeline/movement/oil.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>

namespace hingeline::movement {
namespace {

constexpr double kZeroCelsius = 273.15;
/// Added to a viscosity by the short form of D341.
constexpr double kAdded = 0.7;
/// log10(v + 0.7) must be above 0.
constexpr double kLeastViscosity = 0.4;

// Up to 100: ISO 3448, a public table (VG 2 has 2.2, and so on). Above: from memory; the number is the
// midpoint.
constexpr std::array<OilGrade, 20> kGrades{
    {{2, centistokes(2.2)},     {3, centistokes(3.2)},     {5, centistokes(4.6)},
     {7, centistokes(6.8)},     {10, centistokes(10)},     {15, centistokes(15)},
     {22, centistokes(22)},     {32, centistokes(32)},     {46, centistokes(46)},
     {68, centistokes(68)},     {100, centistokes(100)},   {150, centistokes(150)},
     {220, centistokes(220)},   {320, centistokes(320)},   {460, centistokes(460)},
     {680, centistokes(680)},   {1000, centistokes(1000)}, {1500, centistokes(1500)},
     {2200, centistokes(2200)}, {3200, centistokes(3200)}}};

/// ASTM D2270, table X2.1: L = a Y^2 + b Y + c, H = d Y^2 + e Y + f from `from` up. Two public copies agree.
struct Quadratics {
  double from;
  double a, b, c, d, e, f;
};
constexpr double kLeastAt100 = 2.0;
constexpr std::array<Quadratics, 16> kQuadratics{
    {{2.0, 1.14673, 1.7576, -0.109, 0.84155, 1.5521, -0.077},
     {3.8, 3.38095, -15.4952, 33.196, 0.78571, 1.7929, -0.183},
     {4.4, 2.5000, -7.2143, 13.812, 0.82143, 1.5679, 0.119},
     {5.0, 0.10100, 16.6350, -45.469, 0.04985, 9.1613, -18.557},
     {6.4, 3.35714, -23.5643, 78.466, 0.22619, 7.7369, -16.656},
     {7.0, 0.01191, 21.4750, -72.870, 0.79762, -0.7321, 14.610},
     {7.7, 0.41858, 16.1558, -56.040, 0.05794, 10.5156, -28.240},
     {9.0, 0.88779, 7.5527, -16.600, 0.26665, 6.7015, -10.810},
     {12., 0.76720, 10.7972, -38.180, 0.20073, 8.4658, -22.490},
     {15., 0.97305, 5.3135, -2.200, 0.28889, 5.9741, -4.930},
     {18., 0.97256, 5.2500, -0.980, 0.24504, 7.4160, -16.730},
     {22., 0.91413, 7.4759, -21.820, 0.20323, 9.1267, -34.230},
     {28., 0.87031, 9.7157, -50.770, 0.18411, 10.1015, -46.750},
     {40., 0.84703, 12.6752, -133.310, 0.17029, 11.4866, -80.620},
     {55., 0.85921, 11.1009, -83.190, 0.17130, 11.3680, -76.940},
     {70., 0.83531, 14.6731, -216.246, 0.16841, 11.8493, -96.947}}};

double index_of(double v40, double v100) {
  const IndexBase base = index_base(centistokes(v100));
  if (v40 >= base.high) return 100 * (base.low - v40) / (base.low - base.high);
  const double n = std::log(base.high / v40) / std::log(v100);
  return (std::pow(10, n) - 1) / 0.00715 + 100;
}

}  // namespace

std::span<const OilGrade> oil_grades() { return kGrades; }

Expected<OilGrade> oil_grade(int number) {
  const auto found = std::ranges::find(kGrades, number, &OilGrade::number);
  if (found == kGrades.end()) {
    return fail(Fault::not_found, fmt::format("VG {} is no viscosity grade of ISO 3448", number),
                "one of 2, 3, 5, 7, 10, 15, 22, 32, 46, 68, 100, 150, ...");
  }
  return *found;
}

Expected<OilCurve> OilCurve::through(Temperature t1, KinematicViscosity v1, Temperature t2,
                                     KinematicViscosity v2) {
  for (const KinematicViscosity v : {v1, v2}) {
    if (!is_finite(v) || v.raw() < kLeastViscosity) {
      return fail(Fault::geometry, "an oil's viscosity must be at least 0.4 mm2/s", "as 32 mm2/s at 40 degC");
    }
  }
  for (const Temperature t : {t1, t2}) {
    if (!is_finite(t) || t.raw() <= -kZeroCelsius) {
      return fail(Fault::geometry, "a temperature must lie above -273.15 degC");
    }
  }
  if (t1 == t2) {
    return fail(Fault::geometry, "the two viscosities of an oil are at the same temperature",
                "two temperatures, as 40 and 100 degC");
  }
  if ((t1 < t2) != (v1 > v2)) {
    return fail(Fault::geometry, "the oil would be thicker when warm than when cold",
                "the larger viscosity at the lower temperature");
  }
  const double x1 = std::log10(in_celsius(t1) + kZeroCelsius);
  const double x2 = std::log10(in_celsius(t2) + kZeroCelsius);
  const double y1 = std::log10(std::log10(in_centistokes(v1) + kAdded));
  const double y2 = std::log10(std::log10(in_centistokes(v2) + kAdded));
  const double b = (y1 - y2) / (x2 - x1);
  return OilCurve(y1 + b * x1, b);
}

KinematicViscosity OilCurve::at(Temperature t) const {
  const double y = a_ - b_ * std::log10(in_celsius(t) + kZeroCelsius);
  return centistokes(std::max(0.0, std::pow(10, std::pow(10, y)) - kAdded));
}

IndexBase index_base(KinematicViscosity v100) {
  const double y = in_centistokes(v100);
  auto row = std::upper_bound(kQuadratics.begin() + 1, kQuadratics.end(), y,
                              [](double v, const Quadratics& q) { return v < q.from; });
  --row;
  return {(row->a * y + row->b) * y + row->c, (row->d * y + row->e) * y + row->f};
}

Expected<double> viscosity_index(KinematicViscosity v40, KinematicViscosity v100) {
  if (!is_finite(v100) || in_centistokes(v100) < kLeastAt100) {
    return fail(Fault::geometry, "an oil thinner than 2 mm2/s at 100 degC has no viscosity index",
                "its viscosities at two temperatures instead");
  }
  if (!is_finite(v40) || v40 <= v100) {
    return fail(Fault::geometry, "an oil must be thicker at 40 than at 100 degC");
  }
  return index_of(in_centistokes(v40), in_centistokes(v100));
}

Expected<KinematicViscosity> viscosity_at_100(KinematicViscosity v40, double index) {
  const double v = in_centistokes(v40);
  const auto out_of_reach = [&] {
    return fail(Fault::geometry,
                fmt::format("no oil of {:g} mm2/s at 40 degC has the viscosity index {:g}", v, index),
                "its viscosity at 100 degC instead");
  };
  if (!is_finite(v40) || v <= kLeastAt100 || !std::isfinite(index)) return out_of_reach();
  // The index grows with v100 from some value at 2 mm^2/s.
  const auto off = [&](double v100) { return index_of(v, v100) - index; };
  const double low = kLeastAt100;
  const double high = v;
  if (off(low) > 0 || off(high) < 0) return out_of_reach();
  std::uintmax_t steps = 100;
  const auto [from, to] =
      boost::math::tools::bisect(off, low, high, boost::math::tools::eps_tolerance<double>(44), steps);
  return centistokes((from + to) / 2);
}

Density density_at(Density at_15, double expansion, Temperature t) {
  return at_15 / (1 + expansion * (in_celsius(t) - 15));
}

Viscosity dynamic(KinematicViscosity v, Density density) {
  // mm^2/s times g/ml is mPa s.
  return millipascal_seconds(in_centistokes(v) * in_grams_per_millilitre(density));
}

}  // namespace hingeline::movement

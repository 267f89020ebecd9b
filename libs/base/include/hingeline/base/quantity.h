#pragma once
/// \file
/// Lengths, angles, forces, temperatures and what is made of them as types.
///
/// Inside, a length is a double in millimetres, an angle in radians, a force in newtons, a
/// temperature in degrees Celsius, a temperature step in kelvins, a pressure in pascals, a flow in
/// millilitres a second, a torque in newton millimetres, a stiffness in newtons per millimetre, a
/// viscosity in millipascal seconds (dynamic) or square millimetres a second (kinematic), a
/// mass in grams, an inertia in gram square millimetres, a duration in seconds. No conversion happens
/// except through the named functions here, so inch and millimetre meet only where something is read from
/// or shown to a person.
///
/// Unit sources: inch 25.4 mm exactly, pound-force 4.4482216152605 N exactly, kilogram-force
/// 9.80665 N exactly (GNU units 2.22, after the 1959 yard-and-pound agreement).

#include <cmath>
#include <compare>
#include <numbers>

namespace hingeline {

/// One physical kind of number. `Kind` keeps a length from being added to an angle.
template <class Kind>
class Quantity {
 public:
  constexpr Quantity() = default;
  /// Wraps a number that is already in the kind's inner unit (see file comment).
  static constexpr Quantity of(double inner) { return Quantity(inner); }
  /// The number in the kind's inner unit.
  [[nodiscard]] constexpr double raw() const { return value_; }

  constexpr Quantity operator-() const { return Quantity(-value_); }
  constexpr Quantity& operator+=(Quantity o) {
    value_ += o.value_;
    return *this;
  }
  constexpr Quantity& operator-=(Quantity o) {
    value_ -= o.value_;
    return *this;
  }
  friend constexpr Quantity operator+(Quantity a, Quantity b) { return Quantity(a.value_ + b.value_); }
  friend constexpr Quantity operator-(Quantity a, Quantity b) { return Quantity(a.value_ - b.value_); }
  friend constexpr Quantity operator*(Quantity a, double k) { return Quantity(a.value_ * k); }
  friend constexpr Quantity operator*(double k, Quantity a) { return Quantity(k * a.value_); }
  friend constexpr Quantity operator/(Quantity a, double k) { return Quantity(a.value_ / k); }
  friend constexpr double operator/(Quantity a, Quantity b) { return a.value_ / b.value_; }
  friend constexpr auto operator<=>(Quantity a, Quantity b) = default;

 private:
  constexpr explicit Quantity(double inner) : value_(inner) {}
  double value_ = 0.0;
};

struct LengthKind;
struct AngleKind;
struct ForceKind;
struct TemperatureKind;
struct TemperatureStepKind;
using Length = Quantity<LengthKind>;
using Angle = Quantity<AngleKind>;
using Force = Quantity<ForceKind>;
/// A point on the Celsius scale.
using Temperature = Quantity<TemperatureKind>;
/// A difference of two temperatures, K.
using TemperatureStep = Quantity<TemperatureStepKind>;
struct PressureKind;
struct FlowKind;
struct TorqueKind;
struct StiffnessKind;
struct ViscosityKind;
struct KinematicViscosityKind;
struct MassKind;
struct InertiaKind;
struct DurationKind;
using Pressure = Quantity<PressureKind>;
using Flow = Quantity<FlowKind>;
using Torque = Quantity<TorqueKind>;
using Stiffness = Quantity<StiffnessKind>;
/// Dynamic viscosity.
using Viscosity = Quantity<ViscosityKind>;
using KinematicViscosity = Quantity<KinematicViscosityKind>;
using Mass = Quantity<MassKind>;
/// Moment of inertia about an axis.
using Inertia = Quantity<InertiaKind>;
using Duration = Quantity<DurationKind>;

inline constexpr double kMillimetresPerInch = 25.4;

constexpr Length millimetres(double v) { return Length::of(v); }
constexpr double in_millimetres(Length v) { return v.raw(); }
/// Millimetres of a length given in inches, rounded once.
constexpr Length inches(double v) { return Length::of(v * kMillimetresPerInch); }
constexpr double in_inches(Length v) { return v.raw() / kMillimetresPerInch; }

constexpr Angle radians(double v) { return Angle::of(v); }
constexpr double in_radians(Angle v) { return v.raw(); }
constexpr Angle degrees(double v) { return Angle::of(v * (std::numbers::pi / 180.0)); }
constexpr double in_degrees(Angle v) { return v.raw() * (180.0 / std::numbers::pi); }

constexpr Force newtons(double v) { return Force::of(v); }
constexpr double in_newtons(Force v) { return v.raw(); }

constexpr Temperature celsius(double v) { return Temperature::of(v); }
constexpr double in_celsius(Temperature v) { return v.raw(); }
constexpr TemperatureStep kelvins(double v) { return TemperatureStep::of(v); }
constexpr double in_kelvins(TemperatureStep v) { return v.raw(); }
constexpr TemperatureStep step_between(Temperature from, Temperature to) {
  return TemperatureStep::of(to.raw() - from.raw());
}

constexpr Pressure pascals(double v) { return Pressure::of(v); }
constexpr double in_pascals(Pressure v) { return v.raw(); }
constexpr Flow millilitres_per_second(double v) { return Flow::of(v); }
constexpr double in_millilitres_per_second(Flow v) { return v.raw(); }
constexpr Torque newton_millimetres(double v) { return Torque::of(v); }
constexpr double in_newton_millimetres(Torque v) { return v.raw(); }
constexpr Stiffness newtons_per_millimetre(double v) { return Stiffness::of(v); }
constexpr double in_newtons_per_millimetre(Stiffness v) { return v.raw(); }
constexpr Viscosity millipascal_seconds(double v) { return Viscosity::of(v); }
constexpr double in_millipascal_seconds(Viscosity v) { return v.raw(); }
/// Centistokes, mm^2/s.
constexpr KinematicViscosity centistokes(double v) { return KinematicViscosity::of(v); }
constexpr double in_centistokes(KinematicViscosity v) { return v.raw(); }
constexpr Mass grams(double v) { return Mass::of(v); }
constexpr double in_grams(Mass v) { return v.raw(); }
constexpr Inertia gram_square_millimetres(double v) { return Inertia::of(v); }
constexpr double in_gram_square_millimetres(Inertia v) { return v.raw(); }
constexpr Duration seconds(double v) { return Duration::of(v); }
constexpr double in_seconds(Duration v) { return v.raw(); }

template <class K>
constexpr Quantity<K> abs(Quantity<K> q) {
  return q.raw() < 0 ? -q : q;
}
template <class K>
bool is_finite(Quantity<K> q) {
  return std::isfinite(q.raw());
}
inline double tan(Angle a) { return std::tan(a.raw()); }
inline double sin(Angle a) { return std::sin(a.raw()); }
inline double cos(Angle a) { return std::cos(a.raw()); }

}  // namespace hingeline

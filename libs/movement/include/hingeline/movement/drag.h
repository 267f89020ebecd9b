#pragma once
/// \file
/// What a film of oil in a joint costs in torque, and what it takes out of a knock.
///
/// Torque per angular velocity:
///   journal   2 pi mu r^3 l / c                     thin film, concentric
///   cylinders 4 pi mu l r1^2 r2^2 / (r2^2 - r1^2)   exact, concentric
///   cone      pi mu (r2^4 - r1^4) / (2 h sin a)     h the film normal to the flank, h = c cos a
/// Sources: journal from a vibration textbook, cylinders from a fluids textbook (references of the theory
/// page); the cone is the journal integrated along a flank.
///
/// The film is taken as full and centred, which is the least drag: a journal standing off by a share e of
/// its clearance has 1 / sqrt(1 - e^2) of it. Metal that touches is friction, not drag (action.h). Not
/// counted: the oil between key end and post face, and under the tip.

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"
#include "hingeline/contact/joint.h"

namespace hingeline::movement {

/// Torque per angular velocity, N mm s.
struct DragKind;
using Drag = Quantity<DragKind>;
constexpr Drag newton_millimetre_seconds(double v) { return Drag::of(v); }
constexpr double in_newton_millimetre_seconds(Drag v) { return v.raw(); }

/// Thin film: radius and length > 0, clearance > 0, viscosity >= 0. Fault::geometry otherwise; for a
/// clearance of 0 or below it says that the joint is dry or binds.
Expected<Drag> journal_drag(Viscosity mu, Length radius, Length length, Length clearance);
/// Exact for concentric cylinders, without end effects: rod radius and tube radius.
Expected<Drag> rod_drag(Viscosity mu, Length rod_radius, Length bore_radius, Length length);
/// A cone's flank from the smaller radius (>= 0) to the larger, half angle a in (0, 90 degrees), film normal
/// to the flank > 0.
Expected<Drag> cone_drag(Viscosity mu, Length small_radius, Length large_radius, Angle half_angle,
                         Length film);

/// A joint as a film: drag and shape at one insertion.
struct Film {
  double drag_per_viscosity = 0;  ///< mm^3: drag in N mm s = this x mu in mPa s x 1e-9
  Length clearance;               ///< least radial clearance
  Length radius;                  ///< mean, of the part that carries film
  Length length;                  ///< of that part along the axis
  Length thickness;               ///< least film, normal to the surfaces: clearance x cos a
  /// Film over radius. The thin-film formula is off by about half of it; 0.1 is the limit that is said.
  [[nodiscard]] double thinness() const { return thickness / radius; }
};
inline constexpr double kThinFilmLimit = 0.1;
Drag drag(const Film& film, Viscosity mu);

/// A point in its hole at this insertion, both as straight pieces: 2 pi integral of r^3 / (c cos^2 a) along
/// the overlap, r the mean of both radii, c the radial gap, a the mean slope of both walls. Any shape of
/// cone, straight hole or bell; pieces that face along the axis (steps, floors) do not count. Relative error
/// of the integral under 1e-10. Fault::geometry where point and hole touch or overlap (dry or binds), where
/// nothing is inside, or for a rod's joint, which has no profiles.
Expected<Film> joint_film(const contact::Joint& joint, Length insertion);
/// A rod through its tube. Fault::geometry for no clearance.
Expected<Film> rod_film(Length rod_diameter, Length bore, Length length);

/// Taylor number omega^2 r c^3 / nu^2: the flow is plain (laminar, without vortices) below 1700 (G. I.
/// Taylor 1923, from memory).
double taylor_number(const Film& film, double radians_per_second, KinematicViscosity v);
inline constexpr double kTaylorLimit = 1700;

/// Squeeze damping across the axis of a full centred film, N s / mm: 12 pi mu r^3 l / c^3 of a long journal
/// times 1 - tanh(q) / q, q = l / (2 r), for its open ends; for short ones pi mu r l^3 / c^3. From memory.
struct SqueezeKind;
using Squeeze = Quantity<SqueezeKind>;
constexpr double in_newton_seconds_per_millimetre(Squeeze v) { return v.raw(); }
Squeeze squeeze(const Film& film, Viscosity mu);
/// How far a mass thrown across a joint at this speed (mm/s) gets before the film has stopped it, with the
/// damping it has when centred: m v / C. Infinite without a film.
Length stopping_distance(Mass mass, double millimetres_per_second, Squeeze squeeze);

}  // namespace hingeline::movement

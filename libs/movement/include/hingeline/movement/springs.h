#pragma once
/// \file
/// Key springs as cantilevers: force, stress, how far that can be believed, and which wire to choose.
///
/// Needle: a round bar of diameter d, F = 3 E I delta / L^3 with I = pi d^4 / 64, stress at the post
/// 32 F L / (pi d^3). Flat: a strip b wide and t thick at its foot, delta = k F L^3 / (E b t^3) with k = 4
/// (rectangular), 5.22 (tapered), 6 (triangular), stress 6 F L / (b t^2). Sources: the cantilever of any
/// machine-design text; Machinery's Handbook, 27th ed., for the flat springs. A strip whose width falls
/// evenly to 0.21 of its foot has 5.22.
///
/// Both are for small deflections. `Bow` is the exact shape (the elastica) of a bar of one section, so what
/// the small-deflection figures are off by is known; past kSmallSlope they are said to be past their limit.

#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline::movement {

constexpr Pressure megapascals(double v) { return pascals(v * 1e6); }
constexpr double in_megapascals(Pressure v) { return in_pascals(v) / 1e6; }
constexpr Pressure gigapascals(double v) { return pascals(v * 1e9); }
constexpr double in_gigapascals(Pressure v) { return in_pascals(v) / 1e9; }

enum class SpringKind { needle, flat };
enum class FlatShape { rectangular, tapered, triangular };
/// "needle", "flat".
const char* word(SpringKind kind);
/// "rectangular", "tapered", "triangular".
const char* word(FlatShape shape);

/// A spring by its measures, all > 0. Fields its kind does not use are ignored.
struct Spring {
  SpringKind kind = SpringKind::needle;
  Length diameter;   ///< needle
  Length width;      ///< flat: at the foot
  Length thickness;  ///< flat
  FlatShape shape = FlatShape::rectangular;
  Length length;  ///< free: from the post or screw to where it pushes
  Pressure modulus;
};

/// Slope of the spring's end beyond which the small-deflection figures are past their limit. There a
/// bar of one section gives 6 % more force than the formula says and 2.4 % more stress.
inline constexpr Angle kSmallSlope = degrees(20);

/// Force per deflection. Fault::geometry for a measure that is not above 0 or not finite.
Expected<Stiffness> stiffness(const Spring& spring);

/// The exact shape of a bar of one section bent by a force across it, the force keeping its direction and
/// the bar its length: what to multiply the small-deflection figures at the same deflection by.
struct Bow {
  double force = 1;   ///< exact force / formula's
  double stress = 1;  ///< exact stress at the root / formula's
  Angle slope;        ///< of the end, exact
};
/// Deflection over length from 0 to 0.837; more (an end slope beyond 85 degrees) is Fault::geometry.
/// Relative error of the three under 1e-12. Source: Bisshopp and Drucker, Quart. Appl. Math. 3 (1945) 272.
Expected<Bow> exact_bow(double deflection_over_length);

/// A spring bent by so much.
struct Bent {
  Force force;      ///< small-deflection formula
  Pressure stress;  ///< at the foot, small-deflection formula
  Bow exact;        ///< for a tapered or triangular strip: that of a bar of one section, as a measure of size
  bool past_limit = false;  ///< the slope is beyond kSmallSlope
};
/// Fault::geometry for wrong measures, a deflection below 0 or one that no cantilever of this length reaches.
/// No deflection: no force.
Expected<Pressure> stress(const Spring& spring, Length deflection);  ///< at the foot alone: much quicker
Expected<Bent> bend(const Spring& spring, Length deflection);

// ---- wire ------------------------------------------------------------------------------------------

struct WireStrength {
  Pressure least;  ///< what may be counted on
  Pressure most;
  bool in_table = true;  ///< false: beyond the table, by A / d^m +- 10 %
};
/// Tensile strength of music wire. Within 0.004 to 0.032 in by the least and most of ASTM A228, straight in
/// ln d between rows; beyond, by strength_by_formula less and plus a tenth, and says so.
/// Fault::geometry for a diameter not above 0 or not finite.
Expected<WireStrength> music_wire_strength(Length diameter);
/// Sut = A / d^m, A = 201 kpsi in^m, m = 0.145 (a machine-design text): within 2 % of A228's least at
/// 0.010 in. Diameter > 0.
Pressure strength_by_formula(Length diameter);

/// Music wire gauge sizes, thinnest first: 6/0 (0.004 in) to 20 (0.045 in).
struct Gauge {
  std::string_view name;
  Length diameter;
};
std::span<const Gauge> music_wire_gauges();
/// The gauge a wire has, if it lies within A228's diameter tolerance of one (0.0002 in to 0.010 in, 0.0003 in
/// above), else nothing.
std::optional<Gauge> gauge_of(Length diameter);

// ---- which wire --------------------------------------------------------------------------------------

/// What a new needle spring must do: everything but its diameter.
struct WireWish {
  Length length;                     ///< free, > 0
  Length works_at;                   ///< from the hinge axis to where it pushes, > 0
  Length touch_arm;                  ///< from the hinge axis to where the finger presses, > 0
  Angle swing;                       ///< of the key, rest to pressed, > 0
  Force touch;                       ///< wanted at the touch, at rest, from the spring alone, >= 0
  double share = 1;                  ///< of the wire's strength that may be used, (0, 1]
  Pressure modulus;                  ///< > 0
  std::optional<Pressure> strength;  ///< of the material; absent: music wire, by its diameter
};
enum class WireFit {
  fits,
  too_much_stress,  ///< over the allowed share with the key pressed
  bends_too_far     ///< past kSmallSlope with the key pressed
};
/// One size bent to give the wanted touch at rest.
struct WireOption {
  Length diameter;
  Length set;            ///< deflection at rest
  Force spring_at_rest;  ///< at the spring's end
  Force touch_at_rest;
  Force touch_pressed;
  Pressure stress_pressed;
  double share = 0;  ///< of its strength used, with the key pressed
  Angle slope;       ///< of its end, with the key pressed; 90 degrees where no cantilever bends so far
  WireFit fit = WireFit::fits;
};
struct WireChoice {
  std::vector<WireOption> options;  ///< one for each size, in the order given
  std::optional<std::size_t> best;  ///< index of the best that fits; none fits: absent
};
/// Every size of the list, each with the set that gives the wanted touch at rest. The best is the thinnest
/// that fits: its force rises least from rest to pressed. Forces and stress by the small-deflection formula.
/// Fault::geometry for a wish or a size out of its range; an empty list has no options and no best.
Expected<WireChoice> choose_wire(const WireWish& wish, std::span<const Length> sizes);

}  // namespace hingeline::movement

#pragma once
/// \file
/// What a gap between pad and tone hole costs in air.
///
/// A pad that does not lie flat leaves a gap h(psi) round the rim of its tone hole. Air leaves through the
/// slit between the rim's land and the pad: by h^3 dp / (12 mu w) per length of rim while its friction rules
/// (plane Poiseuille flow), by no more than an orifice of the gap's area where its inertia does. Both are
/// given, and what the two in series let through.
///
/// **Where it holds.** Land small beside the tone hole, gap small beside the land, flow laminar: Leak says
/// how near its own flow comes to each limit. Air counts as incompressible (wrong by dp over the ambient
/// pressure, 2 % at 2 kPa). Pads, leather and cork are taken as air-tight.

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline::seal {

// ---- air -------------------------------------------------------------------------------------------

/// Viscosity of air by Sutherland's formula, 1.458e-6 T^1.5 / (T + 110.4) Pa s with T in K (US Standard
/// Atmosphere 1976). Tables differ from it by up to 1 %; stated there for -173 to 1627 degC. Below absolute
/// zero: NaN.
Viscosity air_viscosity(Temperature air);
/// Density of dry air, kg/m^3, as an ideal gas with 287.05287 J/(kg K) (US Standard Atmosphere 1976). Air
/// full of water vapour is up to 1 % lighter at 25 degC.
double air_density(Temperature air, Pressure ambient);

/// One standard atmosphere.
inline constexpr Pressure kStandardPressure = pascals(101325);

/// What a leak is told for.
struct Conditions {
  Pressure over = pascals(2000);         ///< inside over outside, >= 0
  Temperature air = celsius(20);         ///< of the air in the slit
  Pressure ambient = kStandardPressure;  ///< > 0
  /// Discharge coefficient of a sharp edge, 0 < Cd <= 1: what passes of density-free flow through its area.
  double discharge = 0.61;
};

// ---- openings --------------------------------------------------------------------------------------

/// A gap round the rim: level + swing cos(psi). Below 0 there is contact.
struct Wedge {
  Length level;  ///< mean round the rim
  Length swing;  ///< >= 0: half of the difference between the widest and the narrowest place

  [[nodiscard]] Length widest() const { return level + swing; }
  [[nodiscard]] Length narrowest() const { return level - swing; }
};
/// The wedge of a pad that touches one side of the rim and is open by `side` along the hinge line and `front`
/// across it (mechanism::PadPlay): 0 to the root of the sum of their squares.
Wedge wedge_of(Length side, Length front);
/// What is left when the pad gives by that much everywhere.
inline Wedge less(const Wedge& gap, Length take_up) { return {gap.level - take_up, gap.swing}; }

/// Mean round the rim of the cube of the positive part, mm^3: 5/16 h^3 for a wedge from 0 to h. Closed form,
/// relative error at most kMeanCubeWorstError.
double mean_cube(const Wedge& gap);
inline constexpr double kMeanCubeWorstError = 4e-12;
/// Area between pad and rim, mm^2: mean of the positive part x circumference.
double open_area(const Wedge& gap, Length tone_hole);
/// Share of the rim where the gap is open, 0 to 1.
double open_share(const Wedge& gap);

/// The rim of a tone hole.
struct Rim {
  Length tone_hole;  ///< its diameter, > 0
  Length land;       ///< how wide the rim is that the pad lies on, > 0
};
/// Land of a straight slit as long as the inner rim that resists as the ring does, in which the slit widens
/// outwards: (D / 2) ln(1 + 2 w / D). Exact for an even gap.
Length straight_land(const Rim& rim);

// ---- flows -----------------------------------------------------------------------------------------

/// Plane Poiseuille flow through a straight slit.
Flow slit_flow(Length width, Length gap, Length land, Pressure over, Viscosity viscosity);
/// Through a sharp-edged opening: Cd A sqrt(2 dp / rho). Area in mm^2, density in kg/m^3.
Flow orifice_flow(double area, Pressure over, double density, double discharge);
/// Diameter of the round sharp-edged hole that lets as much through.
Length as_hole(Flow flow, const Conditions& conditions);

/// Which resistance rules the flow.
enum class Rules {
  nothing,  ///< there is no flow
  slit,     ///< friction in the slit: less than kMostEntryShare of the pressure is lost at its ends
  both,     ///< neither alone
  orifice   ///< the ends: more than 1 - kMostEntryShare of it
};
/// "no flow", "friction", "friction and inertia", "inertia".
const char* word(Rules rules);
inline constexpr double kMostEntryShare = 0.1;
/// Reynolds number of flow between plates, by gap and mean speed, from which it may turn turbulent (from
/// memory: about 1000 by centre speed and half gap, 1.33 times that here).
inline constexpr double kLaminarReynolds = 1300;

struct Leak {
  Flow flow;              ///< both resistances in series: never above `slit` nor `orifice`
  Flow slit;              ///< by the slit formula alone
  Flow orifice;           ///< by the area alone
  Length hole;            ///< as_hole(flow)
  Length widest;          ///< gap at its widest
  double open_share = 0;  ///< of the rim, 0 to 1
  double reynolds = 0;    ///< at the widest place, by gap and mean speed there
  /// Share of the pressure that is lost at the slit's ends and not to friction, at the widest place: how far
  /// off the slit formula is there.
  double entry_share = 0;
  Rules rules = Rules::nothing;
};
/// Worst relative error of `flow`; `slit` and `orifice` are closed forms.
inline constexpr double kSeriesWorstError = 1e-5;

/// Leak of one wedge. Fault::geometry when rim or conditions cannot be.
Expected<Leak> leak(const Wedge& gap, const Rim& rim, const Conditions& conditions);
/// The same of gaps read at equal steps round the rim, straight between: at least 3; below 0 is contact.
Expected<Leak> leak(std::span<const Length> gaps, const Rim& rim, const Conditions& conditions);

// ---- a leak that was measured ----------------------------------------------------------------------

/// Leakage of a closed body by the fall of its pressure: V / (p_ambient t) ln(p_from / p_to), as a flow at
/// `conditions.over`. For a leak in proportion to pressure (a slit), walls that do not give, and air that
/// keeps its temperature.
struct Decay {
  Pressure from;
  Pressure to;
  Duration time;
  double volume;  ///< of the closed body, mL
};
/// Fault::geometry unless from > to > 0, time > 0 and volume > 0.
Expected<Flow> flow_of(const Decay& decay, const Conditions& conditions);

/// What is thought of the take-up that all pads share, as shares on an even grid.
struct TakeUp {
  std::vector<Length> at;
  std::vector<double> share;  ///< they sum to 1
  [[nodiscard]] Length mean() const;
  [[nodiscard]] Length standard() const;
  /// Below which a share lies.
  [[nodiscard]] Length quantile(double share_below) const;
};

/// One tone hole that takes part in the sum.
struct Opening {
  Wedge gap;  ///< before take-up
  Rim rim;
  Length own;  ///< take-up of this pad beyond the shared one (below 0: less)
};
/// Flow of all openings with the shared take-up.
Expected<Flow> flow_of_all(std::span<const Opening> openings, Length take_up, const Conditions& conditions);

/// A measured leak of all openings together.
struct FlowReading {
  Flow flow;
  Flow standard;  ///< standard uncertainty of the reading, > 0
  /// Standard uncertainty of the sum for a given take-up, as a share of it, >= 0.
  double model = 0;
};
struct Weighed {
  TakeUp prior;
  TakeUp posterior;
  Flow expected_before;  ///< mean of the sum over the prior
  Flow expected_after;
  Flow most;  ///< the sum with no take-up at all
  /// How much of the reading even pads without any take-up do not explain; 0 when they do.
  Flow unexplained;
};
/// Points of the grid.
inline constexpr std::size_t kTakeUpPoints = 401;
/// The reading weighs a shared take-up that was thought to be `mean` with standard uncertainty `standard`,
/// never below 0 or above `most`: Bayes on a grid of kTakeUpPoints. With doubled points mean and standard
/// move by less than 1e-3 of `most`.
Expected<Weighed> weigh(std::span<const Opening> openings, const FlowReading& reading, Length mean,
                        Length standard, Length most, const Conditions& conditions);

}  // namespace hingeline::seal

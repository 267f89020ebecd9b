#pragma once
/// \file
/// Warmth and moisture: how a key's end play changes from the bench to where the instrument is played, and
/// how tight it may be at the bench so that it holds there.
///
/// Source: linear expansion, dL = alpha L dT; body and key pull against each other, so end play grows by
/// (alpha_body - alpha_key) S dT. Worked: 200 mm, 15 K, brass 19.9 on steel 11.5 (1e-6/K): 25.20 um. Wood
/// moves along the grain with moisture in the same way, by far less than across it; the hinge lines of a
/// woodwind run along the grain.

#include <optional>

#include "hingeline/base/measured.h"
#include "hingeline/base/quantity.h"

namespace hingeline::body {

/// How far one material moves.
struct Growth {
  Measured<double> expansion;  ///< 1/K along the hinge line
  Measured<double> moisture;   ///< strain per percent of moisture content along it; 0: does not move
};

/// Change of end play over a step of temperature. The one formula: window and season both use it. The key
/// is taken to be as long as the span: for a face gap G that leaves out alpha_key G dT, under 0.1 um for gaps
/// to 0.3 mm, 20e-6/K and 15 K.
constexpr Length end_play_change(double body_expansion, double key_expansion, Length span,
                                 TemperatureStep step) {
  return span * ((body_expansion - key_expansion) * step.raw());
}

/// Where it is played, against the bench.
struct Service {
  Measured<Temperature> bench;
  Temperature coldest;
  Temperature warmest;
  double drier = 0;   ///< points of moisture content below the bench's, >= 0
  double wetter = 0;  ///< above it, >= 0
};

/// One hinge.
struct HingeLine {
  Measured<Length> span;
  Growth body;
  Growth key;
  /// What was said of this body instead of a coefficient: how far it shortens between two posts as it
  /// dries.
  std::optional<Measured<Length>> dries_by;
};

/// The air a figure holds for.
enum class Warmth { coldest, bench, warmest };
enum class Moisture { driest, bench, wettest };
struct Air {
  Warmth warmth = Warmth::bench;
  Moisture moisture = Moisture::bench;
  friend bool operator==(const Air&, const Air&) = default;
};

/// Change of end play from the bench to that air.
Measured<Length> change_to(const HingeLine& line, const Service& service, Air air);

struct SeasonPlay {
  Measured<Length> coldest;  ///< end play at the bench's moisture
  Measured<Length> bench;
  Measured<Length> warmest;
  Measured<Length> least;  ///< over all airs of the service
  Measured<Length> most;
  Air least_in;
  Air most_in;
};
SeasonPlay season_play(Measured<Length> end_play, const HingeLine& line, const Service& service);

/// How sure one can be that something happens.
enum class Sure { no, perhaps, yes };
/// Below `floor` / above `ceiling`: yes or no when the whole expanded interval says so.
Sure below(Measured<Length> value, Length floor);
Sure above(Measured<Length> value, Length ceiling);

/// The window at the bench such that end play stays within [least, most] in every air of the service.
struct BenchWindow {
  Length low;
  Length high;
  Length low_part;   ///< by how much the least wanted moved up
  Length high_part;  ///< by how much the most allowed moved down
  [[nodiscard]] bool crossed() const { return low > high; }
};
BenchWindow bench_window(Length least, Length most, const HingeLine& line, const Service& service);

}  // namespace hingeline::body

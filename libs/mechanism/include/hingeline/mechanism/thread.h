#pragma once
/// \file
/// A screw's thread: what its designation means, how far a turn moves it, how much thread it takes
/// to carry it.
///
/// Sources: basic profile ISO 68-1 / ISO 724 (metric), ASME B1.1 (inch); engagement
/// FED-STD-H28/2B. Both profiles are 60 degree threads. Sizes are the basic ones; a made screw lies
/// under them by its tolerance class, so give ThreadLimits what was measured or tabled where it
/// matters. Error: the formulas' constants carry six digits, so a diameter is within 1e-6 of the
/// pitch of the standard's exact profile.

#include <string>
#include <string_view>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"

namespace hingeline::mechanism {

struct AreaKind;
/// An area, mm2.
using Area = Quantity<AreaKind>;

enum class ThreadSystem {
  metric,  ///< ISO 68-1: "M2.5x0.45"
  inch,    ///< ASME B1.1: "2-56"
  own      ///< given by pitch and major diameter alone; reckoned by ISO 68-1
};

/// Which way a screw is turned, looking at its head.
enum class Turn { clockwise, anticlockwise };
/// "clockwise" or "anticlockwise".
const char* word(Turn turn);

struct Thread {
  ThreadSystem system = ThreadSystem::own;
  Length major;  ///< basic major diameter, D or d
  Length pitch;  ///< advance per turn (single start)
  bool left_hand = false;
};

/// Reads "M2.5x0.45", "M2.5" (coarse pitch), "2-56", "#0-80", each with "LH" behind it for a left-hand
/// thread. Case, spaces, a decimal comma and the multiplication sign do not matter.
/// Inch numbers 0 to 12 (major 0.060 in + 0.013 in each); metric majors above 0 up to 24 mm.
/// Fault::syntax for any other text, Fault::geometry for a pitch too coarse for its diameter.
Expected<Thread> parse_thread(std::string_view text);
/// A thread that has no designation. Both above 0, the pitch less than half the major diameter;
/// otherwise Fault::geometry.
Expected<Thread> make_thread(Length pitch, Length major, bool left_hand = false);
/// The designation that parse_thread reads back: "M2.5x0.45", "2-56"; for an own thread pitch and
/// major diameter in millimetres.
std::string designation(const Thread& thread);

/// Diameters of the basic profile.
struct BasicProfile {
  Length pitch_diameter;  ///< d2 = E = d - 0.649519 P
  Length minor_internal;  ///< D1 = K = d - 1.082532 P
  Length minor_external;  ///< metric d3 = d - 1.226869 P; inch, rounded root: d - 1.190786 P
  Area stress_area;       ///< metric (pi/4) ((d2 + d3)/2)^2; inch (pi/4) (D - 0.9743 P)^2
};
BasicProfile basic_profile(const Thread& thread);

/// How far the point goes in for so many turns the way it is tightened.
Length advance(const Thread& thread, double turns);
/// Turns for so much axial advance; negative: turns out.
double turns_for(const Thread& thread, Length axial);
/// Which way the screw is turned to go in.
Turn turn_in(const Thread& thread);
/// Which way the screw is turned to come out.
Turn turn_out(const Thread& thread);

/// What decides how strongly two threads hold each other.
struct ThreadLimits {
  Length pitch;
  Length external_major_min;  ///< Ds,min
  Length external_pitch_min;  ///< Es,min
  Length internal_pitch_max;  ///< En,max
  Length internal_minor_max;  ///< Kn,max
  Area stress_area;           ///< At of the screw
};
/// The basic sizes as limits: no tolerance on either part, so the areas are the most there can be.
ThreadLimits basic_limits(const Thread& thread);

/// Area that would have to shear to strip the screw's thread over a length of engagement:
/// As = pi n Le Kn,max [1/(2n) + 0.57735 (Es,min - Kn,max)], n = 1/pitch. Never negative.
Area external_shear_area(const ThreadLimits& limits, Length engagement);
/// The same for the post's thread: An = pi n Le Ds,min [1/(2n) + 0.57735 (Ds,min - En,max)].
Area internal_shear_area(const ThreadLimits& limits, Length engagement);
/// Engagement at which a screw would break before its thread strips, both of equal material:
/// Le = 2 At / (pi Kn,max [1/2 + 0.57735 n (Es,min - Kn,max)]). Infinite when the threads do not
/// reach each other.
Length engagement_for_strength(const ThreadLimits& limits);

}  // namespace hingeline::mechanism

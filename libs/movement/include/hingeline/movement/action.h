#pragma once
/// \file
/// How a key moves when it is let go: from pressed back to rest, on its spring, against oil, friction and
/// its own weight.
///
/// x is the angle it has come back from pressed, 0 to the swing X, where it meets its stop:
///   J x'' + B x' = M0 - k x,   x = x' = 0 at t = 0.
/// M0 is the moment at pressed, spring less friction less weight, and k how fast it falls off: both springs
/// are straight lines, and friction in the joints goes with the spring's force, so this is linear and solved
/// in closed form; "returns" means x reaches X. A pad's stickiness, linked keys and a bounce at the stop are
/// not in it.
///
/// `rest` is where the spring holds the key: open for a key that stands open, closed for one that stands
/// closed. The return is always from pressed to rest.

#include <optional>
#include <span>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"
#include "hingeline/movement/drag.h"
#include "hingeline/movement/oil.h"

namespace hingeline::movement {

/// Moment per angle, N mm per radian.
struct TurnRateKind;
using TurnRate = Quantity<TurnRateKind>;
constexpr TurnRate newton_millimetres_per_radian(double v) { return TurnRate::of(v); }
constexpr double in_newton_millimetres_per_radian(TurnRate v) { return v.raw(); }

struct Motion {
  Inertia inertia;  ///< J > 0
  Drag drag;        ///< B >= 0; infinite where the joint binds
  Torque moment;    ///< M0, any sign
  TurnRate rate;    ///< k, any sign
  Angle swing;      ///< X > 0
};

enum class ReturnKind {
  returns,
  stops_short,  ///< comes to rest, or creeps for ever, before its stop
  stays,        ///< does not start
};
struct Return {
  ReturnKind kind = ReturnKind::stays;
  Duration time;             ///< when it returns; infinite otherwise
  double speed = 0;          ///< rad/s at the stop; 0 otherwise
  Angle reached;             ///< how far it comes: the swing when it returns
  double damping_ratio = 0;  ///< B / (2 sqrt(J k)); infinite for k <= 0
};
/// Relative error of time and speed under 1e-10, where time does not hang on the last digits of the stop
/// (a key that only just gets there). Fault::geometry for a motion out of its range.
Expected<Return> come_back(const Motion& motion);
/// Its damping ratio alone, without the way back.
Expected<double> damping_ratio(const Motion& motion);
/// Angle and angular velocity at a time, without a stop; t >= 0, finite. Same range, the drag finite.
struct Swing {
  Angle angle;
  double speed;  ///< rad/s
};
Expected<Swing> swing_at(const Motion& motion, Duration t);

/// The drag at which this motion (its own drag is not looked at) takes just this long; absent when it takes
/// longer without any drag, or does not return. Relative error under 1e-9. time > 0.
Expected<std::optional<Drag>> most_drag(const Motion& motion, Duration time);

// ---- what a key's motion is made of --------------------------------------------------------------------

/// What pushes and holds a key. All finite; lengths and rates >= 0.
struct Forces {
  Stiffness spring;     ///< of the spring's end
  Length set;           ///< its deflection at rest
  Length works_at;      ///< from the hinge axis to where it pushes, > 0
  Angle swing;          ///< > 0
  double friction = 0;  ///< coefficient in the joints, >= 0
  Length joint_radius;  ///< mean radius at which the joints rub
  Torque weight;        ///< of the key about its axis, against the spring when above 0
};
struct Moments {
  Torque at_rest;     ///< of the spring
  Torque at_pressed;  ///< of the spring
  Torque friction_at_rest;
  Torque friction_at_pressed;
};
Moments moments(const Forces& forces);
/// The motion these forces give a key with this inertia and drag.
Motion motion_of(const Forces& forces, Inertia inertia, Drag drag);

/// What a finger feels.
struct TouchWeight {
  Force to_start;  ///< to leave rest: spring, friction and weight
  Force to_hold;   ///< to hold it pressed: spring and weight, friction helping neither way
};
/// `arm` from the hinge axis to where the finger presses, > 0.
Expected<TouchWeight> touch_weight(const Forces& forces, Length arm);

/// A key by its parts, for one that was never weighed: cup with pad as a disc on the end of its arm, arm and
/// touch as bars from the axis. The tube's own inertia is left out. A guess: within +- 60 %, say.
struct KeyParts {
  Length cup_diameter;    ///< >= 0
  Length arm;             ///< hinge axis to pad centre, >= 0
  Length touch_arm;       ///< >= 0
  double cup_weight = 0;  ///< g/mm^2 of cup and pad together
  double bar_weight = 0;  ///< g/mm of arm
};
struct Guess {
  Mass mass;
  Inertia inertia;
};
Guess guess_inertia(const KeyParts& parts);
/// The most a key's weight can turn it, whichever way the instrument is held: its centre of gravity is never
/// farther from the axis than its radius of gyration, so m g sqrt(J / m) holds for every shape.
Torque most_weight_moment(Mass mass, Inertia inertia);

// ---- which oil ---------------------------------------------------------------------------------------

/// Oils in the order given; absent when none returns in time.
/// The thickest at `cold` of those with which the motion takes `limit` at most. `film` is the sum over the
/// key's joints of Film::drag_per_viscosity.
struct OilAtCold {
  Viscosity viscosity;
};
Expected<std::optional<std::size_t>> thickest_oil(const Motion& dry_motion, double drag_per_viscosity,
                                                  std::span<const OilAtCold> oils, Duration limit);

}  // namespace hingeline::movement

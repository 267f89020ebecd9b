#pragma once
/// \file
/// One possible key with its causes: what it would show on the bench. mm and rad throughout.

#include <array>

#include "hingeline/belief/cause.h"
#include "hingeline/belief/inquiry.h"
#include "hingeline/contact/joint.h"

namespace hingeline::belief {

/// A joint with what the inquiry asks of it.
struct JointFacts {
  explicit JointFacts(contact::Joint j);
  contact::Joint joint;
  double home = 0;            ///< insertion, home
  double home_clearance = 0;  ///< radial, left when home
  contact::Regime regime = contact::Regime::none;
  double flank_share = 0;  ///< of the insertion, that touches
  double taper = 0;        ///< tangent of the point's half angle; 0 where play along takes none across
  double bell_share = 0;   ///< of the insertion, that is worn bell-mouthed
  bool straight = false;
  /// A key pulled back from home by no more than `pulled` has a clearance of `home_clearance` and `widening`
  /// for each mm: the curve's piece next to home. 0 where that was not looked at.
  double pulled = 0;
  double widening = 0;

  /// Looks at the piece next to home: for joints of which many are asked.
  void look_next_to_home();

  /// End play that a tilt of the key in this joint eats, mm for each radian: home / sin 2a for small tilts
  /// (docs/theory/body.md), with the half angle a by its tangent.
  [[nodiscard]] double per_lean() const { return taper > 0 ? home * (1 + taper * taper) / (2 * taper) : 0; }
};

/// How badly each cause has it; 0 for causes that the key does not have.
struct Sizes {
  double screw_off = 0;
  double slop = 0;
  double post = 0;
  double bow = 0;
  double runout = 0;
  double bore_wear = 0;
  double oval = 0;
  double drag = 0;
  double climate = 0;
  double residual_lean = 0;
  double residual_runout = 0;
  double line_offset = 0;
};

struct Condition {
  Causes causes;
  std::array<Causes, 2> at;  ///< the causes of one end, by end
  Sizes sizes;
  std::array<int, 2> joint{};  ///< index of each end's joint; not used by a rod
};

/// What is the same for all conditions of a key.
struct Ground {
  HingeKind kind = HingeKind::pivot;
  double span = 0;
  double key_length = 0;
  std::array<double, 2> gap{};  ///< face gaps, the key in the middle of its play
  double pad_share = 0.5;       ///< place of the pad along the key, 0 to 1
  double bore_clearance = 0;    ///< rod: radial, as made
  std::array<int, 2> sound_joint{};
  CausePresets presets;
};

/// What the bench would meet.
struct Bench {
  double best = 0;      ///< end play that is left at the key's easiest place, below 0: it binds there
  double worst = 0;     ///< and at its worst
  double end_play = 0;  ///< as read along the line
  std::array<double, 2> home_rock{};
  std::array<double, 2> stand_off{};
  std::array<double, 2> slop{};
  std::array<double, 2> post{};
  double bow = 0;
  double runout = 0;
  double bore = 0;
  double drag = 0;
  double climate = 0;
  bool slack = false;  ///< any screw off
  std::array<int, 2> joint{};
  std::array<double, 2> oval{};
};

/// What a bent body does to a line: `added` to the distance of its posts, and either post leans by `lean`,
/// rad.
struct Bend {
  double added = 0;
  double lean = 0;
};
Bend bend_of(const Sizes& sizes, const Ground& ground);

/// What the causes still there add to the end play the parts are made for, less what leaning posts and a bent
/// tube eat of it: {at the easiest place, at the worst}.
std::array<double, 2> added_play(const Condition& c, Causes cured, const Ground& ground,
                                 const std::vector<JointFacts>& joints);

/// `cured`: causes that were dealt with. `fit`: the end play the parts are made for.
Bench bench_of(const Condition& c, Causes cured, double fit, const Ground& ground,
               const std::vector<JointFacts>& joints);

/// Chances of the words of a check.
std::array<double, 3> choice_chances(Check check, const Bench& bench, const Ground& ground,
                                     const std::vector<JointFacts>& joints);
/// What a reading would be but for its noise. The rock at the pad takes far longer than all the rest.
double reading_middle(Check check, const Bench& bench, const Ground& ground,
                      const std::vector<JointFacts>& joints);
/// Chances of the four complaints.
std::array<double, kComplaintCount> complaint_chances(const Bench& bench, const Ground& ground,
                                                      const std::vector<JointFacts>& joints);

}  // namespace hingeline::belief

#pragma once
/// \file
/// From a key's estimate to the least metal that cures it: what each piece of work does, what limits
/// it, how tight is right, and the best plan with its runners-up.
///
/// Pure functions of their arguments: no clock, no storage, no chance.

#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/said.h"
#include "hingeline/belief/key.h"
#include "hingeline/plan/bite.h"

namespace hingeline::plan {

using belief::Figure;
using mechanism::Side;

enum class Operation {
  drive_home,    ///< headed screw that stands off its seat: turn it home
  turn_screw,    ///< headless screw, in (amount > 0) or out
  restore_post,  ///< a post that was knocked: bring it back where it stood; amount > 0 brings posts together
  seat_cut,      ///< deepen the seat of a headed screw
  ream,          ///< open the key's hole with the point's own taper; amount along the axis
  face           ///< face the key's end square and shorter
};
const char* word(Operation op);
/// Metal that does not come back.
constexpr bool takes_metal(Operation op) {
  return op == Operation::seat_cut || op == Operation::ream || op == Operation::face;
}

/// A metal measure that may not have been taken. `known` false: only its range is known.
using MaybeLength = std::optional<Measured<Length>>;

/// What the bench knows about one end beyond the geometry.
struct EndFacts {
  bool headed = true;
  MaybeLength head_diameter;
  MaybeLength stands_off;       ///< gap under a headed screw's head; absent: taken as home
  MaybeLength web;              ///< metal left under the head
  MaybeLength engagement;       ///< threaded length engaged
  std::optional<Length> pitch;  ///< of the thread
  MaybeLength post_diameter;
  MaybeLength key_end_diameter;
  MaybeLength slot_left;  ///< how much deeper the head may go and still be reached
  MaybeLength displaced;  ///< post out of its place, + outward
  MaybeLength room_behind;
  MaybeLength room_around;
};

/// A shop's limits. All lengths are what must remain.
struct Limits {
  Length web_min = millimetres(0.8);
  double engagement_min_turns = 3;
  Length wall_seat_min = millimetres(0.4);
  Length wall_mouth_min = millimetres(0.3);
  Length tip_floor_min = millimetres(0.1);
  Length face_gap_min = millimetres(0.0);
  Length centring_allowed = millimetres(0.10);  ///< how far the pad may sit off its tone hole along the line
  double flank_share_min = 0.5;                 ///< of the point inside, that must carry
  Angle taper_match = degrees(1.0);             ///< tapers closer than this, or than their uncertainty, match
  Length cutter_over_max = millimetres(0.10);   ///< cutter wider than head by at most
  Length cutter_under_max = millimetres(0.01);  ///< and narrower by at most
  Length aim_guard =
      millimetres(0.003);  ///< aim this far inside the window, or the reading's uncertainty if larger
  Length least_cut = millimetres(0.002);  ///< less than this is left alone
};

/// What eats clearance and what play is allowed.
struct WindowInputs {
  Length window_low = millimetres(0.01);  ///< the shop's usual window
  Length window_high = millimetres(0.03);
  bool window_firm = false;  ///< window_high is this key's own: it does not give way to what eats clearance
  Length pad_gap_allowed = millimetres(0.05);
  Length rock_allowed = millimetres(0.06);
  TemperatureStep colder = kelvins(0);  ///< bench to coldest service, K, <= 0
  TemperatureStep warmer = kelvins(0);
  double body_expansion = 0;  ///< 1/K
  double key_expansion = 0;
  Length moisture;     ///< how far the body may shorten between posts, >= 0
  Angle misalignment;  ///< between point and hole
  Length roundness;
  Length oil_film;
};

struct WindowPart {
  std::string name;
  Length amount;
};
/// How tight is right at the bench's temperature. The lower edge is the sum of what eats clearance, at
/// least the shop's own. The upper edge is the shop's, or, where the lower one has moved up, so much
/// higher that half the shop's width stays and a reading fits in; never more than pad gap and rock allow.
struct Window {
  Length low;
  Length high;
  std::vector<WindowPart> low_parts;  ///< what the lower edge is the sum of
  std::string high_rule;              ///< which demand sets the upper edge
  bool crossed = false;               ///< no fit satisfies both; `conflict` says which demand rules
  Said conflict;
};
Window window_for(const belief::KeyGeometry& key, const mechanism::Hinge& hinge, Length reading_uncertainty,
                  const WindowInputs& inputs);

struct Cutter {
  std::string name;
  Length diameter;
  bool straight = true, flexible = false, pinch = false;  ///< drivers it takes
};
struct Reamer {
  std::string name;
  Angle half_angle;
  Length small_diameter;
  Length large_diameter;
};
struct Driver {
  enum class Kind { straight, flexible, pinch } kind = Kind::straight;
  Length room_behind;
  Length room_around;
};
const char* word(Driver::Kind kind);
struct Tools {
  std::vector<Cutter> cutters;
  std::vector<Reamer> reamers;
  std::vector<Driver> drivers;
};

/// Which tool, and why; `name` empty: none fits, `why` says what would be needed.
struct ToolChoice {
  std::string name;
  Said why;
};
/// The cutter nearest to the head among those that may cut its seat; null when there is none.
const Cutter* fitting_cutter(const EndFacts& end, const Tools& tools, const Limits& limits);
ToolChoice choose_cutter(const EndFacts& end, const Tools& tools, const Limits& limits);
ToolChoice choose_reamer(Angle taper, Length smallest, Length largest, const Tools& tools,
                         const Limits& limits);
/// How to reach the seat, from the room round and behind the post, with a driver that the cutter takes
/// (null: any).
ToolChoice choose_reach(const EndFacts& end, const Tools& tools, const Cutter* cutter);

/// Minutes of one operation: to set up, and per turn of the cutter, reamer or screw.
struct Minutes {
  double set_up = 0;
  double per_turn = 0;
};
/// Presets from memory of common practice.
struct Pace {
  Minutes drive_home{1, 0};
  Minutes turn_screw{2, 0.5};
  Minutes restore_post{10, 0};
  Minutes seat_cut{4, 0.5};
  Minutes ream{4, 0.5};
  Minutes face{5, 0.5};
  Length take_off_per_turn = millimetres(0.02);    ///< of a hand cutter, book rate
  Length take_off_plus_minus = millimetres(0.01);  ///< k = 2, from one job to another
};

struct Step {
  Operation operation = Operation::seat_cut;
  Side side = Side::upper;
  Length amount;
  double turns = 0;      ///< of cutter or screw; 0: not counted in turns
  std::string turn_way;  ///< "as tightening", "as loosening"
  ToolChoice tool;
  ToolChoice reach;
};

/// What remains of one limit after the plan.
struct Reserve {
  std::string limit;  ///< "metal under the head"
  Side side = Side::upper;
  std::optional<Length> left;  ///< above the minimum; absent: not measured
  Length least;                ///< the minimum itself
};

enum class Approach {
  leave_it,
  free_first,  ///< nothing cut: screws home, turned, posts restored
  cut_upper,
  cut_lower,
  share_cut,
  keep_centred,
  ream_upper,
  ream_lower,
  share_ream,
  face_end,     ///< only the key's end is faced
  restore_seat  ///< ream the hole to the point's taper, then cut the seat
};
const char* word(Approach a);

struct Plan {
  Approach approach = Approach::leave_it;
  std::vector<Step> steps;
  belief::Figures before{};
  belief::Figures after{};
  belief::KeyGeometry geometry_after;
  Length shift;       ///< of the key's middle place, + towards the lower post
  Length off_centre;  ///< pad from its tone hole afterwards
  Length metal;       ///< all cuts together
  double minutes = 0;
  std::vector<Reserve> reserves;
  std::vector<Said> measure_first;  ///< limits that could not be checked
};

/// Work that would not help or is not allowed.
struct Refusal {
  Operation operation = Operation::seat_cut;
  std::optional<Side> side;
  Said why;
  Said relief;  ///< what would help instead
};

enum class Verdict { sound, loose, tight, binds, cannot_tell };
const char* word(Verdict v);

struct KeyCase {
  belief::Estimate estimate;
  EndFacts upper;
  EndFacts lower;
  Length pad_off_centre;  ///< as it is now, + towards the lower post
  WindowInputs window;
  Limits limits;
  Tools tools;
  Pace pace;
  Length reading_uncertainty;  ///< k = 2, of an end play read on this key: the fit is proved with it
  Angle upper_taper_doubt;     ///< joint standard uncertainty of the two half angles at that end
  Angle lower_taper_doubt;

  [[nodiscard]] const EndFacts& facts(Side s) const { return s == Side::upper ? upper : lower; }
};

struct KeyPlan {
  Verdict verdict = Verdict::cannot_tell;
  Said because;  ///< one sentence
  Window window;
  std::vector<Plan> plans;  ///< best first; empty when none fits
  std::vector<Refusal> refusals;
  Said no_plan;  ///< which limit rules when plans is empty though work is needed
  Said relief;   ///< what would relieve it
};

/// The plan of one key. Order of preference: least metal, then the pad within
/// Limits::centring_allowed, then minutes, then the pad's remaining offset.
KeyPlan plan_key(const KeyCase& key);

/// How far the first seat cut of a plan may go now, at most to its end; absent when the plan has none.
std::optional<Bite> first_bite(const KeyCase& key, const Window& window, const Plan& plan);

/// The geometry after a step. Fault::geometry when nothing would be left to work on.
Expected<belief::KeyGeometry> after(const belief::KeyGeometry& key, const Step& step);

}  // namespace hingeline::plan

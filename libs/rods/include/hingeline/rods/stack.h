#pragma once
/// \file
/// A stack: several tubes between several posts on one rod. Which of them to swedge or face, and which posts
/// to move, so that every gap has its end play and every pad is centred, with the least work.
///
/// Along the line, from the upper post to the lower: posts 0 to n, gap j between posts j and j + 1, and in
/// each gap its tubes in order. A gap's tubes share its end play: pushed up, they stand close against one
/// another and the upper post; pushed down, against the lower; each can be at either extreme. Exact for
/// squared, flat end faces on a straight rod; lengths along the rod only.

#include <cstddef>
#include <optional>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/quantity.h"
#include "hingeline/mechanism/hinge.h"

namespace hingeline::rods {

using mechanism::Side;

/// What may be done to the part of a tube between one end and its pad's arm. 0: that may not be done.
struct TubePart {
  Length swedge_most;  ///< it may grow by this, all in all
  Length swedge_free;  ///< up to this much growth leaves the bore room on its rod; beyond it has to be reamed
  Length face_most;    ///< metal its end may lose
};

/// Where a pad stands. Offsets are plus towards the lower post.
struct PadOnTube {
  Length offset;   ///< off its tone hole's centre, all tubes closed up and in the middle of the gap's play
  Length allowed;  ///< most offset either way, wherever the tube stands in its play; 0 or more
};

struct StackTube {
  std::optional<PadOnTube> pad;  ///< absent: only a touch, nothing to centre
  TubePart upper;                ///< above the pad's arm: growth there moves the pad down
  TubePart lower;
};

struct StackGap {
  Length end_play;    ///< now; below 0: the tubes are longer than the gap
  Length play_least;  ///< wanted
  Length play_most;
  Length guard;                  ///< how far inside that to bring it; at most to the window's middle
  std::vector<StackTube> tubes;  ///< at least one
};

/// How far a post may be moved along the line; both 0: it stands.
struct StackPost {
  Length up_most;
  Length down_most;
};

struct Stack {
  std::vector<StackGap> gaps;    ///< at least one
  std::vector<StackPost> posts;  ///< one more than gaps
};

/// What one kind of work costs.
struct WorkPrice {
  Duration set_up;        ///< once for each place it is done at
  Duration per_mm;        ///< time
  Duration metal_per_mm;  ///< what a mm that cannot be taken back is reckoned as
};
struct StackPrices {
  WorkPrice swedge;
  WorkPrice face;
  WorkPrice move_post;
  Duration ream_swedged;  ///< a tube whose bore has closed on its rod, once for both parts
  Duration apart;         ///< rod out, tubes off and on again; once, if anything is done at all
  Length least;           ///< no work is done by less than this; above 0
};

enum class StackWork { swedge, face, move_post };
/// "swedge", "face", "move post".
const char* word(StackWork work);

/// One piece of work.
struct StackStep {
  StackWork work = StackWork::swedge;
  std::size_t gap = 0;      ///< of the tube; move_post: not used
  std::size_t tube = 0;     ///< in its gap; move_post: the post's number
  Side side = Side::upper;  ///< part of the tube; move_post: towards which post
  Length amount;            ///< above 0: growth, metal off, way moved
  bool ream_after = false;  ///< swedge: the bore closes on its rod
  /// What it does to the end play of its gap: - amount or + amount. move_post: of the gap it leaves behind +,
  /// of the gap it enters -; 0 here.
  [[nodiscard]] Length play_change() const;
  friend bool operator==(const StackStep&, const StackStep&) = default;
};

/// What can stand in the way. What may not be done at all (0, or under the least amount) is not among them.
enum class StackLimit {
  play_least,   ///< end play not under
  play_most,    ///< end play not over
  pad_up,       ///< a pad not farther up than allowed
  pad_down,     ///< nor down
  swedge_most,  ///< a part of a tube grows no more
  face_most,    ///< an end loses no more
  post_most     ///< a post goes no farther
};
struct LimitAt {
  StackLimit limit = StackLimit::play_least;
  std::size_t gap = 0;      ///< post_most: not used
  std::size_t tube = 0;     ///< in its gap; play_*: not used; post_most: the post's number
  Side side = Side::upper;  ///< swedge_most, face_most: part; post_most: towards which post
  Length value;             ///< of the limit
  friend bool operator==(const LimitAt&, const LimitAt&) = default;
};

/// A gap after the work, by the numbers.
struct GapAfter {
  Length end_play;
  /// Each tube's pad: offset pushed up and pushed down. Tubes without pad: absent.
  struct PadRange {
    Length up;
    Length down;
  };
  std::vector<std::optional<PadRange>> pads;
};

struct StackPlan {
  std::vector<StackStep> steps;  ///< gap by gap, tube by tube; posts first. Empty: nothing to do
  Duration time;
  Duration metal;  ///< what the metal is reckoned as
  std::vector<GapAfter> gaps;
  std::vector<LimitAt> ruling;  ///< limits that the plan reaches: it could be cheaper without one of them
  [[nodiscard]] Duration cost() const { return time + metal; }
};

/// Gaps that have to be solved together and cannot be: an irreducible set of limits. They cannot all be met
/// together; any one of them left out, the others can. (There may be other such sets.)
struct StackRefusal {
  std::size_t first_gap = 0;
  std::size_t last_gap = 0;
  std::vector<LimitAt> limits;
};

struct StackAnswer {
  /// Cheapest first; none when any gap is refused. The first is the optimum. Each further one is the cheapest
  /// that does not contain all the steps' places of one before it.
  std::vector<StackPlan> plans;
  std::vector<StackRefusal> refusals;
};

/// Tubes of one group of gaps that movable posts tie together: more are refused (Fault::geometry).
inline constexpr std::size_t kMostTubesTogether = 12;
/// End plays and offsets of a plan keep their limits within this.
inline constexpr Length kStackWorstError = millimetres(1e-9);

/// The cheapest `count` (1 to 10) plans. A part of a tube is swedged, or faced at its end, or neither.
///
/// Exact optimum: a least-cost problem with set-ups, each group of gaps between posts that stand on its own,
/// by branch and bound (cost within 1e-6 s of the optimum). Fault::geometry: no gap or tube, number of posts,
/// a limit, price or window that cannot be.
Expected<StackAnswer> plan_stack(const Stack& stack, const StackPrices& prices, std::size_t count = 3);

/// The gaps as they stand: end play and pads without any work. A gap that binds has its pads at one place.
std::vector<GapAfter> as_it_stands(const Stack& stack);

/// The time and metal a plan would cost less if this limit gave way by `by` (> 0). 0: nothing; absent: there
/// is no plan either way. A post's limit and a tube's are eased as the window and the pads are.
Expected<std::optional<Duration>> saved_by_easing(const Stack& stack, const StackPrices& prices,
                                                  const LimitAt& limit, Length by);

// ---- what is certain about a plan, and where to measure in between ----------------------------------

/// How well work comes out, as standard uncertainties.
struct StackDoubt {
  std::vector<Length> end_play;  ///< of each gap's end play as read
  double swedge_share;           ///< of the amount swedged
  double face_share;             ///< of the amount faced
  double post_share;             ///< of the way a post is moved
  double chance_wanted;          ///< that end play is in its window; above 0, below 1
  double overshoot_risk;         ///< that one bite goes past the window; above 0, below 0.5
};

/// One step of a plan, done as the bench would.
struct StackBite {
  bool measure_after = false;  ///< read the gap again before going on
  Length first;                ///< measure_after: do this much, then measure; otherwise the whole amount
};
struct StackCare {
  std::vector<StackBite> steps;  ///< as in the plan
  /// Each gap: that its end play ends in its window, everything done in one go.
  std::vector<double> chance;
  /// The same with the measuring in between, as far as readings allow.
  std::vector<double> chance_measured;
};

/// Normal errors, independent; a step's error is in proportion to its amount. Steps are measured after, the
/// least certain first, until what remains leaves every gap they touch `chance_wanted`; a step so measured is
/// finished in bites, its last bite taken as certain. The first bite is the most that goes past the window's
/// far edge by no more than `overshoot_risk`; what later steps of the plan bring back does not count.
/// Fault::geometry for doubts below 0 or chances out of range.
Expected<StackCare> care_for(const Stack& stack, const StackPlan& plan, const StackDoubt& doubt);

}  // namespace hingeline::rods

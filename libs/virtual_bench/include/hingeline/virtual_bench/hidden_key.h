#pragma once
/// \file
/// A key whose truth is known to the bench alone: what is wrong with it, what a reading or a look would find,
/// what work does to it.
///
/// Drawn and answered by what the comments of belief/cause.h say and by nothing else: contact is reckoned
/// here a second time from the forms (reference/), so that a fault of the engine or of the inference cannot
/// hide by being on both sides. Where those comments leave a choice, the choice made stands with the member
/// concerned.
///
/// Chance comes from one numeric::Stream of (seed, number): the same key gives the same answers to the same
/// questions, whatever other keys are drawn and on whatever thread.

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>

#include "hingeline/base/quantity.h"
#include "hingeline/belief/cause.h"
#include "hingeline/belief/key.h"
#include "hingeline/numeric/random.h"

namespace hingeline::virtual_bench {

using belief::Side;

/// One point in its hole, as the bench reckons it.
class Contact;

struct EndHeads {
  bool upper_headed = true;
  bool lower_headed = true;
  [[nodiscard]] bool at(Side s) const { return s == Side::upper ? upper_headed : lower_headed; }
};

/// What a turn of cutter or reamer takes off: a lognormal round `per_turn`.
struct TakeOff {
  Length per_turn = millimetres(0.02);  ///< median over all keys, > 0
  double between = 0.45;                ///< standard deviation of ln, one for a whole key
  double within = 0.15;                 ///< the same from one bite to the next
  double nothing = 0.01;                ///< chance that a bite takes nothing: dull, tilted, chips in the way
};

/// How readings are taken.
struct Noise {
  double scale = 1;  ///< times every standard uncertainty of the presets
  /// A size that cannot be below 0 is written down as 0 when noise would put it there, as at a bench. Off for
  /// calibration, where the inference takes noise as plain normal.
  bool clamped = true;
};

struct Finding {
  belief::Check check = belief::Check::sticks;
  Length value;            ///< of a reading
  std::size_t choice = 0;  ///< else: the word's place in belief::answers(check)
};

/// All that is drawn for a key, as it is now; 0 where the key has nothing of it.
struct Sizes {
  Length fit;           ///< end play that seats and parts are made for
  Length screw_off;     ///< off its seat or backed out
  Length slop;          ///< radial, of a point in a loose thread
  Length post;          ///< out of its place along the line, outward +
  Length bow;           ///< of the body, sagitta over the presets' chord, either sign
  Length runout;        ///< of a bent tube or rod
  Length bore_wear;     ///< radial
  Length oval;          ///< radial
  double bell = 0;      ///< share of the home insertion that is bell-mouthed
  Angle mismatch;       ///< hole's half angle less the point's
  Length floor;         ///< how far short of home the floor stops the tip
  double drag = 0;      ///< the presets' drag_clean where there is no dirt
  Length climate;       ///< change of end play where it is played, either sign
  Length line_offset;   ///< hinge line off the neutral axis, either sign; every key has one
  Angle residual_lean;  ///< every key has one, as the next; both are felt on a bent tube or rod only
  Length residual_runout;
};

/// Metal taken so far by turns, as lengths along the axis.
struct Metal {
  Length cut;
  Length reamed;
  [[nodiscard]] Length total() const { return cut + reamed; }
};

class HiddenKey {
 public:
  /// Key `number` of a run. `sound` is the key as it would be with nothing wrong: its forms, lengths, pad,
  /// rod and bore count, its stops do not (the fit is drawn); belief::build_hinge must be able to build it.
  /// Without a rod diameter and a wider bore the presets' bore_clearance stands for both.
  ///
  /// Can be on a rod: short_fit, over_cut, post_moved, bent_body, bent_key, worn_bore, dirt, climate. On
  /// pivot screws: all but worn_bore; short_fit not with both headless; straight_hole, taper_mismatch and
  /// tip_on_floor only at an end where a cone sits in a cone, and at the other when the side drawn has none.
  /// A size that is "kept" above or below something comes from the part of its distribution that lies there.
  static HiddenKey draw(const belief::KeyGeometry& sound, EndHeads heads, Length window_low,
                        Length window_high, const belief::CausePresets& presets, TakeOff take_off,
                        std::uint64_t seed, std::uint64_t number);

  // What the technician meets.

  /// Of the key as it came. Looseness and noise are those at the bench, binding that where it is played.
  [[nodiscard]] belief::Complaint complaint() const { return complaint_; }
  /// Whether there is anything to look at: no stand-off without a head, no slack with one, no bore without a
  /// rod, no screw's or hole's check with one, no rock at a pad without a pad.
  [[nodiscard]] bool applies(belief::Check check) const;
  /// A reading with its noise and slips, or a word that may be wrong. A check that does not apply reads 0, or
  /// gives the first word, likewise. `clean` also cleans, after its answer.
  Finding answer(belief::Check check, Noise noise = {});
  /// Takes away the causes with that cure, unless it does nothing this time (presets.stubborn). A screw comes
  /// home, a restored or deepened hole is as made; the fit stays. `cut` and `ease` do nothing here: see
  /// below.
  void treat(belief::Cure cure);
  /// A seat cut by so many turns (not below 0): end play less by what it takes, at whichever end.
  void cut(Side side, double turns);
  /// A key end reamed by so many turns: end play more by what it takes; the joint stays what it was.
  void ream(Side side, double turns);

  /// A headless screw turned in (or out, below 0) by so much along its axis; a headed one stays on its seat.
  void turn_screw(Side side, Length inwards);

  // The truth.

  /// What the key came with.
  [[nodiscard]] belief::Causes causes() const { return causes_; }
  /// What is left of that. A short fit stands until the fit is no longer above the window, an over-cut one
  /// until it is no longer below.
  [[nodiscard]] belief::Causes standing() const;
  /// The end at which the key came with that cause; absent when it had none of it or it has no end.
  [[nodiscard]] std::optional<Side> side_of(belief::Cause cause) const;
  [[nodiscard]] const Sizes& sizes() const { return sizes_; }
  /// At the bench: what is left at the easiest place; on a rod E, bent or not.
  [[nodiscard]] Length end_play() const;
  /// What is left at the easiest and at the worst place; on a bent rod no more than the rod leaves free.
  [[nodiscard]] Length left_easiest() const;
  [[nodiscard]] Length left_worst() const;
  [[nodiscard]] bool in_window(Length low, Length high) const;
  /// Rock that stays with the key pushed home there.
  [[nodiscard]] Length home_rock(Side side) const;
  /// Rock at the pad's station; at the key's middle without a pad. With T the steeper of the two clearance
  /// curves' steepest slopes: below the true value by no more than 1.5 kRockStep T, above it by no more than
  /// half of kRockStep T. By rounding only where both clearances are straight over the end play, as a cone's.
  [[nodiscard]] Length pad_rock() const;
  /// Of the tip when home, of the joint as it is. 0 on a rod.
  [[nodiscard]] Length home_insertion(Side side) const;
  /// The joint's forms as they are.
  [[nodiscard]] const belief::JointGeometry& joint(Side side) const;
  /// This key's own take-off per turn.
  [[nodiscard]] Length take_off() const { return rate_; }
  [[nodiscard]] const Metal& metal() const { return metal_; }
  /// The least that one who knew all would take: from a short fit what lies above the window, from an
  /// over-cut one what lies below it, all else put right without metal.
  [[nodiscard]] Length least_metal() const { return least_metal_; }

  /// Distance of neighbouring insertions at which clearances are kept.
  static constexpr Length kRockStep = millimetres(0.0025);

 private:
  /// What is left of an end play at the easiest and the worst place, mm.
  struct Left {
    double easiest = 0;
    double worst = 0;
  };

  HiddenKey(const belief::KeyGeometry& sound, EndHeads heads, const belief::CausePresets& presets,
            TakeOff take_off, std::uint64_t seed, std::uint64_t number);
  void draw_causes();
  void draw_sizes(double low, double high);
  void draw_complaint();
  [[nodiscard]] bool can_be(belief::Cause cause) const;
  [[nodiscard]] bool can_be_at(belief::Cause cause, Side side) const;
  /// A size that sits at one end, mm: 0 at the other.
  [[nodiscard]] double at_end(Length size, belief::Cause cause, Side side) const;
  /// Shapes the holes by the causes that stand and reckons their contact.
  void settle_joints();
  /// Reckons all that follows from the sizes and joints.
  void settle();
  [[nodiscard]] Left left_of(double end_play) const;
  [[nodiscard]] double bore_clearance() const;
  [[nodiscard]] double worst_pose(double share) const;
  [[nodiscard]] double sticks_chance(const Left& left) const;
  [[nodiscard]] double dirt_felt() const;
  [[nodiscard]] double truth_of(belief::Check check) const;
  [[nodiscard]] double standard_of(belief::Check check) const;
  std::size_t word_of(belief::Check check);
  double bite(double turns);

  belief::KeyGeometry sound_;
  EndHeads heads_;
  belief::CausePresets presets_;
  TakeOff take_off_;
  numeric::Stream chance_;
  Length window_low_;
  Length window_high_;

  belief::Causes causes_;
  belief::Causes cured_;
  std::array<Side, belief::kCauseCount> sides_{};
  Sizes sizes_;
  Length rate_;
  Length least_metal_;
  Metal metal_;
  belief::Complaint complaint_ = belief::Complaint::loose;

  std::array<belief::JointGeometry, 2> joints_;
  /// Never changed once made, so copies of a key may share them; null on a rod.
  std::array<std::shared_ptr<const Contact>, 2> contacts_;
  double end_play_ = 0;  ///< E, mm
  Left left_;
  double pad_rock_ = 0;  ///< mm
};

}  // namespace hingeline::virtual_bench

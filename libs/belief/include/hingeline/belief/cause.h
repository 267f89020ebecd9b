#pragma once
/// \file
/// Why a key is loose, binds, drags or clicks: what may be wrong, what a bench can look at, and the shop's
/// figures for both.
///
/// Every figure here is a preset from memory of common practice, for the shop to edit. A simulator that draws
/// keys from these figures needs nothing else than what their comments say.

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/quantity.h"
#include "hingeline/mechanism/hinge.h"

namespace hingeline::belief {

/// What may be wrong with a key. Several may hold at once.
enum class Cause : std::uint8_t {
  sound,           ///< nothing of all that follows
  short_fit,       ///< seats not deep enough, or a tube too short between its posts: too much end play
  over_cut,        ///< seats too deep, a screw set too deep, a tube too long: too little
  worn_hole,       ///< a key end worn oval and bell-mouthed
  taper_mismatch,  ///< point and hole of different tapers
  straight_hole,   ///< a conical point in a straight hole
  tip_on_floor,    ///< the tip stands on the floor before the sides carry
  screw_off,       ///< a headed screw off its seat, a headless one backed out
  loose_thread,    ///< a screw that wobbles in its post
  post_moved,      ///< a post knocked out of its place along the line, and leaning
  bent_body,       ///< the body bowed, so that posts close in or spread
  bent_key,        ///< the key's tube or its rod bent
  worn_bore,       ///< a rod loose in its tube
  dirt,            ///< dried oil, lint, grit
  climate          ///< warmth or moisture where it is played
};
inline constexpr std::size_t kCauseCount = 15;
/// "short fit" as said, "short-fit" as typed.
const char* word(Cause c);
const char* code(Cause c);
std::optional<Cause> cause_of(const std::string& code);
/// One sentence on what it is, for a person who has not met it.
const char* meaning(Cause c);
/// Whether the cause sits at one end of the key.
constexpr bool at_one_end(Cause c) {
  return c == Cause::worn_hole || c == Cause::taper_mismatch || c == Cause::straight_hole ||
         c == Cause::tip_on_floor || c == Cause::screw_off || c == Cause::loose_thread ||
         c == Cause::post_moved;
}

/// A set of causes.
class Causes {
 public:
  constexpr Causes() = default;
  constexpr Causes(std::initializer_list<Cause> list) {
    for (const Cause c : list) add(c);
  }
  constexpr void add(Cause c) { bits_ |= bit(c); }
  constexpr void remove(Cause c) { bits_ &= ~bit(c); }
  /// `sound` is in the empty set alone.
  [[nodiscard]] constexpr bool has(Cause c) const {
    return c == Cause::sound ? bits_ == 0 : (bits_ & bit(c)) != 0;
  }
  [[nodiscard]] constexpr bool empty() const { return bits_ == 0; }
  /// Those of this set that are not in the other.
  [[nodiscard]] constexpr Causes without(Causes other) const {
    Causes out;
    out.bits_ = bits_ & ~other.bits_;
    return out;
  }
  friend constexpr bool operator<(Causes a, Causes b) { return a.bits_ < b.bits_; }
  friend constexpr bool operator==(Causes, Causes) = default;

 private:
  static constexpr std::uint32_t bit(Cause c) {
    return c == Cause::sound ? 0U : 1U << static_cast<unsigned>(c);
  }
  std::uint32_t bits_ = 0;
};

/// What the player says.
enum class Complaint : std::uint8_t { loose, binds, sluggish, noisy };
inline constexpr std::size_t kComplaintCount = 4;
const char* word(Complaint c);
std::optional<Complaint> complaint_of(const std::string& word);

/// What a bench can look at or measure. Most belong to one end.
enum class Check : std::uint8_t {
  sticks,  ///< swing the key by hand
  end_play,
  rock_upper,  ///< rock that stays with the key pushed home there
  rock_lower,
  rock_pad,
  stand_off_upper,  ///< gap under a headed screw's head
  stand_off_lower,
  slack_upper,  ///< whether a headless screw turns by the finger
  slack_lower,
  wobble_upper,  ///< whether the screw wobbles in its thread
  wobble_lower,
  ink_upper,  ///< where marking ink is rubbed off the point
  ink_lower,
  look_upper,  ///< a light into the key's hole
  look_lower,
  back_off_upper,  ///< whether the key frees when that screw is backed off an eighth of a turn
  back_off_lower,
  post_upper,  ///< whether the post stands out of square
  post_lower,
  bow,         ///< of the body, straightedge and feeler: sagitta
  neighbours,  ///< whether the keys beside it have the like
  roll,        ///< the key's tube or rod rolled on a flat: run-out
  bore,        ///< rod and bore gauged: diametral clearance
  clean,       ///< taken apart, cleaned, oiled afresh: whether that helped
  warmth       ///< warmed by some ten degrees: whether the feel changes
};
inline constexpr std::size_t kCheckCount = 25;
const char* word(Check c);
const char* code(Check c);
std::optional<Check> check_of(const std::string& code);
/// How to do it, one or two sentences.
const char* how(Check c);
/// The end it is done at; absent where it is of the whole key.
std::optional<mechanism::Side> side_of(Check c);
/// A length is read; else one of answers() is given.
constexpr bool is_reading(Check c) {
  return c == Check::end_play || c == Check::rock_upper || c == Check::rock_lower || c == Check::rock_pad ||
         c == Check::stand_off_upper || c == Check::stand_off_lower || c == Check::bow || c == Check::roll ||
         c == Check::bore;
}
/// The words an answer can be: {"no", "yes"}, {"free", "all round", "at one place"}, {"flank", "rim", "tip"},
/// {"clean cone", "worn", "straight"}. Empty for a reading.
const std::vector<std::string>& answers(Check c);

/// What can be done about a key, as a decision: which of these comes first.
enum class Cure : std::uint8_t {
  leave,
  clean,
  set_screw,  ///< drive it home, or turn it to its place and lock it
  mend_thread,
  restore_post,
  straighten_body,
  straighten_key,
  suit_climate,  ///< no work on the fit: window and advice for where it is played
  fit_rod,       ///< swedge the tube on its rod, or the next rod
  deepen_hole,   ///< or shorten the tip
  restore_hole,  ///< ream past the damage with the point's taper
  ease,          ///< ream as little as frees it
  cut            ///< deepen the seats: the fit itself
};
inline constexpr std::size_t kCureCount = 13;
const char* word(Cure c);
const char* code(Cure c);
/// The cure of a cause; `leave` for sound.
Cure cure_of(Cause c);
/// Work that takes metal from a joint for good.
constexpr bool takes_metal(Cure c) {
  return c == Cure::deepen_hole || c == Cure::restore_hole || c == Cure::ease || c == Cure::cut;
}

/// A lognormal.
struct Spread {
  double median = 0;
  double sigma = 0;  ///< of the natural logarithm
};

/// What is drawn for a key, and how answers follow from it. Lengths mm, angles rad.
///
/// The key. Its end play is E = fit + screw_off + post - curvature x line offset x span, of what it has; the
/// curvature of a bow f over the chord C is 8 f / (C^2 + 4 f^2). A lean g of a post or of the body (curvature
/// x span / 2 at both ends) eats g x home insertion / (2 tan half angle) of it at that end, where the point
/// is a cone; a bent tube of run-out b leans by 4 b
/// / key length at both ends as it turns: with the leans there are and the residual lean r of that line it
/// eats by |lean - turning| - r (not below 0) at the easiest place and by lean + turning + r at the worst;
/// without a bend the residual lean is in the fit already. On a rod nothing leans; its end play is E, and a
/// bent one is free by the bore's diametral clearance less run-out less (at the easiest place: plus) a
/// residual run-out, if that is less than E. Rock at a pushed-home end is twice the clearance left there when
/// home, the oval and the thread's slop together; rock at the pad is that of the poses of the joints with
/// this end play, and twice oval and slop of both ends in the pad's proportion. Where nothing is left of E at
/// the easiest place only slop is felt.
///
/// The words. A size x is felt with the chance Phi((x - at) / sharpness). Dirt is felt with the chance D^2 /
/// (1 + D^2). A key sticks all round where dirt is felt or what is left at the easiest place is felt to be
/// below 0, at one place where only what is left at the worst is. Ink is rubbed off the flank where the flank
/// touches over 0.6 of the insertion, less of it in proportion, the rim else; off the rim or the tip where
/// they carry (tip: edge, floor and edges inside). A look finds "straight" in a straight hole, else "worn"
/// with the chance 1 - exp(-(oval / 0.02 + bell-mouthed share / 0.2)). Backed off, a key frees with the
/// chance that it sticks less the chance that it still does with `back_off` more play. Cleaning helps as
/// surely as dirt was felt, and in 0.02 of cases without. A wrong answer is any of the words.
struct CausePresets {
  /// A key on the bench is sound with the chance `sound_share`, else it has one cause, or two with the chance
  /// `two_causes`. The first is drawn by `share` (any scale; only those that can be on the hinge count); the
  /// second likewise among those that go with the first: short_fit and over_cut exclude each other, and so do
  /// worn_hole, taper_mismatch, straight_hole and tip_on_floor. Ends are even.
  double sound_share = 0.10;
  double two_causes = 0.15;
  std::array<double, kCauseCount> share{0,    0.22, 0.05, 0.10, 0.05, 0.03, 0.04, 0.12,
                                        0.06, 0.08, 0.06, 0.06, 0.20, 0.12, 0.03};

  /// The end play that seats and parts are made for, all else in order: normal about the window's middle with
  /// this share of its width, kept inside it; short_fit normal, kept above the window by short_least;
  /// over_cut normal, kept below 0.
  double fit_width_share = 0.20;
  double short_mean = 0.12, short_sd = 0.07, short_least = 0.01;
  double over_mean = -0.03, over_sd = 0.025;

  Spread screw_off{0.12, 0.5};      ///< how far it stands off
  Spread thread_slop{0.03, 0.4};    ///< radial, of the point
  double post_sd = 0.12;            ///< along the line, either way: normal, but no less than post_least
  double post_least = 0.04;         ///< in size
  double post_height = 8.0;         ///< a post moved by m leans by m / post_height
  double residual_lean_sd = 0.006;  ///< rad; of every line, size of a normal
  Spread bow{0.30, 0.4};            ///< sagitta over bow_chord, either sign
  double bow_chord = 200;
  double bend_older =
      0.25;  ///< chance that a bend is older than the fits, which then have it in them already
  double line_offset = 8.0;  ///< hinge line off the body's neutral axis where nobody measured it; either side
  Spread runout{0.10, 0.4};  ///< of a bent tube or rod, at its middle
  double residual_runout_sd = 0.004;       ///< size of a normal
  Spread bore_wear{0.04, 0.4};             ///< radial, on top of the clearance as made
  double bore_clearance = 0.008;           ///< radial, as made, where nobody gauged it
  Spread oval{0.03, 0.4};                  ///< radial clearance that a worn hole keeps when home
  double bell_low = 0.2, bell_high = 0.8;  ///< share of the engaged length that is worn bell-mouthed
  double bell_steeper = 0.17;              ///< how much steeper the worn mouth is
  double mismatch_low = 0.035, mismatch_high = 0.14;  ///< rad between the half angles, either sign
  double floor_low = 0.03, floor_high = 0.25;         ///< how far short of home the floor stops the tip
  Spread drag{2.0, 0.4};                              ///< of a dirty joint; 1 is felt half the time
  double drag_clean = 0.05;
  double climate_sd = 0.06;      ///< change of end play where it is played: normal, but no less than
  double climate_least = 0.025;  ///< this in size
  double stubborn = 0.03;        ///< chance that a cure does nothing, each time it is done

  /// Standard uncertainties of readings.
  double end_play_standard = 0.004;
  double bind_standard = 0.010;  ///< end play below 0, from how far a screw is backed off until the key frees
  double rock_standard = 0.006;
  double stand_off_standard = 0.015;
  double bow_standard = 0.030;
  double roll_standard = 0.015;
  double bore_standard = 0.004;
  double misread = 0.01;  ///< chance of a gross slip: the reading is then anywhere in +-misread_reach
  double misread_reach = 0.5;
  double wrong_answer = 0.02;  ///< chance of a wrong word: then any of the words
  /// How sharp a feeling hand or an eye is: standard deviations of the size at which it says yes.
  double stick_sharpness = 0.002;
  double wobble_at = 0.015, wobble_sharpness = 0.005;      ///< diametral slop
  double lean_at = 0.03, lean_sharpness = 0.008;           ///< post out of place
  double neighbour_at = 0.12, neighbour_sharpness = 0.04;  ///< sagitta
  double warmth_at = 0.015, warmth_sharpness = 0.004;      ///< change of end play
  double slack_if_off = 0.92, slack_if_set = 0.03;         ///< a headless screw turns by the finger
  double back_off = 0.056;                                 ///< mm an eighth of a turn gives

  /// The player's complaint: of the four, each with the chance (base + s) over the sum of all four, where s
  /// is: loose, how surely rock at the pad passes `rock_felt`; binds, how surely it sticks where it is
  /// played; sluggish, how surely dirt is felt; noisy, how surely the play passes `click_at`, halved.
  double complaint_base = 0.03;
  double rock_felt = 0.05, rock_sharpness = 0.015;
  double click_at = 0.06, click_sharpness = 0.02;

  /// Minutes of every check.
  std::array<double, kCheckCount> minutes{0.2, 1.5, 1.0, 1.0, 1.0, 0.7, 0.7, 0.3, 0.3, 0.5, 0.5, 2.5, 2.5,
                                          1.5, 1.5, 0.7, 0.7, 1.0, 1.0, 3.0, 0.5, 3.0, 4.0, 5.0, 4.0};
  /// Minutes of every cure, and what doing it for nothing costs besides, in minutes:
  /// the key apart and together again, the owner's trust, metal.
  std::array<double, kCureCount> cure_minutes{0, 5, 2, 15, 10, 20, 12, 5, 20, 15, 12, 10, 12};
  std::array<double, kCureCount> cure_harm{0, 30, 70, 70, 70, 70, 70, 70, 70, 70, 70, 70, 90};
  double uncured = 200;             ///< minutes that a cause left alone costs
  double put_off = 30;              ///< minutes that finding it later costs
  double gate_share = 0.02;         ///< no cut is ready while a cheaper cause is surer than this
  double look_again_share = 0.002;  ///< nor, until it was looked at twice, surer than this
  double sure_share = 0.95;         ///< a key is called sound at this
};

/// Standard uncertainty in mm of a reading of `middle` mm: `given` if above 0, else the presets'.
double reading_standard(Check check, double middle, double given, const CausePresets& presets);

}  // namespace hingeline::belief

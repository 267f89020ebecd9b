#pragma once
/// \file
/// The whole method tried on keys whose truth is hidden from it: a simulated technician does what the guide
/// says, with noise, slips and scatter, until it says done. Two rules of thumb and one who knows all stand
/// beside it.

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "hingeline/guide/guide.h"
#include "hingeline/virtual_bench/hidden_key.h"

namespace hingeline::virtual_bench {

/// How far the bench is from what the method believes.
struct Shift {
  double take_off = 1;        ///< times the median take-off
  double noise = 1;           ///< times every reading's standard uncertainty
  bool other_shares = false;  ///< every cause as likely as any other, two at once in 30 of 100 keys
};

struct TrialSetup {
  std::size_t keys = 1000;
  std::uint64_t seed = 1;
  unsigned threads = 0;  ///< 0: as many as the machine has
  Shift shift;
  std::size_t samples = belief::Inquiry::kSamples;
  /// Window and belief are these.
  Length window_low = millimetres(0.01);
  Length window_high = millimetres(0.03);
  belief::CausePresets presets;
};

/// What became of one key.
struct Outcome {
  enum class Kind { headed, headless, rod } kind = Kind::headed;
  belief::Causes truth;
  bool right_first = false;   ///< the list's first is one of the key's causes when the guide turns to work
  bool right_in_two = false;  ///< or its second
  bool needs_cut = false;     ///< headed, with a short fit
  bool done = false;          ///< the guide called it done, and did not give up
  bool in_window = false;     ///< end play at the end
  bool cured = false;         ///< and nothing of what it came with is left but its climate
  bool went_under = false;    ///< a bite took end play below the window
  std::size_t checks = 0;
  std::size_t bites = 0;  ///< each followed by a refit: a try-in
  std::size_t reams = 0;
  bool tube_worked = false;       ///< a rod's tube was drawn out or faced
  double minutes = 0;             ///< of checks and cures, by the presets
  bool hole_for_nothing = false;  ///< a hole restored or deepened that had nothing wrong
  double cut = 0;                 ///< mm
  double least = 0;               ///< mm, by one who knows all
  /// The rules of thumb on the same key, everything but the fit put right for them.
  struct Rule {
    std::size_t bites = 0;
    bool in_window = false;
    bool went_under = false;
    double cut = 0;
  };
  Rule half_turn;       ///< always half a turn
  Rule half_remaining;  ///< half of what is left, at book rate
};

/// A column of the table.
struct Tally {
  std::size_t keys = 0;
  double in_window = 0;  ///< shares of keys
  double went_under = 0;
  double bites = 0;  ///< mean
  double metal = 0;  ///< cut over the least, both summed
};

struct TrialResult {
  TrialSetup setup;
  std::vector<Outcome> outcomes;  ///< of the keys that were done, in their order
  double right_first = 0;
  double right_in_two = 0;
  double in_window = 0;  ///< of all keys
  double cured = 0;
  double went_under = 0;  ///< of all keys
  double given_up = 0;
  double checks = 0;  ///< means
  double minutes = 0;
  std::size_t cannot_help = 0;              ///< keys whose fit is right: neither cutting nor easing can help
  std::size_t cut_for_nothing = 0;          ///< of these, that were cut or eased
  std::size_t sound_holes = 0;              ///< keys whose holes are in order
  std::size_t hole_for_nothing = 0;         ///< of these, that had one worked on
  Tally guided, half_turn, half_remaining;  ///< of the keys that need cutting
  /// By cause: keys that have it alone, and how often it was named first.
  struct ByCause {
    std::size_t keys = 0;
    std::size_t first = 0;
    std::size_t cured = 0;
  };
  std::array<ByCause, belief::kCauseCount> by_cause{};
};

/// A key as it is designed, with nothing wrong: by `number` one of three sizes of cone; or a rod.
belief::KeyGeometry design(std::uint64_t number, Outcome::Kind kind);

/// One key of the run: the same whatever else is run.
Outcome try_key(const TrialSetup& setup, std::uint64_t number);

/// Runs the keys. `go_on(done)` is called after each, from any thread; false ends the run with the keys done
/// so far. The same bytes for any number of threads, but for which keys were done when it was ended.
TrialResult run_trial(const TrialSetup& setup, const std::function<bool(std::size_t done)>& go_on);

}  // namespace hingeline::virtual_bench

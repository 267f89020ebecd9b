#pragma once
/// \file
/// A pupil at the virtual bench: a key whose faults only the bench knows, what the pupil looked at and did so
/// far, what a teacher would do next, and at the end the truth.
///
/// A pure function of the seed and of what was done: telling the same acts again brings back the same bench,
/// so nobody has to keep one. Chance is the hidden key's own (virtual_bench/hidden_key.h): the same seed and
/// acts give the same answers.

#include <cstdint>
#include <optional>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/belief/inquiry.h"
#include "hingeline/virtual_bench/hidden_key.h"
#include "hingeline/virtual_bench/trial.h"

namespace hingeline::practice {

using belief::Side;
using Kind = virtual_bench::Outcome::Kind;

/// One thing the pupil does.
struct Act {
  enum class What {
    look,   ///< `check`
    cure,   ///< `cure`: everything that takes no metal of a fit
    cut,    ///< `turns` of a cutter at `side`; headed screws only
    ream,   ///< `turns` of a reamer at `side`; no rod
    screw,  ///< a headless screw turned in by `amount` along its axis, out below 0
  };
  What what = What::look;
  belief::Check check = belief::Check::sticks;
  belief::Cure cure = belief::Cure::leave;
  Side side = Side::upper;
  double turns = 0;  ///< > 0, at most kMostTurns
  Length amount;     ///< not 0, at most 1 mm either way
};

/// What a teacher would do now.
struct Hint {
  std::vector<belief::CauseShare> causes;  ///< by the pupil's own answers, surest first
  std::vector<belief::Barrier> before_cut;
  std::optional<belief::Check> look;  ///< worth its minutes; else:
  belief::Cure cure = belief::Cure::leave;
};

/// What was hidden.
struct Truth {
  belief::Causes causes;    ///< what the key came with
  belief::Causes standing;  ///< what is left of it
  Length came_with;         ///< end play at the beginning, at its easiest place
  Length end_play;          ///< and now
  bool in_window = false;
  Length least_metal;       ///< of one who knew all
  bool went_under = false;  ///< a cut took the end play below the window
  Length per_turn;          ///< this key's own take-off
};

class Bench {
 public:
  static constexpr std::size_t kMostActs = 200;
  static constexpr double kMostTurns = 20;

  Bench(std::uint64_t seed, Kind kind);

  /// What is found; nothing for what is not a look. Fault::content for what cannot be done at this key, or
  /// after kMostActs: the bench is then as before.
  Expected<std::optional<virtual_bench::Finding>> act(const Act& act);

  [[nodiscard]] belief::Complaint complaint() const { return key_.complaint(); }
  [[nodiscard]] Kind kind() const { return kind_; }
  [[nodiscard]] const belief::KeyGeometry& geometry() const { return geometry_; }
  [[nodiscard]] bool applies(belief::Check check) const { return key_.applies(check); }
  [[nodiscard]] const belief::CausePresets& presets() const { return presets_; }
  [[nodiscard]] Length window_low() const { return millimetres(0.01); }
  [[nodiscard]] Length window_high() const { return millimetres(0.03); }
  [[nodiscard]] double minutes() const { return minutes_; }
  [[nodiscard]] const virtual_bench::Metal& metal() const { return key_.metal(); }
  /// Reckoned anew from all that was done: some ten milliseconds.
  [[nodiscard]] Expected<Hint> hint() const;
  [[nodiscard]] Truth truth() const;

 private:
  [[nodiscard]] virtual_bench::EndHeads heads() const;

  std::uint64_t seed_;
  Kind kind_;
  belief::CausePresets presets_;
  belief::KeyGeometry geometry_;
  virtual_bench::HiddenKey key_;
  Length came_with_;
  bool went_under_ = false;
  double minutes_ = 0;
  std::vector<std::pair<Act, virtual_bench::Finding>> done_;
};

}  // namespace hingeline::practice

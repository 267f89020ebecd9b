#pragma once
/// \file
/// One key from the complaint to the proof: what to look at, what to do, how far to cut, and when it is done.
///
/// A guide is a pure function of what it starts from and of what it was told: no clock, no storage. Telling
/// the same events again in their order brings back the same state, which is how a job is left and resumed.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/said.h"
#include "hingeline/belief/inquiry.h"
#include "hingeline/plan/cutting.h"
#include "hingeline/plan/plan.h"

namespace hingeline::guide {

using belief::Cause;
using belief::Check;
using belief::Cure;
using mechanism::Side;

/// What a guide starts from.
struct Job {
  belief::KeyKnowledge knowledge;  ///< parts and readings, as the document has them
  plan::KeyCase key_case;
  belief::Subject subject;
  belief::CausePresets presets;
  std::optional<belief::Complaint> complaint;
  std::vector<belief::Answer> answered;              ///< what the document says already
  std::optional<belief::Inquiry::BowMessage> heard;  ///< what other keys say of a bent body
  std::optional<plan::TakeOff> take_off;             ///< of the cutter; absent: from the pace
  std::uint64_t seed = 1;
  std::size_t samples = belief::Inquiry::kSamples;
  unsigned threads = 1;
};

/// What the person does next.
struct Next {
  enum class What {
    look,        ///< do `check` and tell its answer
    cure,        ///< do `cure`, at `side` where it has one
    step,        ///< do `step` of the plan: free work, or metal that is not cut in bites
    bite,        ///< cut `turns` at `side`, then read the end play
    ream,        ///< ream `amount`, axial, at `side`, then read the end play
    see_cutter,  ///< clean it, look at its edge, set it square
    done,        ///< proven: nothing is left to do
    beyond       ///< this bench and these answers lead no further: `why`
  };
  What what = What::look;
  std::optional<Check> check;
  std::optional<Cure> cure;
  std::optional<Side> side;
  std::optional<plan::Step> step;
  double turns = 0;
  Length amount;    ///< what a bite takes off, median; what is to be reamed
  double risk = 0;  ///< of a bite: that it goes too far
  Said why;
  std::vector<Said> stop;   ///< rules for when to stop
  bool before_cut = false;  ///< a look that is asked because metal is to be cut
};
const char* word(Next::What what);

/// What happened.
struct Event {
  enum class Kind {
    answered,   ///< `answer`
    could_not,  ///< `check` cannot be done here
    waived,     ///< `cause` is left unchecked, because of `reason`
    cured,      ///< the cure or step asked for was done
    bitten,     ///< `turns` were cut, at `side`
    reamed,     ///< by `amount`, at `side`
    cutter_seen
  };
  Kind kind = Kind::answered;
  belief::Answer answer;
  Check check = Check::sticks;
  Cause cause = Cause::dirt;
  std::string reason;
  Side side = Side::upper;
  double turns = 0;
  Length amount;
};

/// A cause left unchecked, and why.
struct Waiver {
  Cause cause = Cause::dirt;
  std::string reason;
};

class Guide {
 public:
  /// Fault::geometry where the key cannot be built; Fault::content where an answer it starts with cannot be.
  static Expected<Guide> begin(Job job);

  [[nodiscard]] const Next& next() const { return next_; }
  /// Fault::content when the event cannot be: an answer that is none, a bite where nothing is being cut, a
  /// waiver without a reason. The guide is then as before.
  Expected<void> tell(const Event& event);

  [[nodiscard]] const belief::Inquiry& inquiry() const { return inquiry_; }
  /// Set while seats are cut, and after.
  [[nodiscard]] const std::optional<plan::Cutting>& cutting() const { return cutting_; }
  [[nodiscard]] const std::vector<Event>& events() const { return events_; }
  [[nodiscard]] const std::vector<Waiver>& waivers() const { return waivers_; }
  /// What stands before a cut now.
  [[nodiscard]] std::vector<belief::Barrier> barriers() const;
  [[nodiscard]] bool finished() const {
    return next_.what == Next::What::done || next_.what == Next::What::beyond;
  }
  [[nodiscard]] Length window_low() const { return window_low_; }
  [[nodiscard]] Length window_high() const { return window_high_; }
  /// First and latest end play read, with their standard uncertainty.
  struct Reading {
    Length value;
    Length standard;
  };
  [[nodiscard]] std::optional<Reading> first_end_play() const { return first_; }
  [[nodiscard]] std::optional<Reading> latest_end_play() const { return latest_; }
  /// The list of causes as it stood when the guide first turned from looking to working.
  [[nodiscard]] const std::vector<belief::CauseShare>& found() const { return found_; }
  /// The cures done, in their order.
  [[nodiscard]] const std::vector<Cure>& cures() const { return cures_; }

  /// More events than this and the guide says it leads no further.
  static constexpr std::size_t kMostEvents = 400;

 private:
  Guide(Job job, belief::Inquiry inquiry) : job_(std::move(job)), inquiry_(std::move(inquiry)) {}
  void decide();
  void decide_look();
  void decide_cut();
  void begin_cut();
  void end_cut();
  [[nodiscard]] bool ask_worthy();
  void ask(Check check, Said why, bool before_cut);
  void ask_cure(Cure cure);
  void stop(Said why);
  [[nodiscard]] bool ask_telling(Said why);
  [[nodiscard]] bool read_after_metal();
  [[nodiscard]] bool look_twice(Cure cure);
  [[nodiscard]] bool ask_again(Check check, Said why, bool before_cut);
  /// Standard uncertainty of an end play told: its own, else the preset's.
  [[nodiscard]] Length standard_of(const belief::Answer& end_play) const;
  /// Chance that the end play is below an edge.
  [[nodiscard]] double below(Length edge) const;
  [[nodiscard]] bool surely_above() const;
  [[nodiscard]] bool surely_below() const;
  [[nodiscard]] static double needed_for(Cure cure);
  [[nodiscard]] bool pass_gate();
  /// Chance that a cure is called for.
  [[nodiscard]] double cure_share(Cure cure) const;
  Expected<void> take_answer(const belief::Answer& answer);

  Job job_;
  belief::Inquiry inquiry_;
  std::optional<plan::Cutting> cutting_;
  bool cutting_now_ = false;
  bool proven_ = false;       ///< the end play was proven to be in the window, and nothing was done since
  bool metal_begun_ = false;  ///< from here on numbers lead, not causes
  int reread_ = 0;
  std::vector<Check> looked_twice_;
  std::vector<plan::Step> steps_;  ///< of the plan, still to be done before the seats
  Next next_;
  std::vector<Event> events_;
  std::vector<Waiver> waivers_;
  belief::Causes waived_;
  std::vector<belief::CauseShare> found_;
  std::vector<Cure> cures_;
  std::optional<Reading> first_;
  std::optional<Reading> latest_;
  std::optional<Said> stuck_;
  Length window_low_;
  Length window_high_;
};

}  // namespace hingeline::guide

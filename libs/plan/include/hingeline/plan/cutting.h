#pragma once
/// \file
/// How far to cut now, with memory: one key from its first reading to its window, or to the reason why not.
///
/// PlayFilter holds what is known of the end play and of the cutters' take-off; Cutting turns that into the
/// next instruction. Pure: no clock, no chance. The same readings and bites in the same order give the same
/// instruction, so a job is resumed by telling them again.

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/said.h"
#include "hingeline/mechanism/hinge.h"
#include "hingeline/plan/bite.h"

namespace hingeline::plan {

using mechanism::Side;

/// Share of readings that are gross slips: misread, a chip under the head, the screw not driven home. From
/// memory of common practice.
inline constexpr double kSlip = 0.02;
/// A slip says nothing: its reading is as likely anywhere, with this density, 1/mm (all within half a
/// millimetre).
inline constexpr double kSlipDensity = 2.0;
/// Share of bites that take nothing: a dull or tilted cutter, chips under the head. From memory.
inline constexpr double kNothing = 0.03;
/// A reading less likely than this, by what was expected of it, has to be read again.
inline constexpr double kSurprise = 0.005;

/// One cutter in so many is not of the kind its figures speak of: its ln varies twice as much between jobs.
inline constexpr double kOddCutter = 0.05;
/// No cutter is farther from its figures than so many of their standard deviations of ln.
inline constexpr double kFarthestRate = 5.5;

/// Worst errors of the filter against a dense grid over end play and take-off, for readings of 0.002 to 0.010
/// mm, `between` 0.2 to 0.6 and `within` 0.1 to 0.2: of a probability, of the mean end play, of mean and
/// spread of the log take-off; and the factor by which a risk of 0.0001 to 0.001 is out.
inline constexpr double kFilterWorstShare = 0.02;
inline constexpr Length kFilterWorstMean = millimetres(0.0004);
inline constexpr double kFilterWorstLogRate = 0.04;
inline constexpr double kFilterWorstRatio = 1.3;

/// A Bayes filter over the end play and the log take-off of up to two cutters, one of which is in use.
///
/// The log take-off of the cutter in use stands on nodes; on each node end play is a short list of normal
/// parts, so a bite is sized with all that connects the two. The other cutter's take-off is held apart,
/// independent of the end play: changing cutters forgets only how far an error of the last readings is an
/// error of the rate as well, and that is small, because the end play is read anew after every bite.
class PlayFilter {
 public:
  /// `standard` > 0; one or two cutters with `between` and `within` >= 0, all finite.
  PlayFilter(Length end_play, Length standard, std::vector<TakeOff> cutters);

  /// So many turns, > 0, of that cutter were made. With kNothing it took nothing.
  void bitten(std::size_t cutter, double turns);
  /// End play grew by about so much; `standard` >= 0 of that.
  void opened(Length amount, Length standard);
  /// The end play reads so; `standard` > 0. `slip`: chance that the reading says nothing.
  void read(Length value, Length standard, double slip);
  /// Before a reading that all there is speaks against: perhaps it stands nowhere near where it was thought
  /// to.
  void doubt(Length reading);
  /// The cutter was put right, or is another: a quarter of what was learned about it is taken back.
  void widen(std::size_t cutter);
  /// Two-tailed chance of a reading at least so far off, were it not a slip.
  [[nodiscard]] double tail(Length value, Length standard) const;
  /// Chance that the latest reading was a slip.
  [[nodiscard]] double slipped() const;
  /// Chance that the latest bite took nothing.
  [[nodiscard]] double took_nothing() const;

  [[nodiscard]] double below(Length edge) const;
  [[nodiscard]] Length mean() const;
  [[nodiscard]] Length standard() const;
  /// The standard uncertainty where the latest reading was no slip.
  [[nodiscard]] Length standard_unless_slip() const;

  /// What is known of a cutter now: median and spread from job to job, of what is left to learn.
  [[nodiscard]] TakeOff rate(std::size_t cutter) const;

  /// Makes that cutter the one in use.
  void take_up(std::size_t cutter);
  // Of the cutter in use:
  /// Chance that end play is below `low` after a bite of so many turns, >= 0.
  [[nodiscard]] double risk(double turns, Length low) const;
  /// The same, were the end play known to be that.
  [[nodiscard]] double risk_from(Length end_play, double turns, Length low) const;

 private:
  struct Part {
    std::size_t node = 0;
    bool nothing = false;  ///< the latest bite took nothing
    bool slip = false;     ///< the latest reading was a slip
    double weight = 0;
    double mean = 0;  ///< mm
    double variance = 0;
  };
  struct Cutter {
    TakeOff before;                ///< as given
    double within = 0;             ///< from bite to bite, no finer than the nodes
    std::vector<double> log_rate;  ///< of each node
    std::vector<double> rate;      ///< mm per turn
    std::vector<double> prior;
    std::vector<double> usual;  ///< the same without the odd cutters
    std::vector<double> share;  ///< of the cutter not in use
  };
  static constexpr std::size_t kPieces = 7;
  /// What a bite of one turn at 1 mm per turn takes, as a sum of normals.
  struct Piece {
    double weight = 0;
    double mean = 0;
    double variance = 0;
  };
  static std::array<Piece, kPieces> pieces(double within);

  [[nodiscard]] std::vector<double> shares(std::size_t cutter) const;
  void collapse(bool keep_nothing);
  void normalise();
  void spread(const std::vector<double>& shares);

  std::vector<Cutter> cutters_;
  std::size_t in_use_ = 0;
  std::array<Piece, kPieces> pieces_{};  ///< of the cutter in use
  std::vector<Part> parts_;              ///< by node
};

/// One end, as the plan and the limits leave it.
struct CuttingEnd {
  Length share;            ///< of the seat cut the plan gives this end; 0: it is not to be cut
  Length room;             ///< of seat cut that the limits leave
  Length ream_room;        ///< of reaming, axial
  std::size_t cutter = 0;  ///< index into CuttingJob::cutters
};

/// What one key's cutting starts from.
struct CuttingJob {
  Length low;  ///< the window
  Length high;
  Length end_play = millimetres(0.15);  ///< before the first reading
  Length standard = millimetres(0.3);
  CuttingEnd upper;
  CuttingEnd lower;
  std::vector<TakeOff> cutters;                 ///< one or two
  Length centring_allowed = millimetres(0.02);  ///< by so much an end may run ahead of its share
  Length aim_guard = millimetres(0.003);        ///< a recovery aims so far inside
  Length least_cut = millimetres(0.002);

  [[nodiscard]] const CuttingEnd& end(Side s) const { return s == Side::upper ? upper : lower; }
};

/// The risk that one key's bites may take together of passing the window's lower edge.
inline constexpr double kKeyRisk = 0.0025;
/// In the window, when it is at least so sure.
inline constexpr double kProof = 0.995;
/// Readings of one state before it is said that it cannot be told.
inline constexpr int kMostRepeats = 25;
/// Bites of one key before it is said that it leads nowhere, and everything else that is told.
inline constexpr int kMostBites = 60;
inline constexpr int kMostEvents = 600;

struct Instruction {
  enum class Kind {
    read_again,    ///< `why` says what to see to before
    bite,          ///< cut `turns` at `side`
    check_cutter,  ///< the bite took nothing
    recover,       ///< ream `amount`, axial, at `side`
    finished,      ///< in the window
    stuck          ///< `why` says what rules
  };
  Kind kind = Kind::read_again;
  Said why;
  Side side = Side::upper;
  double turns = 0;        ///< in eighths from one turn on, in twentieths below
  Length amount;           ///< what the bite takes off, median; what is to be reamed
  double risk = 0;         ///< that this bite passes the window's lower edge
  std::vector<Said> stop;  ///< when to stop, one rule each
  double in_window = 0;    ///< chance that end play is in the window now
};
const char* word(Instruction::Kind kind);

/// A bite that was made and what it taught.
struct BiteTaken {
  Side side = Side::upper;
  std::size_t cutter = 0;
  double turns = 0;
  std::optional<Length> taken;  ///< mean of the readings before less mean of those after; absent: not read
  Length standard;              ///< of that difference
  double nothing = 0;           ///< chance that it took nothing
};

/// One key being cut. What is told is always taken, also what was not asked for.
class Cutting {
 public:
  /// Fault::content for a window, a length or a take-off that cannot be.
  static Expected<Cutting> of(CuttingJob job);

  /// A reading of end play with its standard uncertainty. Fault::content unless both are finite, the reading
  /// within a metre, its uncertainty above 0 and within a millimetre.
  Expected<void> read(Length value, Length standard);
  /// A bite of so many turns: above 0, to 200. Fault::content for an end that is not to be cut.
  Expected<void> bitten(Side side, double turns);
  /// Reamed by so much, above 0, to 5 mm.
  Expected<void> reamed(Side side, Length amount);
  /// The cutter was cleaned, sharpened, set square or changed.
  void cutter_seen_to();

  [[nodiscard]] Instruction next() const;

  [[nodiscard]] Length end_play() const { return filter_.mean(); }
  [[nodiscard]] Length standard() const { return filter_.standard(); }
  [[nodiscard]] double in_window() const;
  /// What is known of a cutter's take-off by now.
  [[nodiscard]] TakeOff take_off(std::size_t cutter) const { return filter_.rate(cutter); }
  /// The bites so far, with what each took by the readings alone.
  [[nodiscard]] std::vector<BiteTaken> bites() const;
  /// Taken off that end's seat at most, two standard uncertainties included.
  [[nodiscard]] Length cut_at_most(Side side) const;
  /// How much wider than their stated uncertainty the readings scatter, >= 1.
  [[nodiscard]] double scatter() const;
  /// Share of kKeyRisk that is used up, in its own measure.
  [[nodiscard]] double risk_taken() const { return risk_taken_; }

 private:
  struct Reading {
    Length value;
    Length standard;
  };
  /// Between two pieces of work: the readings that count.
  struct State {
    double weight = 0;   ///< sum of 1/standard^2
    double sum = 0;      ///< and of value/standard^2
    double scatter = 0;  ///< of the readings about their mean, in squares of their standard uncertainty
    int readings = 0;
  };
  struct Metal {
    double cut = 0;  ///< mm, by all bites but the latest state's
    double variance = 0;
    double reamed = 0;
  };
  struct Pending {  ///< the latest bite, whose take changes with every reading
    Side side = Side::upper;
    double mean_before = 0;
    double variance_before = 0;
    double by_rate = 0;  ///< mm that its turns should have taken
  };

  Cutting(CuttingJob job, PlayFilter filter) : job_(std::move(job)), filter_(std::move(filter)) {}
  [[nodiscard]] Metal metal(Side side) const;
  void new_state();
  void count(Reading r);
  [[nodiscard]] Instruction unsettled(Instruction i) const;
  [[nodiscard]] Instruction too_tight(Instruction i) const;
  struct Choice {
    Side side = Side::upper;
    double turns = 0;
    double turns_if_known = 0;
    double risk = 0;
    Length expected;
    Length after_standard;
  };
  [[nodiscard]] std::optional<Choice> choose(Said& why_not) const;
  /// The middle of the window: landing there is shown by the fewest readings, and what a bite misses by on
  /// either side is still inside.
  [[nodiscard]] Length aim() const { return (job_.low + job_.high) / 2; }

  CuttingJob job_;
  PlayFilter filter_;
  std::array<Metal, 2> metal_{};
  std::optional<Pending> pending_;
  std::vector<BiteTaken> bites_;
  std::vector<State> states_{State{}};
  std::vector<std::size_t> state_before_;  ///< of each bite
  std::optional<Reading> odd_;             ///< a reading that waits for another like it
  Length last_standard_;
  double risk_taken_ = 0;
  int repeats_ = 0;  ///< readings of this state
  int odds_ = 0;     ///< surprising ones of this state
  int nothings_ = 0;
  int reams_ = 0;
  int events_ = 0;
  bool see_to_cutter_ = false;
};

}  // namespace hingeline::plan

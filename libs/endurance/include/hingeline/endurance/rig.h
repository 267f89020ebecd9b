#pragma once
/// \file
/// The endurance rig: a motor opens and closes keys for weeks; what it has counted follows from its rate and
/// the clock, with pauses and changes of rate.
///
/// The clock comes in as an argument. A count is kept in whole millionths of a closing, in integers: the same
/// periods give the same count however often the rig was stopped and the program started again, and no
/// closing is lost to rounding. A pause does not lose the closing it interrupts; it is finished afterwards.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/base/moment.h"
#include "hingeline/base/quantity.h"
#include "hingeline/endurance/life.h"

namespace hingeline::endurance {

/// Millionths in one closing.
inline constexpr std::int64_t kMillionths = 1'000'000;
/// The fastest rate taken, closings a second.
inline constexpr double kFastestRate = 100;
/// From the first period's start to any moment asked about, at most: a hundred years. With it and the fastest
/// rate a count in millionths stays below 3.2e17 of the 9.2e18 that an integer holds.
inline constexpr std::int64_t kLongestRun = std::int64_t{36'525} * kSecondsPerDay;

/// The most closings that can be asked for; at the fastest rate three centuries.
inline constexpr std::int64_t kMostClosings = 1'000'000'000'000;

/// Closings a second, in whole millionths.
struct Rate {
  std::int64_t millionths = 0;             ///< above 0
  std::int64_t plus_minus_millionths = 0;  ///< expanded (k = 2); 0 to below the rate
  friend bool operator==(const Rate&, const Rate&) = default;
};
/// Fault::content unless 0.000001 <= rate <= kFastestRate and 0 <= plus_minus < rate, both finite; rounded to
/// millionths.
Expected<Rate> rate_per_second(double rate, double plus_minus = 0);

/// The rig runs from `from` up to, not including, `to`; with no `to` it runs on.
struct Period {
  Moment from;
  std::optional<Moment> to;
  Rate rate;
};

struct Count {
  std::int64_t closings = 0;    ///< whole ones, finished
  std::int64_t millionths = 0;  ///< all of it: closings = millionths / kMillionths, rounded down
  /// Expanded (k = 2), from the rates' ±; periods share one tachometer, so their errors add up straight.
  double plus_minus = 0;
};

/// When a number of closings will have been made, or was.
struct Finish {
  enum class State {
    reached,  ///< by the moment asked at
    running,  ///< it will be if nobody stops the rig
    stopped   ///< it will not be before the rig is started again, or not within kLongestRun
  };
  State state = State::stopped;
  std::int64_t left = 0;            ///< closings still to make; 0 when reached
  std::optional<Moment> at;         ///< the first whole second by which it is; not when stopped
  std::optional<Moment> earliest;   ///< with every rate at its upper ±
  std::optional<Moment> latest;     ///< with every rate at its lower ±; none where that never gets there
  std::optional<Duration> running;  ///< stopped: running time needed at the last rate; none before the first
};

/// The rig's running times, in order.
class Run {
 public:
  /// Fault::content, with the place's pointer "/periods/N", when a period ends before it begins, begins
  /// before the one before it has ended, follows one that has no end, or lies beyond kLongestRun. May be
  /// empty.
  static Expected<Run> of(std::vector<Period> periods);

  /// Closings made before `now`. 0 before the first period. Exact; `now` is held to kLongestRun.
  [[nodiscard]] Count count_at(Moment now) const;
  /// The rate at that moment; none while it stands still.
  [[nodiscard]] std::optional<Rate> rate_at(Moment now) const;
  /// Seconds it has run before `now`.
  [[nodiscard]] std::int64_t ran_for(Moment now) const;
  /// The first whole second by which `closings` are made; none when the periods do not get there within
  /// kLongestRun. `closings` from 1 to kMostClosings.
  [[nodiscard]] std::optional<Moment> reaches(std::int64_t closings) const;
  [[nodiscard]] Finish finish(std::int64_t closings, Moment now) const;
  [[nodiscard]] const std::vector<Period>& periods() const { return periods_; }

 private:
  explicit Run(std::vector<Period> periods) : periods_(std::move(periods)) {}
  [[nodiscard]] Moment held(Moment now) const;
  std::vector<Period> periods_;
};

enum class Finding {
  fine,    ///< looked at and sound
  failed,  ///< looked at and failed, at some time since it was last seen sound
  out      ///< sound, and taken off the rig
};

struct Inspection {
  Moment at;
  std::size_t specimen = 0;
  Finding finding = Finding::fine;
};

/// What is known of one specimen.
struct Specimen {
  enum class State { on, failed, out };
  State state = State::on;
  Life life;                   ///< in closings; failed_by only when failed
  std::optional<Moment> seen;  ///< when it was last looked at
  std::size_t inspections = 0;
};

/// What the inspections up to `now` say of each of `specimens`. A specimen that is still on the rig is known
/// to be sound only up to the last look at it, and one that was never looked at only up to 0. One that was
/// found failed failed between the last look at which it was sound and the one at which it was not; without a
/// closing in between, at that very count.
///
/// Fault::content, with the place's pointer "/inspections/N", when a specimen is not there, when it was
/// looked at after it had failed or been taken out, or when it failed before the first closing. Inspections
/// may stand in any order; those of one moment count in the order given.
Expected<std::vector<Specimen>> specimens_at(const Run& run, std::size_t specimens,
                                             std::span<const Inspection> inspections, Moment now);

}  // namespace hingeline::endurance

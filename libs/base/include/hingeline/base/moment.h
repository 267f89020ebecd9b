#pragma once
/// \file
/// Moments, and the calendar they are written in. Nothing here asks a clock: a moment always comes in.
///
/// A moment is a whole second. Seconds are counted as civil clocks do: every day has 86 400, leap seconds are
/// not seen. The calendar is the Gregorian one, from 1900-01-01 to the end of 9999. All arithmetic is in
/// integers and exact.

#include <array>
#include <compare>
#include <cstdint>
#include <string>
#include <string_view>

#include "hingeline/base/error.h"

namespace hingeline {

inline constexpr std::int64_t kSecondsPerDay = 86'400;

/// A whole second, counted from 1970-01-01T00:00:00Z.
class Moment {
 public:
  constexpr Moment() = default;
  static constexpr Moment at(std::int64_t seconds) { return Moment(seconds); }
  /// Seconds since 1970-01-01T00:00:00Z.
  [[nodiscard]] constexpr std::int64_t seconds() const { return seconds_; }
  [[nodiscard]] constexpr Moment later(std::int64_t seconds) const { return Moment(seconds_ + seconds); }
  friend constexpr auto operator<=>(Moment a, Moment b) = default;

 private:
  constexpr explicit Moment(std::int64_t seconds) : seconds_(seconds) {}
  std::int64_t seconds_ = 0;
};
/// Whole seconds from one moment to another; below 0 when `to` comes first.
constexpr std::int64_t seconds_between(Moment from, Moment to) { return to.seconds() - from.seconds(); }

/// A day of the calendar.
struct Day {
  std::int64_t year = 1970;
  int month = 1;  ///< from 1
  int day = 1;    ///< from 1
  friend constexpr auto operator<=>(const Day&, const Day&) = default;
};
/// Days in a month, from 28 to 31. `month` from 1 to 12.
constexpr int days_in_month(std::int64_t year, int month) {
  constexpr std::array kDays{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  return month == 2 && leap ? 29 : kDays[static_cast<std::size_t>(month - 1)];
}

/// Days from 1970-01-01 to a day of the Gregorian calendar, and back. Exact for every year that fits.
/// Years are counted from 1 March, so that the leap day is a year's last, and in whole 400-year turns of the
/// calendar (146 097 days).
constexpr std::int64_t days_from_civil(const Day& day) {
  const std::int64_t year = day.year - (day.month <= 2 ? 1 : 0);
  const std::int64_t turn = (year >= 0 ? year : year - 399) / 400;
  const std::int64_t year_of_turn = year - turn * 400;
  const std::int64_t month_from_march = day.month + (day.month > 2 ? -3 : 9);
  const std::int64_t day_of_year = (153 * month_from_march + 2) / 5 + day.day - 1;
  const std::int64_t day_of_turn = year_of_turn * 365 + year_of_turn / 4 - year_of_turn / 100 + day_of_year;
  constexpr std::int64_t kMarchOfYear0 = 719'468;
  return turn * 146'097 + day_of_turn - kMarchOfYear0;
}
constexpr Day civil_from_days(std::int64_t days) {
  constexpr std::int64_t kMarchOfYear0 = 719'468;
  const std::int64_t from_march = days + kMarchOfYear0;
  const std::int64_t turn = (from_march >= 0 ? from_march : from_march - 146'096) / 146'097;
  const std::int64_t day_of_turn = from_march - turn * 146'097;
  const std::int64_t year_of_turn =
      (day_of_turn - day_of_turn / 1'460 + day_of_turn / 36'524 - day_of_turn / 146'096) / 365;
  const std::int64_t day_of_year = day_of_turn - (365 * year_of_turn + year_of_turn / 4 - year_of_turn / 100);
  const std::int64_t month_from_march = (5 * day_of_year + 2) / 153;
  const int day = static_cast<int>(day_of_year - (153 * month_from_march + 2) / 5 + 1);
  const int month = static_cast<int>(month_from_march < 10 ? month_from_march + 3 : month_from_march - 9);
  return {year_of_turn + turn * 400 + (month <= 2 ? 1 : 0), month, day};
}

/// How far a place's clocks are ahead of UTC, in whole minutes; -14:00 to +14:00.
struct UtcOffset {
  int minutes = 0;
  friend constexpr bool operator==(UtcOffset, UtcOffset) = default;
};
inline constexpr int kMostOffsetMinutes = 14 * 60;

/// A moment as somebody's clock shows it.
struct LocalMoment {
  Moment moment;
  UtcOffset offset;
  friend constexpr bool operator==(LocalMoment, LocalMoment) = default;
};

/// Reads ISO 8601's extended form: "2026-11-25T14:05:00+01:00", "…Z". Seconds may be left out; a blank may
/// stand for the T. The offset may not be left out: without it nobody knows which moment is meant.
/// Fault::syntax for another form, Fault::content for a day or time that is not.
Expected<LocalMoment> parse_moment(std::string_view text);

/// "2026-11-25T14:05:00+01:00"; "Z" for no offset at all. parse_moment reads it back as it was.
std::string iso_text(Moment moment, UtcOffset offset);
inline std::string iso_text(const LocalMoment& when) { return iso_text(when.moment, when.offset); }
/// For a person: "2026-11-25 14:05", in local time.
std::string clock_text(Moment moment, UtcOffset offset);
/// "2026-11-25", in local time.
std::string day_text(Moment moment, UtcOffset offset);

}  // namespace hingeline

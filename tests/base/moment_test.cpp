// Moments: the calendar against itself day by day, ISO 8601 text both ways, and what is refused.

#include "hingeline/base/moment.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace hingeline {
namespace {

TEST(Calendar, EveryDayFollowsTheOneBefore) {
  // 1600-03-01 to 2400-03-01 by counting: two whole turns of the calendar.
  Day day{1600, 3, 1};
  const std::int64_t first = days_from_civil(day);
  for (std::int64_t n = first; n <= first + 2 * 146'097; ++n) {
    ASSERT_EQ(days_from_civil(day), n);
    ASSERT_EQ(civil_from_days(n), day);
    if (++day.day > days_in_month(day.year, day.month)) {
      day.day = 1;
      if (++day.month > 12) {
        day.month = 1;
        ++day.year;
      }
    }
  }
}

TEST(Calendar, KnownDays) {
  EXPECT_EQ(days_from_civil({1970, 1, 1}), 0);
  EXPECT_EQ(days_from_civil({2000, 3, 1}), 11017);   // date -u -d 2000-03-01 +%s (GNU coreutils 9.1) / 86400
  EXPECT_EQ(days_from_civil({1900, 1, 1}), -25567);  // the same
  EXPECT_EQ(days_from_civil({9999, 12, 31}), 2932896);  // the same
  EXPECT_EQ(days_in_month(1900, 2), 28);
  EXPECT_EQ(days_in_month(2000, 2), 29);
}

TEST(Moments, AreReadAsWritten) {
  // RFC 3339, section 5.8: the first two examples name the same form; 1996-12-19T16:39:57-08:00 is
  // 1996-12-20T00:39:57Z.
  EXPECT_EQ(parse_moment("1996-12-19T16:39:57-08:00")->moment, parse_moment("1996-12-20T00:39:57Z")->moment);
  EXPECT_EQ(parse_moment("1970-01-01T00:00:00Z")->moment.seconds(), 0);
  EXPECT_EQ(parse_moment("2026-11-25T14:05+01:00")->moment, parse_moment("2026-11-25 13:05:00Z")->moment);
  EXPECT_EQ(parse_moment("2026-11-25T14:05:00-03:30")->offset.minutes, -210);
  EXPECT_EQ(parse_moment("1969-12-31T23:59:59Z")->moment.seconds(), -1);
}

TEST(Moments, AreWritten) {
  const Moment m = parse_moment("2026-11-25T23:05:09Z")->moment;
  EXPECT_EQ(iso_text(m, {60}), "2026-11-26T00:05:09+01:00");
  EXPECT_EQ(iso_text(m, {-210}), "2026-11-25T19:35:09-03:30");
  EXPECT_EQ(iso_text(m, {0}), "2026-11-25T23:05:09Z");
  EXPECT_EQ(clock_text(m, {60}), "2026-11-26 00:05");
  EXPECT_EQ(day_text(m, {0}), "2026-11-25");
}

TEST(Moments, RefusesWhatIsNone) {
  for (const char* text :
       {"", "now", "2026-11-25", "2026-11-25T14:05", "2026-11-25T14:05:00", "2026-11-25T14:05:00+0100",
        "2026-11-25T14:05:00+01", "2026-11-25T14:05:00.5Z", "26-11-25T14:05Z", "2026-11-25T14:05:00Zx",
        "2026-11-25t14:05Z", " 2026-11-25T14:05Z", "2026-1-25T14:05Z", "+026-11-25T14:05Z"}) {
    const auto got = parse_moment(text);
    ASSERT_FALSE(got) << text;
    EXPECT_EQ(got.error().fault, Fault::syntax) << text;
  }
  for (const char* text : {"2026-02-29T14:05Z", "2026-13-01T00:00Z", "2026-00-01T00:00Z", "2026-04-31T00:00Z",
                           "2026-11-25T24:00Z", "2026-11-25T14:60Z", "2026-11-25T14:05:60Z",
                           "2026-11-25T14:05+15:00", "1899-12-31T00:00Z"}) {
    const auto got = parse_moment(text);
    ASSERT_FALSE(got) << text;
    EXPECT_EQ(got.error().fault, Fault::content) << text;
  }
}

RC_GTEST_PROP(Moments, ComeBackFromTheirText, ()) {
  const auto seconds = *rc::gen::inRange<std::int64_t>(-2'208'900'000, 253'402'200'000);
  const UtcOffset offset{*rc::gen::inRange(-kMostOffsetMinutes, kMostOffsetMinutes + 1)};
  // The text's own year must be one that is read.
  RC_PRE(seconds + std::int64_t{60} * offset.minutes > -2'208'988'800);
  RC_PRE(seconds + std::int64_t{60} * offset.minutes < 253'402'300'800);
  const auto back = parse_moment(iso_text(Moment::at(seconds), offset));
  RC_ASSERT(back);
  RC_ASSERT(back->moment.seconds() == seconds);
  RC_ASSERT(back->offset == offset);
}

RC_GTEST_PROP(Moments, AnyTextIsReadOrRefused, (const std::string& text)) {
  const auto got = parse_moment(text);
  if (!got) RC_ASSERT(!got.error().what.empty() && !got.error().expected.empty());
}

}  // namespace
}  // namespace hingeline

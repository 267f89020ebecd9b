#include "hingeline/base/moment.h"

#include <fmt/format.h>

#include <cstddef>
#include <cstdlib>
#include <optional>

namespace hingeline {
namespace {

constexpr const char* kForm = "a moment with its offset from UTC, as in 2026-11-25T14:05:00+01:00";
constexpr int kFirstYear = 1900;

/// Takes one piece after another off a text's front.
class Front {
 public:
  explicit Front(std::string_view text) : text_(text) {}
  /// Exactly `count` digits.
  std::optional<int> digits(std::size_t count) {
    if (text_.size() < count) return std::nullopt;
    int n = 0;
    for (const char c : text_.substr(0, count)) {
      if (c < '0' || c > '9') return std::nullopt;
      n = n * 10 + (c - '0');
    }
    text_.remove_prefix(count);
    return n;
  }
  bool takes(char c) {
    if (text_.empty() || text_.front() != c) return false;
    text_.remove_prefix(1);
    return true;
  }
  [[nodiscard]] bool done() const { return text_.empty(); }

 private:
  std::string_view text_;
};

struct Clock {
  int hour = 0;
  int minute = 0;
  int second = 0;
};

/// "+01:00" or "Z".
std::optional<int> offset_minutes(Front& front) {
  if (front.takes('Z')) return 0;
  const bool ahead = front.takes('+');
  if (!ahead && !front.takes('-')) return std::nullopt;
  const auto hours = front.digits(2);
  if (!hours || !front.takes(':')) return std::nullopt;
  const auto minutes = front.digits(2);
  if (!minutes || *minutes > 59) return std::nullopt;
  const int all = *hours * 60 + *minutes;
  return ahead ? all : -all;
}

struct Local {
  Day day;
  Clock clock;
};
Local local(Moment moment, UtcOffset offset) {
  const std::int64_t seconds = moment.seconds() + std::int64_t{60} * offset.minutes;
  std::int64_t days = seconds / kSecondsPerDay;
  std::int64_t rest = seconds % kSecondsPerDay;
  if (rest < 0) {
    rest += kSecondsPerDay;
    --days;
  }
  const int of_day = static_cast<int>(rest);
  return {civil_from_days(days), {of_day / 3600, of_day / 60 % 60, of_day % 60}};
}

}  // namespace

Expected<LocalMoment> parse_moment(std::string_view text) {
  const auto wrong_form = [&] {
    return fail(Fault::syntax, fmt::format("\"{}\" is no moment", text.substr(0, 60)), kForm);
  };
  Front front(text);
  const auto year = front.digits(4);
  if (!year || !front.takes('-')) return wrong_form();
  const auto month = front.digits(2);
  if (!month || !front.takes('-')) return wrong_form();
  const auto day = front.digits(2);
  if (!day || (!front.takes('T') && !front.takes(' '))) return wrong_form();
  const auto hour = front.digits(2);
  if (!hour || !front.takes(':')) return wrong_form();
  const auto minute = front.digits(2);
  if (!minute) return wrong_form();
  int second = 0;
  if (front.takes(':')) {
    const auto typed = front.digits(2);
    if (!typed) return wrong_form();
    second = *typed;
  }
  if (front.done()) {
    return fail(Fault::syntax, fmt::format("\"{}\" does not say its offset from UTC", text), kForm);
  }
  const auto offset = offset_minutes(front);
  if (!offset || !front.done()) return wrong_form();
  const bool is_day =
      *year >= kFirstYear && *month >= 1 && *month <= 12 && *day >= 1 && *day <= days_in_month(*year, *month);
  if (!is_day)
    return fail(Fault::content, fmt::format("{} is no day of the calendar", text.substr(0, 10)), kForm);
  if (*hour > 23 || *minute > 59 || second > 59)
    return fail(Fault::content, fmt::format("\"{}\" is no time of day", text.substr(11)), kForm);
  if (std::abs(*offset) > kMostOffsetMinutes)
    return fail(Fault::content, "an offset from UTC of more than 14 hours", kForm);
  const std::int64_t of_day = (std::int64_t{*hour} * 60 + *minute - *offset) * 60 + second;
  return LocalMoment{Moment::at(days_from_civil({*year, *month, *day}) * kSecondsPerDay + of_day), {*offset}};
}

std::string iso_text(Moment moment, UtcOffset offset) {
  const Local l = local(moment, offset);
  std::string out = fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}", l.day.year, l.day.month, l.day.day,
                                l.clock.hour, l.clock.minute, l.clock.second);
  if (offset.minutes == 0) return out + "Z";
  const int size = std::abs(offset.minutes);
  return out + fmt::format("{}{:02}:{:02}", offset.minutes < 0 ? '-' : '+', size / 60, size % 60);
}

std::string clock_text(Moment moment, UtcOffset offset) {
  const Local l = local(moment, offset);
  return fmt::format("{} {:02}:{:02}", day_text(moment, offset), l.clock.hour, l.clock.minute);
}

std::string day_text(Moment moment, UtcOffset offset) {
  const Day d = local(moment, offset).day;
  return fmt::format("{:04}-{:02}-{:02}", d.year, d.month, d.day);
}

}  // namespace hingeline

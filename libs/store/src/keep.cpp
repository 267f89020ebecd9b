#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <map>
#include <set>

#include "hingeline/store/copies.h"

namespace hingeline::store {
namespace {

constexpr std::string_view kDatabaseEnding = ".db";
constexpr std::string_view kArchiveEnding = ".archive";
/// "-20261126T140600Z"
constexpr std::size_t kDateSize = 17;
constexpr int kMostKept = 10'000;
constexpr int kDaysOfWeek = 7;

std::string without(std::string text, std::string_view characters) {
  std::erase_if(text, [&](char c) { return characters.find(c) != std::string_view::npos; });
  return text;
}
std::string date_text(Moment at) { return '-' + without(iso_text(at, {}), "-:"); }

/// A whole number above 0 without leading zeros, all of the text.
std::optional<int> counting(std::string_view text) {
  int value = 0;
  const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (fault != std::errc{} || end != text.data() + text.size() || value < 1 || text.starts_with('0'))
    return {};
  return value;
}

std::int64_t day_of(Moment at) {
  const std::int64_t days = at.seconds() / kSecondsPerDay;
  return at.seconds() % kSecondsPerDay < 0 ? days - 1 : days;
}
/// Weeks from the one of 1970-01-01, a Thursday; they begin on Monday.
std::int64_t week_of(Moment at) {
  constexpr std::int64_t kMondayBefore = 3;
  const std::int64_t days = day_of(at) + kMondayBefore;
  return days >= 0 ? days / kDaysOfWeek : (days - kDaysOfWeek + 1) / kDaysOfWeek;
}
std::int64_t month_of(Moment at) {
  constexpr std::int64_t kMonths = 12;
  const Day day = civil_from_days(day_of(at));
  return day.year * kMonths + day.month;
}

/// Of one book's copies, newest first, those that are kept.
std::set<CopyName> kept_of(const std::vector<CopyName>& made, const KeepRules& rules, Moment now) {
  std::set<CopyName> kept;
  std::vector<CopyName> past;
  for (const CopyName& copy : made) {
    if (copy.at > now) {
      kept.insert(copy);
    } else {
      past.push_back(copy);
    }
  }
  const std::size_t last = static_cast<std::size_t>(std::max(rules.last, 1));
  kept.insert(past.begin(), past.begin() + static_cast<std::ptrdiff_t>(std::min(last, past.size())));
  const auto one_of_each = [&](std::int64_t (*period)(Moment), int count) {
    std::set<std::int64_t> served;
    for (const CopyName& copy : past) {
      if (period(now) - period(copy.at) < count && served.insert(period(copy.at)).second) kept.insert(copy);
    }
  };
  one_of_each(day_of, rules.days);
  one_of_each(week_of, rules.weeks);
  one_of_each(month_of, rules.months);
  return kept;
}

}  // namespace

std::string text_of(const CopyName& name) {
  return fmt::format("{}{}{}{}", name.book, date_text(name.at),
                     name.nth == 1 ? std::string() : fmt::format("-{}", name.nth),
                     name.archive ? kArchiveEnding : kDatabaseEnding);
}

std::optional<CopyName> copy_name_of(std::string_view file_name) {
  CopyName out;
  std::string_view rest = file_name;
  out.archive = rest.ends_with(kArchiveEnding);
  if (!out.archive && !rest.ends_with(kDatabaseEnding)) return {};
  rest.remove_suffix(out.archive ? kArchiveEnding.size() : kDatabaseEnding.size());
  if (!rest.ends_with('Z')) {
    const std::size_t dash = rest.rfind('-');
    if (dash == std::string_view::npos) return {};
    const auto nth = counting(rest.substr(dash + 1));
    if (!nth || *nth < 2) return {};
    out.nth = *nth;
    rest = rest.substr(0, dash);
  }
  if (rest.size() <= kDateSize) return {};
  const std::string date(rest.substr(rest.size() - kDateSize));
  out.book = rest.substr(0, rest.size() - kDateSize);
  const std::string extended = fmt::format("{}-{}-{}:{}:{}", date.substr(1, 4), date.substr(5, 2),
                                           date.substr(7, 5), date.substr(12, 2), date.substr(14));
  const auto at = parse_moment(extended);
  if (!at || date_text(at->moment) != date) return {};
  out.at = at->moment;
  return out;
}

Expected<KeepRules> parse_keep(std::string_view text) {
  const auto wrong = [&] {
    return fail(
        Fault::usage, fmt::format("\"{}\" does not say what to keep", text),
        "such as 10,14d,8w,12m: the last 10, one a day for 14 days, one a week for 8 weeks, one a month "
        "for 12 months");
  };
  KeepRules out;
  std::string_view rest = text;
  while (true) {
    const std::size_t comma = rest.find(',');
    std::string_view part = rest.substr(0, comma);
    int* rule = &out.last;
    for (const auto& [letter, of_letter] :
         {std::pair{'d', &out.days}, std::pair{'w', &out.weeks}, std::pair{'m', &out.months}}) {
      if (!part.ends_with(letter)) continue;
      rule = of_letter;
      part.remove_suffix(1);
      break;
    }
    const auto count = counting(part);
    if (!count || *count > kMostKept || *rule != 0) return wrong();
    *rule = *count;
    if (comma == std::string_view::npos) return out;
    rest.remove_prefix(comma + 1);
  }
}

std::vector<CopyName> to_drop(std::vector<CopyName> made, const KeepRules& rules, Moment now) {
  std::map<std::string, std::vector<CopyName>> of_book;
  std::sort(made.begin(), made.end(), std::greater<>());
  for (const CopyName& copy : made) of_book[copy.book].push_back(copy);
  std::vector<CopyName> out;
  for (const auto& [book, copies] : of_book) {
    const auto kept = kept_of(copies, rules, now);
    std::copy_if(copies.begin(), copies.end(), std::back_inserter(out),
                 [&](const CopyName& copy) { return !kept.contains(copy); });
  }
  std::sort(out.begin(), out.end(),
            [](const CopyName& a, const CopyName& b) { return a.at != b.at ? a.at < b.at : a < b; });
  return out;
}

}  // namespace hingeline::store

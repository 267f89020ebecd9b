#include "hingeline/record/ledger.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "check.h"
#include "ledger_fields.h"

namespace hingeline::record {
namespace {

/// A date's parts; is_date() has been asked before.
struct Day {
  int year;
  int month;
  int day;
};
int number_in(std::string_view digits) {
  int n = 0;
  for (const char c : digits) n = n * 10 + (c - '0');
  return n;
}
int days_of(int year, int month) {
  constexpr int kFebruary = 2;
  if (month == kFebruary) return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0 ? 29 : 28;
  return month == 4 || month == 6 || month == 9 || month == 11 ? 30 : 31;
}
Day parts_of(std::string_view date) {
  return {number_in(date.substr(0, 4)), number_in(date.substr(5, 2)), number_in(date.substr(8, 2))};
}

/// Reads the text, lets `change` have it, and gives the new text if that can be read.
template <class Change>
tl::expected<std::string, Errors> rewritten(std::string_view text, const std::string& file,
                                            const Change& change) {
  auto ledger = read_ledger(text, file);
  if (!ledger) return tl::unexpected(std::move(ledger.error()));
  change(*ledger);
  std::string out = write_ledger(*ledger);
  if (auto again = read_ledger(out, file); !again) return tl::unexpected(std::move(again.error()));
  return out;
}

}  // namespace

const char* word(Complaint v) {
  switch (v) {
    case Complaint::loose:
      return "loose";
    case Complaint::binds:
      return "binds";
    case Complaint::sluggish:
      return "sluggish";
    case Complaint::noisy:
      break;
  }
  return "noisy";
}
const char* word(CauseWord v) {
  constexpr std::array kWords{"sound",         "short-fit",    "over-cut",  "worn-hole",    "taper-mismatch",
                              "straight-hole", "tip-on-floor", "screw-off", "loose-thread", "post-moved",
                              "bent-body",     "bent-key",     "worn-bore", "dirt",         "climate"};
  static_assert(kWords.size() == Words<CauseWord>::all.size());
  return kWords[static_cast<std::size_t>(v)];
}
const char* word(WhichEnd v) { return v == WhichEnd::upper ? "upper" : "lower"; }
const char* word(MeasuredField v) {
  constexpr std::array kWords{"point-half-angle", "hole-half-angle", "tip-diameter", "point-length",
                              "shank-diameter",   "head-diameter",   "head-height",  "slot-reach",
                              "mouth-diameter",   "hole-depth"};
  static_assert(kWords.size() == Words<MeasuredField>::all.size());
  return kWords[static_cast<std::size_t>(v)];
}
const char* word(Subject v) {
  switch (v) {
    case Subject::take_off:
      return "take-off";
    case Subject::minutes:
      return "minutes";
    case Subject::patterns:
      return "patterns";
    case Subject::causes:
      break;
  }
  return "causes";
}
std::optional<Subject> subject_of(std::string_view typed) {
  for (const Subject s : Words<Subject>::all) {
    if (typed == word(s)) return s;
  }
  return std::nullopt;
}

bool is_date(std::string_view text) {
  constexpr std::string_view kForm = "0000-00-00";
  if (text.size() != kForm.size()) return false;
  for (std::size_t i = 0; i < kForm.size(); ++i) {
    const bool right = kForm[i] == '-' ? text[i] == '-' : text[i] >= '0' && text[i] <= '9';
    if (!right) return false;
  }
  constexpr int kFirstYear = 1900;
  const Day d = parts_of(text);
  return d.year >= kFirstYear && d.month >= 1 && d.month <= 12 && d.day >= 1 &&
         d.day <= days_of(d.year, d.month);
}

std::string day_after(const std::string& date) {
  Day d = parts_of(date);
  if (++d.day > days_of(d.year, d.month)) {
    d.day = 1;
    if (++d.month > 12) {
      d.month = 1;
      ++d.year;
    }
  }
  return fmt::format("{:04}-{:02}-{:02}", d.year, d.month, d.day);
}

namespace {

template <class Q>
Entry<Q> read_entry(Q value, std::optional<Q> plus_minus, const char* unit) {
  Entry<Q> entry;
  entry.present = true;
  entry.origin = Origin::read;
  entry.value = value;
  entry.plus_minus = plus_minus;
  entry.unit = unit;
  return entry;
}

}  // namespace

LengthEntry entry_of(Length value, std::optional<Length> plus_minus) {
  return read_entry(value, plus_minus, "mm");
}
AngleEntry entry_of(Angle value, std::optional<Angle> plus_minus) {
  return read_entry(value, plus_minus, "deg");
}
NumberEntry entry_of(double value) { return read_entry<double>(value, {}, ""); }

std::string free_id(const Ledger& ledger, const std::string& date) {
  std::set<std::string> taken;
  for (const Job& job : ledger.jobs) taken.insert(job.id);
  int n = 1;
  while (taken.contains(fmt::format("{}-{}", date, n))) ++n;
  return fmt::format("{}-{}", date, n);
}

bool counts(const Ledger& ledger, const Job& job, Subject subject) {
  // Dates of this form are in order as text.
  return std::none_of(ledger.forgotten.begin(), ledger.forgotten.end(),
                      [&](const Forgotten& f) { return f.what == subject && job.date < f.before; });
}

void check(const Ledger& ledger, Errors& errors) {
  const auto say = [&](const Where& where, std::string what, std::string expected) {
    errors.push_back(Error{Fault::content, std::move(what), std::move(expected), where});
  };
  std::map<std::string, int> first_line;
  for (const Job& job : ledger.jobs) {
    const auto [at, is_new] = first_line.emplace(job.id, job.place.line);
    if (!is_new) {
      say(job.place, fmt::format("two jobs are called \"{}\"; the first is on line {}", job.id, at->second),
          "an id of its own");
    }
    const bool sound = std::find(job.causes.begin(), job.causes.end(), CauseWord::sound) != job.causes.end();
    if (sound && job.causes.size() > 1) {
      say(job.place, "a key that is sound and has another cause as well", "\"sound\" alone, or left out");
    }
    for (const JobWaiver& waiver : job.waivers) {
      if (waiver.cause == CauseWord::sound)
        say(waiver.place, "\"sound\" is no cause to look for", "the cause that was not looked for");
    }
  }
}

tl::expected<std::string, Errors> with_job(std::string_view text, const std::string& file, const Job& job) {
  return rewritten(text, file, [&](Ledger& ledger) { ledger.jobs.push_back(job); });
}

tl::expected<std::string, Errors> with_forgotten(std::string_view text, const std::string& file, Subject what,
                                                 const std::string& before) {
  return rewritten(text, file, [&](Ledger& ledger) {
    ledger.forgotten.push_back(Forgotten{what, before, {}});
  });
}

}  // namespace hingeline::record

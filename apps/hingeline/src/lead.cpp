#include "lead.h"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <unistd.h>

#include <chrono>
#include <cmath>

#include "causes.h"
#include "files.h"
#include "hingeline/service/neighbours.h"
#include "journal_file.h"
#include "reports.h"

namespace hingeline {
namespace {

using belief::CauseShare;
using guide::Guide;

std::string today() {
  const std::time_t t = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  return fmt::format("{:%Y-%m-%d}", fmt::localtime(t));
}

/// Books the finished job in the ledger, which is made where there is none. Gives the job's id.
tl::expected<std::string, record::Errors> book(const service::InstrumentResult& result,
                                               const service::KeyResult& key, const Guide& guide,
                                               std::optional<belief::Complaint> complaint,
                                               const LeadAsked& asked) {
  std::string text;
  std::error_code ignored;
  if (std::filesystem::exists(asked.ledger, ignored)) {
    auto read = read_file(asked.ledger);
    if (!read) return tl::unexpected(record::Errors{read.error()});
    text = std::move(*read);
  } else {
    record::Ledger fresh;
    fresh.title = "Finished jobs";
    text = record::write_ledger(fresh);
  }
  const auto ledger = record::read_ledger(text, asked.ledger);
  if (!ledger) return tl::unexpected(ledger.error());
  const std::string date = today();
  const std::string id = record::free_id(*ledger, date);
  const auto more = record::with_job(text, asked.ledger,
                                     service::job_of(key, result, guide, complaint, id, date, asked.person));
  if (!more) return tl::unexpected(more.error());
  if (auto wrote = write_file(asked.ledger, *more); !wrote)
    return tl::unexpected(record::Errors{wrote.error()});
  return id;
}

std::string now() {
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}",
                     fmt::gmtime(std::chrono::system_clock::to_time_t(std::chrono::system_clock::now())));
}

/// The whole list with what speaks for and against each.
std::string cause_sheet(const Guide& guide, LengthUnit unit, const Terminal& terminal) {
  const auto causes = guide.inquiry().causes();
  std::vector<std::vector<belief::Evidence>> evidence;
  for (const CauseShare& c : causes) evidence.push_back(guide.inquiry().evidence(c.cause));
  std::string out = cause_list(causes, evidence, unit, terminal);
  if (causes.size() > 1 && causes[1].share >= kWorthSaying) {
    if (const auto check = guide.inquiry().telling_apart(causes[0].cause, causes[1].cause)) {
      out += terminal.paragraph("  What would tell the first two apart: ", belief::word(*check), 4);
    }
  }
  const auto barriers = guide.barriers();
  if (!barriers.empty()) {
    std::string list;
    for (const belief::Barrier& b : barriers)
      list += fmt::format("{}{}", list.empty() ? "" : ", ", belief::word(b.cause));
    out += terminal.paragraph("  Before any metal is cut, still to be looked at: ", list, 4);
  }
  return out;
}

std::string reading_text(const std::optional<Guide::Reading>& r, LengthUnit unit) {
  return r ? say(WithDoubt{r->value, r->standard * 2}).in(unit) : "not read";
}

/// Before and after, and what was done between.
std::string proof(const Guide& guide, LengthUnit unit, const Terminal& terminal) {
  std::string out;
  const auto line = [&](const std::string& name, const std::string& text) {
    out += terminal.paragraph(fmt::format("  {:<9}", name), text, 11);
  };
  line("window", say(FromTo{guide.window_low(), guide.window_high()}).in(unit));
  line("before", "end play " + reading_text(guide.first_end_play(), unit));
  line("after", "end play " + reading_text(guide.latest_end_play(), unit));
  if (!guide.found().empty())
    line("found", service::tell(guide.found().front()) + ", " + percent(guide.found().front().share));
  for (const belief::Cure c : guide.cures()) line("done", belief::word(c));
  bool metal = false;
  if (guide.cutting()) {
    for (const plan::BiteTaken& b : guide.cutting()->bites()) {
      line("cut", service::tell(b, unit));
      metal = true;
    }
  }
  for (const guide::Waiver& w : guide.waivers()) line("waived", service::tell(w));
  if (metal) out += "\n" + cautions(terminal);
  return out;
}

std::string step_sheet(const Guide& guide, LengthUnit unit, const Terminal& terminal, bool with_causes) {
  const service::Told told = service::tell(guide, unit);
  std::string out;
  const std::string list = likeliest(guide.inquiry().causes(), 3);
  if (with_causes && !list.empty()) out += terminal.paragraph("  likely  ", list, 10);
  if (!told.why.empty()) out += terminal.paragraph("  why     ", told.why, 10);
  const std::string next = fmt::format("  {}    ", terminal.paint("NEXT", Tone::strong));
  out += terminal.paragraph(next, terminal.paint(told.what, Tone::strong), 10);
  if (!told.how.empty()) out += terminal.paragraph("          ", told.how, 10);
  for (const std::string& rule : told.stop) out += terminal.paragraph("  stop    ", rule, 10);
  if (!guide.finished()) out += terminal.paragraph("  type    ", told.reply, 10);
  return out;
}

constexpr const char* kHelp =
    "  an answer        what is asked for: a length, a word or its number, done\n"
    "  CHECK: ANSWER    any check by its code, asked for or not\n"
    "  cannot           this cannot be looked at here\n"
    "  waive CAUSE because REASON\n"
    "  causes           the whole list, with what speaks for and against\n"
    "  leave            stop here; with --journal it goes on from here the next time\n";

}  // namespace

tl::expected<int, record::Errors> lead(const service::InstrumentResult& result, const service::KeyResult& key,
                                       const record::Shop& shop, const LeadAsked& asked, std::istream* input,
                                       LengthUnit unit, const Terminal& terminal) {
  const auto failed = [](Error e) { return tl::unexpected(record::Errors{std::move(e)}); };
  record::Journal heading;
  heading.instrument = result.title;
  heading.serial = result.serial;
  heading.key = key.id;
  heading.complaint = asked.complaint ? belief::word(*asked.complaint) : "";
  heading.seed = asked.seed;
  std::optional<JournalFile> file;
  if (!asked.journal.empty()) {
    auto opened = JournalFile::open(asked.journal, heading);
    if (!opened) return tl::unexpected(std::move(opened.error()));
    file.emplace(std::move(*opened));
    heading = file->journal();
  }
  auto guide = service::guide_of(
      key, belief::complaint_of(heading.complaint), heading.seed, asked.threads, asked.learned, asked.person,
      service::around(key, result, {heading.seed, asked.threads, asked.learned, asked.person}));
  if (!guide) return failed(std::move(guide.error()));
  int line = 1;
  bool booked = false;
  for (const record::JournalEntry& e : heading.entries) {
    ++line;
    if (e.told == "booked") {
      booked = true;
      continue;
    }
    const auto event = service::event_of(e, shop);
    auto told = event ? guide->tell(*event) : Expected<void>(tl::unexpected(event.error()));
    if (!told) {
      told.error().place = {asked.journal, {}, line, 1};
      return failed(std::move(told.error()));
    }
  }
  const auto say_out = [](const std::string& text) {
    return std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0;
  };
  // Kept first, told then: what the guide knows can always be told again.
  const auto take = [&](const std::string& typed) -> Expected<void> {
    auto entry = service::entry_of(*guide, typed, unit, shop);
    if (!entry) return tl::unexpected(std::move(entry.error()));
    const auto event = service::event_of(*entry, shop);
    if (!event) return tl::unexpected(event.error());
    Guide after = *guide;
    if (auto told = after.tell(*event); !told) return told;
    entry->when = now();
    if (file) {
      if (auto kept = file->add(*entry); !kept) return kept;
    }
    *guide = std::move(after);
    return {};
  };
  for (const std::string& typed : asked.answers) {
    if (auto taken = take(typed); !taken) return failed(std::move(taken.error()));
  }
  if (asked.json) {
    return say_out(service::to_json(key, *guide, unit)) ? 0 : 3;
  }
  const bool talks = ::isatty(STDIN_FILENO) != 0;
  std::string out = fmt::format("{}, {}\n", terminal.paint(key.name, Tone::strong), result.title);
  if (!heading.entries.empty())
    out += fmt::format("  Going on where it was left, after {} answers.\n", heading.entries.size());
  out += "\n" + step_sheet(*guide, unit, terminal, true);
  if (!say_out(out)) return 3;
  while (input != nullptr && !guide->finished()) {
    if (talks && !say_out("\n> ")) return 3;
    std::string typed;
    if (!std::getline(*input, typed)) break;
    if (!typed.empty() && typed.back() == '\r') typed.pop_back();
    if (typed == "leave") break;
    if (typed.empty() || typed == "help") {
      if (!say_out(kHelp)) return 3;
      continue;
    }
    if (typed == "causes") {
      if (!say_out(cause_sheet(*guide, unit, terminal))) return 3;
      continue;
    }
    const auto taken = take(typed);
    if (!taken && taken.error().fault == Fault::file) return failed(taken.error());
    const std::string said = taken ? "\n" + step_sheet(*guide, unit, terminal, true)
                                   : fmt::format("  {}\n", record::describe(taken.error()));
    if (!say_out(said)) return 3;
  }
  if (guide->finished()) {
    std::string end = "\n" + proof(*guide, unit, terminal);
    if (guide->next().what == guide::Next::What::done && !asked.ledger.empty() && !booked) {
      const auto id = book(result, key, *guide, belief::complaint_of(heading.complaint), asked);
      if (!id) return tl::unexpected(id.error());
      if (file) {
        if (auto kept = file->add({"booked", {}, *id, {}, now()}); !kept)
          return failed(std::move(kept.error()));
      }
      end += fmt::format("\n  Booked as {} in {}\n", *id, asked.ledger);
    }
    if (!say_out(end)) return 3;
  } else if (file) {
    if (!say_out(
            fmt::format("\n  Left here; the same command goes on from here. Kept in {}\n", asked.journal)))
      return 3;
  }
  return 0;
}

}  // namespace hingeline

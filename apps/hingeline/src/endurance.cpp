#include "endurance.h"

#include <fmt/format.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <ctime>
#include <optional>
#include <thread>

#include "files.h"
#include "hingeline/service/rig.h"

namespace hingeline {
namespace {

using service::RigAct;

std::atomic<bool> interrupted{false};
static_assert(std::atomic<bool>::is_always_lock_free);
extern "C" void on_watch_interrupt(int /*signal*/) { interrupted = true; }

LocalMoment now_here() {
  const std::time_t now = std::time(nullptr);
  std::tm here{};
  localtime_r(&now, &here);
  return {Moment::at(now), {static_cast<int>(here.tm_gmtoff / 60)}};
}

tl::unexpected<record::Errors> not_understood(std::string what, std::string expected) {
  return tl::unexpected(record::Errors{Error{Fault::usage, std::move(what), std::move(expected), {}}});
}

tl::expected<service::RigResult, record::Errors> result_of(const std::string& text, const std::string& file,
                                                           const LocalMoment& now) {
  const auto rig = record::read_rig(text, file);
  if (!rig) return tl::unexpected(rig.error());
  auto result = service::rig_at(*rig, now);
  if (!result) return tl::unexpected(record::Errors{result.error()});
  return std::move(*result);
}

/// What was asked to be done, in order. One thing at a time for the motor; any number of looks.
tl::expected<std::vector<RigAct>, record::Errors> acts_of(const RigAsked& asked) {
  std::vector<RigAct> out;
  if (!asked.start.empty()) out.push_back({RigAct::Kind::start, asked.start, {}, {}, {}});
  if (asked.pause) out.push_back({RigAct::Kind::pause, {}, {}, {}, {}});
  if (!asked.rate.empty()) out.push_back({RigAct::Kind::rate, asked.rate, {}, {}, {}});
  if (out.size() > 1) return not_understood("more than one of --start, --pause and --rate", "one at a time");
  for (const std::string& typed : asked.inspect) {
    const auto act = service::inspection_of(typed, asked.note);
    if (!act) return tl::unexpected(record::Errors{act.error()});
    out.push_back(*act);
  }
  if (asked.inspect.empty() && !asked.note.empty())
    return not_understood("a note with nothing to note it on", "--inspect SPECIMEN=FINDING with it");
  if (asked.watch && (!out.empty() || asked.json || !asked.at.empty()))
    return not_understood("--watch with something else", "--watch alone");
  return out;
}

std::string rig_sheet(const service::RigResult& rig, const Terminal& terminal) {
  std::string out = terminal.paint(rig.title, Tone::strong) + "\n";
  out += terminal.paragraph("  ", service::counter_line(rig), 2);
  out += terminal.paragraph("  ", service::finish_line(rig), 2);
  if (rig.ahead > 0) {
    out += terminal.paragraph("  ",
                              fmt::format("{} entries lie after {} and are left out", rig.ahead,
                                          clock_text(rig.now.moment, rig.now.offset)),
                              2);
  }
  if (!rig.specimens.empty()) {
    out += "\n";
    Table table({"specimen", "state", "sound to", "failed by", "last look", "name"});
    for (const auto& s : rig.specimens) {
      const auto& state = s.specimen.state;
      const auto& life = s.specimen.life;
      table.row({s.id,
                 state == endurance::Specimen::State::on       ? Table::Cell("on the rig")
                 : state == endurance::Specimen::State::failed ? Table::Cell("failed", Tone::bad)
                                                               : Table::Cell("taken off", Tone::faint),
                 fmt::format("{:.0f}", life.sound_to),
                 life.failed() ? fmt::format("{:.0f}", life.failed_by) : "-",
                 s.specimen.seen ? clock_text(*s.specimen.seen, rig.now.offset) : "never", s.name});
    }
    out += table.text(terminal, 4);
  }
  if (!rig.looks.empty()) {
    out += "\ninspections\n";
    for (const auto& l : rig.looks) {
      std::string line = fmt::format("{}, at {} closings: {} {}", clock_text(l.at.moment, rig.now.offset),
                                     l.closings, l.specimen, word(l.finding));
      if (!l.note.empty()) line += "; " + l.note;
      out += terminal.paragraph("  ", line, 4);
    }
  }
  out += "\nwhat this shows\n";
  for (const auto& s : rig.statements) out += terminal.paragraph("  ", s.words, 4);
  for (const auto& c : rig.cautions) out += terminal.paragraph("  ", c, 4);
  return out;
}

tl::expected<std::string, record::Errors> watch(const std::string& file) {
  if (::isatty(STDOUT_FILENO) == 0) return not_understood("--watch where nobody can see it", "a terminal");
  std::signal(SIGINT, on_watch_interrupt);
  while (!interrupted) {
    // Read afresh each time: the rig may be paused from elsewhere meanwhile.
    const auto text = read_file(file);
    if (!text) return tl::unexpected(record::Errors{text.error()});
    const auto rig = result_of(*text, file, now_here());
    if (!rig) return tl::unexpected(rig.error());
    std::fputs(fmt::format("\r{}; Ctrl-C ends\x1b[K", service::counter_line(*rig)).c_str(), stdout);
    std::fflush(stdout);
    // To the next whole second, so that none is skipped; an interrupt is noticed within a tenth of one.
    const auto next = std::chrono::ceil<std::chrono::seconds>(std::chrono::system_clock::now());
    while (!interrupted && std::chrono::system_clock::now() < next)
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
  }
  return "\n";
}

}  // namespace

std::string day_of_today() {
  const LocalMoment now = now_here();
  return day_text(now.moment, now.offset);
}

tl::expected<std::string, record::Errors> rig_command(const RigAsked& asked, const Terminal& terminal) {
  const auto acts = acts_of(asked);
  if (!acts) return tl::unexpected(acts.error());
  if (asked.watch) return watch(asked.file);
  LocalMoment at = now_here();
  if (!asked.at.empty()) {
    const auto typed = parse_moment(asked.at);
    if (!typed) return not_understood("--at: " + typed.error().what, typed.error().expected);
    at = *typed;
  }
  if (!acts->empty() && asked.file == "-")
    return not_understood("a rig from standard input cannot be kept", "its file");
  std::optional<FileLock> lock;
  if (!acts->empty()) {
    auto held = FileLock::of(asked.file);
    if (!held) return tl::unexpected(record::Errors{held.error()});
    lock.emplace(std::move(*held));
  }
  auto text = read_file(asked.file);
  if (!text) return tl::unexpected(record::Errors{text.error()});
  std::string latest = *text;
  for (const RigAct& act : *acts) {
    auto changed = service::rig_with(latest, asked.file, act, at);
    if (!changed) return tl::unexpected(changed.error());
    latest = std::move(*changed);
  }
  if (!acts->empty()) {
    if (const auto kept = keep_file(asked.file, latest); !kept)
      return tl::unexpected(record::Errors{kept.error()});
  }
  const auto result = result_of(latest, asked.file, at);
  if (!result) return tl::unexpected(result.error());
  return asked.json ? service::to_json(*result) : rig_sheet(*result, terminal);
}

std::string wear_sheet(const service::WearResult& result, const std::string& only_key, LengthUnit unit,
                       const Terminal& terminal) {
  std::string out = terminal.paint(result.title, Tone::strong) + "\n";
  if (!only_key.empty()) {
    for (const auto& key : result.keys) {
      if (key.id != only_key) continue;
      out += key.id + "  " + key.name + "\n";
      for (const std::string& line : service::explain(key, unit)) out += terminal.paragraph("  ", line, 4);
    }
    return out;
  }
  Table table({"key", "end play", "window to", "due as it is", "due once fitted", "middle", "rests on"});
  bool tables_only = false;
  for (const auto& key : result.keys) {
    if (key.problem) {
      table.row({key.id, "-", "-", Table::Cell("cannot say", Tone::attention), "-", "-", key.problem->what});
      continue;
    }
    tables_only = tables_only || key.seen == 0;
    table.row({key.id, service::show(key.now, unit), service::show(key.edge, unit),
               key.below                    ? Table::Cell("too tight now", Tone::attention)
               : key.due.late <= seconds(0) ? Table::Cell("now", Tone::bad)
                                            : Table::Cell(service::show_years(key.due)),
               service::show_years(key.fitted), service::show_years(key.fitted.middle),
               key.seen > 0         ? "its own past"
               : key.inputs.empty() ? ""
                                    : "tables"});
  }
  out += table.text(terminal, 5);
  out += terminal.paragraph(
      "",
      fmt::format("End plays read on {}. Nine fits in ten are due again within their range, half of "
                  "them before the middle; once fitted: to the middle of the window.",
                  result.read_on),
      0);
  if (tables_only) {
    out += terminal.paragraph(
        "",
        "Where a key has no earlier end plays, its wear coefficient is known by its decades only: the "
        "range is wide, and no narrower one would be true. hingeline wear FILE KEY says why.",
        0);
  }
  return out;
}

}  // namespace hingeline

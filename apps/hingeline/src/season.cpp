#include "season.h"

#include <fmt/format.h>

#include "hingeline/record/document.h"

namespace hingeline {
namespace {

using body::Sure;
using service::SeasonKey;
using service::SeasonResult;
using service::Worked;

std::string explained(const Worked& w, LengthUnit unit, const Terminal& t) {
  std::string out;
  bool first = true;
  for (const std::string& line : service::explain(w, unit)) {
    out += t.paragraph(first ? "  " : "    ", line, 6);
    first = false;
  }
  return out;
}

/// As the other tables show a key's lengths.
std::string bench(const Worked& w, LengthUnit unit) {
  std::string text = service::show(belief::FigureValue{w.value, w.plus_minus(), 0, 0, false}, unit);
  text.resize(text.rfind(' '));  // the heading has the unit
  return text;
}

Tone tone_of(const SeasonKey& k) {
  if (k.binds == Sure::yes) return Tone::bad;
  return k.verdict == "holds" ? Tone::good : Tone::attention;
}

std::string window_text(const SeasonKey& k, LengthUnit unit) {
  if (k.window.crossed()) return "none";
  const auto bare = [&](Length l) {
    std::string text = service::show(l, unit);
    text.resize(text.find(' '));
    return text;
  };
  return fmt::format("{} to {}", bare(k.window.low), bare(k.window.high));
}

}  // namespace

std::string season_report(const SeasonResult& r, LengthUnit unit, const Terminal& t,
                          const std::string& only_key) {
  std::string moisture;
  if (r.drier > 0 || r.wetter > 0) {
    moisture = fmt::format("; {:g} % drier to {:g} % damper than at the bench", r.drier, r.wetter);
  }
  std::string out =
      t.paragraph(t.paint(r.title, Tone::strong) + ": ",
                  fmt::format("{}{:g} to {:g} °C, bench {:g} °C{}", r.service.empty() ? "" : r.service + ", ",
                              r.coldest, r.warmest, r.bench, moisture),
                  2);
  out += "\n";
  if (only_key.empty()) {
    const char* in = unit == LengthUnit::mm ? "mm" : "in";
    Table table({"key", fmt::format("{} at {:g} °C", in, r.coldest),
                 fmt::format("{} at {:g} °C", in, r.bench), fmt::format("{} at {:g} °C", in, r.warmest),
                 "verdict", "bench window"});
    std::size_t holds = 0;
    std::size_t worked_out = 0;
    for (const SeasonKey& k : r.keys) {
      const std::string& name = k.name.empty() ? k.id : k.name;
      if (k.problem) {
        table.row({{name, Tone::strong}, "-", "-", "-", {"has a problem", Tone::bad}, "-"});
        continue;
      }
      ++worked_out;
      holds += k.verdict == "holds" ? 1U : 0U;
      table.row({{name, Tone::strong},
                 bench(k.coldest, unit),
                 bench(k.bench, unit),
                 bench(k.warmest, unit),
                 {k.verdict, tone_of(k)},
                 window_text(k, unit)});
    }
    out += table.text(t, 5);
    out += fmt::format("\n{} of {} keys hold wherever it is played.", holds, worked_out);
    std::size_t already = 0;
    std::string crossed;
    std::size_t crossings = 0;
    for (const SeasonKey& k : r.keys) {
      if (k.problem) continue;
      already += k.wrong_already ? 1U : 0U;
      if (!k.window.crossed()) continue;
      ++crossings;
      crossed += (crossed.empty() ? "" : ", ") + (k.name.empty() ? k.id : k.name);
    }
    if (already > 0) {
      out += fmt::format(" {} {} wrong at the bench already: see \"plan\".", already,
                         already == 1 ? "is" : "are");
    }
    out += "\n";
    if (!crossed.empty()) {
      out += t.paragraph("",
                         "No fit at the bench holds everywhere for " +
                             (crossings == worked_out && crossings > 1 ? std::string("any key") : crossed) +
                             ". Either fit them so that they stay free and say so to the player, or keep the "
                             "instrument in a narrower range.",
                         0);
    }
    for (const SeasonKey& k : r.keys) {
      if (k.problem || k.verdict == "holds" || k.wrong_already) continue;
      out += t.paragraph(t.paint(k.name.empty() ? k.id : k.name, Tone::strong) + ": ",
                         k.because.in(unit) + ".", 2);
    }
  }
  for (const SeasonKey& k : r.keys) {
    if (only_key.empty() || k.id != only_key) continue;
    if (k.problem) {
      out += t.paragraph("", record::describe(*k.problem), 2);
      continue;
    }
    out += t.paragraph(t.paint(k.name.empty() ? k.id : k.name, Tone::strong) + ": ",
                       t.paint(k.verdict, tone_of(k)) + "; " + k.because.in(unit) + ".", 2);
    out += fmt::format("  needed anywhere {}, allowed anywhere {}; window at the bench {}{}\n",
                       service::show(k.needed, unit), service::show(k.allowed, unit), window_text(k, unit),
                       k.window.crossed()       ? ""
                       : unit == LengthUnit::mm ? " mm"
                                                : " in");
    out += explained(k.least, unit, t) + explained(k.most, unit, t);
  }
  if (!r.notes.empty()) out += "\n";
  for (const Said& n : r.notes) out += t.paragraph("  ", n.in(unit), 4);
  return out;
}

}  // namespace hingeline

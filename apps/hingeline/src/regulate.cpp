#include "regulate.h"

#include <fmt/format.h>

#include <algorithm>

namespace hingeline {
namespace {

using service::Closes;
using service::Worked;

std::string or_dash(const std::optional<Worked>& w, LengthUnit unit) {
  return w ? service::show(*w, unit) : "-";
}

Tone tone_of(Closes c) {
  switch (c) {
    case Closes::together:
      return Tone::good;
    case Closes::cannot_tell:
      return Tone::attention;
    case Closes::key_first:
    case Closes::partner_first:
      break;
  }
  return Tone::bad;
}

std::string openings_text(const service::Regulation& r, LengthUnit unit, const Terminal& terminal) {
  Table table({"pad", "opening", "wanted", "what to do"});
  for (const auto& o : r.openings) {
    std::string wanted = "-";
    if (o.low) {
      std::string low = service::show(*o.low, unit);
      low.resize(low.find(' '));
      wanted = low + " to " + service::show(*o.high, unit);
    }
    std::string says = tell(o, unit);
    // The whole sentence stands below the table.
    says.resize(std::min(says.find_first_of(":;"), says.size()));
    table.row({o.key,
               o.opening ? service::show(*o.opening, unit) : "-",
               wanted,
               {says, o.wider              ? Tone::attention
                      : o.low && o.opening ? Tone::good
                                           : Tone::plain}});
  }
  std::string out = table.text(terminal, 4);
  for (const auto& o : r.openings) {
    if (o.wider) out += terminal.paragraph(fmt::format("  {}: ", o.key), tell(o, unit) + ".", 4);
  }
  return out;
}

std::string links_text(const service::Regulation& r, LengthUnit unit, const Terminal& terminal) {
  Table table({"from", "to", "motion lost", "at the pad", "at the finger"});
  for (const auto& l : r.links) {
    table.row({l.from, l.to, service::show(l.lost, unit), or_dash(l.lost_at_pad, unit),
               or_dash(l.lost_at_touch, unit)});
  }
  std::string out = table.text(terminal, 3);
  for (const auto& l : r.links) {
    const std::string says = tell(l, unit);
    if (!says.empty()) out += terminal.paragraph(fmt::format("  {} to {}: ", l.from, l.to), says + ".", 4);
  }
  return out;
}

std::string explained_text(const Worked& w, LengthUnit unit, const Terminal& terminal, int indent) {
  std::string out;
  bool first = true;
  for (const std::string& line : service::explain(w, unit)) {
    out += terminal.paragraph(std::string(static_cast<std::size_t>(first ? indent : indent + 2), ' '), line,
                              indent + 4);
    first = false;
  }
  return out;
}

std::string happenings_text(const service::PairResult& p, LengthUnit unit, const Terminal& terminal) {
  std::string out;
  for (const auto& h : p.happenings) {
    const std::string at = service::show(h.at, unit);
    const std::string where =
        h.at.unit == "mm" ? fmt::format("finger at {}", at) : fmt::format("{} turned by {}", p.under, at);
    out += terminal.paragraph("    ",
                              h.seats ? fmt::format("{}: {} seats", where, h.to)
                                      : fmt::format("{}: {} takes {} along", where, h.from, h.to),
                              6);
  }
  return out;
}

std::string pair_text(const service::PairResult& p, const service::Regulation& r, LengthUnit unit,
                      const Terminal& terminal, bool explained) {
  const auto lines = tell(p, r, unit);
  std::string out = fmt::format("  {} and {} under {}\n", terminal.paint(p.key, Tone::strong),
                                terminal.paint(p.partner, Tone::strong), p.under);
  for (std::size_t n = 0; n < lines.size(); ++n) {
    const std::string line = lines[n] + ".";
    out +=
        terminal.paragraph("    ", n == 0 && !p.problem ? terminal.paint(line, tone_of(p.closes)) : line, 6);
  }
  if (!explained || p.problem) return out;
  out += "    From finger to pads, by arms and gaps alone:\n" + happenings_text(p, unit, terminal);
  out += explained_text(p.reckoned, unit, terminal, 4);
  if (p.read) out += explained_text(p.gap, unit, terminal, 4);
  if (p.under_finger) out += explained_text(*p.under_finger, unit, terminal, 4);
  if (p.after_work) out += explained_text(*p.after_work, unit, terminal, 4);
  if (!p.cures.empty()) out += explained_text(p.cures.front().thicker, unit, terminal, 4);
  return out;
}

std::string changes_text(const service::Regulation& r, LengthUnit unit, const Terminal& terminal) {
  if (!r.no_changes.empty()) return "\n" + terminal.paragraph("To do: ", r.no_changes + ".", 7);
  if (r.changes.empty()) {
    const bool unsure = std::any_of(r.pairs.begin(), r.pairs.end(), [](const service::PairResult& p) {
      return p.problem || p.closes == Closes::cannot_tell;
    });
    if (r.pairs.empty()) return {};
    return unsure ? "\nNo cork to change is sure yet: read what is asked for above.\n"
                  : "\nNo cork to change.\n";
  }
  std::string out =
      fmt::format("\nTo do, the fewest corks that bring all pairs together ({:.0f} min):\n", r.minutes);
  int number = 0;
  for (const auto& c : r.changes)
    out += terminal.paragraph(fmt::format("  {}. ", ++number), tell(c, unit) + ".", 5);
  const bool work = std::any_of(r.pairs.begin(), r.pairs.end(),
                                [](const service::PairResult& p) { return p.after_work.has_value(); });
  if (work)
    out += terminal.paragraph(
        "", "Do the planned fitting work first: it moves feet and takes rock. Then read the gaps again.", 0);
  return out;
}

}  // namespace

std::string regulation_report(const service::Regulation& r, LengthUnit unit, const Terminal& terminal,
                              bool explained) {
  std::string out = r.title + "\n";
  if (r.openings.empty() && r.links.empty() && r.pairs.empty()) {
    return out +
           terminal.paragraph(
               "", "No linked keys: the document has no \"links\", \"closes_together\" or openings.", 0);
  }
  if (!r.openings.empty()) out += "\nOpenings at rest\n" + openings_text(r, unit, terminal);
  if (!r.links.empty()) out += "\nLinks\n" + links_text(r, unit, terminal);
  if (explained) {
    for (const auto& l : r.links) out += explained_text(l.lost, unit, terminal, 2);
  }
  if (!r.pairs.empty()) {
    out += fmt::format("\nPairs; up to {} counts as together\n", service::show(r.together, unit));
    for (const auto& p : r.pairs) out += pair_text(p, r, unit, terminal, explained);
  }
  return out + changes_text(r, unit, terminal);
}

}  // namespace hingeline

#include "leak.h"

#include <fmt/format.h>

namespace hingeline {
namespace {

/// How it lies under its fingers, in a few words.
Table::Cell pressed_cell(const service::KeyLeak& k) {
  if (k.fingers.empty()) return {"-", Tone::faint};
  const service::FingerLeak& worst = k.fingers[*k.worst_finger];
  if (!worst.found.pressed.closes) return {"does not close", Tone::bad};
  if (service::seals(worst)) {
    return {k.fingers.size() == 1 ? "closed" : fmt::format("closed at all {}", k.fingers.size()), Tone::good};
  }
  return {fmt::format("{}, {}", service::show_leak(worst.leak), worst.name), Tone::attention};
}

}  // namespace

std::string leak_report(const service::InstrumentLeak& leaks, LengthUnit unit, const Terminal& terminal) {
  std::string out = terminal.paint(leaks.title, Tone::strong) + "\n\n";
  Table table({"key", "gap by play", "leak", "as a hole of", "pressed, at worst", "share", "rules"});
  for (const service::KeyLeak& k : leaks.keys) {
    if (!k.nothing.empty()) {
      table.row({k.id, "-", {k.nothing.substr(0, k.nothing.find(',')), Tone::faint}, "-", "-", "-", "-"});
      continue;
    }
    const bool none = service::show_leak(k.leak) == "none";
    table.row({k.id,
               service::show(k.gap, unit),
               {service::show_leak(k.leak), k.too_much ? Tone::bad
                                            : none     ? Tone::good
                                                       : Tone::plain},
               none ? "-" : service::show_hole(k, unit),
               pressed_cell(k),
               fmt::format("{:.0f} %", 100 * k.share),
               seal::word(k.flow.rules)});
  }
  out += table.text(terminal, 5) + "\n";
  for (const std::string& line : service::tell(leaks, unit)) out += terminal.paragraph("", line, 2);
  return out;
}

std::string leak_sheet(const service::KeyLeak& key, const service::InstrumentLeak& leaks, LengthUnit unit,
                       const Terminal& terminal) {
  std::string out = terminal.paint(key.name.empty() ? key.id : key.name, Tone::strong) + "\n\n";
  for (const std::string& line : service::explain(key, leaks, unit))
    out += line.empty() ? "\n" : terminal.paragraph("", line, 2);
  return out;
}

}  // namespace hingeline

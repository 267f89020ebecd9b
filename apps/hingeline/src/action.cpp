#include "action.h"

#include <fmt/format.h>

#include <cmath>

namespace hingeline {
namespace {

using service::ActionVerdict;
using service::KeyAction;

Tone tone_of(ActionVerdict v) {
  switch (v) {
    case ActionVerdict::quick:
      return Tone::good;
    case ActionVerdict::stays:
    case ActionVerdict::binds:
      return Tone::bad;
    case ActionVerdict::cannot_tell:
      return Tone::faint;
    case ActionVerdict::sluggish_cold:
    case ActionVerdict::sluggish:
      break;
  }
  return Tone::attention;
}

std::string shown(const KeyAction& key, const char* code, LengthUnit unit) {
  const service::Worked* w = key.figure(code);
  return w == nullptr ? "-" : service::show(*w, unit);
}
std::string percent(double share) { return fmt::format("{:.0f} %", share * 100); }

/// "bench 20 °C, coldest 5 °C".
std::string where(const service::ActionResult& r) {
  std::string out = fmt::format("bench {:g} °C", r.bench);
  if (r.cold) out += fmt::format(", coldest {:g} °C", *r.cold);
  if (r.warm) out += fmt::format(", warmest {:g} °C", *r.warm);
  return out;
}

std::string oil_line(const service::ActionResult& r) {
  return fmt::format("Oil: {}{}; {}; sluggish above {:.0f} ms\n", r.oil,
                     r.oil_said ? "" : " (taken: the document names none)", where(r), r.limit);
}

std::string oil_table(const service::ActionResult& r, const Terminal& terminal) {
  const LengthUnit unit = r.units;
  Table table({"OIL", "AT THE BENCH", "AT THE COLDEST", "IN TIME", "QUIET"});
  for (const service::OilRow& row : r.oils) {
    table.row({{row.in_use ? row.name + " (in use)" : row.name, row.in_use ? Tone::strong : Tone::plain},
               service::show(row.bench, unit),
               row.cold ? service::show(*row.cold, unit) : std::string("-"),
               fmt::format("{} of {}", row.in_time, r.told),
               fmt::format("{} of {}", row.quiet, r.told)});
  }
  return table.text(terminal, 3);
}

const char* fit_word(movement::WireFit fit) {
  switch (fit) {
    case movement::WireFit::fits:
      return "fits";
    case movement::WireFit::too_much_stress:
      return "too much stress";
    case movement::WireFit::bends_too_far:
      break;
  }
  return "bends too far";
}

}  // namespace

std::string action_table(const service::ActionResult& result, LengthUnit unit, const Terminal& terminal) {
  std::string out = result.title + "\n" + oil_line(result) + "\n";
  Table table(
      {"KEY", "VERDICT", "BACK, BENCH", "BACK, COLDEST", "TOUCH", "STRESS", "THICKEST OIL", "SPRING"});
  for (const KeyAction& key : result.keys) {
    const service::Worked* stress = key.figure("stress-share");
    table.row({key.id,
               {word(key.verdict), tone_of(key.verdict)},
               shown(key, "return-bench", unit),
               shown(key, "return-cold", unit),
               shown(key, "touch-start", unit),
               stress == nullptr ? std::string("-") : percent(stress->value),
               key.thickest.value_or("-"),
               shown(key, "spring-rest", unit)});
  }
  out += table.text(terminal, 2);
  bool first = true;
  for (const KeyAction& key : result.keys) {
    // A quick key with nothing else to say needs no line.
    if (key.says.empty() || (key.verdict == ActionVerdict::quick && key.says.size() == 1)) continue;
    if (first) out += "\n";
    first = false;
    std::string text;
    for (const std::string& line : key.says) text += (text.empty() ? "" : " ") + line;
    out += terminal.paragraph(key.id + ": ", text, 2);
  }
  if (!result.oils.empty()) {
    out += "\n" + oil_table(result, terminal);
    out += "\n";
    for (const std::string& line : result.advice) out += terminal.paragraph("", line, 0);
  }
  return out;
}

std::string action_sheet(const service::ActionResult& result, const KeyAction& key, LengthUnit unit,
                         const Terminal& terminal) {
  std::string out = fmt::format("{}{}: {}\n", key.id, key.name.empty() ? "" : ", " + key.name,
                                terminal.paint(word(key.verdict), tone_of(key.verdict)));
  out += oil_line(result);
  for (const std::string& line : key.says) out += terminal.paragraph("", line, 0);
  if (const service::Worked* touch = key.figure("touch-start")) {
    constexpr double kGrams = 1000 / 9.80665;
    out +=
        terminal.paragraph("",
                           fmt::format("At the touch {:.0f} grams to leave rest, {:.0f} to hold it pressed.",
                                       touch->value * kGrams, key.figure("touch-hold")->value * kGrams),
                           0);
  }
  if (key.thickest) out += terminal.paragraph("", "Thickest oil in time: " + *key.thickest + ".", 0);
  for (const service::Worked& w : key.figures) {
    bool first = true;
    for (const std::string& line : service::explain(w, unit)) {
      out += first ? "\n" + terminal.paragraph("", line, 2) : terminal.paragraph("  ", line, 4);
      first = false;
    }
  }
  if (key.wires.empty()) return out;
  out += "\n" + terminal.paragraph("", "Spring sizes. " + key.wires_say, 0) + "\n";
  Table table({"SIZE", "DIAMETER", "SET", "TOUCH, REST", "PRESSED", "STRESS", ""});
  for (const service::WireRow& w : key.wires) {
    table.row({{w.name, w.best ? Tone::strong : Tone::plain},
               service::show(w.option.diameter, unit),
               // A set that no spring of this length can have is no figure.
               w.option.fit == movement::WireFit::bends_too_far
                   ? std::string("-")
                   : service::show(in_millimetres(w.option.set), 0, "mm", unit),
               fmt::format("{:.2f} N", in_newtons(w.option.touch_at_rest)),
               fmt::format("{:.2f} N", in_newtons(w.option.touch_pressed)),
               percent(w.option.share),
               {w.best ? "fits, take this" : fit_word(w.option.fit), w.best ? Tone::good : Tone::plain}});
  }
  return out + table.text(terminal, 2);
}

}  // namespace hingeline

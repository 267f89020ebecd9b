#include "causes.h"

#include <fmt/format.h>
#include <cmath>

#include "hingeline/service/lead.h"

namespace hingeline {
namespace {

/// How far the neighbours have to move the chance of a bend for it to be said.
constexpr double kMoved = 0.02;

std::string of_bend(const service::KeyCauses& key) {
  if (std::abs(key.bend - key.bend_alone) < kMoved) return {};
  return fmt::format("{} -> {}", percent(key.bend_alone), percent(key.bend));
}

std::string next_of(const service::KeyCauses& key) {
  return key.next ? belief::word(key.next->check) : "nothing: sure enough";
}

}  // namespace

std::string percent(double share) { return fmt::format("{:.0f} %", 100 * share); }

std::string likeliest(const std::vector<belief::CauseShare>& causes, std::size_t most) {
  std::string out;
  std::size_t said = 0;
  for (const belief::CauseShare& c : causes) {
    if (c.share < kWorthSaying || said == most) break;
    out += fmt::format("{}{} {}", said == 0 ? "" : "; ", service::tell(c), percent(c.share));
    ++said;
  }
  return out;
}

std::string cause_list(const std::vector<belief::CauseShare>& causes,
                       const std::vector<std::vector<belief::Evidence>>& evidence, LengthUnit unit,
                       const Terminal& terminal) {
  std::string out;
  for (std::size_t k = 0; k < causes.size() && causes[k].share >= kWorthSaying; ++k) {
    out += fmt::format("  {:>5}  {}\n", percent(causes[k].share),
                       terminal.paint(service::tell(causes[k]), Tone::strong));
    out += terminal.paragraph("         ", belief::meaning(causes[k].cause), 9);
    for (const belief::Evidence& e : evidence[k]) {
      out += terminal.paragraph(
          e.factor > 1 ? "         for:     " : "         against: ", service::tell(e, unit), 18);
    }
  }
  return out;
}

std::string causes_report(const service::InstrumentCauses& causes, LengthUnit unit, const Terminal& terminal,
                          const std::string& only_key) {
  if (!only_key.empty()) {
    for (const service::KeyCauses& k : causes.keys) {
      if (k.key->id != only_key || k.problem) continue;
      std::string out = terminal.paint(k.key->name, Tone::strong) + "\n";
      out += cause_list(k.causes, k.evidence, unit, terminal);
      if (const std::string moved = of_bend(k); !moved.empty())
        out += terminal.paragraph("  bent body, alone -> with its neighbours: ", moved, 4);
      out += terminal.paragraph("  look next: ", next_of(k), 4);
      return out + terminal.paragraph("  body: ", service::tell_bend(causes, unit), 4);
    }
    return {};
  }
  Table table({"key", "likely", "look next", "bend, alone -> with neighbours"});
  for (const service::KeyCauses& k : causes.keys) {
    if (k.problem) {
      table.row({k.key->id, {"cannot be worked out", Tone::attention}, "", ""});
      continue;
    }
    table.row({k.key->id, likeliest(k.causes, 2), next_of(k), of_bend(k)});
  }
  return table.text(terminal, 2) + "\n" + terminal.paragraph("Body: ", service::tell_bend(causes, unit), 2);
}

}  // namespace hingeline

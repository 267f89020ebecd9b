#include "stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "hingeline/service/bench.h"
#include "reports.h"

namespace hingeline {
namespace {

using service::StackResult;
using service::TubeOnStack;

std::string figure(const std::optional<service::Worked>& w, LengthUnit unit) {
  return w ? service::show(*w, unit) : "-";
}
std::string percent(double chance) {
  // Neither certainty is ever claimed.
  const double shown = std::clamp(std::round(100 * chance), 1.0, 99.0);
  return fmt::format("{}{:.0f} %", chance < 0.01 ? "under " : chance > 0.99 ? "over " : "", shown);
}

Table::Cell clearance_cell(const TubeOnStack& t, LengthUnit unit) {
  const std::string text = figure(t.clearance, unit);
  if (!t.clearance || !t.window) return text;
  const double v = t.clearance->value;
  const bool right = v >= t.window->least.raw() && v <= t.window->most.raw();
  return {text, right ? Tone::good : Tone::attention};
}

/// "in H7/g6", "0.022 mm too wide".
std::string fit_words(const StackResult& s, const TubeOnStack& t, LengthUnit unit) {
  if (!t.clearance) return "-";
  if (!t.window) return "not tabled";
  const Length v = millimetres(t.clearance->value);
  if (v.raw() <= 0) return "no clearance";
  if (v > t.window->most) return fmt::format("{} too wide", service::show(v - t.window->most, unit));
  if (v < t.window->least) return fmt::format("{} too close", service::show(t.window->least - v, unit));
  return "in " + s.fit;
}

std::string bow_words(const TubeOnStack& t, LengthUnit unit) {
  using rods::BowRegime;
  if (t.bow->regime == BowRegime::no_room) return fmt::format("{}: no clearance, it cannot turn.", t.name);
  if (t.bow->regime == BowRegime::free) {
    return fmt::format("{}: the clearance takes the bow up, {} to spare; chance that it binds {}.", t.name,
                       figure(t.bow_room, unit), percent(t.chance_bow_binds));
  }
  return fmt::format(
      "{}: the bow binds, {} more than the clearance takes up; {} against turning ({}); chance that it binds "
      "{}.",
      t.name, service::show(-t.bow_room->value, t.bow_room->plus_minus(), "mm", unit),
      figure(t.friction, unit),
      t.bow->regime == BowRegime::lies_flat ? "the rod lies along the wall in the middle"
                                            : "it touches at both ends and in the middle",
      percent(t.chance_bow_binds));
}

std::string plan_words(const service::StackWorkPlan& p) {
  return fmt::format("{:.0f} min, metal reckoned as {:.0f} min more", in_seconds(p.plan.time) / 60,
                     in_seconds(p.plan.metal) / 60);
}

std::string after_words(const StackResult& s, const service::StackWorkPlan& p, std::size_t g,
                        LengthUnit unit) {
  const rods::GapAfter& after = p.plan.gaps[g];
  std::string out = fmt::format("{}: end play {}", s.gaps[g].name, service::show(after.end_play, unit));
  for (const TubeOnStack& t : s.tubes) {
    if (t.gap != g || !after.pads[t.place]) continue;
    out += fmt::format(", pad of {} from {} to {} off", t.name, service::show(after.pads[t.place]->up, unit),
                       service::show(after.pads[t.place]->down, unit));
  }
  out += fmt::format("; chance to land in the window {}", percent(p.care.chance[g]));
  if (p.care.chance_measured[g] > p.care.chance[g] + 0.005) {
    out += fmt::format(", measured in between {}", percent(p.care.chance_measured[g]));
  }
  return out + ".";
}

std::string plans_text(const StackResult& s, LengthUnit unit, const Terminal& terminal) {
  std::string out;
  const auto& best = s.plans.front();
  if (best.steps.empty()) {
    out += terminal.paragraph("  ", "Nothing to do: every gap is in its window and every pad centred.", 2);
  } else {
    if (best.plan.metal.raw() > 0) {
      out += terminal.paragraph(
          "  ",
          "First, without metal: clean rod and bores, straighten a bowed rod, see that no post "
          "leans or was knocked, and read the end play again.",
          2);
    }
    out += terminal.paragraph("  ", fmt::format("Rod out, tubes off; {}.", plan_words(best)), 2);
    int number = 0;
    for (const auto& step : best.steps) {
      const std::string first = fmt::format("  {}. ", ++number);
      const std::string how = service::tell_how(step, unit);
      std::string line = service::tell(step, unit);
      line.front() = static_cast<char>(line.front() - 'a' + 'A');
      out += terminal.paragraph(first, line + "." + (how.empty() ? "" : " " + how),
                                static_cast<int>(first.size()));
    }
  }
  for (std::size_t g = 0; g < s.gaps.size(); ++g) {
    out += terminal.paragraph("  ", "Then " + after_words(s, best, g, unit), 2);
  }
  for (const auto& r : s.ruling) {
    std::string line = fmt::format("What rules: {}", r.limit);
    if (r.saved && in_seconds(*r.saved) > 0.5) {
      line += fmt::format("; {} more would save {:.1f} min", service::show(millimetres(0.01), unit),
                          in_seconds(*r.saved) / 60);
    }
    out += terminal.paragraph("  ", line + ".", 2);
  }
  for (std::size_t k = 1; k < s.plans.size(); ++k) {
    std::string steps;
    for (const auto& step : s.plans[k].steps)
      steps += (steps.empty() ? "" : ", then ") + service::tell(step, unit);
    out += terminal.paragraph("  ", fmt::format("Or: {} ({}).", steps, plan_words(s.plans[k])), 2);
  }
  return out;
}

}  // namespace

std::string stack_sheet(const StackResult& s, LengthUnit unit, const Terminal& terminal) {
  std::string out = terminal.paint(s.name, Tone::strong) + fmt::format(" ({})\n", s.id);
  if (s.problem)
    return out + terminal.paragraph("  ", fmt::format("Not worked out: {}.", s.problem->what), 2);
  if (s.rod)
    out += terminal.paragraph("  ", fmt::format("Rod {}; fit wanted {}.", figure(s.rod, unit), s.fit), 2);

  Table gaps({"gap", "end play", "window", "verdict"});
  for (const auto& g : s.gaps) {
    const Length play = millimetres(g.end_play.value);
    const Table::Cell verdict = play.raw() < 0  ? Table::Cell("binds", Tone::bad)
                                : play < g.low  ? Table::Cell("tight", Tone::attention)
                                : play > g.high ? Table::Cell("loose", Tone::attention)
                                                : Table::Cell("sound", Tone::good);
    std::string low = service::show(g.low, unit);
    low.resize(low.find(' '));
    gaps.row({g.name, service::show(g.end_play, unit),
              fmt::format("{} to {}", low, service::show(g.high, unit)), verdict});
  }
  out += gaps.text(terminal, 4);

  Table tubes({"tube", "clearance", "fit", "pad, up", "pad, down", "rock"});
  for (const TubeOnStack& t : s.tubes) {
    tubes.row({t.name, clearance_cell(t, unit), fit_words(s, t, unit), figure(t.pad_up, unit),
               figure(t.pad_down, unit), figure(t.rock, unit)});
  }
  out += "\n" + tubes.text(terminal, 3);

  const bool bowed =
      std::any_of(s.tubes.begin(), s.tubes.end(), [](const auto& t) { return t.bow.has_value(); });
  if (bowed) {
    out += "\n" + terminal.paint("The rod's bow", Tone::strong) + "\n";
    for (const TubeOnStack& t : s.tubes) {
      if (t.bow) out += terminal.paragraph("  ", bow_words(t, unit), 2);
    }
  }

  out += "\n" + terminal.paint("Least work", Tone::strong) + "\n";
  for (const std::string& r : s.refusals) {
    std::string text = r;
    text.front() = static_cast<char>(text.front() - 'a' + 'A');
    out += terminal.paragraph("  ", text, 2);
  }
  if (!s.plans.empty()) out += plans_text(s, unit, terminal);

  out += "\n" + terminal.paint("Which rod", Tone::strong) + "\n";
  if (!s.no_rods.empty()) out += terminal.paragraph("  ", fmt::format("Cannot tell: {}.", s.no_rods), 2);
  for (const auto& r : s.rods) {
    out += terminal.paragraph(
        "  ",
        fmt::format("{}, {}: {}.", r.name, service::show(r.choice.diameter, unit), service::tell(s, r, unit)),
        2);
  }
  for (const std::string& c : s.closings) out += terminal.paragraph("  ", c, 2);
  if (!s.notes.empty() || !s.note.empty()) out += "\n";
  for (const std::string& n : s.notes) out += terminal.paragraph("  ", n, 2);
  if (!s.note.empty()) out += terminal.paragraph("  ", s.note, 2);
  const bool metal = !s.plans.empty() && s.plans[0].plan.metal.raw() > 0;
  if (metal) out += "\n" + cautions(terminal);
  return out;
}

}  // namespace hingeline

#include "reports.h"

#include <fmt/format.h>
#include <algorithm>
#include <array>
#include <cmath>

#include "hingeline/record/document.h"

namespace hingeline {
namespace {

using plan::Verdict;
using service::Figure;
using service::KeyResult;
using service::Side;

Tone tone_of(Verdict v) {
  switch (v) {
    case Verdict::sound:
      return Tone::good;
    case Verdict::binds:
      return Tone::bad;
    case Verdict::loose:
    case Verdict::tight:
    case Verdict::cannot_tell:
      break;
  }
  return Tone::attention;
}

std::string sentence(std::string text) {
  if (text.empty()) return text;
  if (text.front() >= 'a' && text.front() <= 'z') text.front() = static_cast<char>(text.front() - 'a' + 'A');
  if (text.back() != '.') text += '.';
  return text;
}

std::string figure(const KeyResult& key, Figure f, LengthUnit unit) {
  return service::show(key.estimate()[f], unit);
}

/// "0.010 to 0.030 mm"; "none" where no end play is right.
std::string window_text(const plan::Window& w, LengthUnit unit) {
  if (w.crossed) return "none";
  std::string low = service::show(w.low, unit);
  low.resize(low.find(' '));
  return fmt::format("{} to {}", low, service::show(w.high, unit));
}

std::string title_of(const service::InstrumentResult& r) {
  std::string out = r.title;
  if (!r.serial.empty()) out += fmt::format(" ({})", r.serial);
  return out + fmt::format(", {} {}", r.keys.size(), r.keys.size() == 1 ? "key" : "keys");
}

bool takes_metal(const plan::Plan& p) { return p.metal.raw() > 0; }

/// What a plan leaves behind, in one sentence.
std::string outcome(const KeyResult& key, const plan::Plan& p, LengthUnit unit) {
  const auto after = [&](Figure f) {
    return service::show(millimetres(p.after[static_cast<std::size_t>(f)]), unit);
  };
  std::string out = fmt::format("end play {}", after(Figure::end_play));
  const bool pad = key.knowledge.geometry.pad.has_value();
  if (pad) {
    out += fmt::format(", rock at the pad {}, pad gap at worst {}, pad {} off its tone hole along the line",
                       after(Figure::rock_pad), after(Figure::worst_gap),
                       service::show(abs(p.off_centre), unit));
  } else {
    out += fmt::format(", rock {} and {} at the ends", after(Figure::rock_upper), after(Figure::rock_lower));
  }
  return out + fmt::format(", face gaps {} and {}", after(Figure::gap_upper), after(Figure::gap_lower));
}

/// The tightest reserve where a plan takes metal: what the next fitter has least of.
const plan::Reserve* tightest(const plan::Plan& p) {
  const auto worked_on = [&](Side side) {
    return std::any_of(p.steps.begin(), p.steps.end(),
                       [&](const plan::Step& s) { return s.side == side && plan::takes_metal(s.operation); });
  };
  const plan::Reserve* best = nullptr;
  for (const auto& r : p.reserves) {
    if (!r.left || r.limit == "face gap" || !worked_on(r.side)) continue;
    if (best == nullptr || *r.left < *best->left) best = &r;
  }
  return best;
}

std::string reserve_text(const plan::Reserve& r, LengthUnit unit) {
  return r.left->raw() < 0 ? fmt::format("{} at the {} end: passed already by {}", r.limit, word(r.side),
                                         service::show(-*r.left, unit))
                           : fmt::format("{} at the {} end: {} above the least", r.limit, word(r.side),
                                         service::show(*r.left, unit));
}

/// "lower seat: 0.056 mm of metal, 6 min".
std::string brief(const plan::Plan& p, LengthUnit unit) {
  std::string steps;
  for (const auto& s : p.steps) steps += (steps.empty() ? "" : ", then ") + service::tell(s, unit);
  return fmt::format("{} ({}; {:.0f} min; pad {} off)", word(p.approach), steps, p.minutes,
                     service::show(abs(p.off_centre), unit));
}

constexpr const char* kFreeChecks =
    "First, without metal: clean both points and holes, drive headed screws home, look for loose threads, a "
    "leaning or "
    "knocked post, a bent body, key or rod. Cut only when these are done";

std::string bite_words(const plan::Bite& bite, LengthUnit unit) {
  if (bite.turns <= 0) return "no cut is safe yet: the end play is not known well enough, read it closer.";
  return fmt::format(
      "{:.1f} turns and no more, about {}; clean, refit, read the end play, then work out the next. Stop "
      "when it is within "
      "the window.",
      std::floor(bite.turns * 10) / 10, service::show(bite.expected, unit));
}

/// How far to cut now; empty when the best plan has no seat cut.
std::string bite_text(const KeyResult& key, LengthUnit unit, const Terminal& terminal, int indent) {
  const auto bite = service::first_bite(key);
  if (!bite) return {};
  const std::string label = std::string(static_cast<std::size_t>(indent), ' ') + "First bite: ";
  return terminal.paragraph(label, bite_words(*bite, unit), indent + 12);
}

std::string steps_text(const plan::Plan& p, LengthUnit unit, const Terminal& terminal, int indent) {
  std::string out;
  const std::string blanks(static_cast<std::size_t>(indent), ' ');
  int number = 0;
  for (const auto& s : p.steps) {
    std::string text = service::tell(s, unit);
    const std::string how = service::tell_how(s, unit);
    if (!how.empty()) text += ": " + how;
    out += terminal.paragraph(fmt::format("{}{}. ", blanks, ++number), sentence(text), indent + 3);
  }
  return out;
}

std::string refusals_text(const KeyResult& key, LengthUnit unit, const Terminal& terminal, int indent) {
  std::string out;
  const std::string blanks(static_cast<std::size_t>(indent), ' ');
  const auto& all = key.plan.refusals;
  for (std::size_t k = 0; k < all.size(); ++k) {
    const auto same = [&](const plan::Refusal& other) {
      return other.operation == all[k].operation && other.why == all[k].why && other.relief == all[k].relief;
    };
    const auto before = all.begin() + static_cast<std::ptrdiff_t>(k);
    if (std::any_of(all.begin(), before, same)) continue;  // said already, for both ends
    const bool both = std::any_of(before + 1, all.end(), same);
    std::string what = word(all[k].operation);
    if (all[k].side) what += both ? ", either end" : fmt::format(", {} end", word(*all[k].side));
    std::string text = fmt::format("{}: {}", what, all[k].why.in(unit));
    if (!all[k].relief.empty()) text += fmt::format("; instead: {}", all[k].relief.in(unit));
    out += terminal.paragraph(blanks + "Not: ", sentence(std::move(text)), indent + 5);
  }
  return out;
}

std::string notes_text(const KeyResult& key, LengthUnit unit, const Terminal& terminal, int indent) {
  std::string out;
  const std::string blanks(static_cast<std::size_t>(indent), ' ');
  for (const auto& n : key.notes)
    out += terminal.paragraph(blanks + "Note: ", sentence(n.in(unit)), indent + 6);
  return out;
}

std::string no_plan_text(const KeyResult& key, LengthUnit unit, const Terminal& terminal) {
  std::string out = terminal.paragraph("  No plan fits: ", sentence(key.plan.no_plan.in(unit)), 16);
  if (!key.plan.relief.empty()) {
    out += terminal.paragraph("  Relief: ", sentence(key.plan.relief.in(unit)), 10);
  }
  return out;
}

std::string measure_text(const plan::Plan& p, LengthUnit unit, const Terminal& terminal, int indent) {
  std::string out;
  const std::string blanks(static_cast<std::size_t>(indent), ' ');
  for (const auto& m : p.measure_first) {
    out += terminal.paragraph(blanks + "Measure first: ", sentence(m.in(unit)), indent + 15);
  }
  return out;
}

/// A key's first lines: its id, its name, its verdict, and why that is so.
std::string opening(const KeyResult& key, LengthUnit unit, const Terminal& terminal) {
  const std::string verdict = key.problem ? "cannot be" : word(key.plan.verdict);
  const Tone tone = key.problem ? Tone::bad : tone_of(key.plan.verdict);
  const std::string why = key.problem ? record::describe(*key.problem) : key.plan.because.in(unit);
  return fmt::format("{}  {}: {}\n", terminal.paint(key.id, Tone::strong), key.name,
                     terminal.paint(verdict, tone)) +
         terminal.paragraph("  ", sentence(why), 2);
}

std::string fit_key(const KeyResult& key, LengthUnit unit, const Terminal& terminal) {
  std::string out = opening(key, unit, terminal);
  if (key.problem) return out;
  const auto& plans = key.plan.plans;
  if (key.plan.verdict == Verdict::sound) {
    out += "  Leave it.\n";
  } else if (!plans.empty()) {
    out += "  To do:\n" + steps_text(plans.front(), unit, terminal, 4);
    out += bite_text(key, unit, terminal, 2);
    out += terminal.paragraph("  Then: ", sentence(outcome(key, plans.front(), unit)), 8);
    if (const auto* r = tightest(plans.front())) {
      out += terminal.paragraph("  Reserve: ", sentence(reserve_text(*r, unit)), 11);
    }
    out += measure_text(plans.front(), unit, terminal, 2);
    for (std::size_t k = 1; k < plans.size() && k < 3; ++k) {
      out += terminal.paragraph("  Or: ", sentence(brief(plans[k], unit)), 6);
    }
  } else if (!key.plan.no_plan.empty()) {
    out += no_plan_text(key, unit, terminal);
  }
  if (key.plan.verdict != Verdict::sound && key.plan.verdict != Verdict::cannot_tell) {
    out += refusals_text(key, unit, terminal, 2);
  }
  return out + notes_text(key, unit, terminal, 2);
}

}  // namespace

std::string cautions(const Terminal& terminal) {
  return terminal.paragraph("Caution: ",
                            "wear eye protection; chips and dust of old solder and free-cutting brass may "
                            "hold lead: no dry sweeping, no blowing "
                            "with compressed air, wash your hands. Turn small cutters by hand only. Clean "
                            "every chip out before each refit. "
                            "Follow the tool maker's instructions and your local rules, and leave to "
                            "licensed people what the law reserves for "
                            "them.",
                            9);
}

std::string instrument_table(const service::InstrumentResult& result, LengthUnit unit,
                             const Terminal& terminal) {
  Table table(
      {"key", "verdict", "end play", "window", "pad gap", "rides on", "rock up", "rock low", "first plan"});
  for (const KeyResult& key : result.keys) {
    if (key.problem) {
      table.row({key.id, {"cannot be", Tone::bad}, {key.problem->what, Tone::bad}});
      continue;
    }
    const auto& p = key.plan;
    table.row(
        {key.id,
         {word(p.verdict), tone_of(p.verdict)},
         figure(key, Figure::end_play, unit),
         window_text(p.window, unit),
         figure(key, Figure::worst_gap, unit),
         fmt::format("{} / {}", service::rides_on(key, Side::upper), service::rides_on(key, Side::lower)),
         figure(key, Figure::rock_upper, unit),
         figure(key, Figure::rock_lower, unit),
         p.plans.empty() ? std::string("none") : word(p.plans.front().approach)});
  }
  return terminal.paint(title_of(result), Tone::strong) + "\n" + table.text(terminal, 3);
}

std::string key_sheet(const KeyResult& key, LengthUnit unit, const Terminal& terminal) {
  std::string out = opening(key, unit, terminal);
  if (key.problem) return out;
  if (!key.note.empty()) out += terminal.paragraph("  Written down: ", key.note, 16);
  out += notes_text(key, unit, terminal, 2) + "\n";

  Table figures({"figure", "value", "ask why with"});
  for (std::size_t k = 0; k < belief::kFigureCount; ++k) {
    const auto f = static_cast<Figure>(k);
    if (std::isnan(key.estimate()[f].value)) continue;
    figures.row({belief::word(f), figure(key, f, unit), {belief::code(f), Tone::faint}});
  }
  out += figures.text(terminal, 2) + "\n";
  out += fmt::format("Rides on: {} at the upper end, {} at the lower\n", service::rides_on(key, Side::upper),
                     service::rides_on(key, Side::lower));

  const auto& w = key.plan.window;
  out += fmt::format("Window: {}, upper edge from {}\n", window_text(w, unit), w.high_rule);
  for (const auto& part : w.low_parts) {
    if (part.amount.raw() > 0) out += fmt::format("  {} {}\n", service::show(part.amount, unit), part.name);
  }
  return out;
}

std::string plan_sheet(const KeyResult& key, LengthUnit unit, const Terminal& terminal) {
  std::string out = opening(key, unit, terminal);
  if (key.problem) return out;
  const auto& plans = key.plan.plans;
  if (key.plan.verdict == Verdict::sound) {
    out += "  Leave it.\n";
  } else if (plans.empty() && !key.plan.no_plan.empty()) {
    out += no_plan_text(key, unit, terminal);
  }
  if (!plans.empty() && takes_metal(plans.front())) out += terminal.paragraph("  ", sentence(kFreeChecks), 2);
  for (std::size_t k = 0; k < plans.size() && !plans[k].steps.empty(); ++k) {
    const auto& p = plans[k];
    out += fmt::format("\n  {} {}: {}, {} of metal, {:.0f} min\n", k == 0 ? "Plan" : "Runner-up",
                       k == 0 ? std::string("chosen") : std::to_string(k), word(p.approach),
                       service::show(p.metal, unit), p.minutes);
    out += steps_text(p, unit, terminal, 4);
    if (k == 0) out += bite_text(key, unit, terminal, 4);
    Table effect({"    figure", "now", "after"});
    for (std::size_t f = 0; f < belief::kFigureCount; ++f) {
      if (std::isnan(p.before[f]) || std::abs(p.after[f] - p.before[f]) < 5e-5) continue;
      effect.row({std::string("    ") + belief::word(static_cast<Figure>(f)),
                  service::show(millimetres(p.before[f]), unit),
                  service::show(millimetres(p.after[f]), unit)});
    }
    out += effect.text(terminal, 3);
    out += fmt::format("    pad off its tone hole along the line: {} now, {} after\n",
                       service::show(key.key_case->pad_off_centre, unit), service::show(p.off_centre, unit));
    out += "    what remains above the least allowed:\n";
    for (const auto& r : p.reserves) {
      out += fmt::format("      {} {}, {} end\n",
                         r.left ? service::show(*r.left, unit) : std::string("not measured:"), r.limit,
                         word(r.side));
    }
    out += measure_text(p, unit, terminal, 4);
  }
  if (!key.plan.refusals.empty()) out += "\n" + refusals_text(key, unit, terminal, 2);
  return out + notes_text(key, unit, terminal, 2);
}

std::string fit_report(const service::InstrumentResult& result, LengthUnit unit, const Terminal& terminal,
                       const std::string& pictures) {
  std::string out = terminal.paint(title_of(result), Tone::strong) + "\n\n";
  std::array<int, 5> verdicts{};
  int cannot_be = 0;
  int unsolved = 0;
  double minutes = 0;
  double metal = 0;
  for (const KeyResult& key : result.keys) {
    out += fit_key(key, unit, terminal) + "\n";
    if (key.problem) {
      ++cannot_be;
      continue;
    }
    ++verdicts[static_cast<std::size_t>(key.plan.verdict)];
    if (key.plan.verdict == Verdict::sound || key.plan.verdict == Verdict::cannot_tell) continue;
    if (key.plan.plans.empty()) {
      ++unsolved;
      continue;
    }
    minutes += key.plan.plans.front().minutes;
    metal += key.plan.plans.front().metal.raw();
  }
  std::string counts;
  for (std::size_t v = 0; v < verdicts.size(); ++v) {
    if (verdicts[v] == 0) continue;
    counts += fmt::format("{}{} {}", counts.empty() ? "" : ", ", verdicts[v], word(static_cast<Verdict>(v)));
  }
  if (cannot_be > 0)
    counts += fmt::format("{}{} that cannot be as written", counts.empty() ? "" : ", ", cannot_be);
  out += terminal.paragraph(terminal.paint("Altogether: ", Tone::strong),
                            fmt::format("{}. The first plans take {:.0f} min and {} of metal{}.", counts,
                                        minutes, service::show(millimetres(metal), unit),
                                        unsolved > 0 ? fmt::format("; {} without a plan", unsolved) : ""),
                            0);
  if (metal > 0) {
    out += terminal.paragraph("", sentence(kFreeChecks), 0);
    out += cautions(terminal);
  }
  if (!pictures.empty()) out += terminal.paragraph("Pictures: ", pictures, 10);
  return out;
}

std::string explanation_sheet(const KeyResult& key, const service::Explanation& e, LengthUnit unit,
                              const Terminal& terminal) {
  std::string out = fmt::format("{}  {}: {} {}\n", terminal.paint(key.id, Tone::strong), key.name,
                                belief::word(e.figure), terminal.paint(e.value, Tone::strong));
  out += terminal.paragraph("  ", e.formula, 4);
  for (const auto& w : e.working) out += terminal.paragraph("  ", w, 4);
  const std::string own = key.source->place.pointer;
  const auto stands = [&](const std::string& pointer) {
    if (pointer.empty()) return std::string("not in the document");
    return pointer.rfind(own, 0) == 0 ? pointer.substr(own.size()) : pointer;
  };
  if (!e.inputs.empty()) {
    out += "\nWhat it rests on, largest effect first (± and effect at k = 2, about 95 %)\n";
    Table table({"number", "value", "from", "moves it by", "stands at " + own});
    for (const auto& line : e.inputs) {
      table.row({line.name,
                 line.value,
                 line.origin,
                 service::show(millimetres(line.effect), unit),
                 {stands(line.pointer), Tone::faint}});
    }
    out += table.text(terminal, 4);
  }
  if (e.propagation && !std::isnan((*e.propagation)[e.figure].mean)) {
    const auto& spread = (*e.propagation)[e.figure];
    out += terminal.paragraph(
        "",
        say(fmt::format("\nBy {} draws through the exact engine (seed {}): mean ", e.propagation->draws,
                        e.propagation->seed),
            millimetres(spread.mean), ", standard deviation ", millimetres(spread.standard), ", 95 % from ",
            FromTo{millimetres(spread.low), millimetres(spread.high)})
            .in(unit),
        0);
    std::string shares;
    for (const auto& [name, share] : service::shares_of(key, e)) {
      shares += fmt::format("{}{} {:.0f} %", shares.empty() ? "" : ", ", name, 100 * share);
    }
    if (!shares.empty()) out += terminal.paragraph("What makes it uncertain, by those draws: ", shares, 2);
    if (e.propagation->impossible > 0) {
      out +=
          fmt::format("{} draws were of parts that cannot be and are left out\n", e.propagation->impossible);
    }
  }
  if (!e.readings.empty()) {
    out += "\nReadings it was held against\n";
    for (const auto& line : e.readings) {
      out += terminal.paragraph("",
                                fmt::format("{} {} ({}, {}): {}", line.name, line.value, line.origin,
                                            stands(line.pointer), line.said),
                                2);
    }
  }
  return out;
}

}  // namespace hingeline

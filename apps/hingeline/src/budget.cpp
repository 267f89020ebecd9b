#include "budget.h"

#include <fmt/format.h>
#include <algorithm>
#include <cmath>
#include <set>

namespace hingeline {
namespace {

using service::BudgetResult;

std::string points(choice::Points p) { return fmt::format("{:.2f}", p.value()); }

/// A gain with its ±; as a range where it may be nothing.
std::string of_gain(double value, double plus_minus) {
  constexpr double kLeastShown = 0.005;
  if (std::abs(value) < kLeastShown && plus_minus < kLeastShown) return "-";
  if (value >= 0 && plus_minus > value) {
    const std::string most = service::show(value + plus_minus, (value + plus_minus) / 3, "", LengthUnit::mm);
    return "0 to " + most.substr(0, most.find(' '));
  }
  return service::show(value, plus_minus, "", LengthUnit::mm);
}

std::string of_feel(double value, double plus_minus) {
  return fmt::format("{:.2f} ± {:.2f}", value, plus_minus);
}

std::string minutes_of(Duration d) { return fmt::format("{:.0f} min", in_seconds(d) / 60); }

std::string budget_line(const BudgetResult& result) {
  std::string out;
  if (result.budget.minutes) out += minutes_of(*result.budget.minutes);
  if (result.budget.money)
    out += fmt::format("{}{}{}", out.empty() ? "" : " and ", show_money(*result.budget.money),
                       result.currency.empty() ? "" : " " + result.currency);
  return out.empty() ? "no limit: everything that gains" : out;
}

std::string done_table(const BudgetResult& result, const Terminal& terminal) {
  const auto row = [&](std::vector<Table::Cell> cells) {
    if (!result.priced) cells.erase(cells.begin() + 3);
    return cells;
  };
  std::vector<std::string> heading{"", "work", "minutes", "money", "points", "leak, mL/s", "feel"};
  if (!result.priced) heading.erase(heading.begin() + 3);
  Table table(heading);
  int number = 0;
  for (const choice::Done& d : result.choice.done) {
    const choice::Work& work = result.candidates.works[d.work];
    table.row(
        row({fmt::format("{:2}", ++number), result.works[d.work].name, service::show_time(work.time),
             show_money(work.money), points(d.points), of_gain(work.leak.raw(), work.leak_plus_minus.raw()),
             of_feel(work.feel, work.feel_plus_minus)}));
  }
  for (const std::size_t s : result.choice.set_ups) {
    const choice::SetUp& set_up = result.candidates.set_ups[s];
    table.row(row({"", set_up.id + ", got out once", service::show_time(set_up.time),
                   show_money(set_up.money), "", "", ""}));
  }
  const choice::Total& t = result.choice.total;
  table.row(row({"",
                 {"together", Tone::strong},
                 service::show_time(t.time),
                 show_money(t.money),
                 fmt::format("{} ± {}", points(t.points), points(t.plus_minus)),
                 of_gain(t.leak.raw(), t.leak_plus_minus.raw()),
                 of_feel(t.feel, t.feel_plus_minus)}));
  return table.text(terminal, 5);
}

std::string steps_of(const BudgetResult& result, const Terminal& terminal) {
  std::string out;
  int number = 0;
  for (const choice::Done& d : result.choice.done) {
    ++number;
    std::string text;
    for (const std::string& step : result.works[d.work].steps) text += (text.empty() ? "" : "; ") + step;
    const std::string why = service::tell(d, result);
    if (!why.empty()) text += fmt::format("{}({})", text.empty() ? "" : " ", why);
    if (!text.empty()) out += terminal.paragraph(fmt::format("  {:2}  ", number), text, 6);
  }
  return out;
}

}  // namespace

std::string budget_report(const BudgetResult& result, const Terminal& terminal) {
  std::string out = terminal.paint(result.title, Tone::strong) + "\n";
  out += terminal.paragraph("Budget: ", budget_line(result), 2);
  out += terminal.paragraph("Weights: ",
                            fmt::format("leak {:g} points for each mL/s cured, feel {:g} points for each key "
                                        "brought from hopeless to right",
                                        result.weights.leak, result.weights.feel),
                            2);
  if (result.quick)
    out += terminal.paragraph(
        "Quick look: ", "keys without readings are taken by what keys that look so usually take", 2);
  out += "\n";
  if (result.choice.done.empty()) {
    out += "Nothing to do that gains and fits.\n";
  } else {
    out += done_table(result, terminal);
    out += "\n" + steps_of(result, terminal);
  }
  out += "\n";
  for (const std::string& line : service::tell(result)) out += terminal.paragraph("", line, 2);
  // Runners-up say nothing of what stays undone.
  std::set<std::string> said;
  Table left_out({"work", "points", "why", "minutes"});
  std::size_t shown = 0;
  std::size_t runners_up = 0;
  for (const choice::LeftOut& l : result.choice.left_out) {
    const std::string& instead = result.candidates.works[l.work].instead;
    if (l.why == choice::Out::alternative || l.why == choice::Out::no_better ||
        (!instead.empty() && !said.insert(instead).second)) {
      ++runners_up;
      continue;
    }
    ++shown;
    left_out.row({result.works[l.work].name, points(l.points), service::tell(l, result),
                  service::show_time(result.candidates.works[l.work].time)});
  }
  if (shown > 0) out += "\n" + terminal.paint("Left out", Tone::strong) + "\n" + left_out.text(terminal, 3);
  if (runners_up > 0)
    out += fmt::format("{}{} other ways of doing the same are not shown; --json has them\n",
                       shown > 0 ? "" : "\n", runners_up);
  if (result.ladder.size() > 1) {
    out += "\n" + terminal.paint("What more minutes bring", Tone::strong) + "\n";
    std::vector<std::string> heading{"minutes", "points", "works", "money", "leak, mL/s", "feel"};
    if (!result.priced) heading.erase(heading.begin() + 3);
    Table table(heading);
    for (const choice::Rung& rung : result.ladder) {
      const bool within = !result.budget.minutes || rung.total.time.mean <= *result.budget.minutes;
      std::vector<Table::Cell> cells{
          {service::show_time(rung.total.time), within ? Tone::good : Tone::plain},
          fmt::format("{} ± {}", points(rung.total.points), points(rung.total.plus_minus)),
          fmt::format("{}", rung.works.size()),
          show_money(rung.total.money),
          of_gain(rung.total.leak.raw(), rung.total.leak_plus_minus.raw()),
          of_feel(rung.total.feel, rung.total.feel_plus_minus)};
      if (!result.priced) cells.erase(cells.begin() + 3);
      table.row(std::move(cells));
    }
    out += table.text(terminal, 3);
  }
  if (!result.notes.empty()) out += "\n";
  for (const std::string& note : result.notes) out += terminal.paragraph("- ", note, 2);
  return out;
}

std::string outfit_report(const service::OutfitResult& result, LengthUnit unit, const Terminal& terminal) {
  std::string out = terminal.paint(result.title, Tone::strong) + "\n";
  out += fmt::format("Met in {} instrument{} and {} job{}\n", result.instruments,
                     result.instruments == 1 ? "" : "s", result.jobs, result.jobs == 1 ? "" : "s");
  for (const service::KindOfTool& kind : result.kinds) {
    const choice::Cover& c = kind.cover;
    out += fmt::format("\n{}\n", terminal.paint(fmt::format("{}s", service::word(kind.kind)), Tone::strong));
    if (!kind.met.empty()) {
      Table met({service::demand_word(kind.kind), "met", "served by"});
      for (std::size_t d = 0; d < kind.met.size(); ++d) {
        std::string by;
        bool sound = false;
        for (const service::ToolAt& t : kind.tools) {
          if (!t.tool.owned || std::count(t.tool.serves.begin(), t.tool.serves.end(), d) == 0) continue;
          by += (by.empty() ? "" : ", ") + t.name + (t.tool.worn ? " (worn)" : "");
          sound = sound || !t.tool.worn;
        }
        met.row({service::show(kind.met[d], unit),
                 fmt::format("{}", kind.met[d].count),
                 {by.empty() ? "nothing owned" : by, sound ? Tone::plain : Tone::attention}});
      }
      out += met.text(terminal, 3) + "\n";
    }
    for (const std::string& line : service::tell(kind, result, unit)) out += terminal.paragraph("", line, 2);
    if (c.steps.size() > 2) {
      Table steps({"bought", "serve", "price", "which"});
      for (const choice::Step& s : c.steps) {
        std::string names;
        for (const std::size_t t : s.bought) names += (names.empty() ? "" : ", ") + kind.tools[t].name;
        steps.row({fmt::format("{}", s.bought.size()), fmt::format("{} of {}", s.served, c.all),
                   s.priced ? show_money(s.price) : "-", names.empty() ? "-" : names});
      }
      out += "\n" + steps.text(terminal, 4);
    }
  }
  if (!result.notes.empty()) out += "\n";
  for (const std::string& note : result.notes) out += terminal.paragraph("- ", note, 2);
  return out;
}

}  // namespace hingeline

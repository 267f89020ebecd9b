#include "trial.h"

#include <fmt/format.h>

#include <atomic>
#include <cmath>
#include <csignal>
#include <nlohmann/json.hpp>

#include "progress.h"

namespace hingeline {
namespace {

using virtual_bench::Tally;
using virtual_bench::TrialResult;

std::atomic<bool> interrupted{false};
static_assert(std::atomic<bool>::is_always_lock_free);
extern "C" void on_interrupt(int /*signal*/) { interrupted = true; }

std::string percent(double share, int decimals) { return fmt::format("{:.{}f} %", 100 * share, decimals); }

}  // namespace

TrialResult run_trial_with_progress(const virtual_bench::TrialSetup& setup) {
  interrupted = false;
  const auto before = std::signal(SIGINT, on_interrupt);
  TrialResult result;
  {
    Progress progress("keys");
    result = virtual_bench::run_trial(setup, [&](std::size_t done) {
      progress.show(done, setup.keys);
      return !interrupted;
    });
  }
  if (before != SIG_ERR) std::signal(SIGINT, before);
  return result;
}

std::string trial_report(const TrialResult& r, const Terminal& terminal) {
  const auto& shift = r.setup.shift;
  std::string out =
      fmt::format("{} keys with hidden faults, seed {}{}\n", r.outcomes.size(), r.setup.seed,
                  r.outcomes.size() < r.setup.keys ? fmt::format(", stopped before {}", r.setup.keys) : "");
  out +=
      shift.take_off == 1 && shift.noise == 1 && !shift.other_shares
          ? "The bench is as the method believes.\n\n"
          : fmt::format("The bench differs from what the method believes: take-off x{:g}, noise x{:g}{}.\n\n",
                        shift.take_off, shift.noise, shift.other_shares ? ", causes otherwise shared" : "");
  const auto line = [&](const char* name, const std::string& value) {
    out += fmt::format("  {:<46}{}\n", name, value);
  };
  line("right cause named first", percent(r.right_first, 1));
  line("among the first two", percent(r.right_in_two, 1));
  line("keys in the window at the end", percent(r.in_window, 2));
  line("and nothing else left wrong", percent(r.cured, 1));
  line("keys taken below the window by a bite", percent(r.went_under, 2));
  line("given up", percent(r.given_up, 2));
  const auto of = [](std::size_t some, std::size_t all) {
    return fmt::format(
        "{} of {} keys ({})", some, all,
        percent(static_cast<double>(some) / static_cast<double>(std::max<std::size_t>(all, 1)), 2));
  };
  line("cut or eased where the fit was right", of(r.cut_for_nothing, r.cannot_help));
  line("hole worked on where holes were in order", of(r.hole_for_nothing, r.sound_holes));
  line("checks and readings a key", fmt::format("{:.1f}", r.checks));
  line("minutes a key, checks and cures", fmt::format("{:.0f}", r.minutes));
  out += fmt::format("\nKeys that need cutting: {}\n", r.guided.keys);
  Table table({"by", "in window", "below it", "bites a key", "metal / least"});
  const auto row = [&](const char* name, const Tally& t) {
    table.row({name, percent(t.in_window, 2), percent(t.went_under, 2), fmt::format("{:.2f}", t.bites),
               fmt::format("{:.3f}", t.metal)});
  };
  row("the guide", r.guided);
  row("always half a turn", r.half_turn);
  row("half of what is left, at book rate", r.half_remaining);
  table.row({"one who knows all", percent(1, 2), percent(0, 2), "1.00", "1.000"});
  out += table.text(terminal, 5) + "\nKeys with one cause alone\n";
  Table causes({"cause", "keys", "named first", "cured"});
  for (std::size_t k = 0; k < belief::kCauseCount; ++k) {
    const auto& c = r.by_cause[k];
    if (c.keys == 0) continue;
    const auto share = [&](std::size_t n) {
      return percent(static_cast<double>(n) / static_cast<double>(c.keys), 1);
    };
    causes.row({belief::word(static_cast<belief::Cause>(k)), std::to_string(c.keys), share(c.first),
                share(c.cured)});
  }
  return out + causes.text(terminal, 4);
}

std::string trial_json(const TrialResult& r) {
  using Json = nlohmann::ordered_json;
  const auto number = [](double v) { return std::round(v * 1e6) / 1e6; };
  Json out = {{"keys", r.outcomes.size()},
              {"asked_for", r.setup.keys},
              {"seed", r.setup.seed},
              {"shift",
               {{"take_off", r.setup.shift.take_off},
                {"noise", r.setup.shift.noise},
                {"other_shares", r.setup.shift.other_shares}}},
              {"right_first", number(r.right_first)},
              {"right_in_two", number(r.right_in_two)},
              {"in_window", number(r.in_window)},
              {"cured", number(r.cured)},
              {"went_under", number(r.went_under)},
              {"given_up", number(r.given_up)},
              {"cannot_help", r.cannot_help},
              {"cut_for_nothing", r.cut_for_nothing},
              {"sound_holes", r.sound_holes},
              {"hole_for_nothing", r.hole_for_nothing},
              {"checks", number(r.checks)},
              {"minutes", number(r.minutes)}};
  const auto tally = [&](const Tally& t) {
    return Json{{"keys", t.keys},
                {"in_window", number(t.in_window)},
                {"went_under", number(t.went_under)},
                {"bites", number(t.bites)},
                {"metal_over_least", number(t.metal)}};
  };
  out["need_cutting"] = {{"guide", tally(r.guided)},
                         {"half_turn", tally(r.half_turn)},
                         {"half_remaining", tally(r.half_remaining)}};
  out["by_cause"] = Json::array();
  for (std::size_t k = 0; k < belief::kCauseCount; ++k) {
    const auto& c = r.by_cause[k];
    if (c.keys > 0)
      out["by_cause"].push_back({{"cause", belief::code(static_cast<belief::Cause>(k))},
                                 {"keys", c.keys},
                                 {"first", c.first},
                                 {"cured", c.cured}});
  }
  return out.dump(2) + "\n";
}

}  // namespace hingeline

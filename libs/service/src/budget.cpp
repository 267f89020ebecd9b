#include "hingeline/service/budget.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <nlohmann/json.hpp>
#include <numeric>
#include <set>

#include "hingeline/numeric/statistics.h"
#include "hingeline/service/leak.h"
#include "hingeline/service/stack.h"
#include "json_parts.h"
#include "nearest.h"

namespace hingeline::service {
namespace {

constexpr double kSecondsPerMinute = 60;
constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
/// Jobs of one complaint from which the ledger speaks for itself.
constexpr std::size_t kEnoughJobs = 5;
/// Rungs of the ladder at most.
constexpr std::int64_t kMostRungs = 12;
constexpr std::size_t kMostPlans = 2;

constexpr const char* kFeelFormula =
    "x / (1 + x) now, less the same afterwards; x: how far the end play lies outside its window, in window "
    "widths, "
    "or the rock above what is allowed, in times of that, whichever is more; a key that binds has lost it "
    "all";
constexpr const char* kLeakFormula =
    "leak by the gap that the play lets open now, less that by the gap afterwards";
constexpr const char* kMinutesFormula = "the steps' minutes; ± the shop's spread of one work's minutes";

template <class E>
const E& settled(const E& own, const E& general) {
  return own.known() ? own : general;
}

double minutes_in(Duration d) { return in_seconds(d) / kSecondsPerMinute; }
Duration minutes(double v) { return seconds(v * kSecondsPerMinute); }

std::string shown_points(choice::Points p) { return fmt::format("{:.2f}", p.value()); }

/// A result that is one number out of a document.
Worked as_given(std::string code, std::string name, std::string unit, std::string formula,
                const Given& given) {
  return work(std::move(code), std::move(name), std::move(unit), std::move(formula), {given},
              [](std::span<const double> v) { return v[0]; });
}

class Maker {
 public:
  Maker(const InstrumentResult& result, const record::Instrument& instrument, const record::Shop& shop,
        const BudgetAsked& asked)
      : result_(result), instrument_(instrument), shop_(shop), general_(general_shop()), asked_(asked) {
    spread_ = settled(shop.presets.minutes_spread, general_.presets.minutes_spread).value;
    const record::MinutesPreset& change = shop.presets.tool_change;
    tool_change_ = minutes(settled(change.set_up, general_.presets.tool_change.set_up).value);
  }

  Expected<BudgetResult> run();

 private:
  void settle_weights();
  void add(choice::Work work, PossibleWork possible);
  void add_own_works();
  void add_stacks();
  void add_keys();
  void add_plans(const KeyResult& key);
  void add_look(const KeyResult& key);
  [[nodiscard]] Worked minutes_of(double mean, const std::string& name) const;
  void price(choice::Work& work, PossibleWork& possible, const std::set<std::string>& kinds,
             Money besides) const;
  [[nodiscard]] std::optional<Given> look_minutes(record::Look look, const record::LookPreset& preset) const;
  std::string set_up_for(const std::string& tool);

  const InstrumentResult& result_;
  const record::Instrument& instrument_;
  const record::Shop& shop_;
  const record::Shop& general_;
  const BudgetAsked& asked_;
  BudgetResult out_;
  double spread_ = 0;
  Duration tool_change_;
  std::map<std::string, std::vector<std::string>> before_;  ///< key: own works it waits for
  std::set<std::string> in_stack_;                          ///< keys whose stack has a plan
  std::optional<InstrumentLeak> leaks_;
};

void Maker::settle_weights() {
  const auto weight = [&](const record::NumberEntry& own, const record::NumberEntry& general,
                          std::optional<double> asked, std::string& meaning) {
    const record::NumberEntry& entry = settled(own, general);
    meaning = entry.meaning.empty() ? general.meaning : entry.meaning;
    return asked.value_or(entry.value);
  };
  out_.weights.leak =
      weight(shop_.weights.leak, general_.weights.leak, asked_.weight_leak, out_.leak_meaning);
  out_.weights.feel =
      weight(shop_.weights.feel, general_.weights.feel, asked_.weight_feel, out_.feel_meaning);
  const double step = settled(shop_.weights.least_step, general_.weights.least_step).value;
  out_.least_step = {std::max<std::int64_t>(1, std::llround(1000 * step))};
}

void Maker::add(choice::Work work, PossibleWork possible) {
  work.time = {minutes(possible.minutes.value), minutes(possible.minutes.plus_minus())};
  work.leak = millilitres_per_second(possible.leak.value);
  work.leak_plus_minus = millilitres_per_second(possible.leak.plus_minus());
  work.feel = possible.feel.value;
  work.feel_plus_minus = possible.feel.plus_minus();
  out_.candidates.works.push_back(std::move(work));
  out_.works.push_back(std::move(possible));
}

Worked Maker::minutes_of(double mean, const std::string& name) const {
  const Given steps{name, mean, mean * spread_ / 2, "min", Origin::preset, {}, false};
  return as_given("minutes", "minutes", "min", kMinutesFormula, steps);
}

/// By the hour, but no less than the dearest of its kinds of work costs at least; and what it costs besides.
void Maker::price(choice::Work& work, PossibleWork& possible, const std::set<std::string>& kinds,
                  Money besides) const {
  const record::Prices& prices = shop_.prices;
  const auto whole_seconds = std::llround(possible.minutes.value * kSecondsPerMinute);
  Money by_hour;
  if (prices.per_hour.present && prices.per_hour.money <= Money::hundredths(10'000'000'000) &&
      whole_seconds <= 10'000'000) {
    by_hour = for_time(prices.per_hour.money, whole_seconds);
    possible.money_from = fmt::format("{} an hour", show_money(prices.per_hour.money));
  }
  for (const record::LeastPrice& least : prices.least) {
    if (!kinds.contains(least.of) || !least.money.present || least.money.money <= by_hour) continue;
    by_hour = least.money.money;
    possible.money_from = fmt::format("{} at least for {}", show_money(by_hour), least.of);
  }
  if (besides > Money{}) {
    possible.money_from +=
        fmt::format("{}{} besides", possible.money_from.empty() ? "" : ", ", show_money(besides));
  }
  work.money = by_hour + besides;
}

std::string Maker::set_up_for(const std::string& tool) {
  for (const choice::SetUp& s : out_.candidates.set_ups) {
    if (s.id == tool) return tool;
  }
  choice::SetUp set_up;
  set_up.id = tool;
  set_up.time = {tool_change_, tool_change_ * spread_};
  if (shop_.prices.per_hour.present && shop_.prices.per_hour.money <= Money::hundredths(10'000'000'000))
    set_up.money = for_time(shop_.prices.per_hour.money, std::llround(in_seconds(tool_change_)));
  out_.candidates.set_ups.push_back(std::move(set_up));
  return tool;
}

// ---- own works ---------------------------------------------------------------------------------------

choice::Stage stage_of(record::WorkStage stage) {
  switch (stage) {
    case record::WorkStage::free_check:
      return choice::Stage::free_check;
    case record::WorkStage::straighten:
      return choice::Stage::straighten;
    case record::WorkStage::posts:
      return choice::Stage::posts;
    case record::WorkStage::stack:
      return choice::Stage::stack;
    case record::WorkStage::fit:
      return choice::Stage::fit;
    case record::WorkStage::finish:
      break;
  }
  return choice::Stage::finish;
}

void Maker::add_own_works() {
  for (const record::OwnWork& own : instrument_.works) {
    choice::Work work;
    work.id = "work " + own.id;
    work.stage = stage_of(own.stage);
    work.together = own.together;
    if (!own.instead.empty()) work.instead = "work " + own.instead;
    for (const record::NamedWork& n : own.needs) work.needs.push_back("work " + n.work);
    for (const record::NamedKey& k : own.before) before_[k.key].push_back(work.id);

    PossibleWork possible;
    possible.source = WorkSource::own;
    possible.name = own.name.empty() ? own.id : own.name;
    if (!own.note.empty()) possible.steps.push_back(own.note);
    possible.place = own.place.pointer;
    record::NumberEntry mins = own.minutes;
    if (!mins.known()) {
      const bool straighten = own.stage == record::WorkStage::straighten;
      const auto& preset = straighten ? shop_.presets.straighten : shop_.presets.restore_post;
      const auto& general = straighten ? general_.presets.straighten : general_.presets.restore_post;
      mins = settled(preset.set_up, general.set_up);
    }
    Given time = *given("minutes", mins, record::NumberEntry{}, "min", shop_);
    if (!mins.plus_minus) time.standard = time.value * spread_ / 2;
    possible.minutes = as_given("minutes", "minutes", "min", kMinutesFormula, time);
    const auto gain = [&](const char* code, const char* name, const char* unit,
                          const record::NumberEntry& entry) {
      const auto said = given(name, entry, record::NumberEntry{}, unit, shop_);
      return as_given(code, name, unit, "as the document says", said ? *said : reckoned(name, 0, 0, unit));
    };
    possible.leak = gain("leak", "leak cured", "mL/s", own.leak);
    possible.feel = gain("feel", "feel gained", "", own.feel);
    price(work, possible, {record::word(own.stage)}, own.money.money);
    add(std::move(work), std::move(possible));
  }
}

// ---- stacks ------------------------------------------------------------------------------------------

void Maker::add_stacks() {
  const auto stacks = work_out_stacks(instrument_, shop_, result_.units);
  for (std::size_t k = 0; k < stacks.size(); ++k) {
    const StackResult& stack = stacks[k];
    if (stack.problem) {
      out_.notes.push_back(
          fmt::format("{}: {}", stack.name.empty() ? stack.id : stack.name, stack.problem->what));
      continue;
    }
    if (stack.plans.empty() || stack.plans.front().steps.empty()) continue;
    std::set<std::string> needs;
    for (const TubeOnStack& tube : stack.tubes) {
      if (tube.key.empty()) continue;
      in_stack_.insert(tube.key);
      for (const std::string& own : before_[tube.key]) needs.insert(own);
    }
    std::vector<Given> givens;
    std::vector<std::pair<double, double>> windows;
    for (const GapOnStack& gap : stack.gaps) {
      givens.push_back(reckoned(gap.name, gap.end_play.value, gap.end_play.standard, "mm"));
      windows.emplace_back(in_millimetres(gap.low), in_millimetres(gap.high));
    }
    for (std::size_t p = 0; p < std::min(kMostPlans, stack.plans.size()); ++p) {
      const StackWorkPlan& plan = stack.plans[p];
      choice::Work work;
      work.id = fmt::format("stack {} plan {}", stack.id, p + 1);
      work.stage = choice::Stage::stack;
      work.instead = "stack " + stack.id;
      work.needs.assign(needs.begin(), needs.end());
      PossibleWork possible;
      possible.source = WorkSource::stack;
      possible.name = stack.name.empty() ? stack.id : stack.name;
      if (p > 0) possible.name += " (another way)";
      for (const StackWorkStep& step : plan.steps) {
        possible.steps.push_back(tell(step, result_.units));
        work.takes_metal = work.takes_metal || step.step.work == rods::StackWork::face;
      }
      possible.place = fmt::format("/stacks/{}", k);
      possible.minutes = minutes_of(minutes_in(plan.plan.time), "the plan's minutes");
      possible.leak = as_given("leak", "leak cured", "mL/s", "a stack's end play is not reckoned as leak",
                               reckoned("leak", 0, 0, "mL/s"));
      possible.feel =
          service::work("feel", "feel gained", "", kFeelFormula, givens, [&](std::span<const double> v) {
            double lost = 0;
            for (std::size_t g = 0; g < v.size(); ++g)
              lost += feel_lost(v[g], kNothing, windows[g].first, windows[g].second, 1);
            return lost;
          });
      price(work, possible, {"stack"}, Money{});
      add(std::move(work), std::move(possible));
    }
  }
}

// ---- keys --------------------------------------------------------------------------------------------

bool is_measured(const record::Key& key) {
  const record::Readings& r = key.readings;
  return r.end_play.known() || r.gap_upper.known() || r.gap_lower.known() || !r.rock.empty();
}

double worst_rock(const belief::Figures& f) {
  double most = kNothing;
  for (const Figure rock : {Figure::rock_upper, Figure::rock_lower, Figure::rock_pad}) {
    const double v = f[static_cast<std::size_t>(rock)];
    if (!std::isnan(v)) most = std::isnan(most) ? v : std::max(most, v);
  }
  return most;
}

void Maker::add_keys() {
  for (const KeyResult& key : result_.keys) {
    const std::string name = key.id;
    if (in_stack_.contains(key.id)) {
      out_.notes.push_back(fmt::format("{}: worked with its stack", name));
      continue;
    }
    const bool looked = key.source->look.has_value();
    if (asked_.quick && !is_measured(*key.source)) {
      if (looked) {
        add_look(key);
      } else {
        out_.notes.push_back(fmt::format("{}: neither measured nor looked over", name));
      }
      continue;
    }
    if (key.problem) {
      out_.notes.push_back(fmt::format("{}: cannot be worked out: {}", name, key.problem->what));
      continue;
    }
    if (key.plan.verdict == plan::Verdict::cannot_tell) {
      out_.notes.push_back(fmt::format(
          "{}: cannot tell by its readings{}", name,
          looked ? "; --quick takes it by its look, " + std::string(record::word(*key.source->look)) : ""));
    } else if (looked && !is_measured(*key.source)) {
      out_.notes.push_back(
          fmt::format("{}: taken by its parts, for nothing was read of it; --quick takes it by its "
                      "look, {}",
                      name, record::word(*key.source->look)));
    }
    add_plans(key);
  }
}

void Maker::add_plans(const KeyResult& key) {
  const plan::KeyPlan& keyed = key.plan;
  std::size_t count = 0;
  plan::Approach first_approach = plan::Approach::leave_it;
  if (keyed.plans.empty() && keyed.verdict != plan::Verdict::sound && !keyed.no_plan.empty())
    out_.notes.push_back(fmt::format("{}: {}", key.id, keyed.no_plan.in(result_.units)));
  for (const plan::Plan& p : keyed.plans) {
    if (p.steps.empty() || count == kMostPlans) continue;
    // Minutes are no reason to take more metal than the best plan does: it does not come back.
    if (p.metal > keyed.plans.front().metal + key.key_case->limits.least_cut) continue;
    ++count;
    choice::Work work;
    work.id = fmt::format("key {} plan {}", key.id, count);
    work.instead = "key " + key.id;
    work.needs = before_[key.id];
    PossibleWork possible;
    possible.name = fmt::format("{}: {}", key.id, plan::word(p.approach));
    if (count > 1 && p.approach == first_approach) possible.name += " (another way)";
    if (count == 1) first_approach = p.approach;
    possible.place = key.source->place.pointer;
    work.stage = choice::Stage::free_check;
    std::set<std::string> kinds;
    std::set<std::string> tools;
    for (const plan::Step& step : p.steps) {
      possible.steps.push_back(tell(step, result_.units));
      kinds.insert(code(step.operation));
      if (plan::takes_metal(step.operation)) {
        work.stage = choice::Stage::fit;
        work.takes_metal = true;
      } else if (step.operation == plan::Operation::restore_post) {
        work.stage = std::max(work.stage, choice::Stage::posts);
      }
      if (plan::takes_metal(step.operation) && !step.tool.name.empty()) tools.insert(step.tool.name);
    }
    for (const std::string& tool : tools) work.set_ups.push_back(set_up_for(tool));
    possible.minutes = minutes_of(p.minutes, "the plan's minutes");

    const plan::WindowInputs& window = key.key_case->window;
    const double low = in_millimetres(keyed.window.low);
    const double high = in_millimetres(keyed.window.high);
    const double rock_allowed = in_millimetres(window.rock_allowed);
    const belief::Estimate& now = key.estimate();
    const auto& play = now[Figure::end_play];
    const double rock_after = worst_rock(p.after);
    std::size_t rocks = static_cast<std::size_t>(Figure::rock_pad);
    for (const Figure f : {Figure::rock_upper, Figure::rock_lower, Figure::rock_pad}) {
      const double best = now[static_cast<Figure>(rocks)].value;
      if (!(now[f].value <= best)) rocks = static_cast<std::size_t>(f);
    }
    const auto& rock = now[static_cast<Figure>(rocks)];
    const double play_after = p.after[static_cast<std::size_t>(Figure::end_play)];
    possible.feel = service::work(
        "feel", "feel gained", "", kFeelFormula,
        {reckoned("end play", play.value, play.plus_minus / 2, "mm"),
         reckoned("rock", rock.value, rock.plus_minus / 2, "mm"),
         reckoned("end play afterwards", play_after, 0, "mm"), reckoned("window from", low, 0, "mm"),
         reckoned("window to", high, 0, "mm"), reckoned("rock allowed", rock_allowed, 0, "mm")},
        [&](std::span<const double> v) {
          return feel_lost(v[0], v[1], v[3], v[4], v[5]) - feel_lost(v[2], rock_after, v[3], v[4], v[5]);
        });
    possible.feel.remark = "afterwards as planned; what a bite really takes off is seen at the bench";

    possible.leak = as_given("leak", "leak cured", "mL/s", kLeakFormula, reckoned("leak", 0, 0, "mL/s"));
    if (const KeyLeak* leak = [&]() -> const KeyLeak* {
          if (!leaks_) return nullptr;
          const auto found = find_key(*leaks_, key.id);
          return found && (*found)->nothing.empty() ? *found : nullptr;
        }()) {
      const double gap_after = p.after[static_cast<std::size_t>(Figure::worst_gap)];
      const auto after = leak_at(key, millimetres(std::max(0.0, gap_after)), instrument_, shop_);
      if (after && std::isfinite(leak->leak.value)) {
        const double left = in_millilitres_per_second(*after);
        const double cured = leak->leak.value - left;
        // What is left rests on the same numbers, so that the doubt of the difference shrinks with it.
        const double share = leak->leak.value > 0 ? std::min(1.0, std::abs(cured) / leak->leak.value) : 1;
        possible.leak = as_given("leak", "leak cured", "mL/s", kLeakFormula,
                                 reckoned("leak", cured, leak->leak.standard * share, "mL/s"));
      }
    }
    price(work, possible, kinds, Money{});
    add(std::move(work), std::move(possible));
  }
}

/// Minutes by the ledger's jobs with that complaint, else by the preset.
std::optional<Given> Maker::look_minutes(record::Look look, const record::LookPreset& preset) const {
  std::vector<double> totals;
  if (asked_.ledger != nullptr) {
    for (const record::Job& job : asked_.ledger->jobs) {
      if (!job.complaint || std::string_view(record::word(*job.complaint)) != record::word(look) ||
          !record::counts(*asked_.ledger, job, record::Subject::minutes)) {
        continue;
      }
      double total = 0;
      for (const record::JobMinutes& m : job.minutes) total += m.minutes.known() ? m.minutes.value : 0;
      if (total > 0) totals.push_back(total);
    }
  }
  if (totals.size() >= kEnoughJobs) {
    const auto s = numeric::summarise(totals);
    // The next job: its own scatter, and the doubt of the mean.
    const double next = s.standard_deviation * std::sqrt(1 + 1 / static_cast<double>(s.count));
    return Given{fmt::format("minutes of {} jobs in the ledger", s.count),
                 s.mean,
                 next,
                 "min",
                 Origin::read,
                 {},
                 false};
  }
  return given("minutes of such keys", preset.minutes, record::NumberEntry{}, "min", shop_);
}

void Maker::add_look(const KeyResult& key) {
  const record::Look look = *key.source->look;
  const auto find = [look](const std::vector<record::LookPreset>& list) -> const record::LookPreset* {
    const auto at = std::find_if(list.begin(), list.end(), [look](const auto& p) { return p.look == look; });
    return at == list.end() ? nullptr : &*at;
  };
  const record::LookPreset* preset = find(shop_.presets.looks);
  if (preset == nullptr) preset = find(general_.presets.looks);
  const auto time = look_minutes(look, *preset);
  if (!time || !(time->value > 0)) return;  // Nothing to do.
  choice::Work work;
  work.id = "key " + key.id;
  work.needs = before_[key.id];
  work.stage = choice::Stage::fit;
  PossibleWork possible;
  possible.source = WorkSource::look;
  possible.name = fmt::format("{}: {} by its look", key.id, record::word(look));
  possible.place = key.source->place.pointer;
  possible.minutes = as_given("minutes", "minutes", "min", "what keys that look so usually take", *time);
  const auto usual = [&](const char* code, const char* name, const char* unit,
                         const record::NumberEntry& entry) {
    const auto said = given(name, entry, record::NumberEntry{}, unit, shop_);
    return as_given(code, name, unit, "what keys that look so usually give",
                    said ? *said : reckoned(name, 0, 0, unit));
  };
  possible.leak = usual("leak", "leak cured", "mL/s", preset->leak);
  possible.feel = usual("feel", "feel gained", "", preset->feel);
  price(work, possible, {record::word(look)}, Money{});
  add(std::move(work), std::move(possible));
}

Expected<BudgetResult> Maker::run() {
  out_.title = result_.title;
  out_.currency = shop_.prices.currency;
  out_.quick = asked_.quick;
  settle_weights();
  if (asked_.minutes) {
    out_.budget.minutes = asked_.minutes;
  } else if (instrument_.budget.minutes.known()) {
    out_.budget.minutes = minutes(instrument_.budget.minutes.value);
  }
  if (asked_.money) {
    out_.budget.money = asked_.money;
  } else if (instrument_.budget.money.present) {
    out_.budget.money = instrument_.budget.money.money;
  }
  if (auto leaks = leak_of(result_, instrument_, shop_)) {
    leaks_ = std::move(*leaks);
  } else {
    out_.notes.push_back("leaks are left out: " + leaks.error().what);
  }
  add_own_works();
  add_stacks();
  add_keys();
  out_.priced = shop_.prices.per_hour.present;
  for (const choice::Work& w : out_.candidates.works) out_.priced = out_.priced || w.money > Money{};
  if (out_.budget.money && !out_.priced)
    out_.notes.push_back(
        "money is given, but the shop's document says no prices: works count as costing nothing");

  choice::Options options;
  options.least_step = out_.least_step;
  auto chosen = choice::choose(out_.candidates, out_.budget, out_.weights, options);
  if (!chosen) return tl::unexpected(chosen.error());
  out_.choice = std::move(*chosen);

  std::int64_t most = 0;
  for (const choice::Done& d : out_.choice.done) most += std::max<std::int64_t>(0, d.points.thousandths);
  for (const choice::LeftOut& l : out_.choice.left_out)
    most += std::max<std::int64_t>(0, l.points.thousandths);
  options.least_step = {std::max(out_.least_step.thousandths, most / kMostRungs)};
  auto rungs = choice::ladder(out_.candidates, out_.budget.money, out_.weights, options);
  if (!rungs) return tl::unexpected(rungs.error());
  out_.ladder = std::move(*rungs);
  return std::move(out_);
}

std::string names_of(const std::vector<std::size_t>& works, const BudgetResult& result) {
  std::vector<std::string> names;
  names.reserve(works.size());
  for (const std::size_t w : works) names.push_back(result.works[w].name);
  return listed(names);
}

std::string money_words(Money money, const BudgetResult& result) {
  return show_money(money) + (result.currency.empty() ? "" : " " + result.currency);
}

std::string price_words(const choice::Improvement& step, const BudgetResult& result, bool by_money) {
  std::string out;
  const double more_minutes = minutes_in(step.extra_minutes);
  const std::string of_minutes =
      fmt::format("{:.0f} min {}", std::abs(more_minutes), more_minutes < 0 ? "less" : "more");
  const Money money = step.extra_money < Money{} ? Money{} - step.extra_money : step.extra_money;
  const std::string of_money =
      fmt::format("{} {}", money_words(money, result), step.extra_money < Money{} ? "less" : "more");
  out = by_money ? of_money : of_minutes;
  if (by_money && std::abs(more_minutes) >= 0.5) out += " (and " + of_minutes + ")";
  if (!by_money && result.priced && money > Money{}) out += " (and " + of_money + ")";
  // A key done by another of its plans is neither added nor dropped.
  const auto other_way = [&](std::size_t work, const std::vector<std::size_t>& others) {
    const std::string& instead = result.candidates.works[work].instead;
    return std::any_of(others.begin(), others.end(), [&](std::size_t o) {
      return !instead.empty() && result.candidates.works[o].instead == instead;
    });
  };
  std::vector<std::size_t> added;
  std::vector<std::size_t> otherwise;
  std::vector<std::size_t> dropped;
  for (const std::size_t w : step.added) (other_way(w, step.dropped) ? otherwise : added).push_back(w);
  for (const std::size_t w : step.dropped) {
    if (!other_way(w, step.added)) dropped.push_back(w);
  }
  out += fmt::format(" brings {} points more", shown_points(step.more));
  if (!added.empty()) out += ": " + names_of(added, result);
  if (!otherwise.empty()) out += "; in another way: " + names_of(otherwise, result);
  if (!dropped.empty()) out += "; without " + names_of(dropped, result);
  return out;
}

Json time_json(const choice::Time& t) {
  return {{"minutes", number(minutes_in(t.mean))}, {"plus_minus", number(minutes_in(t.plus_minus))}};
}

Json total_json(const choice::Total& t) {
  return {{"minutes", number(minutes_in(t.time.mean))},
          {"minutes_plus_minus", number(minutes_in(t.time.plus_minus))},
          {"money", show_money(t.money)},
          {"points", number(t.points.value())},
          {"points_plus_minus", number(t.plus_minus.value())},
          {"leak", number(t.leak.raw())},
          {"leak_plus_minus", number(t.leak_plus_minus.raw())},
          {"feel", number(t.feel)},
          {"feel_plus_minus", number(t.feel_plus_minus)}};
}

const char* word(choice::In why) {
  switch (why) {
    case choice::In::gains:
      return "gains";
    case choice::In::needed:
      return "needed";
    case choice::In::together:
      break;
  }
  return "together";
}
const char* word(choice::Out why) {
  switch (why) {
    case choice::Out::gains_nothing:
      return "gains-nothing";
    case choice::Out::alternative:
      return "alternative";
    case choice::Out::no_better:
      return "no-better";
    case choice::Out::too_long:
      return "too-long";
    case choice::Out::too_dear:
      return "too-dear";
    case choice::Out::crowded_out:
      break;
  }
  return "crowded-out";
}

}  // namespace

const char* word(WorkSource source) {
  switch (source) {
    case WorkSource::readings:
      return "readings";
    case WorkSource::look:
      return "look";
    case WorkSource::stack:
      return "stack";
    case WorkSource::own:
      break;
  }
  return "own";
}

double feel_lost(double end_play, double rock, double window_low, double window_high, double rock_allowed) {
  if (end_play < 0) return 1;
  const double width = window_high - window_low;
  const double outside = std::max({0.0, end_play - window_high, window_low - end_play});
  const double over = std::isnan(rock) ? 0 : std::max(0.0, rock - rock_allowed);
  // Where nothing is allowed anything is hopeless.
  if ((outside > 0 && !(width > 0)) || (over > 0 && !(rock_allowed > 0))) return 1;
  const double x = std::max(outside > 0 ? outside / width : 0.0, over > 0 ? over / rock_allowed : 0.0);
  return x / (1 + x);
}

Expected<BudgetResult> budget_of(const InstrumentResult& result, const record::Instrument& instrument,
                                 const record::Shop& shop, const BudgetAsked& asked) {
  return Maker(result, instrument, shop, asked).run();
}

std::string show_time(const choice::Time& time) {
  if (!(time.plus_minus > Duration{})) return fmt::format("{:.0f} min", minutes_in(time.mean));
  return fmt::format("{:.0f} ± {:.0f} min", minutes_in(time.mean), minutes_in(time.plus_minus));
}

std::string tell(const choice::Done& done, const BudgetResult& result) {
  switch (done.why) {
    case choice::In::gains:
      break;
    case choice::In::needed:
      return "gains nothing itself; comes before " + names_of(done.needed_by, result);
    case choice::In::together:
      return "done whole with its group";
  }
  if (done.needed_by.empty()) return {};
  return "also comes before " + names_of(done.needed_by, result);
}

std::string tell(const choice::LeftOut& left, const BudgetResult& result) {
  switch (left.why) {
    case choice::Out::gains_nothing:
      return "gains nothing";
    case choice::Out::alternative:
      return "another way is taken: " + result.works[*left.other].name;
    case choice::Out::no_better:
      return "no better in anything than " + result.works[*left.other].name;
    case choice::Out::too_long:
      return fmt::format("takes {} with what it needs, more than there is", show_time(left.time_with_needs));
    case choice::Out::too_dear:
      return fmt::format("costs {} with what it needs, more than there is",
                         money_words(left.money_with_needs, result));
    case choice::Out::crowded_out:
      break;
  }
  if (!left.lost_with_it) return "does not go with what else is to be done";
  if (*left.lost_with_it == choice::Points{}) return "would bring as much, but takes longer or costs more";
  const choice::Points lost = *left.lost_with_it;
  return fmt::format("what it takes does more elsewhere: {} points fewer with it in",
                     lost < choice::Points{10} ? "under 0.01" : shown_points(lost));
}

std::vector<std::string> tell(const BudgetResult& result) {
  std::vector<std::string> out;
  const choice::Choice& c = result.choice;
  if (c.chance_within && !c.done.empty()) {
    out.push_back(
        fmt::format("The minutes are enough with a chance of {:.0f} %; nine times in ten {:.0f} min are.",
                    100 * *c.chance_within, minutes_in(c.nine_in_ten)));
  } else if (!c.done.empty()) {
    out.push_back(fmt::format("Nine times in ten {:.0f} min are enough.", minutes_in(c.nine_in_ten)));
  }
  if (c.by_minutes) out.push_back("Next improvement: " + price_words(*c.by_minutes, result, false) + ".");
  if (c.by_money)
    out.push_back("Next improvement for money alone: " + price_words(*c.by_money, result, true) + ".");
  if (!c.by_minutes && !c.by_money && (result.budget.minutes || result.budget.money)) {
    out.push_back(
        fmt::format("No more minutes or money would bring {} points more.", shown_points(result.least_step)));
  }
  return out;
}

std::string to_json(const BudgetResult& result) {
  const auto works_json = [&](const std::vector<std::size_t>& works) {
    Json list = Json::array();
    for (const std::size_t w : works) list.push_back(result.candidates.works[w].id);
    return list;
  };
  const auto work_json = [&](std::size_t w) {
    const choice::Work& work = result.candidates.works[w];
    const PossibleWork& possible = result.works[w];
    return Json{{"id", work.id},
                {"name", possible.name},
                {"from", word(possible.source)},
                {"pointer", possible.place},
                {"steps", possible.steps},
                {"minutes", json_of(possible.minutes)},
                {"money", show_money(work.money)},
                {"money_from", possible.money_from},
                {"leak", json_of(possible.leak)},
                {"feel", json_of(possible.feel)},
                {"tools", work.set_ups},
                {"needs", work.needs}};
  };
  const choice::Choice& c = result.choice;
  Json out{{"title", result.title}, {"quick", result.quick}, {"currency", result.currency}};
  out["budget"] = {
      {"minutes", result.budget.minutes ? number(minutes_in(*result.budget.minutes)) : Json(nullptr)},
      {"money", result.budget.money ? Json(show_money(*result.budget.money)) : Json(nullptr)}};
  out["weights"] = {{"leak", {{"value", number(result.weights.leak)}, {"meaning", result.leak_meaning}}},
                    {"feel", {{"value", number(result.weights.feel)}, {"meaning", result.feel_meaning}}},
                    {"least_step", number(result.least_step.value())}};
  out["done"] = Json::array();
  for (const choice::Done& d : c.done) {
    Json j = work_json(d.work);
    j["points"] = number(d.points.value());
    j["why"] = word(d.why);
    j["comes_before"] = works_json(d.needed_by);
    out["done"].push_back(std::move(j));
  }
  out["left_out"] = Json::array();
  for (const choice::LeftOut& l : c.left_out) {
    Json j = work_json(l.work);
    j["points"] = number(l.points.value());
    j["why"] = word(l.why);
    j["said"] = tell(l, result);
    j["instead"] = l.other ? Json(result.candidates.works[*l.other].id) : Json(nullptr);
    j["points_lost_with_it"] = l.lost_with_it ? number(l.lost_with_it->value()) : Json(nullptr);
    j["with_needs"] = time_json(l.time_with_needs);
    j["with_needs"]["money"] = show_money(l.money_with_needs);
    out["left_out"].push_back(std::move(j));
  }
  out["tools"] = Json::array();
  for (const std::size_t s : c.set_ups) {
    const choice::SetUp& set_up = result.candidates.set_ups[s];
    Json j{{"tool", set_up.id}};
    j.update(time_json(set_up.time));
    j["money"] = show_money(set_up.money);
    out["tools"].push_back(std::move(j));
  }
  out["total"] = total_json(c.total);
  out["chance_within"] = c.chance_within ? number(*c.chance_within) : Json(nullptr);
  out["nine_in_ten_minutes"] = number(minutes_in(c.nine_in_ten));
  const auto step_json = [&](const std::optional<choice::Improvement>& step) {
    if (!step) return Json(nullptr);
    return Json{{"extra_minutes", number(minutes_in(step->extra_minutes))},
                {"extra_money", show_money(step->extra_money)},
                {"points_more", number(step->more.value())},
                {"added", works_json(step->added)},
                {"dropped", works_json(step->dropped)}};
  };
  out["next_by_minutes"] = step_json(c.by_minutes);
  out["next_by_money"] = step_json(c.by_money);
  out["ladder"] = Json::array();
  for (const choice::Rung& rung : result.ladder) {
    Json j = total_json(rung.total);
    j["works"] = works_json(rung.works);
    out["ladder"].push_back(std::move(j));
  }
  out["notes"] = result.notes;
  return text_of(out);
}

}  // namespace hingeline::service

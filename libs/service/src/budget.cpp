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
#include "hingeline/service/bow.h"
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

constexpr const char* kStraighten = "body straighten";

/// A key as it will be once the works so far are done.
struct Stand {
  plan::KeyCase key_case;
  plan::KeyPlan plan;
};

belief::Figures figures_of(const Stand& stand) {
  belief::Figures out{};
  for (std::size_t k = 0; k < out.size(); ++k) out[k] = stand.key_case.estimate.figures[k].value;
  return out;
}
double at(const belief::Figures& f, Figure which) { return f[static_cast<std::size_t>(which)]; }

/// The key with its geometry so changed, planned anew; `standard` in mm: what the change adds to the doubt of
/// its end play. Nothing where there can be no such key.
std::optional<Stand> changed(const Stand& now, const belief::KeyGeometry& geometry, double standard) {
  const auto hinge = belief::build_hinge(geometry);
  if (!hinge) return std::nullopt;
  Stand then = now;
  belief::Estimate& e = then.key_case.estimate;
  e.geometry = geometry;
  const belief::Figures figures = belief::figures_of(geometry, *hinge);
  for (std::size_t k = 0; k < figures.size(); ++k) {
    belief::FigureValue& f = e.figures[k];
    const double by = figures[k] - f.value;
    f.value = figures[k];
    f.low += by;
    f.high += by;
  }
  belief::FigureValue& play = e.figures[static_cast<std::size_t>(Figure::end_play)];
  play.plus_minus = std::hypot(play.plus_minus, 2 * standard);
  then.plan = plan::plan_key(then.key_case);
  return then;
}
/// The key with its posts so much closer together.
std::optional<Stand> with_posts_closer(const Stand& now, double closer, double standard) {
  belief::KeyGeometry geometry = now.key_case.estimate.geometry;
  geometry.span -= millimetres(closer);
  return changed(now, geometry, standard);
}

double worst_rock(const belief::Figures& f) {
  double most = kNothing;
  for (const Figure rock : {Figure::rock_upper, Figure::rock_lower, Figure::rock_pad})
    most = std::fmax(most, at(f, rock));
  return most;
}
/// Standard uncertainty of that rock.
double rock_standard(const belief::Estimate& e) {
  const Figure* worst = nullptr;
  static constexpr std::array kRocks{Figure::rock_upper, Figure::rock_lower, Figure::rock_pad};
  for (const Figure& rock : kRocks) {
    if (!std::isnan(e[rock].value) && (worst == nullptr || e[rock].value > e[*worst].value)) worst = &rock;
  }
  return worst == nullptr ? 0 : e[*worst].plus_minus / 2;
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
  void find_stands();
  void add_own_works();
  void add_free_work();
  void add_body();
  void add_posts(const PostsKey& posts);
  void add_stacks();
  void add_keys();
  void add_plans(const KeyResult& key, const Stand& stand);
  void add_look(const KeyResult& key);
  [[nodiscard]] bool by_look(const KeyResult& key) const;
  [[nodiscard]] Worked feel_gained(const KeyResult& key, const Stand& before, const belief::Figures& after,
                                   std::optional<double> change) const;
  [[nodiscard]] Worked leak_gained(const KeyResult& key, const Stand& before, const belief::Figures& after,
                                   bool moved) const;
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
  std::map<std::string, std::vector<std::string>> before_;  ///< key: works it waits for
  std::map<std::string, Stand> stands_;                     ///< every key that could be worked out
  std::vector<StackResult> stacks_;
  std::set<std::string> in_stack_;  ///< keys whose stack has a plan
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

// ---- what keys gain ----------------------------------------------------------------------------------

bool is_measured(const record::Key& key) {
  const record::Readings& r = key.readings;
  return r.end_play.known() || r.gap_upper.known() || r.gap_lower.known() || !r.rock.empty();
}

bool Maker::by_look(const KeyResult& key) const { return asked_.quick && !is_measured(*key.source); }

/// `change`: mm, standard uncertainty of what the work does to the end play, which else stays as unsure as it
/// is; nothing where the work ends at an end play that it aims at.
Worked Maker::feel_gained(const KeyResult& key, const Stand& before, const belief::Figures& after,
                          std::optional<double> change) const {
  const plan::WindowInputs& usual = key.key_case->window;
  const plan::Window& window = key.plan.window;
  // Where no end play is right the shop's usual window stands in.
  const double low = in_millimetres(window.crossed ? usual.window_low : window.low);
  const double high = in_millimetres(window.crossed ? usual.window_high : window.high);
  const double allowed = in_millimetres(usual.rock_allowed);
  const belief::Estimate& now = before.key_case.estimate;
  const belief::FigureValue& play = now[Figure::end_play];
  const double play_after = at(after, Figure::end_play);
  const double rock_after = worst_rock(after);
  std::vector<Given> givens{
      reckoned("end play", play.value, play.plus_minus / 2, "mm"),
      reckoned("rock", worst_rock(figures_of(before)), rock_standard(now), "mm"),
      change ? reckoned("what the end play changes by", play_after - play.value, *change, "mm")
             : reckoned("end play afterwards", play_after, 0, "mm"),
      reckoned("window from", low, 0, "mm"),
      reckoned("window to", high, 0, "mm"),
      reckoned("rock allowed", allowed, 0, "mm")};
  const bool by_change = change.has_value();
  return work("feel", "feel gained", "", kFeelFormula, std::move(givens), [&](std::span<const double> v) {
    return feel_lost(v[0], v[1], v[3], v[4], v[5]) -
           feel_lost(by_change ? v[0] + v[2] : v[2], rock_after, v[3], v[4], v[5]);
  });
}

Worked no_leak(std::string why) {
  Worked out = as_given("leak", "leak cured", "mL/s", kLeakFormula, reckoned("leak", 0, 0, "mL/s"));
  out.remark = std::move(why);
  return out;
}

/// `moved`: the work moves the gap, which is as unsure as before; else it ends at a gap that it aims at.
Worked Maker::leak_gained(const KeyResult& key, const Stand& before, const belief::Figures& after,
                          bool moved) const {
  const belief::Estimate& now = before.key_case.estimate;
  if (!key.source->pad || !now.geometry.pad) return no_leak("it has no pad");
  const belief::FigureValue& gap = now[Figure::worst_gap];
  const double left = at(after, Figure::worst_gap);
  if (!(now[Figure::end_play].value >= 0) || !std::isfinite(gap.value) || !std::isfinite(left))
    return no_leak("what a key that binds leaks cannot be told");
  const Given change = moved ? reckoned("what the gap changes by", left - gap.value, 0, "mm")
                             : reckoned("gap by play afterwards", left, 0, "mm");
  auto cured = leak_cured(key, reckoned("gap by play", gap.value, gap.plus_minus / 2, "mm"), change, moved,
                          instrument_, shop_);
  return cured ? std::move(*cured) : no_leak(cured.error().what);
}

// ---- free work, the body, posts ----------------------------------------------------------------------

void Maker::find_stands() {
  for (const KeyResult& key : result_.keys) {
    if (!key.problem) stands_.emplace(key.id, Stand{*key.key_case, key.plan});
  }
  stacks_ = work_out_stacks(instrument_, shop_, result_.units);
  for (const StackResult& stack : stacks_) {
    if (stack.problem || stack.plans.empty() || stack.plans.front().steps.empty()) continue;
    for (const TubeOnStack& tube : stack.tubes) {
      if (!tube.key.empty()) in_stack_.insert(tube.key);
    }
  }
}

/// Screws driven home: nothing need be done before, and it is worth doing alone.
void Maker::add_free_work() {
  for (const KeyResult& key : result_.keys) {
    const auto stand = stands_.find(key.id);
    if (stand == stands_.end() || in_stack_.contains(key.id) || by_look(key)) continue;
    Stand& now = stand->second;
    if (now.plan.plans.empty()) continue;
    std::vector<plan::Step> steps;
    for (const plan::Step& step : now.plan.plans.front().steps) {
      if (step.operation != plan::Operation::drive_home) break;
      steps.push_back(step);
    }
    if (steps.empty()) continue;
    belief::KeyGeometry geometry = now.key_case.estimate.geometry;
    double variance = 0;
    Stand home = now;
    bool stands = true;
    for (const plan::Step& step : steps) {
      const auto next = plan::after(geometry, step);
      stands = stands && next.has_value();
      if (!stands) break;
      geometry = *next;
      plan::EndFacts& facts = step.side == plan::Side::upper ? home.key_case.upper : home.key_case.lower;
      const double doubt = in_millimetres(facts.stands_off->standard());
      variance += doubt * doubt;
      facts.stands_off->value = Length{};
    }
    const auto then = stands ? changed(home, geometry, std::sqrt(variance)) : std::nullopt;
    if (!then) continue;
    choice::Work work;
    work.id = fmt::format("key {} home", key.id);
    work.stage = choice::Stage::free_check;
    PossibleWork possible;
    possible.name = fmt::format("{}: {} home", key.id, steps.size() == 1 ? "screw" : "screws");
    possible.about = key.id;
    possible.doing = "screws home";
    possible.place = key.source->place.pointer;
    double minutes = 0;
    for (const plan::Step& step : steps) {
      possible.steps.push_back(tell(step, result_.units));
      minutes += now.key_case.pace.drive_home.set_up + now.key_case.pace.drive_home.per_turn * step.turns;
    }
    possible.minutes = minutes_of(minutes, "the steps' minutes");
    possible.feel = feel_gained(key, now, figures_of(*then), std::sqrt(variance));
    possible.leak = leak_gained(key, now, figures_of(*then), true);
    price(work, possible, {code(plan::Operation::drive_home)}, Money{});
    before_[key.id].push_back(work.id);
    add(std::move(work), std::move(possible));
    now = *then;
  }
}

/// The body straightened, where the straightedge shows more than its doubt, and the posts of every key.
/// Keys that this moves by more than can be overlooked are planned as they will be, and wait for it: metal is
/// not cut to suit a bend.
void Maker::add_body() {
  const bool posts_read =
      std::any_of(instrument_.keys.begin(), instrument_.keys.end(), [](const record::Key& k) {
        const auto any = [](const record::Post& p) {
          return p.lean.known() || p.turn.known() || p.across.known();
        };
        return any(k.hinge.upper.post) || any(k.hinge.lower.post);
      });
  if (!instrument_.body.bow && !posts_read) return;
  const auto bent = bow(result_, instrument_, shop_);
  if (!bent) {
    out_.notes.push_back("what the body and its posts do is left out: " + bent.error().what);
    return;
  }
  const auto* own = [&]() -> const record::OwnWork* {
    for (const record::OwnWork& work : instrument_.works) {
      if (work.stage == record::WorkStage::straighten) return &work;
    }
    return nullptr;
  }();
  const bool is_bent =
      bent->read && std::abs(bent->read->curvature.value) > bent->read->curvature.plus_minus();
  if (is_bent && own != nullptr) {
    out_.notes.push_back(fmt::format(
        "the body is straightened by the document's own work, {}: keys are planned as they are now",
        own->id));
  }
  if (is_bent && own == nullptr) {
    // One bend and one give of pads are behind all of these, so that their doubts add up straight.
    std::vector<Given> leaks;
    std::vector<Given> feels;
    double leak_doubt = 0;
    for (const BowKey& moved : bent->keys) {
      const KeyResult* key = find_key(result_, moved.id).value_or(nullptr);
      const auto stand = stands_.find(moved.id);
      if (key == nullptr || stand == stands_.end() || moved.problem || !moved.placed) continue;
      Stand& now = stand->second;
      const double can_be_overlooked = std::max(moved.effect.plus_minus(), moved.end_play.plus_minus());
      if (!(std::abs(moved.effect.value) > can_be_overlooked)) continue;
      const auto straight = with_posts_closer(now, moved.effect.value, moved.effect.standard);
      if (!straight) {
        out_.notes.push_back(moved.id +
                             ": how it fits on a straight body cannot be reckoned; planned as now");
        continue;
      }
      before_[moved.id].emplace_back(kStraighten);
      if (!in_stack_.contains(moved.id) && !by_look(*key)) {
        const Worked feel = feel_gained(*key, now, figures_of(*straight), moved.effect.standard);
        const Worked leak = leak_gained(*key, now, figures_of(*straight), true);
        feels.push_back(reckoned("feel gained, " + moved.id, feel.value, feel.standard, ""));
        leaks.push_back(reckoned("leak cured, " + moved.id, leak.value, leak.standard, "mL/s"));
        leak_doubt += leak.standard;
      }
      now = *straight;
    }
    const auto sum = [](std::span<const double> v) { return std::accumulate(v.begin(), v.end(), 0.0); };
    if (!feels.empty()) {
      choice::Work work;
      work.id = kStraighten;
      work.stage = choice::Stage::straighten;
      PossibleWork possible;
      possible.source = WorkSource::body;
      possible.name = "Straighten the body";
      possible.doing = "straighten";
      possible.steps.push_back(
          say("straighten the body, bent by ", millimetres(std::abs(bent->read->sagitta.value)), " over ",
              Size{bent->read->bow.to - bent->read->bow.from}, "; read the keys again before metal is cut")
              .in(result_.units));
      possible.place = "/body/bow";
      possible.minutes =
          minutes_of(settled(shop_.presets.straighten.set_up, general_.presets.straighten.set_up).value,
                     "the shop's minutes for it");
      possible.feel = service::work("feel", "feel gained", "",
                                    std::string("sum over the keys that the bend moves of: ") + kFeelFormula,
                                    std::move(feels), sum);
      possible.leak = service::work("leak", "leak cured", "mL/s",
                                    std::string("sum over the keys that the bend moves of: ") + kLeakFormula,
                                    std::move(leaks), sum);
      possible.leak.standard = leak_doubt;
      possible.leak.remark = "one bend and one give of pads are behind all: their ± add up straight";
      price(work, possible, {record::word(record::WorkStage::straighten)}, Money{});
      add(std::move(work), std::move(possible));
    }
  }
  if (!bent->read && bent->told &&
      std::abs(bent->told->curvature.value) > bent->told->curvature.plus_minus()) {
    out_.notes.emplace_back(
        "the keys by themselves tell of a bent body: lay a straightedge on it before metal is cut");
  }
  for (const PostsKey& posts : bent->posts) add_posts(posts);
}

void Maker::add_posts(const PostsKey& posts) {
  const KeyResult* key = find_key(result_, posts.id).value_or(nullptr);
  const auto stand = stands_.find(posts.id);
  if (key == nullptr || stand == stands_.end() || posts.corrections.empty()) return;
  Stand& now = stand->second;
  auto then = std::isfinite(posts.effect.value)
                  ? with_posts_closer(now, posts.effect.value, posts.effect.standard)
                  : std::optional<Stand>(now);
  if (!then) {
    out_.notes.push_back(posts.id +
                         ": how it fits with its posts brought back cannot be reckoned; planned as now");
    return;
  }
  choice::Work work;
  work.id = fmt::format("key {} posts", posts.id);
  work.stage = choice::Stage::posts;
  work.needs = before_[posts.id];
  PossibleWork possible;
  possible.source = WorkSource::body;
  possible.name = posts.id + ": posts";
  possible.about = posts.id;
  possible.doing = "posts";
  for (const Said& correction : posts.corrections) possible.steps.push_back(correction.in(result_.units));
  possible.place = key->source->place.pointer;
  const double each = settled(shop_.presets.restore_post.set_up, general_.presets.restore_post.set_up).value;
  possible.minutes =
      minutes_of(each * static_cast<double>(posts.corrections.size()), "a post's minutes, for each");
  const double doubt = std::isfinite(posts.effect.standard) ? posts.effect.standard : 0;
  if (posts.force && posts.force->value > 0) {
    // Posts that bend its rod hold it: it has lost all until they let it go.
    Stand held = now;
    held.key_case.estimate.figures[static_cast<std::size_t>(Figure::end_play)] = {-1, 0, -1, -1};
    possible.feel = feel_gained(*key, held, figures_of(*then), std::nullopt);
  } else {
    possible.feel = feel_gained(*key, now, figures_of(*then), doubt);
  }
  possible.leak = leak_gained(*key, now, figures_of(*then), true);
  price(work, possible, {code(plan::Operation::restore_post)}, Money{});
  before_[posts.id].push_back(work.id);
  add(std::move(work), std::move(possible));
  now = std::move(*then);
}

// ---- stacks ------------------------------------------------------------------------------------------

void Maker::add_stacks() {
  for (std::size_t k = 0; k < stacks_.size(); ++k) {
    const StackResult& stack = stacks_[k];
    if (stack.problem) {
      out_.notes.push_back(
          fmt::format("{}: {}", stack.name.empty() ? stack.id : stack.name, stack.problem->what));
      continue;
    }
    if (stack.plans.empty() || stack.plans.front().steps.empty()) continue;
    std::set<std::string> needs;
    for (const TubeOnStack& tube : stack.tubes) {
      if (tube.key.empty()) continue;
      for (const std::string& work : before_[tube.key]) needs.insert(work);
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
      possible.leak = no_leak("a stack's end play is not reckoned as leak");
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

void Maker::add_keys() {
  for (const KeyResult& key : result_.keys) {
    const std::string name = key.id;
    if (in_stack_.contains(key.id)) {
      out_.notes.push_back(fmt::format("{}: worked with its stack", name));
      continue;
    }
    const bool looked = key.source->look.has_value();
    if (by_look(key)) {
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
    const Stand& stand = stands_.at(key.id);
    if (stand.plan.verdict == plan::Verdict::cannot_tell) {
      out_.notes.push_back(fmt::format(
          "{}: cannot tell by its readings{}", name,
          looked ? "; --quick takes it by its look, " + std::string(record::word(*key.source->look)) : ""));
    } else if (looked && !is_measured(*key.source)) {
      out_.notes.push_back(
          fmt::format("{}: taken by its parts, for nothing was read of it; --quick takes it by its "
                      "look, {}",
                      name, record::word(*key.source->look)));
    }
    add_plans(key, stand);
  }
}

void Maker::add_plans(const KeyResult& key, const Stand& stand) {
  const plan::KeyPlan& keyed = stand.plan;
  std::size_t count = 0;
  plan::Approach first_approach = plan::Approach::leave_it;
  if (keyed.plans.empty() && keyed.verdict != plan::Verdict::sound && !keyed.no_plan.empty())
    out_.notes.push_back(fmt::format("{}: {}", key.id, keyed.no_plan.in(result_.units)));
  for (const plan::Plan& p : keyed.plans) {
    if (p.steps.empty() || count == kMostPlans) continue;
    // Minutes are no reason to take more metal than the best plan does: it does not come back.
    if (p.metal > keyed.plans.front().metal + stand.key_case.limits.least_cut) continue;
    ++count;
    choice::Work work;
    work.id = fmt::format("key {} plan {}", key.id, count);
    work.instead = "key " + key.id;
    work.needs = before_[key.id];
    PossibleWork possible;
    possible.name = fmt::format("{}: {}", key.id, plan::word(p.approach));
    possible.about = key.id;
    possible.doing = plan::word(p.approach);
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
    // What waits for something is not among the first checks.
    if (!work.needs.empty()) work.stage = std::max(work.stage, choice::Stage::fit);
    for (const std::string& tool : tools) work.set_ups.push_back(set_up_for(tool));
    possible.minutes = minutes_of(p.minutes, "the plan's minutes");
    possible.feel = feel_gained(key, stand, p.after, std::nullopt);
    possible.feel.remark = "afterwards as planned; what a bite really takes off is seen at the bench";
    possible.leak = leak_gained(key, stand, p.after, false);
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
  possible.about = key.id;
  possible.doing = "by its look";
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
  find_stands();
  add_own_works();
  add_free_work();
  add_body();
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
    case WorkSource::body:
      return "body";
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

Expected<void> read_limits(const std::string& minutes, const std::string& money, BudgetAsked& into) {
  if (!minutes.empty()) {
    const auto read = parse_number(minutes, Sign::not_negative);
    constexpr double kMostMinutes = 1e5;
    if (!read || read->value > kMostMinutes)
      return fail(Fault::usage, fmt::format("\"{}\" is no number of minutes", minutes),
                  "such as 120, from 0 to 100000", Place{{}, "minutes", 0, 0});
    into.minutes = seconds(60 * read->value);
  }
  if (!money.empty()) {
    const auto read = parse_money(money);
    if (!read)
      return fail(Fault::usage, fmt::format("\"{}\" is no amount of money: {}", money, read.error().what),
                  read.error().expected, Place{{}, "money", 0, 0});
    into.money = *read;
  }
  return {};
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
  constexpr std::size_t kMostNamed = 3;
  const auto what = [&] {
    return done.needed_by.size() > kMostNamed
               ? fmt::format("{} works that wait for it", done.needed_by.size())
               : names_of(done.needed_by, result);
  };
  switch (done.why) {
    case choice::In::gains:
      break;
    case choice::In::needed:
      return "gains nothing itself; comes before " + what();
    case choice::In::together:
      return "done whole with its group";
  }
  return done.needed_by.empty() ? std::string() : "also comes before " + what();
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
                {"about", possible.about},
                {"doing", possible.doing},
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

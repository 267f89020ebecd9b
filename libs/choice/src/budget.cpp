#include "hingeline/choice/budget.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <map>
#include <set>

#include "hingeline/numeric/random.h"
#include "hingeline/numeric/statistics.h"
#include "integer_program.h"

namespace hingeline::choice {
namespace {

using Indices = std::vector<std::size_t>;

tl::unexpected<Error> wrong(std::string what, std::string expected) {
  return fail(Fault::content, std::move(what), std::move(expected));
}

/// The candidates with names looked up and everything in whole numbers. Columns of a program: first the
/// works, then the set-ups.
struct Table {
  std::size_t works = 0;
  std::vector<std::int64_t> points;   ///< of each column, thousandths
  std::vector<std::int64_t> seconds;  ///< of each column
  std::vector<std::int64_t> money;    ///< of each column, hundredths
  std::vector<Indices> needs;         ///< of each work: works
  std::vector<Indices> groups;
  std::vector<Indices> alternatives;
  std::vector<Indices> set_ups;  ///< of each work: columns
  std::vector<Indices> closure;  ///< of each work: itself, what it needs, their groups, and so on, ascending

  /// Of each work: an alternative of it that is no worse in anything, so that it need not be looked at. Of
  /// equals the first stays.
  std::vector<std::optional<std::size_t>> dominated;

  [[nodiscard]] std::size_t columns() const { return points.size(); }
};

std::optional<std::int64_t> whole(double v) {
  if (!(std::abs(v) <= 1e15)) return std::nullopt;
  return std::llround(v);
}

bool is_time(const Time& t) {
  return is_finite(t.mean) && is_finite(t.plus_minus) && t.mean >= Duration{} && t.plus_minus >= Duration{};
}

Expected<void> add_columns(const Candidates& c, const Weights& weights, Table& t) {
  for (const Work& w : c.works) {
    if (!is_time(w.time) || w.money < Money{}) {
      return wrong(fmt::format("the minutes or the money of \"{}\" are below 0 or no number", w.id),
                   "0 or more of each");
    }
    const auto points =
        whole(1000 * (weights.leak * in_millilitres_per_second(w.leak) + weights.feel * w.feel));
    const auto seconds = whole(in_seconds(w.time.mean));
    if (!points || !seconds) {
      return wrong(fmt::format("the gain or the minutes of \"{}\" are no number of a usual size", w.id),
                   "finite numbers");
    }
    t.points.push_back(*points);
    t.seconds.push_back(*seconds);
    t.money.push_back(w.money.in_hundredths());
  }
  for (const SetUp& s : c.set_ups) {
    const auto seconds = whole(in_seconds(s.time.mean));
    if (!is_time(s.time) || s.money < Money{} || !seconds) {
      return wrong(
          fmt::format("the minutes or the money of the set-up \"{}\" are below 0 or no number", s.id),
          "0 or more of each");
    }
    t.points.push_back(0);
    t.seconds.push_back(*seconds);
    t.money.push_back(s.money.in_hundredths());
  }
  return {};
}

Expected<void> look_names_up(const Candidates& c, Table& t) {
  std::map<std::string, std::size_t> work_of;
  std::map<std::string, std::size_t> set_up_of;
  for (std::size_t i = 0; i < c.works.size(); ++i) {
    const std::string& id = c.works[i].id;
    if (id.empty()) return wrong("a work has no id", "a name for each work");
    if (!work_of.emplace(id, i).second)
      return wrong(fmt::format("two works are called \"{}\"", id), "one each");
  }
  for (std::size_t s = 0; s < c.set_ups.size(); ++s) {
    if (c.set_ups[s].id.empty()) return wrong("a set-up has no id", "a name for each set-up");
    if (!set_up_of.emplace(c.set_ups[s].id, c.works.size() + s).second) {
      return wrong(fmt::format("two set-ups are called \"{}\"", c.set_ups[s].id), "one each");
    }
  }
  std::map<std::string, Indices> groups;
  std::map<std::string, Indices> alternatives;
  for (std::size_t i = 0; i < c.works.size(); ++i) {
    const Work& w = c.works[i];
    Indices needs;
    for (const std::string& need : w.needs) {
      const auto found = work_of.find(need);
      if (found == work_of.end()) {
        return wrong(fmt::format("\"{}\" needs \"{}\", which is no work here", w.id, need),
                     "the id of a work");
      }
      needs.push_back(found->second);
    }
    t.needs.push_back(std::move(needs));
    Indices set_ups;
    for (const std::string& set_up : w.set_ups) {
      const auto found = set_up_of.find(set_up);
      if (found == set_up_of.end()) {
        return wrong(fmt::format("\"{}\" uses the set-up \"{}\", which is not there", w.id, set_up),
                     "the id of a set-up");
      }
      set_ups.push_back(found->second);
    }
    std::sort(set_ups.begin(), set_ups.end());
    t.set_ups.push_back(std::move(set_ups));
    if (!w.together.empty()) groups[w.together].push_back(i);
    if (!w.instead.empty()) alternatives[w.instead].push_back(i);
  }
  for (auto& [name, members] : groups) t.groups.push_back(std::move(members));
  for (auto& [name, members] : alternatives) t.alternatives.push_back(std::move(members));
  return {};
}

/// A circle of needs, as names, or nothing.
std::optional<std::string> circle(const Candidates& c, const Table& t) {
  std::vector<bool> gone(t.works, false);
  bool moved = true;
  std::size_t standing = t.works;
  while (moved) {
    moved = false;
    for (std::size_t i = 0; i < t.works; ++i) {
      if (gone[i] ||
          !std::all_of(t.needs[i].begin(), t.needs[i].end(), [&](std::size_t n) { return gone[n]; })) {
        continue;
      }
      gone[i] = true;
      moved = true;
      --standing;
    }
  }
  if (standing == 0) return std::nullopt;
  // From any work that is left, needs that are left lead round.
  std::size_t at = 0;
  while (gone[at]) ++at;
  const auto next = [&](std::size_t i) {
    return *std::find_if(t.needs[i].begin(), t.needs[i].end(), [&](std::size_t n) { return !gone[n]; });
  };
  for (std::size_t k = 0; k < t.works; ++k) at = next(at);
  std::string names = c.works[at].id;
  for (std::size_t i = next(at); i != at; i = next(i)) names += ", " + c.works[i].id;
  return names;
}

void close_needs(Table& t) {
  std::vector<const Indices*> group_of(t.works, nullptr);
  for (const Indices& g : t.groups) {
    for (const std::size_t i : g) group_of[i] = &g;
  }
  for (std::size_t i = 0; i < t.works; ++i) {
    std::set<std::size_t> in{i};
    Indices open{i};
    while (!open.empty()) {
      const std::size_t at = open.back();
      open.pop_back();
      const auto take = [&](std::size_t n) {
        if (in.insert(n).second) open.push_back(n);
      };
      for (const std::size_t n : t.needs[at]) take(n);
      if (group_of[at] != nullptr) {
        for (const std::size_t n : *group_of[at]) take(n);
      }
    }
    t.closure.emplace_back(in.begin(), in.end());
  }
}

bool within(const Indices& part, const Indices& whole) {
  return std::all_of(part.begin(), part.end(),
                     [&](std::size_t i) { return std::count(whole.begin(), whole.end(), i) > 0; });
}

/// Whether `b` can stand wherever `a` does: what `a` asks for suffices, and it gains no less.
bool stands_for(const Table& t, std::size_t b, std::size_t a) {
  return within(t.needs[b], t.needs[a]) && within(t.set_ups[b], t.set_ups[a]) && t.points[b] >= t.points[a] &&
         t.seconds[b] <= t.seconds[a] && t.money[b] <= t.money[a];
}

void find_dominated(Table& t) {
  t.dominated.assign(t.works, {});
  // What others need, or what goes with a group, cannot be exchanged.
  std::vector<bool> tied(t.works, false);
  for (const Indices& needs : t.needs) {
    for (const std::size_t n : needs) tied[n] = true;
  }
  for (const Indices& g : t.groups) {
    for (const std::size_t i : g) tied[i] = true;
  }
  for (const Indices& alternatives : t.alternatives) {
    for (const std::size_t a : alternatives) {
      for (const std::size_t b : alternatives) {
        if (a == b || tied[a] || tied[b] || t.dominated[b] || !stands_for(t, b, a)) continue;
        if (!stands_for(t, a, b) || b < a) t.dominated[a] = b;
      }
    }
  }
}

Expected<Table> table_of(const Candidates& c, const Weights& weights) {
  if (!(weights.leak >= 0 && weights.feel >= 0 && std::isfinite(weights.leak) &&
        std::isfinite(weights.feel))) {
    return wrong("a weight is below 0 or no number", "weights of 0 or more");
  }
  Table t;
  t.works = c.works.size();
  if (const auto added = add_columns(c, weights, t); !added) return tl::unexpected(added.error());
  if (const auto found = look_names_up(c, t); !found) return tl::unexpected(found.error());
  if (const auto round = circle(c, t)) {
    return wrong(fmt::format("these works need each other in a circle: {}", *round),
                 "needs that lead to a work without any");
  }
  close_needs(t);
  find_dominated(t);
  return t;
}

/// Limits in whole numbers.
struct Limits {
  std::optional<std::int64_t> seconds;
  std::optional<std::int64_t> money;
};

Row row_of(const std::vector<std::int64_t>& amounts) {
  Row row;
  for (std::size_t i = 0; i < amounts.size(); ++i) {
    if (amounts[i] != 0) row.terms.emplace_back(i, amounts[i]);
  }
  return row;
}

/// `kept`: a work that is looked at even if it is dominated.
IntegerProgram program_of(const Table& t, const Limits& limits, std::optional<std::size_t> kept = {}) {
  IntegerProgram p;
  p.gain = t.points;
  const auto limit = [&p](const std::vector<std::int64_t>& amounts, std::optional<std::int64_t> high) {
    if (!high) return;
    Row row = row_of(amounts);
    row.high = high;
    p.rows.push_back(std::move(row));
  };
  limit(t.seconds, limits.seconds);
  limit(t.money, limits.money);
  for (std::size_t i = 0; i < t.works; ++i) {
    if (t.dominated[i] && i != kept) p.rows.push_back(Row{{{i, 1}}, {}, 0});
  }
  const auto only_with = [&p](std::size_t work, std::size_t other) {
    p.rows.push_back(Row{{{work, 1}, {other, -1}}, {}, 0});
  };
  for (std::size_t i = 0; i < t.works; ++i) {
    for (const std::size_t n : t.needs[i]) only_with(i, n);
    for (const std::size_t s : t.set_ups[i]) only_with(i, s);
  }
  for (const Indices& g : t.groups) {
    for (std::size_t k = 1; k < g.size(); ++k) p.rows.push_back(Row{{{g[0], 1}, {g[k], -1}}, 0, 0});
  }
  for (const Indices& a : t.alternatives) {
    Row row;
    for (const std::size_t i : a) row.terms.emplace_back(i, 1);
    row.high = 1;
    p.rows.push_back(std::move(row));
  }
  return p;
}

/// A set of works that keeps to the table's rules, with what it comes to.
struct Picked {
  std::vector<bool> columns;
  std::int64_t points = 0;
  std::int64_t seconds = 0;
  std::int64_t money = 0;
};

std::int64_t sum(const std::vector<std::int64_t>& amounts, const std::vector<bool>& taken) {
  std::int64_t total = 0;
  for (std::size_t i = 0; i < amounts.size(); ++i) total += taken[i] ? amounts[i] : 0;
  return total;
}

Picked picked(const Table& t, std::vector<bool> taken) {
  // A set-up nothing uses is none.
  for (std::size_t s = t.works; s < t.columns(); ++s) taken[s] = false;
  for (std::size_t i = 0; i < t.works; ++i) {
    if (!taken[i]) continue;
    for (const std::size_t s : t.set_ups[i]) taken[s] = true;
  }
  Picked p{std::move(taken), 0, 0, 0};
  p.points = sum(t.points, p.columns);
  p.seconds = sum(t.seconds, p.columns);
  p.money = sum(t.money, p.columns);
  return p;
}

using Pick = Expected<std::optional<Picked>>;

Pick solve_for(const Table& t, const IntegerProgram& p, const std::vector<bool>& known = {}) {
  auto solved = solve(p, known);
  if (!solved) return tl::unexpected(solved.error());
  if (!*solved) return std::nullopt;
  return picked(t, std::move((*solved)->taken));
}

std::vector<std::int64_t> less(const std::vector<std::int64_t>& amounts) {
  std::vector<std::int64_t> out;
  out.reserve(amounts.size());
  for (const std::int64_t a : amounts) out.push_back(-a);
  return out;
}

/// Of all sets with at least `points` within the limits the one with the least seconds (or money first), then
/// the least of the other, then the one that changes least
/// against `now`. `known` is one of them, or empty.
Pick cheapest(const Table& t, const Limits& limits, std::int64_t points, std::vector<bool> known,
              const std::vector<bool>& now, bool money_first = false) {
  IntegerProgram p = program_of(t, limits);
  Row enough = row_of(t.points);
  enough.low = points;
  p.rows.push_back(std::move(enough));

  const auto& first = money_first ? t.money : t.seconds;
  const auto& second = money_first ? t.seconds : t.money;
  Pick best = std::nullopt;
  const auto narrow = [&](const std::vector<std::int64_t>& amounts) {
    p.gain = less(amounts);
    Pick found = solve_for(t, p, known);
    if (found && *found) {
      known = (*found)->columns;
      Row row = row_of(amounts);
      row.high = sum(amounts, (*found)->columns);
      p.rows.push_back(std::move(row));
    }
    best = std::move(found);
    return best && *best;
  };
  const auto says_something = [](const std::vector<std::int64_t>& amounts) {
    return std::any_of(amounts.begin(), amounts.end(), [](std::int64_t a) { return a != 0; });
  };
  if (says_something(first) && !narrow(first)) return best;
  if (says_something(second) && !narrow(second)) return best;
  std::vector<std::int64_t> change(t.columns(), 0);
  // Fewest changes; of ways to the same end the one that is listed first.
  const auto one = static_cast<std::int64_t>(t.works) + 1;
  for (std::size_t i = 0; i < t.works; ++i) change[i] = now[i] ? -one : one;
  for (const Indices& a : t.alternatives) {
    for (std::size_t k = 0; k < a.size(); ++k) change[a[k]] += static_cast<std::int64_t>(k);
  }
  narrow(change);
  return best;
}

std::vector<bool> nothing_yet(const Table& t) { return std::vector<bool>(t.columns(), false); }

/// The most points within the limits, in the least seconds and money. There is always one: doing nothing.
Expected<Picked> most_points(const Table& t, const Limits& limits) {
  Pick most = solve_for(t, program_of(t, limits));
  if (!most) return tl::unexpected(most.error());
  assert(*most);
  Pick least = cheapest(t, limits, (*most)->points, (*most)->columns, nothing_yet(t));
  if (!least) return tl::unexpected(least.error());
  assert(*least);
  return std::move(**least);
}

// ---- What a choice comes to -------------------------------------------------------------------------------

double square(double v) { return v * v; }

Total total_of(const Candidates& c, const Weights& weights, const Table& t, const Picked& p) {
  Total out;
  double time = 0;
  double leak = 0;
  double feel = 0;
  double points = 0;
  for (std::size_t i = 0; i < t.works; ++i) {
    if (!p.columns[i]) continue;
    const Work& w = c.works[i];
    out.leak += w.leak;
    out.feel += w.feel;
    time += square(w.time.plus_minus.raw());
    leak += square(w.leak_plus_minus.raw());
    feel += square(w.feel_plus_minus);
    points += square(weights.leak * w.leak_plus_minus.raw()) + square(weights.feel * w.feel_plus_minus);
  }
  for (std::size_t s = 0; s < c.set_ups.size(); ++s) {
    if (p.columns[t.works + s]) time += square(c.set_ups[s].time.plus_minus.raw());
  }
  out.time = {seconds(static_cast<double>(p.seconds)), seconds(std::sqrt(time))};
  out.money = Money::hundredths(p.money);
  out.points = {p.points};
  out.plus_minus = {std::llround(1000 * std::sqrt(points))};
  out.leak_plus_minus = Flow::of(std::sqrt(leak));
  out.feel_plus_minus = std::sqrt(feel);
  return out;
}

/// The chosen works in the order they are done: what is needed first; then by stage; what can be undone
/// before what cannot; those of one set-up one after the other; the quickest first.
Indices in_order(const Candidates& c, const Table& t, const Picked& p) {
  Indices order;
  std::vector<bool> done(t.works, false);
  std::size_t count = 0;
  for (std::size_t i = 0; i < t.works; ++i) count += p.columns[i] ? 1U : 0U;
  Indices on_the_bench;
  while (order.size() < count) {
    const auto rank = [&](std::size_t i) {
      const bool changes =
          !std::includes(on_the_bench.begin(), on_the_bench.end(), t.set_ups[i].begin(), t.set_ups[i].end());
      return std::tuple(c.works[i].stage, c.works[i].takes_metal, changes, t.set_ups[i], t.seconds[i], i);
    };
    std::optional<std::size_t> next;
    for (std::size_t i = 0; i < t.works; ++i) {
      if (!p.columns[i] || done[i] ||
          !std::all_of(t.needs[i].begin(), t.needs[i].end(), [&](std::size_t n) { return done[n]; })) {
        continue;
      }
      if (!next || rank(i) < rank(*next)) next = i;
    }
    assert(next);
    done[*next] = true;
    order.push_back(*next);
    if (!t.set_ups[*next].empty()) on_the_bench = t.set_ups[*next];
  }
  return order;
}

std::vector<Done> done_works(const Candidates& c, const Table& t, const Picked& p) {
  std::vector<Done> out;
  for (const std::size_t i : in_order(c, t, p)) {
    Done d{i, In::gains, {t.points[i]}, {}};
    for (std::size_t k = 0; k < t.works; ++k) {
      if (p.columns[k] && std::count(t.needs[k].begin(), t.needs[k].end(), i) > 0) d.needed_by.push_back(k);
    }
    if (t.points[i] <= 0) d.why = d.needed_by.empty() ? In::together : In::needed;
    out.push_back(std::move(d));
  }
  return out;
}

// ---- Why not ----------------------------------------------------------------------------------------------

/// What a work, with all it needs, would take by itself.
struct Alone {
  Time time;
  std::int64_t seconds = 0;
  std::int64_t money = 0;
};

Alone alone(const Candidates& c, const Table& t, std::size_t work, const std::vector<bool>* already) {
  Alone out;
  double spread = 0;
  std::set<std::size_t> columns;
  for (const std::size_t i : t.closure[work]) {
    columns.insert(i);
    columns.insert(t.set_ups[i].begin(), t.set_ups[i].end());
  }
  for (const std::size_t column : columns) {
    if (already != nullptr && (*already)[column]) continue;
    out.seconds += t.seconds[column];
    out.money += t.money[column];
    const Time& time = column < t.works ? c.works[column].time : c.set_ups[column - t.works].time;
    spread += square(time.plus_minus.raw());
  }
  out.time = {seconds(static_cast<double>(out.seconds)), seconds(std::sqrt(spread))};
  return out;
}

/// The best total with that work in; nothing where no choice within the limits has it.
Pick with_it(const Table& t, const Limits& limits, std::size_t work) {
  IntegerProgram p = program_of(t, limits, work);
  for (const std::size_t i : t.closure[work]) p.rows.push_back(Row{{{i, 1}}, 1, 1});
  return solve_for(t, p);
}

Expected<LeftOut> left_out(const Candidates& c, const Table& t, const Limits& limits, const Picked& best,
                           std::size_t work, bool reasons) {
  LeftOut out;
  out.work = work;
  out.points = {t.points[work]};
  const Alone more = alone(c, t, work, &best.columns);
  out.time_with_needs = more.time;
  out.money_with_needs = Money::hundredths(more.money);
  // Its own alternative, or one of something it needs.
  const Indices& with = t.closure[work];
  for (const Indices& a : t.alternatives) {
    const auto is_with = [&](std::size_t i) { return std::binary_search(with.begin(), with.end(), i); };
    if (std::none_of(a.begin(), a.end(), is_with)) continue;
    for (const std::size_t i : a) {
      if (best.columns[i] && !is_with(i)) out.other = i;
    }
  }
  if (out.other) {
    out.why = Out::alternative;
    return out;
  }
  if (t.dominated[work]) {
    out.why = Out::no_better;
    out.other = t.dominated[work];
    return out;
  }
  const Alone all = alone(c, t, work, nullptr);
  if (limits.seconds && all.seconds > *limits.seconds) {
    out.why = Out::too_long;
    out.time_with_needs = all.time;
    out.money_with_needs = Money::hundredths(all.money);
    return out;
  }
  if (limits.money && all.money > *limits.money) {
    out.why = Out::too_dear;
    out.time_with_needs = all.time;
    out.money_with_needs = Money::hundredths(all.money);
    return out;
  }
  // With it and all it needs in place nothing else has to go: then it is not for want of minutes or money.
  const bool room = (!limits.seconds || best.seconds + more.seconds <= *limits.seconds) &&
                    (!limits.money || best.money + more.money <= *limits.money);
  out.why = room || out.points <= Points{} ? Out::gains_nothing : Out::crowded_out;
  if (!reasons || out.why != Out::crowded_out) return out;
  Pick found = with_it(t, limits, work);
  if (!found) return tl::unexpected(found.error());
  if (*found) out.lost_with_it = Points{best.points - (*found)->points};
  return out;
}

// ---- The next improvement ---------------------------------------------------------------------------------

Improvement step_between(const Table& t, const Picked& from, const Picked& to) {
  Improvement step;
  step.extra_minutes = seconds(static_cast<double>(to.seconds - from.seconds));
  step.extra_money = Money::hundredths(to.money - from.money);
  step.more = {to.points - from.points};
  for (std::size_t i = 0; i < t.works; ++i) {
    if (to.columns[i] && !from.columns[i]) step.added.push_back(i);
    if (!to.columns[i] && from.columns[i]) step.dropped.push_back(i);
  }
  return step;
}

Limits limits_of(const Budget& budget) {
  Limits limits;
  // A hard line: half a second over it is over it.
  if (budget.minutes)
    limits.seconds = static_cast<std::int64_t>(std::floor(in_seconds(*budget.minutes) + 1e-6));
  if (budget.money) limits.money = budget.money->in_hundredths();
  return limits;
}

}  // namespace

double chance_within(Time sum, Duration limit) {
  const double mean = in_seconds(sum.mean);
  const double standard = in_seconds(sum.plus_minus) / 2;
  if (!(standard > 0) || !(mean > 0)) return limit >= sum.mean ? 1 : 0;
  if (!(limit > Duration{})) return 0;
  const double log_variance = std::log1p(square(standard / mean));
  const double log_mean = std::log(mean) - log_variance / 2;
  return numeric::normal_below((std::log(in_seconds(limit)) - log_mean) / std::sqrt(log_variance));
}

Duration enough_for(Time sum, double chance) {
  assert(chance > 0 && chance < 1);
  const double mean = in_seconds(sum.mean);
  const double standard = in_seconds(sum.plus_minus) / 2;
  if (!(standard > 0) || !(mean > 0)) return sum.mean;
  const double log_variance = std::log1p(square(standard / mean));
  return seconds(std::exp(std::log(mean) - log_variance / 2 +
                          std::sqrt(log_variance) * numeric::inverse_normal(chance)));
}

Expected<Choice> choose(const Candidates& candidates, const Budget& budget, const Weights& weights,
                        const Options& options) {
  assert(options.least_step > Points{});
  if (budget.minutes &&
      !(is_finite(*budget.minutes) && *budget.minutes >= Duration{} && in_seconds(*budget.minutes) < 1e9)) {
    return wrong("the minutes of the budget are below 0 or no number", "0 or more");
  }
  if (budget.money && *budget.money < Money{})
    return wrong("the money of the budget is below 0", "0 or more");
  const auto table = table_of(candidates, weights);
  if (!table) return tl::unexpected(table.error());
  const Limits limits = limits_of(budget);

  const auto best = most_points(*table, limits);
  if (!best) return tl::unexpected(best.error());

  Choice out;
  out.done = done_works(candidates, *table, *best);
  out.total = total_of(candidates, weights, *table, *best);
  for (std::size_t s = 0; s < candidates.set_ups.size(); ++s) {
    if (best->columns[table->works + s]) out.set_ups.push_back(s);
  }
  for (std::size_t i = 0; i < table->works; ++i) {
    if (best->columns[i]) continue;
    auto left = left_out(candidates, *table, limits, *best, i, options.reasons);
    if (!left) return tl::unexpected(left.error());
    out.left_out.push_back(*left);
  }
  std::stable_sort(out.left_out.begin(), out.left_out.end(),
                   [](const LeftOut& a, const LeftOut& b) { return a.points > b.points; });
  if (budget.minutes) out.chance_within = chance_within(out.total.time, *budget.minutes);
  out.nine_in_ten = enough_for(out.total.time, 0.9);

  const std::int64_t better = best->points + options.least_step.thousandths;
  const auto improve = [&](Limits wider, bool money_first) -> Expected<std::optional<Improvement>> {
    // The most that can be had is found sooner than that a better one cannot.
    const Pick most = solve_for(*table, program_of(*table, wider), best->columns);
    if (!most) return tl::unexpected(most.error());
    if ((*most)->points < better) return std::nullopt;
    Pick found = cheapest(*table, wider, better, (*most)->columns, best->columns, money_first);
    if (!found) return tl::unexpected(found.error());
    if (!*found) return std::nullopt;
    return step_between(*table, *best, **found);
  };
  if (limits.seconds) {
    auto step = improve({std::nullopt, limits.money}, false);
    if (!step) return tl::unexpected(step.error());
    out.by_minutes = std::move(*step);
  }
  if (limits.money) {
    auto step = improve({limits.seconds, std::nullopt}, true);
    if (!step) return tl::unexpected(step.error());
    out.by_money = std::move(*step);
  }
  return out;
}

Expected<std::vector<Rung>> ladder(const Candidates& candidates, const std::optional<Money>& money,
                                   const Weights& weights, const Options& options) {
  assert(options.least_step > Points{});
  if (money && *money < Money{}) return wrong("the money of the budget is below 0", "0 or more");
  const auto table = table_of(candidates, weights);
  if (!table) return tl::unexpected(table.error());
  Limits limits;
  if (money) limits.money = money->in_hundredths();
  std::vector<Rung> rungs;
  // From nothing at all (or what takes no minutes) upwards.
  limits.seconds = 0;
  auto at = most_points(*table, limits);
  while (at) {
    Rung rung{total_of(candidates, weights, *table, *at), {}};
    for (std::size_t i = 0; i < table->works; ++i) {
      if (at->columns[i]) rung.works.push_back(i);
    }
    rungs.push_back(std::move(rung));
    limits.seconds.reset();
    const Pick next = cheapest(*table, limits, at->points + options.least_step.thousandths, {}, at->columns);
    if (!next) return tl::unexpected(next.error());
    if (!*next) return rungs;
    limits.seconds = (*next)->seconds;
    at = most_points(*table, limits);
  }
  return tl::unexpected(at.error());
}

}  // namespace hingeline::choice

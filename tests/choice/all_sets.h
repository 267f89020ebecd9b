#pragma once
/// \file
/// Every set of works there is, looked at one by one: what the choice is held to.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "hingeline/choice/budget.h"
#include "hingeline/numeric/random.h"

namespace hingeline::choice::testing_choice {

struct Sum {
  std::uint32_t set = 0;
  std::int64_t points = 0;
  std::int64_t seconds = 0;
  std::int64_t money = 0;
  int works = 0;
};

inline std::int64_t points_of(const Work& w, const Weights& weights) {
  return std::llround(1000 * (weights.leak * in_millilitres_per_second(w.leak) + weights.feel * w.feel));
}

/// Whether `set` keeps to needs, groups and alternatives.
inline bool keeps_rules(const Candidates& c, const std::vector<bool>& set) {
  std::map<std::string, std::size_t> place;
  for (std::size_t i = 0; i < c.works.size(); ++i) place[c.works[i].id] = i;
  std::map<std::string, int> of_alternatives;
  std::map<std::string, std::set<bool>> of_group;
  for (std::size_t i = 0; i < c.works.size(); ++i) {
    const Work& w = c.works[i];
    if (!w.together.empty()) of_group[w.together].insert(set[i]);
    if (!set[i]) continue;
    for (const auto& need : w.needs) {
      if (!set[place.at(need)]) return false;
    }
    if (!w.instead.empty() && ++of_alternatives[w.instead] > 1) return false;
  }
  return std::all_of(of_group.begin(), of_group.end(), [](const auto& g) { return g.second.size() == 1; });
}

inline Sum sum_of(const Candidates& c, const Weights& weights, const std::vector<bool>& set) {
  Sum out;
  std::set<std::string> set_ups;
  for (std::size_t i = 0; i < c.works.size(); ++i) {
    if (!set[i]) continue;
    const Work& w = c.works[i];
    out.set |= 1U << i;
    out.points += points_of(w, weights);
    out.seconds += std::llround(in_seconds(w.time.mean));
    out.money += w.money.in_hundredths();
    ++out.works;
    set_ups.insert(w.set_ups.begin(), w.set_ups.end());
  }
  for (const SetUp& s : c.set_ups) {
    if (!set_ups.contains(s.id)) continue;
    out.seconds += std::llround(in_seconds(s.time.mean));
    out.money += s.money.in_hundredths();
  }
  return out;
}

/// All sets of up to 20 works that keep to the rules.
inline std::vector<Sum> all_sets(const Candidates& c, const Weights& weights) {
  std::vector<Sum> out;
  const std::size_t n = c.works.size();
  std::vector<bool> set(n);
  for (std::uint32_t bits = 0; bits < 1U << n; ++bits) {
    for (std::size_t i = 0; i < n; ++i) set[i] = (bits >> i & 1) != 0;
    if (keeps_rules(c, set)) out.push_back(sum_of(c, weights, set));
  }
  return out;
}

/// The first by `rank` of those that `is_one`.
template <class Is, class Rank>
std::optional<Sum> first_of(const std::vector<Sum>& all, Is is_one, Rank rank) {
  std::optional<Sum> best;
  for (const Sum& s : all) {
    if (is_one(s) && (!best || rank(s) < rank(*best))) best = s;
  }
  return best;
}

struct Made {
  Candidates candidates;
  Budget budget;
  Weights weights;
};

/// Works as a shop could have them, and some no shop has: dependencies of every kind, works that harm, works
/// that take nothing, budgets from nothing to more than enough, or none.
inline Made made(std::uint64_t number, std::size_t most_works) {
  numeric::Stream s(20260, number);
  const auto below = [&s](std::uint64_t n) { return s.bits() % n; };
  Made m;
  const auto n = 1 + below(most_works);
  const auto set_ups = below(4);
  for (std::uint64_t k = 0; k < set_ups; ++k) {
    m.candidates.set_ups.push_back({"set-up " + std::to_string(k),
                                    {seconds(static_cast<double>(below(600))), seconds(30)},
                                    Money::hundredths(static_cast<std::int64_t>(below(3) * 150))});
  }
  const bool coarse = below(3) == 0;  // many ties
  for (std::uint64_t i = 0; i < n; ++i) {
    Work w;
    w.id = "w" + std::to_string(i);
    w.stage = static_cast<Stage>(below(6));
    w.takes_metal = below(2) == 0;
    w.time = {seconds(static_cast<double>(coarse ? 300 * below(5) : below(3000))), seconds(60)};
    w.money = Money::hundredths(static_cast<std::int64_t>(below(3) == 0 ? below(4000) : 0));
    w.leak = millilitres_per_second(coarse ? static_cast<double>(below(4)) : 3 * s.uniform() - 0.3);
    w.feel = coarse ? 0 : s.uniform() - 0.1;
    for (std::uint64_t k = 0; k < i; ++k) {
      if (below(n) == 0) w.needs.push_back("w" + std::to_string(k));
    }
    if (below(6) == 0) w.together = "group " + std::to_string(below(2));
    if (below(4) == 0) w.instead = "one of " + std::to_string(below(3));
    // Another way that is much the same.
    const bool alike = below(4) != 0;
    const auto first =
        std::find_if(m.candidates.works.begin(), m.candidates.works.end(),
                     [&](const Work& other) { return !w.instead.empty() && other.instead == w.instead; });
    if (alike && first != m.candidates.works.end()) {
      w.time = first->time;
      w.money = first->money;
      w.leak = first->leak;
      w.feel = first->feel;
      w.needs = first->needs;
    }
    for (std::uint64_t k = 0; k < set_ups; ++k) {
      if (below(4) == 0) w.set_ups.push_back("set-up " + std::to_string(k));
    }
    m.candidates.works.push_back(std::move(w));
  }
  // Needs point back; turned round now and then, so that order in the list says nothing.
  if (below(2) == 0) std::reverse(m.candidates.works.begin(), m.candidates.works.end());
  if (below(5) != 0) m.budget.minutes = seconds(static_cast<double>(below(n * 1200 + 1)));
  if (below(2) == 0) m.budget.money = Money::hundredths(static_cast<std::int64_t>(below(n * 800 + 1)));
  m.weights = {s.uniform() * 2, below(4) == 0 ? 0 : s.uniform() * 3};
  return m;
}

}  // namespace hingeline::choice::testing_choice

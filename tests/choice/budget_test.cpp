// The choice of works: against published knapsacks, against every set there is, and against GLPK.

#include "hingeline/choice/budget.h"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <limits>
#include <numeric>
#include <sstream>

#include "choice/all_sets.h"

namespace hingeline::choice {
namespace {

using namespace testing_choice;

Work work(std::string id, double minutes, double feel) {
  Work w;
  w.id = std::move(id);
  w.time.mean = seconds(60 * minutes);
  w.feel = feel;
  return w;
}

// ---- Published knapsacks --------------------------------------------------------------------------------

struct Knapsack {
  const char* name;
  int capacity;
  std::vector<int> weights;
  std::vector<int> profits;
  int optimum;
};

// P01 to P05: the knapsack_01 data set of Florida State University; "package" the eight-package example of a
// solver's manual. Optima as published, each solved again by dynamic programming.
const std::vector<Knapsack>& knapsacks() {
  static const std::vector<Knapsack> all{
      {"P01", 165, {23, 31, 29, 44, 53, 38, 63, 85, 89, 82}, {92, 57, 49, 68, 60, 43, 67, 84, 87, 72}, 309},
      {"P02", 26, {12, 7, 11, 8, 9}, {24, 13, 23, 15, 16}, 51},
      {"P03", 190, {56, 59, 80, 64, 75, 17}, {50, 50, 64, 46, 50, 5}, 150},
      {"P04", 50, {31, 10, 20, 19, 4, 3, 6}, {70, 20, 39, 37, 7, 5, 10}, 107},
      {"P05", 104, {25, 35, 45, 5, 25, 3, 2, 2}, {350, 400, 450, 20, 70, 8, 5, 5}, 900},
      {"package", 102, {2, 20, 20, 30, 40, 30, 60, 10}, {15, 100, 90, 60, 40, 15, 10, 1}, 280},
  };
  return all;
}

TEST(Budget, PublishedKnapsacks) {
  for (const Knapsack& k : knapsacks()) {
    Candidates c;
    for (std::size_t i = 0; i < k.weights.size(); ++i) {
      c.works.push_back(work("item " + std::to_string(i), k.weights[i], k.profits[i]));
    }
    const auto by_minutes = choose(c, {seconds(60.0 * k.capacity), {}}, {});
    ASSERT_TRUE(by_minutes) << k.name << by_minutes.error().what;
    EXPECT_EQ(by_minutes->total.points.thousandths, 1000 * k.optimum) << k.name;
    EXPECT_LE(by_minutes->total.time.mean, seconds(60.0 * k.capacity));
    // The same with money for minutes.
    for (Work& w : c.works) {
      w.money = Money::hundredths(std::llround(in_seconds(w.time.mean) / 60));
      w.time.mean = {};
    }
    const auto by_money = choose(c, {{}, Money::hundredths(k.capacity)}, {});
    ASSERT_TRUE(by_money) << k.name;
    EXPECT_EQ(by_money->total.points.thousandths, 1000 * k.optimum) << k.name;
  }
}

// Two knapsacks of 70 and 127 on the list of P01 (multiple knapsack data of Florida State University): each
// item goes into one, the other or neither, so each is two works of which one at most is done.
TEST(Budget, PublishedTwoKnapsacks) {
  const Knapsack& p01 = knapsacks().front();
  Candidates c;
  for (std::size_t i = 0; i < p01.weights.size(); ++i) {
    Work first = work(fmt::format("{} first", i), p01.weights[i], p01.profits[i]);
    first.instead = std::to_string(i);
    Work second = work(fmt::format("{} second", i), 0, p01.profits[i]);
    second.money = Money::hundredths(p01.weights[i]);
    second.instead = first.instead;
    c.works.insert(c.works.end(), {first, second});
  }
  const auto choice = choose(c, {seconds(60.0 * 70), Money::hundredths(127)}, {});
  ASSERT_TRUE(choice);
  EXPECT_EQ(choice->total.points.thousandths, 333'000);
}

// ---- Every set there is ---------------------------------------------------------------------------------

std::vector<bool> as_set(const Candidates& c, const std::vector<std::size_t>& works) {
  std::vector<bool> set(c.works.size(), false);
  for (const std::size_t i : works) set[i] = true;
  return set;
}
std::vector<std::size_t> works_of(const Choice& choice) {
  std::vector<std::size_t> out;
  for (const Done& d : choice.done) out.push_back(d.work);
  return out;
}

std::int64_t seconds_of(const std::optional<Duration>& limit) {
  return limit ? static_cast<std::int64_t>(in_seconds(*limit)) : std::numeric_limits<std::int64_t>::max();
}
std::int64_t money_of(const std::optional<Money>& limit) {
  return limit ? limit->in_hundredths() : std::numeric_limits<std::int64_t>::max();
}

void expect_order(const Candidates& c, const Choice& choice) {
  std::map<std::string, std::size_t> place;
  for (std::size_t k = 0; k < choice.done.size(); ++k) place[c.works[choice.done[k].work].id] = k;
  for (std::size_t k = 0; k < choice.done.size(); ++k) {
    for (const auto& need : c.works[choice.done[k].work].needs) EXPECT_LT(place.at(need), k);
  }
  // Without a need in the way, no later stage comes before an earlier one, nor metal before what can be
  // undone.
  for (std::size_t k = 1; k < choice.done.size(); ++k) {
    const Work& before = c.works[choice.done[k - 1].work];
    const Work& after = c.works[choice.done[k].work];
    const bool held = std::count(after.needs.begin(), after.needs.end(), before.id) > 0;
    EXPECT_TRUE(held ||
                std::pair(before.stage, before.takes_metal) <= std::pair(after.stage, after.takes_metal));
  }
}

TEST(Budget, AgreesWithEverySetThereIs) {
  constexpr int kCases = 600;
  int improved = 0;
  int crowded = 0;
  int needed = 0;
  int no_better = 0;
  for (int number = 0; number < kCases; ++number) {
    const Made m = made(static_cast<std::uint64_t>(number), 11);
    const auto all = all_sets(m.candidates, m.weights);
    const std::int64_t minutes = seconds_of(m.budget.minutes);
    const std::int64_t money = money_of(m.budget.money);
    const auto within = [&](const Sum& s) { return s.seconds <= minutes && s.money <= money; };
    const auto best = first_of(
        all, within, [](const Sum& s) { return std::tuple(-s.points, s.seconds, s.money, s.works); });
    ASSERT_TRUE(best);

    Options options;
    options.least_step = {250};
    const auto choice = choose(m.candidates, m.budget, m.weights, options);
    ASSERT_TRUE(choice) << number << choice.error().what;
    const auto set = as_set(m.candidates, works_of(*choice));
    const Sum sum = sum_of(m.candidates, m.weights, set);
    EXPECT_TRUE(keeps_rules(m.candidates, set)) << number;
    EXPECT_EQ(std::tuple(sum.points, sum.seconds, sum.money),
              std::tuple(best->points, best->seconds, best->money))
        << number;
    EXPECT_EQ(std::tuple(choice->total.points.thousandths, in_seconds(choice->total.time.mean),
                         choice->total.money.in_hundredths()),
              std::tuple(sum.points, static_cast<double>(sum.seconds), sum.money))
        << number;
    expect_order(m.candidates, *choice);
    EXPECT_EQ(choice->done.size() + choice->left_out.size(), m.candidates.works.size());
    for (const Done& d : choice->done) needed += d.why == In::needed ? 1 : 0;

    // The price of the next improvement, both ways.
    const auto better = [&](const Sum& s) { return s.points >= best->points + 250; };
    const auto by_minutes = first_of(
        all, [&](const Sum& s) { return better(s) && s.money <= money; },
        [](const Sum& s) { return std::tuple(s.seconds, s.money); });
    ASSERT_EQ(choice->by_minutes.has_value(), m.budget.minutes && by_minutes) << number;
    if (choice->by_minutes) {
      ++improved;
      EXPECT_EQ(in_seconds(choice->by_minutes->extra_minutes),
                static_cast<double>(by_minutes->seconds - sum.seconds))
          << number;
      EXPECT_EQ(choice->by_minutes->extra_money.in_hundredths(), by_minutes->money - sum.money) << number;
      EXPECT_GE(choice->by_minutes->more, Points{250});
    }
    const auto by_money = first_of(
        all, [&](const Sum& s) { return better(s) && s.seconds <= minutes; },
        [](const Sum& s) { return std::tuple(s.money, s.seconds); });
    ASSERT_EQ(choice->by_money.has_value(), m.budget.money && by_money) << number;
    if (choice->by_money) {
      EXPECT_EQ(choice->by_money->extra_money.in_hundredths(), by_money->money - sum.money) << number;
      EXPECT_EQ(in_seconds(choice->by_money->extra_minutes),
                static_cast<double>(by_money->seconds - sum.seconds))
          << number;
    }

    // Why not.
    for (const LeftOut& left : choice->left_out) {
      if (left.why == Out::alternative) {
        EXPECT_TRUE(set[left.other.value()]) << number;
      }
      if (left.why == Out::no_better) {
        ++no_better;
        const Work& worse = m.candidates.works[left.work];
        const Work& better_one = m.candidates.works[left.other.value()];
        EXPECT_EQ(worse.instead, better_one.instead);
        EXPECT_GE(points_of(better_one, m.weights), points_of(worse, m.weights));
        EXPECT_LE(better_one.time.mean, worse.time.mean);
        EXPECT_LE(better_one.money, worse.money);
      }
      const auto with = first_of(
          all, [&](const Sum& s) { return within(s) && (s.set >> left.work & 1) != 0; },
          [](const Sum& s) { return -s.points; });
      if (left.why == Out::too_long || left.why == Out::too_dear) {
        EXPECT_FALSE(with) << number;
      }
      if (left.why != Out::crowded_out) continue;
      ++crowded;
      ASSERT_EQ(left.lost_with_it.has_value(), with.has_value()) << number;
      if (with) {
        EXPECT_EQ(left.lost_with_it->thousandths, best->points - with->points) << number;
      }
    }
  }
  // That the cases hold what they should.
  EXPECT_GT(improved, kCases / 4);
  EXPECT_GT(crowded, kCases / 4);
  EXPECT_GT(needed, 20);
  EXPECT_GT(no_better, 20);
}

TEST(Budget, EveryRungIsEfficient) {
  for (int number = 0; number < 60; ++number) {
    const Made m = made(static_cast<std::uint64_t>(5000 + number), 10);
    const auto all = all_sets(m.candidates, m.weights);
    const std::int64_t money = money_of(m.budget.money);
    Options options;
    options.least_step = {400};
    const auto rungs = ladder(m.candidates, m.budget.money, m.weights, options);
    ASSERT_TRUE(rungs) << rungs.error().what;
    ASSERT_FALSE(rungs->empty());
    for (std::size_t k = 0; k < rungs->size(); ++k) {
      const Total& at = (*rungs)[k].total;
      const auto here = static_cast<std::int64_t>(in_seconds(at.time.mean));
      EXPECT_TRUE(keeps_rules(m.candidates, as_set(m.candidates, (*rungs)[k].works)));
      for (const Sum& s : all) {
        if (s.money > money) continue;
        EXPECT_FALSE(s.seconds <= here && s.points > at.points.thousandths) << number;
        EXPECT_FALSE(s.seconds < here && s.points >= at.points.thousandths) << number;
      }
      if (k > 0) {
        EXPECT_GE(at.points.thousandths, (*rungs)[k - 1].total.points.thousandths + 400);
      }
    }
    const auto most = first_of(
        all, [&](const Sum& s) { return s.money <= money; }, [](const Sum& s) { return -s.points; });
    EXPECT_LT(most->points - rungs->back().total.points.thousandths, 400);
  }
}

// ---- GLPK -----------------------------------------------------------------------------------------------

/// The first question of a choice, in the words of the CPLEX LP format.
std::string programme(const Made& m) {
  const auto& works = m.candidates.works;
  std::map<std::string, std::size_t> place;
  for (std::size_t i = 0; i < works.size(); ++i) place[works[i].id] = i;
  std::ostringstream out;
  out << "maximize\n g:";
  for (std::size_t i = 0; i < works.size(); ++i)
    out << fmt::format(" {:+} x{}", points_of(works[i], m.weights), i);
  out << "\nsubject to\n";
  const auto limit = [&](const std::optional<std::int64_t>& high, auto&& amount_of) {
    if (!high) return;
    for (std::size_t i = 0; i < works.size(); ++i) out << fmt::format(" {:+} x{}", amount_of(works[i]), i);
    for (std::size_t s = 0; s < m.candidates.set_ups.size(); ++s)
      out << fmt::format(" {:+} s{}", amount_of(m.candidates.set_ups[s]), s);
    out << fmt::format(" <= {}\n", *high);
  };
  std::optional<std::int64_t> minutes;
  std::optional<std::int64_t> money;
  if (m.budget.minutes) minutes = seconds_of(m.budget.minutes);
  if (m.budget.money) money = money_of(m.budget.money);
  limit(minutes, [](const auto& w) { return std::llround(in_seconds(w.time.mean)); });
  limit(money, [](const auto& w) { return w.money.in_hundredths(); });
  std::map<std::string, std::string> of_alternatives;
  std::map<std::string, std::size_t> of_group;
  for (std::size_t i = 0; i < works.size(); ++i) {
    for (const auto& need : works[i].needs) out << fmt::format(" x{} - x{} <= 0\n", i, place.at(need));
    for (const auto& set_up : works[i].set_ups) out << fmt::format(" x{} - s{} <= 0\n", i, set_up.substr(7));
    if (!works[i].instead.empty()) of_alternatives[works[i].instead] += fmt::format(" + x{}", i);
    if (works[i].together.empty()) continue;
    const auto [first, is_new] = of_group.emplace(works[i].together, i);
    if (!is_new) out << fmt::format(" x{} - x{} = 0\n", i, first->second);
  }
  for (const auto& [name, sum] : of_alternatives) out << sum << " <= 1\n";
  out << " x0 <= 1\nbinary\n";
  for (std::size_t i = 0; i < works.size(); ++i) out << " x" << i;
  for (std::size_t s = 0; s < m.candidates.set_ups.size(); ++s) out << " s" << s;
  out << "\nend\n";
  return out.str();
}

TEST(Budget, AgreesWithGlpk) {
  constexpr int kCases = 120;
  const auto folder = std::filesystem::temp_directory_path() / fmt::format("hingeline-choice-{}", ::getpid());
  std::filesystem::create_directories(folder);
  std::vector<Made> cases;
  for (int k = 0; k < kCases; ++k) {
    cases.push_back(made(static_cast<std::uint64_t>(9000 + k), 60));
    std::ofstream(folder / fmt::format("{}.lp", k)) << programme(cases.back());
  }
  const std::string command = fmt::format(
      "cd '{}' && i=0; while [ $i -lt {} ]; do glpsol --lp $i.lp --tmlim 60 -w $i.sol >log 2>&1 || "
      "cat log; "
      "i=$((i+1)); done",
      folder.string(), kCases);
  ASSERT_EQ(std::system(command.c_str()), 0);
  Options options;
  options.reasons = false;
  for (int k = 0; k < kCases; ++k) {
    std::ifstream file(folder / fmt::format("{}.sol", k));
    std::optional<double> optimum;
    for (std::string line; std::getline(file, line);) {
      std::istringstream words(line);
      std::string mark, kind, status;
      double rows = 0, columns = 0, objective = 0;
      if (words >> mark >> kind >> rows >> columns >> status >> objective && mark == "s" && status == "o") {
        optimum = objective;
      }
    }
    ASSERT_TRUE(optimum) << k;
    const auto choice =
        choose(cases[static_cast<std::size_t>(k)].candidates, cases[static_cast<std::size_t>(k)].budget,
               cases[static_cast<std::size_t>(k)].weights, options);
    ASSERT_TRUE(choice) << k << choice.error().what;
    EXPECT_EQ(choice->total.points.thousandths, std::llround(*optimum)) << k;
  }
  std::filesystem::remove_all(folder);
}

// ---- Properties -----------------------------------------------------------------------------------------

Made any_made() { return made(*rc::gen::inRange<std::uint64_t>(100'000, 10'000'000), 14); }
Points best_of(const Made& m) {
  Options options;
  options.reasons = false;
  const auto choice = choose(m.candidates, m.budget, m.weights, options);
  RC_ASSERT(choice.has_value());
  return choice->total.points;
}

RC_GTEST_PROP(BudgetProperty, MoreBudgetNeverGainsLess, ()) {
  Made m = any_made();
  const Points before = best_of(m);
  RC_ASSERT(before >= Points{});
  if (m.budget.minutes) *m.budget.minutes += seconds(*rc::gen::inRange(0, 4000));
  if (m.budget.money) *m.budget.money += Money::hundredths(*rc::gen::inRange(0, 4000));
  RC_ASSERT(best_of(m) >= before);
}

RC_GTEST_PROP(BudgetProperty, OneMoreWorkNeverGainsLess, ()) {
  Made m = any_made();
  const Points before = best_of(m);
  m.candidates.works.push_back(work("one more", 10, 0.5));
  RC_ASSERT(best_of(m) >= before);
}

RC_GTEST_PROP(BudgetProperty, TheOrderOfTheListSaysNothingAboutTheGain, ()) {
  Made m = any_made();
  const Points before = best_of(m);
  std::reverse(m.candidates.works.begin(), m.candidates.works.end());
  RC_ASSERT(best_of(m) == before);
}

RC_GTEST_PROP(BudgetProperty, SetUpsInMinutesOrSecondsAreTheSame, ()) {
  // All times and the budget a whole number of times larger: the same works.
  Made m = any_made();
  const Points before = best_of(m);
  const double k = *rc::gen::inRange(2, 9);
  for (Work& w : m.candidates.works) w.time.mean = w.time.mean * k;
  for (SetUp& s : m.candidates.set_ups) s.time.mean = s.time.mean * k;
  if (m.budget.minutes) m.budget.minutes = *m.budget.minutes * k;
  RC_ASSERT(best_of(m) == before);
}

TEST(Budget, TheSameInputGivesTheSameChoice) {
  for (std::uint64_t number = 0; number < 20; ++number) {
    const Made m = made(30'000 + number, 40);
    const auto first = choose(m.candidates, m.budget, m.weights);
    const auto second = choose(m.candidates, m.budget, m.weights);
    ASSERT_TRUE(first && second);
    EXPECT_EQ(works_of(*first), works_of(*second));
  }
}

// ---- By hand --------------------------------------------------------------------------------------------

TEST(Budget, ASetUpIsPaidOnce) {
  Candidates c;
  c.set_ups.push_back({"cutter", {seconds(600), {}}, {}});
  for (const char* id : {"a", "b"}) {
    c.works.push_back(work(id, 10, 1));
    c.works.back().set_ups = {"cutter"};
  }
  // 10 + 10 + one set-up of 10.
  const auto both = choose(c, {seconds(1800), {}}, {});
  ASSERT_TRUE(both);
  EXPECT_EQ(both->done.size(), 2U);
  EXPECT_EQ(both->total.time.mean, seconds(1800));
  const auto one = choose(c, {seconds(1799), {}}, {});
  ASSERT_TRUE(one);
  EXPECT_EQ(one->done.size(), 1U);
  // The other needs no second set-up.
  ASSERT_TRUE(one->by_minutes);
  EXPECT_EQ(one->by_minutes->extra_minutes, seconds(600));
  EXPECT_EQ(one->by_minutes->more, Points{1000});
}

TEST(Budget, StraightenBeforePostsBeforeFit) {
  Candidates c;
  c.works = {work("fit", 5, 2), work("post", 5, 0), work("straighten", 20, 0), work("screws home", 1, 0.1)};
  c.works[0].needs = {"post", "straighten"};
  c.works[0].takes_metal = true;
  c.works[1].stage = Stage::posts;
  c.works[2].stage = Stage::straighten;
  c.works[3].stage = Stage::free_check;
  const auto choice = choose(c, {seconds(3600), {}}, {});
  ASSERT_TRUE(choice);
  EXPECT_EQ(works_of(*choice), (std::vector<std::size_t>{3, 2, 1, 0}));
  EXPECT_EQ(choice->done[1].why, In::needed);
  EXPECT_EQ(choice->done[1].needed_by, std::vector<std::size_t>{0});
  EXPECT_EQ(choice->done[3].why, In::gains);
  // One minute short of all that the fit needs: only the screws.
  const auto short_of = choose(c, {seconds(29 * 60), {}}, {});
  ASSERT_TRUE(short_of);
  EXPECT_EQ(works_of(*short_of), std::vector<std::size_t>{3});
  EXPECT_EQ(short_of->left_out.front().work, 0U);
  EXPECT_EQ(short_of->left_out.front().why, Out::too_long);
  EXPECT_EQ(short_of->left_out.front().time_with_needs.mean, seconds(30 * 60));
  // A point more: the fit and what it needs instead of the screws, 30 minutes for the one spent.
  EXPECT_EQ(short_of->by_minutes->extra_minutes, seconds(29 * 60));
  EXPECT_EQ(short_of->by_minutes->more, Points{1900});
  EXPECT_EQ(short_of->by_minutes->added, (std::vector<std::size_t>{0, 1, 2}));
  EXPECT_EQ(short_of->by_minutes->dropped, std::vector<std::size_t>{3});
}

TEST(Budget, ChanceOfStayingWithinIt) {
  // A lognormal's own quantile: mean 100, standard 20; ln has the variance ln 1.04.
  const double variance = std::log(1.04);
  const Time time{seconds(100), seconds(40)};
  const double median = 100 / std::sqrt(1.04);
  EXPECT_NEAR(chance_within(time, seconds(median)), 0.5, 1e-12);
  EXPECT_NEAR(chance_within(time, seconds(median * std::exp(std::sqrt(variance)))), 0.841344746068543, 1e-12);
  EXPECT_EQ(chance_within(time, seconds(0)), 0);
  EXPECT_EQ(chance_within({seconds(100), {}}, seconds(100)), 1);
  EXPECT_EQ(chance_within({seconds(100), {}}, seconds(99)), 0);
  EXPECT_EQ(chance_within({}, {}), 1);
  for (const double p : {0.05, 0.5, 0.9, 0.999}) {
    EXPECT_NEAR(chance_within(time, enough_for(time, p)), p, 1e-12);
  }
}

TEST(Budget, TheLognormalHoldsForSumsOfSpreadTimes) {
  // Twelve lognormal times with coefficients of variation from 0.3 to 0.6, summed 200,000 times.
  numeric::Stream s(77, 1);
  Time sum{};
  double variance = 0;
  std::vector<std::pair<double, double>> parts;
  for (int k = 0; k < 12; ++k) {
    const double mean = 300 + 100 * k;
    const double standard = mean * (0.3 + 0.3 * k / 11);
    sum.mean += seconds(mean);
    variance += standard * standard;
    const double v = std::log1p(standard * standard / mean / mean);
    parts.emplace_back(std::log(mean) - v / 2, std::sqrt(v));
  }
  sum.plus_minus = seconds(2 * std::sqrt(variance));
  constexpr int kDraws = 200'000;
  std::vector<double> totals;
  for (int n = 0; n < kDraws; ++n) {
    double total = 0;
    for (const auto& [mean, standard] : parts) total += std::exp(mean + standard * s.normal());
    totals.push_back(total);
  }
  for (const double p : {0.1, 0.5, 0.75, 0.9, 0.97}) {
    const double limit = in_seconds(enough_for(sum, p));
    const auto within = std::count_if(totals.begin(), totals.end(), [&](double t) { return t <= limit; });
    EXPECT_NEAR(static_cast<double>(within) / kDraws, p, 0.01);
  }
}

// ---- Absurd, and wrong ----------------------------------------------------------------------------------

TEST(Budget, NothingToDoAndNothingToSpend) {
  const auto nothing = choose({}, {seconds(0), Money{}}, {});
  ASSERT_TRUE(nothing);
  EXPECT_TRUE(nothing->done.empty());
  EXPECT_EQ(nothing->chance_within, 1.0);
  EXPECT_FALSE(nothing->by_minutes);
  const auto no_ladder = ladder({}, {}, {}, {});
  ASSERT_TRUE(no_ladder);
  EXPECT_EQ(no_ladder->size(), 1U);

  Candidates c;
  c.works = {work("a", 5, 1)};
  const auto broke = choose(c, {seconds(0), {}}, {});
  ASSERT_TRUE(broke);
  EXPECT_TRUE(broke->done.empty());
  EXPECT_EQ(broke->left_out[0].why, Out::too_long);
  // No budget at all: everything that gains.
  EXPECT_EQ(choose(c, {}, {})->done.size(), 1U);
  // No weight: nothing gains.
  const auto weightless = choose(c, {}, {0, 0});
  EXPECT_TRUE(weightless->done.empty());
  EXPECT_EQ(weightless->left_out[0].why, Out::gains_nothing);
}

void expect_fault(const Candidates& c, const Budget& b, const Weights& w, const std::string& what) {
  const auto choice = choose(c, b, w);
  ASSERT_FALSE(choice) << what;
  EXPECT_EQ(choice.error().fault, Fault::content);
  EXPECT_NE(choice.error().what.find(what), std::string::npos) << choice.error().what;
  EXPECT_FALSE(choice.error().expected.empty());
}

TEST(Budget, WhatCannotBeIsSaid) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double inf = std::numeric_limits<double>::infinity();
  Candidates good;
  good.works = {work("a", 1, 1), work("b", 1, 1)};
  const auto with = [&good](auto&& change) {
    Candidates c = good;
    change(c);
    return c;
  };
  expect_fault(with([](auto& c) { c.works[1].id = "a"; }), {}, {}, "two works are called \"a\"");
  expect_fault(with([](auto& c) { c.works[1].id = ""; }), {}, {}, "a work has no id");
  expect_fault(with([](auto& c) { c.works[1].needs = {"z"}; }), {}, {}, "\"b\" needs \"z\"");
  expect_fault(with([](auto& c) { c.works[1].needs = {"b"}; }), {}, {}, "in a circle: b");
  expect_fault(with([](auto& c) {
                 c.works[0].needs = {"b"};
                 c.works[1].needs = {"a"};
               }),
               {}, {}, "in a circle: a, b");
  expect_fault(with([](auto& c) { c.works[1].set_ups = {"z"}; }), {}, {}, "the set-up \"z\"");
  expect_fault(with([&](auto& c) { c.works[1].time.mean = seconds(nan); }), {}, {}, "\"b\"");
  expect_fault(with([&](auto& c) { c.works[1].time.mean = seconds(-1); }), {}, {}, "\"b\"");
  expect_fault(with([&](auto& c) { c.works[1].feel = nan; }), {}, {}, "\"b\"");
  expect_fault(with([&](auto& c) { c.works[1].feel = inf; }), {}, {}, "\"b\"");
  expect_fault(with([&](auto& c) { c.works[1].feel = 1e9; }), {}, {}, "too large");
  expect_fault(with([&](auto& c) { c.works[1].money = Money::hundredths(-1); }), {}, {}, "\"b\"");
  expect_fault(good, {seconds(nan), {}}, {}, "the minutes of the budget");
  expect_fault(good, {seconds(-1), {}}, {}, "the minutes of the budget");
  expect_fault(good, {{}, Money::hundredths(-1)}, {}, "the money of the budget");
  expect_fault(good, {}, {nan, 1}, "a weight");
  expect_fault(good, {}, {1, -1}, "a weight");
}

}  // namespace
}  // namespace hingeline::choice

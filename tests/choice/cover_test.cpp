// Which sizes to own: against published covers, against greedy where greedy is right, and by brute force.

#include "hingeline/choice/cover.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <bit>
#include <numeric>

#include "hingeline/numeric/random.h"

namespace hingeline::choice {
namespace {

/// Everything to be bought, every demand met once.
Task task_of(std::size_t demands, const std::vector<std::vector<std::size_t>>& sets) {
  Task task;
  task.counts.assign(demands, 1);
  for (const auto& set : sets) {
    Tool tool;
    tool.serves = set;
    task.tools.push_back(std::move(tool));
  }
  return task;
}

std::size_t fewest_for(const Task& task) {
  const auto found = cover(task, Steps::first_and_last);
  EXPECT_TRUE(found);
  EXPECT_TRUE(found->hopeless.empty());
  EXPECT_EQ(found->steps.back().served, found->all);
  EXPECT_EQ(found->steps.back().bought.size(), found->from_nothing.size());
  return found->steps.back().bought.size();
}

// Published: two fire stations serve the six cities within 15 minutes' drive (W. L. Winston, Operations
// Research, set-covering example; driving times as in course notes that quote it, the optimum from memory and
// checked by hand: no single city is within 15 minutes of all).
TEST(Cover, SixCities) {
  constexpr int kMinutes[6][6] = {{0, 10, 20, 30, 30, 20}, {10, 0, 25, 35, 20, 10}, {20, 25, 0, 15, 30, 20},
                                  {30, 35, 15, 0, 15, 25}, {30, 20, 30, 15, 0, 14}, {20, 10, 20, 25, 14, 0}};
  std::vector<std::vector<std::size_t>> sets(6);
  for (std::size_t i = 0; i < 6; ++i) {
    for (std::size_t k = 0; k < 6; ++k) {
      if (kMinutes[i][k] <= 15) sets[i].push_back(k);
    }
  }
  const auto found = cover(task_of(6, sets));
  ASSERT_TRUE(found);
  EXPECT_EQ(found->steps.back().bought, (std::vector<std::size_t>{1, 3}));
}

// Queens that attack or stand on every square of an n by n board: 1, 1, 1, 2, 3, 3, 4 for n = 1 to 7 (OEIS
// A075458).
TEST(Cover, QueensOnABoard) {
  constexpr std::size_t kQueens[] = {1, 1, 1, 2, 3, 3, 4};
  for (int n = 1; n <= 7; ++n) {
    std::vector<std::vector<std::size_t>> sets;
    for (int a = 0; a < n * n; ++a) {
      sets.emplace_back();
      for (int b = 0; b < n * n; ++b) {
        const int down = std::abs(a / n - b / n);
        const int across = std::abs(a % n - b % n);
        if (down == 0 || across == 0 || down == across) sets.back().push_back(static_cast<std::size_t>(b));
      }
    }
    EXPECT_EQ(fewest_for(task_of(static_cast<std::size_t>(n * n), sets)), kQueens[n - 1]) << n;
  }
}

/// Points of the space of `dimension` threes, and all its lines: three points whose sum is nothing mod 3.
Task steiner(int dimension) {
  int points = 1;
  for (int d = 0; d < dimension; ++d) points *= 3;
  std::vector<std::vector<std::size_t>> through(static_cast<std::size_t>(points));
  std::size_t lines = 0;
  const auto third = [&](int a, int b) {
    int c = 0;
    for (int place = 1; place < points; place *= 3) c += (6 - a / place % 3 - b / place % 3) % 3 * place;
    return c;
  };
  for (int a = 0; a < points; ++a) {
    for (int b = a + 1; b < points; ++b) {
      const int c = third(a, b);
      if (c <= b) continue;
      for (const int p : {a, b, c}) through[static_cast<std::size_t>(p)].push_back(lines);
      ++lines;
    }
  }
  return task_of(lines, through);
}

// Steiner triples of 9 and 27: 12 and 117 triples, optima 5 and 18 (Fulkerson, Nemhauser, Trotter 1974, as
// given with the data in OR-Tools' examples/data/scp).
TEST(Cover, SteinerTriples) {
  EXPECT_EQ(steiner(2).counts.size(), 12U);
  EXPECT_EQ(steiner(3).counts.size(), 117U);
  EXPECT_EQ(fewest_for(steiner(2)), 5U);
  EXPECT_EQ(fewest_for(steiner(3)), 18U);
}

// Points by intervals: taking the leftmost right end not yet served is optimal (textbook).
TEST(Cover, GreedyIsRightForSizes) {
  for (std::uint64_t number = 0; number < 500; ++number) {
    numeric::Stream s(31, number);
    std::vector<SizeRange> ranges;
    const auto n = 1 + s.bits() % 14;
    for (std::uint64_t k = 0; k < n; ++k) {
      const Length head = millimetres(2.5 + 2.5 * s.uniform());
      ranges.push_back(cutters_for(head, millimetres(0.1 * s.uniform()), millimetres(0.4 * s.uniform())));
    }
    // Every right end is on offer: some best choice uses nothing else.
    Task task;
    task.counts.assign(n, 1);
    for (const SizeRange& offered : ranges) {
      Tool tool;
      for (std::size_t d = 0; d < n; ++d) {
        if (serves(offered.to, ranges[d])) tool.serves.push_back(d);
      }
      task.tools.push_back(std::move(tool));
    }
    std::sort(ranges.begin(), ranges.end(), [](const auto& a, const auto& b) { return a.to < b.to; });
    std::size_t greedy = 0;
    std::optional<Length> last;
    for (const SizeRange& r : ranges) {
      if (last && serves(*last, r)) continue;
      last = r.to;
      ++greedy;
    }
    EXPECT_EQ(fewest_for(task), greedy) << number;
  }
}

Task made(std::uint64_t number) {
  numeric::Stream s(32, number);
  const auto below = [&s](std::uint64_t n) { return s.bits() % n; };
  Task task;
  const auto demands = 1 + below(9);
  for (std::uint64_t d = 0; d < demands; ++d) task.counts.push_back(1 + static_cast<std::int64_t>(below(20)));
  const auto tools = below(11);
  for (std::uint64_t t = 0; t < tools; ++t) {
    Tool tool;
    tool.owned = below(3) == 0;
    tool.worn = tool.owned && below(4) == 0;
    tool.uses = tool.owned ? static_cast<std::int64_t>(below(4)) : 0;
    if (!tool.owned && below(5) != 0)
      tool.price = Money::hundredths(static_cast<std::int64_t>(below(50) * 100));
    for (std::size_t d = 0; d < demands; ++d) {
      if (below(3) == 0) tool.serves.push_back(d);
    }
    task.tools.push_back(std::move(tool));
  }
  return task;
}

std::uint64_t served_by(const Task& task, std::uint64_t tools) {
  std::uint64_t out = 0;
  for (std::size_t t = 0; t < task.tools.size(); ++t) {
    if ((tools >> t & 1) == 0) continue;
    for (const std::size_t d : task.tools[t].serves) out |= std::uint64_t{1} << d;
  }
  return out;
}
std::int64_t counted(const Task& task, std::uint64_t demands) {
  std::int64_t sum = 0;
  for (std::size_t d = 0; d < task.counts.size(); ++d) sum += (demands >> d & 1) != 0 ? task.counts[d] : 0;
  return sum;
}
std::uint64_t bits_of(const std::vector<std::size_t>& places) {
  std::uint64_t out = 0;
  for (const std::size_t p : places) out |= std::uint64_t{1} << p;
  return out;
}

TEST(Cover, AgreesWithEverySetThereIs) {
  std::size_t long_curves = 0;
  std::size_t spares = 0;
  for (std::uint64_t number = 0; number < 600; ++number) {
    const Task task = made(number);
    const auto found = cover(task);
    ASSERT_TRUE(found) << found.error().what;
    std::uint64_t owned = 0;
    std::uint64_t offers = 0;
    std::uint64_t worn = 0;
    for (std::size_t t = 0; t < task.tools.size(); ++t) {
      const std::uint64_t bit = std::uint64_t{1} << t;
      if (!task.tools[t].owned) {
        offers |= bit;
      } else {
        (task.tools[t].worn ? worn : owned) |= bit;
      }
    }
    const std::uint64_t has = served_by(task, owned);
    const std::uint64_t can = has | served_by(task, offers);
    const std::uint64_t all = (std::uint64_t{1} << task.counts.size()) - 1;
    EXPECT_EQ(bits_of(found->missing), all & ~has);
    EXPECT_EQ(bits_of(found->hopeless), all & ~can);
    EXPECT_EQ(bits_of(found->worn_alone), all & ~has & served_by(task, worn));

    // Best for each number bought: (served, price) over all sets of offers.
    std::vector<std::pair<std::int64_t, std::int64_t>> best(task.tools.size() + 1, {-1, 0});
    std::size_t least_anew = 99;
    std::size_t least_kept = 99;
    for (std::uint64_t set = 0; set < std::uint64_t{1} << task.tools.size(); ++set) {
      const auto size = static_cast<std::size_t>(std::popcount(set));
      if ((set & ~offers) == 0) {
        std::int64_t price = 0;
        for (std::size_t t = 0; t < task.tools.size(); ++t) {
          if ((set >> t & 1) != 0) price += task.tools[t].price.value_or(Money{}).in_hundredths();
        }
        const auto served = counted(task, has | served_by(task, set));
        for (std::size_t k = size; k < best.size(); ++k) {
          if (std::pair(served, -price) > std::pair(best[k].first, -best[k].second))
            best[k] = {served, price};
        }
      }
      if ((set & worn) == 0 && (can & ~served_by(task, set)) == 0) least_anew = std::min(least_anew, size);
      if ((set & ~owned) == 0 && (has & ~served_by(task, set)) == 0) least_kept = std::min(least_kept, size);
    }
    for (std::size_t k = 0; k < found->steps.size(); ++k) {
      const Step& step = found->steps[k];
      EXPECT_LE(step.bought.size(), k) << number;
      EXPECT_EQ(step.served, best[k].first) << number;
      EXPECT_EQ(step.served, counted(task, has | served_by(task, bits_of(step.bought)))) << number;
      EXPECT_EQ(step.price.in_hundredths(), best[k].second) << number << " step " << k;
    }
    EXPECT_EQ(found->steps.back().served, counted(task, can)) << number;
    if (found->steps.size() > 1) {
      EXPECT_LT(best[found->steps.size() - 2].first, counted(task, can)) << "one fewer would do";
    }
    EXPECT_EQ(found->from_nothing.size(), least_anew) << number;
    EXPECT_EQ(served_by(task, bits_of(found->from_nothing)) & can, can) << number;
    EXPECT_EQ(served_by(task, owned & ~bits_of(found->spare)), has) << number;
    EXPECT_EQ(found->spare.size(), static_cast<std::size_t>(std::popcount(owned)) - least_kept) << number;
    long_curves += found->steps.size() > 2 ? 1U : 0U;
    spares += found->spare.size();
  }
  EXPECT_GT(long_curves, 100U);
  EXPECT_GT(spares, 50U);
}

// Common practice: a 4.00 mm head (0.1575 in) takes the 4.00 mm (0.157 in) cutter.
TEST(Cover, WhatServesWhat) {
  const SizeRange head = cutters_for(inches(0.1575), millimetres(0.02), millimetres(0.05));
  EXPECT_TRUE(serves(millimetres(4.00), head));
  EXPECT_TRUE(serves(inches(0.157), head));
  EXPECT_FALSE(serves(millimetres(4.10), head));
  EXPECT_FALSE(serves(millimetres(3.95), head));
  const SizeRange bore = rods_for(millimetres(3.0), millimetres(0.01), millimetres(0.03));
  EXPECT_TRUE(serves(millimetres(2.97), bore));
  EXPECT_TRUE(serves(millimetres(2.99), bore));
  EXPECT_FALSE(serves(millimetres(3.0), bore));
  EXPECT_FALSE(serves(millimetres(2.96), bore));
  const Taper taper{degrees(10), degrees(0.5), millimetres(1), millimetres(2)};
  EXPECT_TRUE(serves(Reamer{degrees(10.5), millimetres(1), millimetres(2)}, taper));
  EXPECT_FALSE(serves(Reamer{degrees(10.6), millimetres(1), millimetres(2)}, taper));
  EXPECT_FALSE(serves(Reamer{degrees(10), millimetres(1.1), millimetres(2)}, taper));
  EXPECT_FALSE(serves(Reamer{degrees(10), millimetres(1), millimetres(1.9)}, taper));
}

TEST(Cover, NothingAndNonsense) {
  const auto nothing = cover({});
  ASSERT_TRUE(nothing);
  EXPECT_EQ(nothing->all, 0);
  EXPECT_EQ(nothing->steps.size(), 1U);
  EXPECT_TRUE(nothing->from_nothing.empty());
  // Demands and no tools: all hopeless.
  const auto bare = cover({{3, 4}, {}});
  ASSERT_TRUE(bare);
  EXPECT_EQ(bare->hopeless.size(), 2U);
  EXPECT_EQ(bare->steps.back().served, 0);
  EXPECT_FALSE(cover({{0}, {}}));
  Task beyond = task_of(1, {{1}});
  EXPECT_FALSE(cover(beyond));
}

}  // namespace
}  // namespace hingeline::choice

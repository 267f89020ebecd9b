// The linear programs by themselves: every answer carries its own proof.

#include "../../libs/regulation/src/linear_program.h"

#include <gtest/gtest.h>

#include <cmath>

#include "make.h"

namespace hingeline::regulation {
namespace {

TEST(LinearProgram, TwoProductsByHand) {
  // Most of 3x + 5y with x <= 4, 2y <= 12, 3x + 2y <= 18: 36 at (2, 6) (a standard textbook example, from
  // memory; checked by its corners (0,0) (4,0) (4,3) (2,6) (0,6): 0, 12, 27, 36, 30).
  const Solved s = solve({{{1, 0}, {0, 2}, {3, 2}}, {4, 12, 18}, {-3, -5}});
  ASSERT_TRUE(s.feasible && s.bounded);
  EXPECT_NEAR(s.least, -36, 1e-12);
  EXPECT_NEAR(s.x[0], 2, 1e-12);
  EXPECT_NEAR(s.x[1], 6, 1e-12);
  EXPECT_FALSE(solve({{{-1, 0}}, {0}, {-1, 0}}).bounded);
}

TEST(LinearProgram, ProvesItselfOnFiveThousandPrograms) {
  Engine engine(3);
  std::size_t without = 0;
  for (int n = 0; n < 5000; ++n) {
    Program p;
    const std::size_t rows = 3 + pick(engine, 8);
    const std::size_t columns = 2 + pick(engine, 5);
    for (std::size_t r = 0; r < rows; ++r) {
      p.rows.emplace_back();
      for (std::size_t c = 0; c < columns; ++c) p.rows.back().push_back(uniform(engine, -1, 1));
      p.limits.push_back(pick(engine, 4) == 0 ? 0 : uniform(engine, -1, 1));
    }
    for (std::size_t c = 0; c < columns; ++c) p.cost.push_back(uniform(engine, 0, 1));
    const Solved s = solve(p);
    ASSERT_TRUE(s.bounded);
    std::vector<double> weighed(columns, 0);
    double limit = 0;
    for (std::size_t r = 0; r < rows; ++r) {
      EXPECT_GE(s.proof[r], -1e-9);
      limit += s.proof[r] * p.limits[r];
      for (std::size_t c = 0; c < columns; ++c) weighed[c] += s.proof[r] * p.rows[r][c];
    }
    if (!s.feasible) {
      // Rows that add up to something at least 0 with a limit below 0.
      ++without;
      for (const double w : weighed) EXPECT_GE(w, -1e-8);
      EXPECT_LT(limit, 0);
      continue;
    }
    double value = 0;
    for (std::size_t c = 0; c < columns; ++c) {
      EXPECT_GE(s.x[c], -1e-9);
      EXPECT_GE(p.cost[c] + weighed[c], -1e-8);
      value += p.cost[c] * s.x[c];
    }
    for (std::size_t r = 0; r < rows; ++r) {
      double at = 0;
      for (std::size_t c = 0; c < columns; ++c) at += p.rows[r][c] * s.x[c];
      EXPECT_LE(at, p.limits[r] + 1e-8);
    }
    EXPECT_NEAR(value, s.least, 1e-9);
    EXPECT_NEAR(-limit, s.least, 1e-7);
  }
  EXPECT_GE(without, 500u);
  EXPECT_LE(without, 4500u);
}

}  // namespace
}  // namespace hingeline::regulation

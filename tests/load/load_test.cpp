// The load in small: a few seconds, nothing timed. What it is in large stands in docs/measured.md.

#include <gtest/gtest.h>

#include "load/shop_load.h"
#include "sql/support.h"

namespace hingeline::load {
namespace {

class Load : public testing::TestWithParam<sql::Dialect> {
 protected:
  LoadAsked asked() {
    LoadAsked out;
    out.program = HINGELINE_PROGRAM;
    out.examples = std::string(HINGELINE_SOURCE_DIR) + "/examples";
    out.folder = folder_.path().string();
    const bool file = GetParam() == sql::Dialect::sqlite;
    out.book.text = file ? out.folder + "/book.db" : support::PostgresServer::shared().fresh_database();
    out.quick_passwords = true;
    return out;
  }

 private:
  sql::test::TemporaryFolder folder_;
};
INSTANTIATE_TEST_SUITE_P(Both, Load, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres),
                         sql::test::name_of);

TEST_P(Load, FourBenchesAmongTheIdleAndTheSlowLoseNothing) {
  LoadAsked wanted = asked();
  wanted.benches = 4;
  wanted.lasts = std::chrono::seconds(4);
  wanted.pause = std::chrono::milliseconds(100);
  wanted.idle = 100;
  wanted.slow = 10;
  const LoadFigures figures = run_load(wanted);
  SCOPED_TRACE(text_of(figures));
  EXPECT_EQ(figures.errors, 0U);
  EXPECT_TRUE(figures.faults.empty());
  EXPECT_GT(figures.requests, 20U);
  EXPECT_GT(figures.acknowledged, 100U);
  EXPECT_EQ(figures.lost, 0U);
  EXPECT_EQ(figures.twice, 0U);
  EXPECT_GT(figures.events, 100U);
  EXPECT_EQ(figures.untold, 0U);
  EXPECT_EQ(figures.idle_held, wanted.idle);
  EXPECT_EQ(figures.slow_held, wanted.slow);
  EXPECT_GT(figures.slips_in_copy, 0);
  EXPECT_TRUE(figures.copy_is_right);
}

TEST(LoadTimes, ArePartsByNearestRank) {
  Times times;
  EXPECT_EQ(times.at(0.5).count(), 0);
  for (int i = 1; i <= 10; ++i) times.all.emplace_back(i);
  EXPECT_EQ(times.at(0.5).count(), 5);
  EXPECT_EQ(times.at(0.95).count(), 10);
  EXPECT_EQ(times.at(0.01).count(), 1);
  EXPECT_EQ(times.at(1).count(), 10);
}

}  // namespace
}  // namespace hingeline::load

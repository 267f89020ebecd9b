// The made-up book of many years in small: that it is what it says, and that every question asked of it in
// large is answered. How long that takes stands in docs/measured.md.

#include <gtest/gtest.h>

#include <csignal>
#include <nlohmann/json.hpp>

#include "load/shop_years.h"
#include "store/support.h"
#include "support/serving.h"

namespace hingeline::load {
namespace {

using Json = nlohmann::json;
using store::test::must;
using store::test::opened;

class Years : public testing::TestWithParam<sql::Dialect> {};
INSTANTIATE_TEST_SUITE_P(Both, Years, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres),
                         sql::test::name_of);

TEST_P(Years, InSmallHoldWhatTheySayAndAnswerWhatIsAsked) {
  sql::test::TemporaryFolder folder;
  const bool file = GetParam() == sql::Dialect::sqlite;
  const sql::Address address{file ? (folder.path() / "book.db").string()
                                  : support::PostgresServer::shared().fresh_database()};
  YearsAsked asked;
  asked.visits = 300;
  asked.readings = 5;
  asked.examples = std::string(HINGELINE_SOURCE_DIR) + "/examples";
  auto book = opened(address);
  const store::Archived filled = fill_years(*book, asked);
  must(book->check());
  // 100 instruments of 6 keys, 67 owners; of each visit itself and its state, 5 readings, 4 more.
  EXPECT_EQ(filled.slips, 67 + 100 * 7 + 300 * 11);
  EXPECT_EQ(must(book->counts()).slips, filled.slips);
  EXPECT_EQ(must(book->all_of(record::SlipKind::reading, 10'000)).size(), 1500U);

  std::vector<std::string> visits;
  for (const store::Thing& t : must(book->all_of(record::SlipKind::visit, 1000))) visits.push_back(t.id);
  ASSERT_EQ(visits.size(), 300U);
  std::vector<std::string> owners;
  for (const store::Thing& t : must(book->all_of(record::SlipKind::owner, 1000))) owners.push_back(t.id);
  support::Serving server(
      {HINGELINE_PROGRAM, address.text, (folder.path() / "serve.out").string(), {"--quiet"}});
  support::Asker asker(server.port());
  const auto found = [&](const std::string& query) {
    const support::Answered answer = asker.get("/api/visits?most=1000&" + query);
    EXPECT_EQ(answer.status, 200) << query << answer.body;
    return Json::parse(answer.body).at("visits").size();
  };
  // Each instrument came three times.
  EXPECT_EQ(found("words=" + serial(42)), 3U);
  EXPECT_EQ(found("words=DEMO9"), 0U);
  EXPECT_EQ(found("words=palm+flat"), 300U);
  EXPECT_EQ(found("words=small+headless"), 300U);
  EXPECT_EQ(found("words=alto"), 60U);
  EXPECT_EQ(found("words=alto+bassoon"), 0U);
  EXPECT_EQ(found("state=handed-back"), 180U);
  EXPECT_EQ(found("state=looked-over,agreed,in-work,proved"), 120U);
  const Json open = Json::parse(asker.get("/api/visits/" + visits[7]).body);
  EXPECT_EQ(open.at("readings").size(), 5U);
  EXPECT_EQ(open.at("keys").size(), 6U);
  EXPECT_EQ(open.at("notes").size(), 1U);
  for (const Questions& q : questions(asked, visits, owners)) {
    EXPECT_GE(q.paths.size(), 300U) << q.what;
    const support::Answered answer = asker.get(q.paths.front());
    EXPECT_EQ(answer.status, 200) << q.what << ": " << answer.body;
  }
  EXPECT_EQ(server.stop(SIGTERM), 0);
}

}  // namespace
}  // namespace hingeline::load

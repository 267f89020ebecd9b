#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <bit>
#include <cmath>
#include <limits>

#include "support.h"

namespace hingeline::sql::test {
namespace {

Bytes bytes_of(std::size_t count) {
  Bytes out(count);
  std::uint32_t state = 1;
  for (std::byte& one : out) {
    state = state * 1664525U + 1013904223U;  // any bytes will do, all 256 values among them
    one = static_cast<std::byte>(state >> 24U);
  }
  return out;
}

class Cells : public OnBoth {
 protected:
  Cells() {
    rows(*database,
         "create table cells (id bigint primary key, i bigint, d double precision, t text, b bytea)");
  }

  /// What comes back of a cell that went through a column and then through a new connection, and what comes
  /// back of it as nothing but an argument.
  void expect_kept(const std::string& column, const Cell& cell) {
    rows(*database, "delete from cells");
    ASSERT_EQ(
        tried(*database, "insert into cells (id, " + column + ") values ($1, $2)", {std::int64_t{1}, cell}),
        "done");
    const std::unique_ptr<Database> other = opened(address);
    EXPECT_EQ(rows(*other, "select " + column + " from cells"), Rows{{cell}}) << column;
    EXPECT_EQ(rows(*other, "select " + column + " from cells where " + column + " = $1", {cell}).size(),
              std::holds_alternative<std::monostate>(cell) ? 0U : 1U);
    if (!std::holds_alternative<std::monostate>(cell)) {
      EXPECT_EQ(rows(*other, "select $1", {cell}), Rows{{cell}});
    }
  }
};
HINGELINE_ON_BOTH(Cells);

TEST_P(Cells, NullIsKeptInEveryColumn) {
  for (const char* column : {"i", "d", "t", "b"}) {
    expect_kept(column, std::monostate{});
  }
}

TEST_P(Cells, WholeNumbersAreKept) {
  for (const std::int64_t value : {std::int64_t{0}, std::int64_t{1}, std::int64_t{-1}, std::int64_t{1} << 53,
                                   (std::int64_t{1} << 53) + 1, std::numeric_limits<std::int64_t>::max(),
                                   std::numeric_limits<std::int64_t>::min()}) {
    expect_kept("i", value);
  }
}

TEST_P(Cells, DoublesAreKept) {
  using Limits = std::numeric_limits<double>;
  for (const double value : {0.0,
                             0.1,
                             -0.1,
                             1.0 / 3.0,
                             1.0,
                             3.0,
                             -7.0,
                             1e15,
                             9007199254740993.0,
                             1e19,
                             1e308,
                             -1e308,
                             Limits::max(),
                             Limits::lowest(),
                             Limits::min(),
                             Limits::denorm_min(),
                             -Limits::denorm_min(),
                             2.5e-310,
                             Limits::epsilon(),
                             Limits::infinity(),
                             -Limits::infinity()}) {
    expect_kept("d", value);
  }
}

TEST_P(Cells, MinusZeroBecomesZero) {
  rows(*database, "insert into cells (id, d) values (1, $1)", {-0.0});
  const double column = std::get<double>(rows(*database, "select d from cells").at(0).at(0));
  const double argument = std::get<double>(rows(*database, "select $1", {-0.0}).at(0).at(0));
  EXPECT_EQ(column, 0.0);
  EXPECT_FALSE(std::signbit(column));
  EXPECT_FALSE(std::signbit(argument));
}

TEST_P(Cells, AnyDoubleIsKept) {
  ASSERT_TRUE(rc::check("a double of any 64 bits comes back as it was", [&] {
    const double value = std::bit_cast<double>(*rc::gen::arbitrary<std::uint64_t>());
    RC_PRE(!std::isnan(value));
    rows(*database, "delete from cells");
    rows(*database, "insert into cells (id, d) values (1, $1)", {value});
    const double kept = std::get<double>(rows(*database, "select d from cells").at(0).at(0));
    RC_ASSERT(std::bit_cast<std::uint64_t>(kept) == std::bit_cast<std::uint64_t>(value + 0.0));
  }));
}

TEST_P(Cells, TextIsKept) {
  for (const char* text :
       {"", " ", "it's", "\"double\"", "back\\slash", "%_", "tab\tline\nreturn\r", "$1", "Ä ö ß é ő ø",
        "\xC2\x80", "鍵", "\xEF\xBF\xBD", "\xF0\x9F\x8E\xB7", "\xF4\x8F\xBF\xBF", "e\xCC\x81"}) {
    expect_kept("t", std::string(text));
  }
  expect_kept("t", std::string(1'000'000, 'x'));
}

TEST_P(Cells, BytesAreKept) {
  expect_kept("b", Bytes{});
  expect_kept("b", Bytes{std::byte{0}});
  expect_kept("b", bytes_of(1000));
  expect_kept("b", bytes_of(1 << 20));
}

TEST_P(Cells, WhatIsNoTextOrNumberIsRefused) {
  for (const std::string& text :
       {std::string("a\0b", 3), std::string("\x80"), std::string("\xC0\xAF"), std::string("\xC3"),
        std::string("\xE0\x80\xAF"), std::string("\xED\xA0\x80"), std::string("\xF4\x90\x80\x80"),
        std::string("\xF5\x80\x80\x80"), std::string("\xE2\x82"), std::string("\xFF")}) {
    EXPECT_EQ(tried(*database, "insert into cells (id, t) values (1, $1)", {text}), "statement");
  }
  EXPECT_EQ(tried(*database, "insert into cells (id, d) values (1, $1)", {std::nan("")}), "statement");
  EXPECT_EQ(whole(*database, "select count(*) from cells"), 0);
}

TEST_P(Cells, NumbersMayRepeatAndStandInAnyOrder) {
  const std::vector<Cell> arguments = {std::string("one"), std::int64_t{2}, 3.5};
  EXPECT_EQ(rows(*database, "select $3, $1, $2, $1", arguments),
            (Rows{{3.5, std::string("one"), std::int64_t{2}, std::string("one")}}));
  rows(*database, "insert into cells (t, id, d) values ($2, $1, $3)",
       {std::int64_t{7}, std::string("seven"), 0.7});
  // Prepared once, run with others.
  rows(*database, "insert into cells (t, id, d) values ($2, $1, $3)",
       {std::int64_t{8}, std::string("eight"), 0.8});
  // The same statement with another kind of argument.
  rows(*database, "insert into cells (t, id, d) values ($2, $1, $3)",
       {std::int64_t{9}, std::monostate{}, std::monostate{}});
  EXPECT_EQ(rows(*database, "select id, t, d from cells order by id"),
            (Rows{{std::int64_t{7}, std::string("seven"), 0.7},
                  {std::int64_t{8}, std::string("eight"), 0.8},
                  {std::int64_t{9}, std::monostate{}, std::monostate{}}}));
}

TEST_P(Cells, TenAndMoreNumbers) {
  std::vector<Cell> arguments;
  std::string statement = "select ";
  Row backwards;
  for (std::int64_t i = 12; i >= 1; --i) {
    statement += "$" + std::to_string(i) + (i > 1 ? ", " : "");
    arguments.emplace_back(13 - i);
    backwards.emplace_back(i);
  }
  EXPECT_EQ(rows(*database, statement, arguments), Rows{backwards});
}

TEST_P(Cells, EveryNumberHasItsArgument) {
  EXPECT_EQ(tried(*database, "select $1"), "statement");
  EXPECT_EQ(tried(*database, "select $1, $2", {std::int64_t{1}}), "statement");
  EXPECT_EQ(tried(*database, "select $2", {std::int64_t{1}, std::int64_t{2}}), "statement");
  EXPECT_EQ(tried(*database, "select 1", {std::int64_t{1}}), "statement");
  EXPECT_EQ(tried(*database, "select $0", {std::int64_t{1}}), "statement");
  EXPECT_EQ(tried(*database, "select ?", {std::int64_t{1}}), "statement");
  EXPECT_EQ(tried(*database, "select :a", {std::int64_t{1}}), "statement");
  EXPECT_EQ(tried(*database, "select $99999999999999999999", {std::int64_t{1}}), "statement");
  // A kept statement with another count of arguments.
  EXPECT_EQ(tried(*database, "select $1", {std::int64_t{1}}), "done");
  EXPECT_EQ(tried(*database, "select $1", {std::int64_t{1}, std::int64_t{2}}), "statement");
  EXPECT_EQ(tried(*database, "select $1"), "statement");
}

TEST_P(Cells, NumbersInQuotesAndCommentsAreNone) {
  EXPECT_EQ(rows(*database, "select '$2 it''s $3', $1 as \"$4\" -- $5\n /* $6 */", {std::int64_t{1}}),
            (Rows{{std::string("$2 it's $3"), std::int64_t{1}}}));
}

TEST_P(Cells, LiteralsAndComparisonsAreWholeNumbersAndText) {
  EXPECT_EQ(rows(*database,
                 "select 1, 'a', null, count(*), 1 = 1, 1 = 2, cast(0.5 as double precision) from cells"),
            (Rows{{std::int64_t{1}, std::string("a"), std::monostate{}, std::int64_t{0}, std::int64_t{1},
                   std::int64_t{0}, 0.5}}));
}

TEST_P(Cells, OrderByBytesAndLikeAreTheSame) {
  for (std::int64_t id = 0; const char* text : {"b", "B", "a", "Z", "ä", "", "ab", "a b"}) {
    rows(*database, "insert into cells (id, t) values ($1, $2)", {++id, std::string(text)});
  }
  std::string order;
  for (const Row& row : rows(*database, "select t from cells order by t collate \"C\"")) {
    order += std::get<std::string>(row[0]) + "|";
  }
  EXPECT_EQ(order, "|B|Z|a|a b|ab|b|ä|");
  EXPECT_EQ(rows(*database, "select t from cells where t like 'b%' escape '!'"), (Rows{{std::string("b")}}));
}

TEST_P(Cells, DoubleQuotesAreNeverText) {
  EXPECT_EQ(tried(*database, "select \"no such column\" from cells"), "statement");
}

TEST_P(Cells, AResultThatIsNoCellIsRefusedOnlyWherePostgresHasOne) {
  rows(*database, "insert into cells (id, i) values (1, 5), (2, 6)");
  EXPECT_EQ(whole(*database, "select cast(sum(i) as bigint) from cells"), 11);
  EXPECT_EQ(tried(*database, "select sum(i) from cells"),
            GetParam() == Dialect::sqlite ? "done" : "statement");
}

TEST_P(Cells, ChangedCountsRowsOfTheLastRun) {
  rows(*database, "insert into cells (id, i) values (1, 5), (2, 6), (3, 6)");
  EXPECT_EQ(database->changed(), 3);
  rows(*database, "select * from cells");
  EXPECT_EQ(database->changed(), 0);
  rows(*database, "update cells set i = i + $1 where i = $2", {std::int64_t{1}, std::int64_t{6}});
  EXPECT_EQ(database->changed(), 2);
  rows(*database, "update cells set i = 1 where id = 77");
  EXPECT_EQ(database->changed(), 0);
  rows(*database, "insert into cells (id) values (3), (4) on conflict do nothing");
  EXPECT_EQ(database->changed(), 1);
  EXPECT_EQ(rows(*database,
                 "insert into cells (id, i) values (4, 9) on conflict (id) do update set i = 9 returning i"),
            (Rows{{std::int64_t{9}}}));
  EXPECT_EQ(database->changed(), 1);
  EXPECT_EQ(tried(*database, "insert into cells (id) values (4)"), "unique");
  EXPECT_EQ(database->changed(), 0);
  rows(*database, "create table more (id bigint)");
  EXPECT_EQ(database->changed(), 0);
  rows(*database, "delete from cells");
  EXPECT_EQ(database->changed(), 4);
}

TEST_P(Cells, ManyDifferentStatementsAreNoTrouble) {
  for (int i = 0; i < 700; ++i) {
    ASSERT_EQ(whole(*database, "select cast($1 as bigint) + " + std::to_string(i), {std::int64_t{1}}), i + 1);
  }
  EXPECT_EQ(whole(*database, "select cast($1 as bigint) + 0", {std::int64_t{5}}), 5);
}

}  // namespace
}  // namespace hingeline::sql::test

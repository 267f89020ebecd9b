// How a book comes from an older form to a newer one that only these tests know.

#include <gtest/gtest.h>

#include <atomic>
#include <filesystem>
#include <fstream>
#include <thread>

#include "../../libs/store/src/forms.h"
#include "../../libs/store/src/inside.h"
#include "../../libs/store/src/migration.h"
#include "store/archive_support.h"

namespace hingeline::store::test {
namespace {

/// A step that changes what is there and adds something.
constexpr const char* kNext = R"sql(
create table shelf (name text primary key, holds bigint not null);
insert into shelf (name, holds) select id, versions from thing;
alter table thing add column shelf bigint not null default 7;
)sql";
/// One that fails after it has done something.
constexpr const char* kBroken = R"sql(
create table shelf (name text primary key);
delete from found;
insert into shelf (name) values ('a'), ('a');
)sql";

class Forms : public OnBothBooks {
 protected:
  [[nodiscard]] std::vector<std::string> forms_with(const char* step) const {
    auto out = forms(GetParam());
    out.emplace_back(step);
    return out;
  }
  [[nodiscard]] int next() const { return newest_form() + 1; }
  /// Where the copy stands that was kept before the next form; `n` counts from 1.
  [[nodiscard]] sql::Address copy_address(int n = 1) const {
    const std::string number = n == 1 ? "" : std::to_string(n);
    if (GetParam() == sql::Dialect::sqlite)
      return {address.text + ".before-" + std::to_string(next()) + (n == 1 ? "" : "-" + number)};
    return {address.text + "&options=-csearch_path%3Dbefore_" + std::to_string(next()) +
            (n == 1 ? "" : "_" + number)};
  }
  [[nodiscard]] bool has_copy(int n = 1) const {
    if (GetParam() == sql::Dialect::sqlite) return std::filesystem::exists(copy_address(n).text);
    auto raw = sql::test::opened(address);
    return sql::test::whole(*raw, "select count(*) from pg_namespace where nspname = $1",
                            {"before_" + std::to_string(next()) +
                             (n == 1 ? std::string() : "_" + std::to_string(n))}) == 1;
  }
};
INSTANTIATE_TEST_SUITE_P(Both, Forms, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres), name_of);

TEST_P(Forms, AnOlderBookIsBroughtForwardAndItsCopyStaysAsItWas) {
  live_through({book.get()}, 61, 150);
  const Text before = archive_of(*book);
  const auto said = says(*book);
  book.reset();
  EXPECT_FALSE(has_copy());
  // Only to be read it stays as it is.
  EXPECT_EQ(open_in_form(address, {true, std::chrono::seconds(5)}, forms_with(kNext)).error().fault,
            Fault::version);
  {
    auto database = must(open_in_form(address, {}, forms_with(kNext)));
    EXPECT_EQ(form_of(*database).value(), next());
    EXPECT_EQ(sql::test::whole(*database, "select count(*) from thing where shelf = 7"),
              sql::test::whole(*database, "select count(*) from shelf"));
    auto now = Inside::book(std::move(database));
    EXPECT_EQ(archive_of(*now).text, before.text);
    EXPECT_EQ(says(*now), said);
    must(now->check());
  }
  // Opened again nothing happens to it.
  must(open_in_form(address, {}, forms_with(kNext)));
  EXPECT_FALSE(has_copy(2));
  // This program, which does not know that form, says so.
  const auto newer = Book::open(address);
  ASSERT_FALSE(newer);
  EXPECT_EQ(newer.error().fault, Fault::version);
  EXPECT_EQ(newer.error().what, "this book has form " + std::to_string(next()) +
                                    "; this program knows forms up to " + std::to_string(newest_form()));
  EXPECT_EQ(newer.error().expected, "a newer program");
  // And opens the copy, which is a whole book.
  ASSERT_TRUE(has_copy());
  auto copy = opened(copy_address());
  EXPECT_EQ(archive_of(*copy).text, before.text);
  EXPECT_EQ(says(*copy), said);
  must(copy->check());
  // It can be written in, each id once.
  must(copy->write(made_shop(61, 150)));
  must(copy->check());
}

TEST_P(Forms, AStepThatFailsLeavesAllAsItWas) {
  live_through({book.get()}, 62, 100);
  const Text before = archive_of(*book);
  const auto said = says(*book);
  book.reset();
  const auto failed = open_in_form(address, {}, forms_with(kBroken));
  ASSERT_FALSE(failed);
  EXPECT_EQ(failed.error().fault, Fault::file);
  EXPECT_FALSE(has_copy());
  book = opened(address);
  EXPECT_EQ(archive_of(*book).text, before.text);
  EXPECT_EQ(says(*book), said);
  must(book->check());
  book.reset();
  // Put right, the step is done.
  must(open_in_form(address, {}, forms_with(kNext)));
  EXPECT_TRUE(has_copy());
}

TEST_P(Forms, ACopyFromBeforeIsNeverWrittenOver) {
  write(made_shop(63, 40));
  const Text before = archive_of(*book);
  book.reset();
  if (GetParam() == sql::Dialect::sqlite) {
    std::ofstream(copy_address().text) << "somebody's";
  } else {
    auto raw = sql::test::opened(address);
    ASSERT_TRUE(raw->run_all("create schema before_" + std::to_string(next())));
  }
  must(open_in_form(address, {}, forms_with(kNext)));
  ASSERT_TRUE(has_copy(2));
  EXPECT_EQ(archive_of(*opened(copy_address(2))).text, before.text);
  if (GetParam() == sql::Dialect::sqlite) {
    EXPECT_EQ(std::filesystem::file_size(copy_address().text), 10U);
  }
}

TEST_P(Forms, OneThatOthersHaveBroughtForwardMeanwhileIsTaken) {
  write(made_shop(64, 40));
  book.reset();
  std::atomic<int> failed{0};
  std::vector<std::thread> threads;
  for (int n = 0; n < 4; ++n) {
    threads.emplace_back([&] {
      const auto database = open_in_form(address, {false, std::chrono::seconds(60)}, forms_with(kNext));
      if (!database || form_of(**database).value() != next()) ++failed;
    });
  }
  for (std::thread& t : threads) t.join();
  EXPECT_EQ(failed, 0);
  EXPECT_TRUE(has_copy());
  EXPECT_FALSE(has_copy(2));
}

TEST_P(Forms, WhatSearchFindsSinceALaterFormIsFoundInAnOlderBook) {
  const sql::Address place = fresh();
  Ids ids;
  const Slip sax = slip(ids, instrument("Alto", "1"));
  record::KeySlip low = key("low-c");
  low.document.json = R"({"name":"Low C","hinge":{"upper":{"screw":{"pattern":"small headless"}}}})";
  const Slip in = slip(ids, visit("rattles"), sax.id);
  std::vector<std::string> said;
  {
    // Form 2 as it was: without orders, and without the words of a key's screws.
    auto second = forms(GetParam());
    second.resize(2);
    auto older = Inside::book(must(open_in_form(place, {}, second)));
    must(older->write({sax, slip(ids, low, sax.id), in}));
    said = says(*older);
    ASSERT_TRUE(Inside::database(*older).run_all("delete from found; update visit set title = 'stale'"));
  }
  auto now = opened(place);
  EXPECT_EQ(form_of(Inside::database(*now)).value(), newest_form());
  EXPECT_EQ(says(*now), said);
  VisitQuery query;
  for (const char* words : {"headl", "small alto", "low", "rattles"}) {
    query.words = words;
    const auto found = must(now->visits(query));
    ASSERT_EQ(found.size(), 1U) << words;
    EXPECT_EQ(found[0].visit, in.id) << words;
  }
  must(now->check());
  // The book's count went on where it was.
  EXPECT_EQ(must(now->write({slip(ids, visit("again"), sax.id)}))[0].number, 4);
}

TEST_P(Forms, ANewBookNeedsNoCopy) {
  const sql::Address place = fresh();
  must(open_in_form(place, {}, forms_with(kNext)));
  auto database = must(open_in_form(place, {true, std::chrono::seconds(5)}, forms_with(kNext)));
  EXPECT_EQ(form_of(*database).value(), next());
  if (GetParam() == sql::Dialect::sqlite) {
    EXPECT_FALSE(std::filesystem::exists(place.text + ".before-" + std::to_string(next())));
    EXPECT_EQ(Book::open({place.text + "-none"}, {true, std::chrono::seconds(5)}).error().fault, Fault::file);
  }
}

}  // namespace
}  // namespace hingeline::store::test

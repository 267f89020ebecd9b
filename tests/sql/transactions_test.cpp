#include <gtest/gtest.h>

#include <atomic>
#include <future>
#include <stdexcept>
#include <thread>

#include "support.h"

namespace hingeline::sql::test {
namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

class Rules : public OnBoth {
 protected:
  Rules() {
    const Result<void> made = database->run_all(
        "create table owners (id bigint primary key, name text not null unique);\n"
        "-- an instrument; its owner is there\n"
        "create table instruments (\n"
        "  id bigint primary key, owner bigint not null references owners (id),\n"
        "  keys bigint not null check (keys > 0));\n"
        "insert into owners values (1, 'one'), (2, 'two');\n"
        "insert into instruments values (1, 1, 23);");
    if (!made) {
      throw std::runtime_error(made.error().what);
    }
  }
  std::int64_t owners(Database& from) { return whole(from, "select count(*) from owners"); }
};
HINGELINE_ON_BOTH(Rules);

TEST_P(Rules, AFaultSaysWhichRule) {
  EXPECT_EQ(tried(*database, "insert into owners values (1, 'three')"), "unique");
  EXPECT_EQ(tried(*database, "insert into owners values (3, 'two')"), "unique");
  EXPECT_EQ(tried(*database, "insert into instruments values (2, 3, 23)"), "reference");
  EXPECT_EQ(tried(*database, "delete from owners where id = 1"), "reference");
  EXPECT_EQ(tried(*database, "insert into instruments values (2, 1, 0)"), "check");
  EXPECT_EQ(tried(*database, "insert into owners values (3, null)"), "check");
  EXPECT_EQ(tried(*database, "insert into owner values (3, 'three')"), "statement");
  EXPECT_EQ(tried(*database, "selec 1"), "statement");
  EXPECT_EQ(owners(*database), 2);
  EXPECT_EQ(whole(*database, "select count(*) from instruments"), 1);
}

TEST_P(Rules, AMessageDoesNotQuoteArguments) {
  const Cell secret = std::string("Rumpelstilzchen");
  rows(*database, "insert into owners values (3, $1)", std::vector<Cell>{secret});
  for (const char* statement :
       {"insert into owners values (4, $1)", "select id / 0 from owners where name = $1 and missing"}) {
    const Result<Rows> refused = database->run(statement, std::vector<Cell>{secret});
    ASSERT_FALSE(refused) << statement;
    EXPECT_EQ(refused.error().what.find("Rumpel"), std::string::npos) << refused.error().what;
    EXPECT_FALSE(refused.error().what.empty());
    EXPECT_NE(refused.error().what.back(), '.');
  }
}

TEST_P(Rules, OneStatementAtATime) {
  EXPECT_EQ(tried(*database, "insert into owners values (3, 'three'); insert into owners values (4, 'four')"),
            "statement");
  EXPECT_EQ(tried(*database, ""), "statement");
  EXPECT_EQ(tried(*database, " -- nothing\n ;"), "statement");
  EXPECT_EQ(owners(*database), 2);
  EXPECT_EQ(tried(*database, "insert into owners values (3, 'three'); -- and no more"), "done");
  EXPECT_EQ(owners(*database), 3);
}

TEST_P(Rules, AfterRollbackNothingIsLeft) {
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into owners values (3, 'three')");
  EXPECT_EQ(owners(*database), 3);
  database->rollback();
  EXPECT_EQ(owners(*database), 2);
  database->rollback();  // nothing to do
  EXPECT_EQ(owners(*database), 2);
}

TEST_P(Rules, AfterCommitOthersSeeIt) {
  const std::unique_ptr<Database> other = opened(address);
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into owners values (3, 'three')");
  EXPECT_EQ(owners(*other), 2);
  ASSERT_EQ(outcome(database->commit()), "done");
  EXPECT_EQ(owners(*other), 3);
}

TEST_P(Rules, ATransactionThatIsNotCommittedEndsWithItsConnection) {
  {
    const std::unique_ptr<Database> other = opened(address);
    ASSERT_EQ(outcome(other->begin(Mode::write)), "done");
    rows(*other, "insert into owners values (3, 'three')");
  }
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  EXPECT_EQ(owners(*database), 2);
  database->rollback();
}

TEST_P(Rules, AfterAFailureOnlyRollbackIsLeft) {
  for (const char* bad :
       {"insert into owners values (1, 'again')", "selec 1", "insert into owners values ($1, 'x')"}) {
    ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
    rows(*database, "insert into owners values (3, 'three')");
    EXPECT_NE(tried(*database, bad), "done");
    EXPECT_EQ(tried(*database, "select 1"), "statement");
    EXPECT_EQ(tried(*database, "insert into owners values (4, 'four')"), "statement");
    EXPECT_EQ(outcome(database->run_all("insert into owners values (5, 'five')")), "statement");
    EXPECT_EQ(outcome(database->tell()), "statement");
    EXPECT_EQ(outcome(database->commit()), "statement");
    // The commit that was refused has rolled back.
    EXPECT_EQ(owners(*database), 2) << bad;
    ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
    database->rollback();
  }
}

TEST_P(Rules, TransactionsDoNotNestAndAreNoStatements) {
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  EXPECT_EQ(outcome(database->begin(Mode::write)), "statement");
  database->rollback();
  EXPECT_EQ(outcome(database->commit()), "statement");
  for (const char* statement : {"begin", "BEGIN IMMEDIATE", "commit", " /* now */ Commit", "-- x\nrollback",
                                "end", "savepoint a", "release a", "start transaction"}) {
    EXPECT_EQ(tried(*database, statement), "statement") << statement;
    ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
    rows(*database, "insert into owners values (3, 'three')");
    EXPECT_EQ(tried(*database, statement), "statement") << statement;
    database->rollback();
    EXPECT_EQ(owners(*database), 2);
  }
}

TEST_P(Rules, RunAllIsAllOrNothing) {
  EXPECT_EQ(outcome(database->run_all(
                "insert into owners values (3, 'three'); insert into owners values (1, 'x')")),
            "unique");
  EXPECT_EQ(owners(*database), 2);
  EXPECT_EQ(outcome(database->run_all("insert into owners values (3, 'three'); selec 1")), "statement");
  EXPECT_EQ(owners(*database), 2);
  EXPECT_EQ(outcome(database->run_all("")), "done");
  EXPECT_EQ(outcome(database->run_all("  -- nothing\n")), "done");
  EXPECT_EQ(outcome(database->run_all("insert into owners values (3, 'a;b'); ;\n"
                                      "/* ; */ insert into owners values (4, 'c')")),
            "done");
  EXPECT_EQ(owners(*database), 4);

  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  EXPECT_EQ(outcome(database->run_all("create table parts (id bigint); insert into parts values (1)")),
            "done");
  database->rollback();
  EXPECT_EQ(tried(*database, "select * from parts"), "statement");
}

TEST_P(Rules, RunAllDoesNotEndTheTransaction) {
  for (const char* statements :
       {"insert into owners values (3, 'three'); rollback",
        "insert into owners values (3, 'three'); Commit; begin",
        "insert into owners values (3, 'a;b''c'); /* ; */ -- ;\n commit", "begin", "savepoint a"}) {
    EXPECT_NE(outcome(database->run_all(statements)), "done") << statements;
    EXPECT_EQ(owners(*database), 2) << statements;
    ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
    EXPECT_NE(outcome(database->run_all(statements)), "done") << statements;
    EXPECT_EQ(tried(*database, "select 1"), "statement");
    database->rollback();
    EXPECT_EQ(owners(*database), 2) << statements;
  }
}

TEST_P(Rules, DeferredReferencesAreCheckedByTheCommit) {
  ASSERT_EQ(outcome(database->run_all(
                "create table late (id bigint primary key, owner bigint references owners (id) "
                "deferrable initially deferred)")),
            "done");
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into late values (1, 9)");
  rows(*database, "insert into owners values (9, 'nine')");
  EXPECT_EQ(outcome(database->commit()), "done");

  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into late values (2, 10)");
  EXPECT_EQ(outcome(database->commit()), "reference");
  EXPECT_EQ(whole(*database, "select count(*) from late"), 1);
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  EXPECT_EQ(outcome(database->commit()), "done");
}

TEST_P(Rules, AReaderSeesOneView) {
  const std::unique_ptr<Database> writer = opened(address);
  ASSERT_EQ(outcome(database->begin(Mode::read)), "done");
  // From the moment of begin, not of the first look.
  rows(*writer, "insert into owners values (3, 'three')");
  EXPECT_EQ(owners(*database), 2);
  rows(*writer, "delete from instruments");
  rows(*writer, "delete from owners where id = 1");
  EXPECT_EQ(owners(*database), 2);
  EXPECT_EQ(whole(*database, "select count(*) from instruments"), 1);
  ASSERT_EQ(outcome(database->commit()), "done");
  EXPECT_EQ(owners(*database), 2);
  EXPECT_EQ(whole(*database, "select max(id) from owners"), 3);
}

TEST_P(Rules, AReaderChangesNothing) {
  for (const char* statement : {"insert into owners values (3, 'three')", "delete from instruments",
                                "create table parts (id bigint)"}) {
    ASSERT_EQ(outcome(database->begin(Mode::read)), "done");
    EXPECT_EQ(tried(*database, statement), "statement") << statement;
    database->rollback();
    ASSERT_EQ(outcome(database->begin(Mode::read)), "done");
    EXPECT_EQ(outcome(database->run_all(statement)), "statement") << statement;
    database->rollback();
  }
  ASSERT_EQ(outcome(database->begin(Mode::read)), "done");
  EXPECT_EQ(outcome(database->tell()), "statement");
  database->rollback();
  EXPECT_EQ(owners(*database), 2);
  EXPECT_EQ(tried(*database, "insert into owners values (3, 'three')"), "done");
}

TEST_P(Rules, OpenedForReadingNothingIsChanged) {
  Opening opening;
  opening.read_only = true;
  const std::unique_ptr<Database> reader = opened(address, opening);
  EXPECT_EQ(owners(*reader), 2);
  EXPECT_EQ(tried(*reader, "insert into owners values (3, 'three')"), "statement");
  EXPECT_EQ(tried(*reader, "with a as (select 3) delete from owners"), "statement");
  EXPECT_EQ(outcome(reader->run_all("insert into owners values (3, 'three')")), "statement");
  EXPECT_EQ(outcome(reader->begin(Mode::write)), "statement");
  EXPECT_EQ(outcome(reader->tell()), "statement");
  ASSERT_EQ(outcome(reader->begin(Mode::read)), "done");
  EXPECT_EQ(owners(*reader), 2);
  EXPECT_EQ(outcome(reader->commit()), "done");
  EXPECT_EQ(outcome(reader->check()), "done");
  // It sees what others write.
  rows(*database, "insert into owners values (3, 'three')");
  EXPECT_EQ(owners(*reader), 3);
}

TEST_P(Rules, WritersOnTwoThreadsLoseNothing) {
  constexpr std::int64_t kEach = 200;
  ASSERT_EQ(
      outcome(database->run_all("create table counter (n bigint not null); insert into counter values (0)")),
      "done");
  const auto count_up = [&] {
    const std::unique_ptr<Database> own = opened(address);
    for (std::int64_t i = 0; i < kEach; ++i) {
      // Read, reckoned here, written: right only when the writers stand in one order.
      const Result<std::int64_t> now = in_transaction(*own, Mode::write, [&]() -> Result<std::int64_t> {
        return own->run("select n from counter").and_then([&](const Rows& seen) -> Result<std::int64_t> {
          const std::int64_t next = std::get<std::int64_t>(seen.at(0).at(0)) + 1;
          return own->run("update counter set n = $1", std::vector<Cell>{next}).map([&](const Rows&) {
            return next;
          });
        });
      });
      if (!now) {
        throw std::runtime_error(now.error().what);
      }
    }
  };
  auto first = std::async(std::launch::async, count_up);
  auto second = std::async(std::launch::async, count_up);
  // Statements of their own stand in the same order.
  for (std::int64_t i = 0; i < kEach; ++i) {
    rows(*database, "update counter set n = n + 1");
  }
  first.get();
  second.get();
  EXPECT_EQ(whole(*database, "select n from counter"), 3 * kEach);
}

TEST_P(Rules, AWriterWaitsForTheOther) {
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into owners values (3, 'three')");
  std::atomic<bool> committed = false;
  auto other = std::async(std::launch::async, [&] {
    const std::unique_ptr<Database> own = opened(address, {false, kDeadline});
    const std::string begun = outcome(own->begin(Mode::write));
    const bool waited = committed;
    const std::int64_t seen = owners(*own);
    own->rollback();
    return std::tuple(begun, waited, seen);
  });
  // However early or late it comes, it must not be let in before this.
  EXPECT_EQ(other.wait_for(milliseconds(200)), std::future_status::timeout);
  committed = true;
  ASSERT_EQ(outcome(database->commit()), "done");
  EXPECT_EQ(other.get(), std::tuple(std::string("done"), true, std::int64_t{3}));
}

TEST_P(Rules, PatienceEnds) {
  const std::unique_ptr<Database> hasty = opened(address, {false, milliseconds(50)});
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into owners values (3, 'three')");
  const auto begun = steady_clock::now();
  EXPECT_EQ(outcome(hasty->begin(Mode::write)), "busy");
  EXPECT_EQ(tried(*hasty, "insert into owners values (4, 'four')"), "busy");
  EXPECT_LT(steady_clock::now() - begun, kDeadline);
  // Reading does not wait.
  EXPECT_EQ(owners(*hasty), 2);
  ASSERT_EQ(outcome(hasty->begin(Mode::read)), "done");
  EXPECT_EQ(owners(*hasty), 2);
  hasty->rollback();
  ASSERT_EQ(outcome(database->commit()), "done");
  EXPECT_EQ(tried(*hasty, "insert into owners values (4, 'four')"), "done");
}

TEST_P(Rules, InTransactionTriesAgainWhileBusy) {
  const std::unique_ptr<Database> hasty = opened(address, {false, milliseconds(1)});
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  int ran = 0;
  const auto add = [&]() -> Result<int> {
    ++ran;
    return hasty->run("insert into owners values (3, 'three')").map([](const Rows&) { return 7; });
  };
  EXPECT_EQ(outcome(in_transaction(*hasty, Mode::write, add, 3)), "busy");
  EXPECT_EQ(ran, 0);
  database->rollback();

  // Busy at first: the work itself meets it.
  int tries = 0;
  const auto late = [&]() -> Result<int> {
    rows(*hasty, "insert into owners values (3, 'three')");
    if (++tries < 3) {
      return tl::unexpected(Failure{Trouble::busy, "not yet"});
    }
    return 7;
  };
  EXPECT_EQ(in_transaction(*hasty, Mode::write, late).value_or(0), 7);
  EXPECT_EQ(tries, 3);
  EXPECT_EQ(owners(*database), 3);
}

TEST_P(Rules, InTransactionUndoesWhatFails) {
  int ran = 0;
  const auto failing = [&]() -> Result<void> {
    ++ran;
    rows(*database, "insert into owners values (3, 'three')");
    return database->run("insert into owners values (1, 'x')").map([](const Rows&) {});
  };
  EXPECT_EQ(outcome(in_transaction(*database, Mode::write, failing)), "unique");
  EXPECT_EQ(ran, 1);
  EXPECT_EQ(owners(*database), 2);

  // A failure that the work keeps to itself is not committed either.
  const auto silent = [&]() -> Result<void> {
    rows(*database, "insert into owners values (3, 'three')");
    EXPECT_EQ(tried(*database, "insert into owners values (1, 'x')"), "unique");
    return {};
  };
  EXPECT_EQ(outcome(in_transaction(*database, Mode::write, silent)), "statement");
  EXPECT_EQ(owners(*database), 2);

  const auto throwing = [&]() -> Result<void> {
    rows(*database, "insert into owners values (3, 'three')");
    throw std::logic_error("thrown");
  };
  EXPECT_THROW(static_cast<void>(in_transaction(*database, Mode::write, throwing)), std::logic_error);
  EXPECT_EQ(owners(*database), 2);
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  database->rollback();
}

TEST_P(Rules, AKeptStatementOutlivesAChangeOfItsTable) {
  const auto all = [&] { return database->run("select * from owners where id = 1"); };
  EXPECT_EQ(*all(), (Rows{{std::int64_t{1}, std::string("one")}}));
  const std::unique_ptr<Database> other = opened(address);
  ASSERT_EQ(outcome(other->run_all("alter table owners add column phone text")), "done");
  const Rows wider{{std::int64_t{1}, std::string("one"), std::monostate{}}};
  EXPECT_EQ(in_transaction(*database, Mode::read, all).value_or(Rows{}), wider);
  // And a change of one's own.
  ASSERT_EQ(outcome(database->run_all("alter table owners add column street text")), "done");
  EXPECT_EQ(all()->at(0).size(), 4U);
}

TEST_P(Rules, ASoundDatabaseIsFoundSound) { EXPECT_EQ(outcome(database->check()), "done"); }

TEST_P(Rules, SomeThingsAreForOutsideATransaction) {
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  EXPECT_EQ(outcome(database->check()), "statement");
  EXPECT_EQ(outcome(database->wait_for_news(milliseconds(0))), "statement");
  EXPECT_EQ(outcome(database->copy_to((folder.path() / "copy.db").string())), "statement");
  // They have not spoilt it.
  rows(*database, "insert into owners values (3, 'three')");
  EXPECT_EQ(outcome(database->commit()), "done");
  EXPECT_EQ(owners(*database), 3);
}

class News : public Rules {
 protected:
  News() : listener(opened(address)) {
    // The first call begins to listen; there may have been something before.
    EXPECT_TRUE(listener->wait_for_news(milliseconds(0)).value());
  }
  std::unique_ptr<Database> listener;
};
HINGELINE_ON_BOTH(News);

TEST_P(News, WithoutNewsTheWaitEnds) {
  EXPECT_FALSE(listener->wait_for_news(milliseconds(0)).value());
  const auto begun = steady_clock::now();
  EXPECT_FALSE(listener->wait_for_news(milliseconds(100)).value());
  EXPECT_GE(steady_clock::now() - begun, milliseconds(100));
}

TEST_P(News, ComeWithTheCommitAndNotBefore) {
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into owners values (3, 'three')");
  ASSERT_EQ(outcome(database->tell()), "done");
  EXPECT_FALSE(listener->wait_for_news(milliseconds(150)).value());
  ASSERT_EQ(outcome(database->commit()), "done");
  EXPECT_TRUE(listener->wait_for_news(kDeadline).value());
  EXPECT_EQ(owners(*listener), 3);
  EXPECT_FALSE(listener->wait_for_news(milliseconds(0)).value());
}

TEST_P(News, OfAnUndoneTransactionAreNone) {
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into owners values (3, 'three')");
  ASSERT_EQ(outcome(database->tell()), "done");
  database->rollback();
  EXPECT_FALSE(listener->wait_for_news(milliseconds(100)).value());
}

TEST_P(News, AreToldOutsideATransactionTooAndWithoutAChange) {
  ASSERT_EQ(outcome(database->tell()), "done");
  EXPECT_TRUE(listener->wait_for_news(kDeadline).value());
  ASSERT_EQ(outcome(database->tell()), "done");
  EXPECT_TRUE(listener->wait_for_news(kDeadline).value());
  EXPECT_FALSE(listener->wait_for_news(milliseconds(0)).value());
  EXPECT_EQ(outcome(database->check()), "done");
}

TEST_P(News, OfOnesOwnAreNone) {
  ASSERT_EQ(outcome(listener->begin(Mode::write)), "done");
  rows(*listener, "insert into owners values (3, 'three')");
  ASSERT_EQ(outcome(listener->tell()), "done");
  ASSERT_EQ(outcome(listener->commit()), "done");
  EXPECT_FALSE(listener->wait_for_news(milliseconds(100)).value());
}

TEST_P(News, ThatCameWhileBusyWithOtherThingsAreNotMissed) {
  ASSERT_EQ(outcome(database->tell()), "done");
  EXPECT_EQ(owners(*listener), 2);
  ASSERT_EQ(outcome(listener->begin(Mode::write)), "done");
  rows(*listener, "insert into owners values (3, 'three')");
  ASSERT_EQ(outcome(listener->commit()), "done");
  EXPECT_TRUE(listener->wait_for_news(kDeadline).value());
}

TEST_P(News, WakeWhoWaits) {
  auto waiting = std::async(std::launch::async, [&] {
    const auto begun = steady_clock::now();
    const bool told = listener->wait_for_news(kDeadline).value();
    return told && steady_clock::now() - begun < kDeadline;
  });
  rows(*database, "insert into owners values (3, 'three')");
  ASSERT_EQ(outcome(database->tell()), "done");
  EXPECT_TRUE(waiting.get());
}

TEST_P(News, ReachEveryConnection) {
  std::vector<std::unique_ptr<Database>> others;
  for (int i = 0; i < 5; ++i) {
    others.push_back(opened(address));
    EXPECT_TRUE(others.back()->wait_for_news(milliseconds(0)).value());
  }
  ASSERT_EQ(outcome(database->tell()), "done");
  for (const auto& other : others) {
    EXPECT_TRUE(other->wait_for_news(kDeadline).value());
  }
}

}  // namespace
}  // namespace hingeline::sql::test

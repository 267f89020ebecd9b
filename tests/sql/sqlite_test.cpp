#include <gtest/gtest.h>
#include <sys/fsuid.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <fstream>
#include <future>
#include <sstream>
#include <thread>

#include "support.h"

namespace hingeline::sql::test {
namespace {

namespace fs = std::filesystem;

class Sqlite : public testing::Test {
 protected:
  [[nodiscard]] std::string path(const std::string& name = "shop.db") const {
    return (folder.path() / name).string();
  }

  static std::string content(const std::string& file) {
    std::ostringstream out;
    out << std::ifstream(file, std::ios::binary).rdbuf();
    return out.str();
  }
  static void write(const std::string& file, const std::string& bytes) {
    std::ofstream(file, std::ios::binary) << bytes;
  }

  /// A sound file with a table and an index of many pages; no log beside it.
  void make_large(const std::string& file) {
    const std::unique_ptr<Database> database = opened({file});
    ASSERT_EQ(outcome(database->run_all("create table entries (id bigint primary key, t text not null); "
                                        "create index entries_t on entries (t)")),
              "done");
    ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
    for (std::int64_t id = 1; id <= 2000; ++id) {
      rows(*database, "insert into entries values ($1, $2)",
           {id, "entry " + std::to_string(id) + std::string(40, 'x')});
    }
    ASSERT_EQ(outcome(database->commit()), "done");
  }

  /// What opening it and checking it comes to.
  static std::string opened_and_checked(const std::string& file) {
    const Result<std::unique_ptr<Database>> database = open({file});
    return database ? outcome((*database)->check()) : outcome(database);
  }

  TemporaryFolder folder;
};

TEST_F(Sqlite, IsSetToLastAndToCheck) {
  const std::unique_ptr<Database> database = opened({path()});
  EXPECT_EQ(database->dialect(), Dialect::sqlite);
  EXPECT_EQ(rows(*database, "pragma journal_mode"), (Rows{{std::string("wal")}}));
  EXPECT_EQ(whole(*database, "pragma synchronous"), 2);  // FULL, by SQLite's manual
  EXPECT_EQ(whole(*database, "pragma foreign_keys"), 1);
}

TEST_F(Sqlite, WhatIsNotThereIsUnavailable) {
  EXPECT_EQ(outcome(open({path("missing/shop.db")})), "unavailable");
  EXPECT_EQ(outcome(open({folder.path().string()})), "unavailable");
  Opening reading;
  reading.read_only = true;
  const auto none = open({path()}, reading);
  EXPECT_EQ(outcome(none), "unavailable");
  EXPECT_NE(none.error().what.find(path()), std::string::npos);
  EXPECT_FALSE(fs::exists(path()));
}

TEST_F(Sqlite, WhatMayOnlyBeReadIsUnavailableForWriting) {
  make_large(path());
  ASSERT_EQ(::chmod(path().c_str(), 0444), 0);
  ASSERT_EQ(::chmod(folder.path().c_str(), 0555), 0);
  // Root may write everywhere; as far as files go, this thread is somebody else for a moment.
  constexpr uid_t kNobody = 65534;
  const bool root = ::geteuid() == 0;
  if (root) {
    ::setfsuid(kNobody);
  }
  const std::string got = outcome(open({path()}));
  if (root) {
    ::setfsuid(0);
  }
  ASSERT_EQ(::chmod(folder.path().c_str(), 0755), 0);
  EXPECT_EQ(got, "unavailable");
}

TEST_F(Sqlite, WhatIsNoDatabaseIsDamaged) {
  write(path(),
        "This is a text of somebody's, and longer than the header of a database, which has a hundred bytes, "
        "so that there is no doubt.");
  const std::string before = content(path());
  EXPECT_EQ(outcome(open({path()})), "damaged");
  Opening reading;
  reading.read_only = true;
  EXPECT_EQ(outcome(open({path()}, reading)), "damaged");
  EXPECT_EQ(content(path()), before);
}

TEST_F(Sqlite, AnEmptyFileIsANewDatabase) {
  write(path(), "");
  EXPECT_EQ(opened_and_checked(path()), "done");
}

TEST_F(Sqlite, DamageIsFound) {
  make_large(path());
  ASSERT_EQ(opened_and_checked(path()), "done");
  const std::string sound = content(path());
  constexpr std::size_t kPage = 4096;
  ASSERT_GT(sound.size(), 20 * kPage);
  // The head of every page that has one: its kind, its count of cells, where they begin.
  for (std::size_t page = 1; page < sound.size() / kPage; ++page) {
    std::string damaged = sound;
    for (std::size_t i = 0; i < 8; ++i) {
      damaged[page * kPage + i] = static_cast<char>(~damaged[page * kPage + i]);
    }
    write(path("damaged.db"), damaged);
    EXPECT_EQ(opened_and_checked(path("damaged.db")), "damaged") << "page " << page;
  }
  write(path("damaged.db"), sound.substr(0, sound.size() / 2 / kPage * kPage));
  EXPECT_EQ(opened_and_checked(path("damaged.db")), "damaged");
  // The first letters of the file.
  write(path("damaged.db"), "x" + sound.substr(1));
  EXPECT_EQ(opened_and_checked(path("damaged.db")), "damaged");
}

TEST_F(Sqlite, AnIndexThatMissesARowIsFound) {
  make_large(path());
  std::string bytes = content(path());
  // One letter of one entry, in the table or in its index: the two differ.
  const std::size_t at = bytes.find("entry 1000");
  ASSERT_NE(at, std::string::npos);
  bytes[at] = 'E';
  write(path("damaged.db"), bytes);
  EXPECT_EQ(opened_and_checked(path("damaged.db")), "damaged");
}

TEST_F(Sqlite, AReferenceToNothingIsFound) {
  const std::unique_ptr<Database> database = opened({path()});
  ASSERT_EQ(outcome(database->run_all("create table a (id bigint primary key); "
                                      "create table b (a bigint references a (id))")),
            "done");
  EXPECT_EQ(outcome(database->check()), "done");
  rows(*database, "pragma foreign_keys = off");
  rows(*database, "insert into b values (7)");
  const Result<void> found = database->check();
  ASSERT_EQ(outcome(found), "damaged");
  EXPECT_EQ(found.error().what, "a row of b names a row of a that is not there");
}

TEST_F(Sqlite, AFileThatIsMovedAwayTakesNoMoreWrites) {
  const std::unique_ptr<Database> database = opened({path()});
  rows(*database, "create table a (id bigint primary key)");
  rows(*database, "insert into a values (1)");
  fs::rename(path(), path("elsewhere.db"));
  EXPECT_EQ(tried(*database, "insert into a values (2)"), "unavailable");
  EXPECT_EQ(outcome(database->begin(Mode::write)), "unavailable");
  EXPECT_EQ(outcome(database->check()), "unavailable");
  // And so when another takes its place.
  write(path(), "");
  EXPECT_EQ(tried(*database, "insert into a values (2)"), "unavailable");
  fs::rename(path("elsewhere.db"), path());
  EXPECT_EQ(tried(*database, "insert into a values (2)"), "done");
}

TEST_F(Sqlite, AFullDiskUndoesTheTransactionAndNothingElse) {
  const std::unique_ptr<Database> database = opened({path()});
  rows(*database, "create table a (id bigint primary key, b bytea)");
  rows(*database, "insert into a values (1, $1)", {Bytes(1000)});
  // As many pages as there are and four more.
  const std::int64_t pages = whole(*database, "pragma page_count");
  rows(*database, "pragma max_page_count = " + std::to_string(pages + 4));
  const std::vector<Cell> large = {Bytes(100'000)};

  EXPECT_EQ(tried(*database, "insert into a values (2, $1)", large), "full");
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into a values (3, null)");
  EXPECT_EQ(tried(*database, "insert into a values (4, $1)", large), "full");
  EXPECT_EQ(tried(*database, "insert into a values (5, null)"), "statement");
  EXPECT_EQ(outcome(database->commit()), "statement");
  EXPECT_EQ(rows(*database, "select id from a"), (Rows{{std::int64_t{1}}}));

  rows(*database, "pragma max_page_count = 1000000");
  EXPECT_EQ(tried(*database, "insert into a values (2, $1)", large), "done");
  EXPECT_EQ(outcome(database->check()), "done");
}

TEST_F(Sqlite, ManyMayOpenANewFileAtOnce) {
  constexpr int kMany = 8;
  for (int round = 0; round < 5; ++round) {
    const std::string file = path("new" + std::to_string(round) + ".db");
    std::vector<std::future<std::string>> all;
    for (int i = 0; i < kMany; ++i) {
      all.push_back(std::async(std::launch::async, [&file] {
        const Result<std::unique_ptr<Database>> database = open({file});
        return database ? tried(**database, "create table if not exists a (id bigint)") : outcome(database);
      }));
    }
    for (auto& one : all) {
      EXPECT_EQ(one.get(), "done");
    }
  }
}

TEST_F(Sqlite, InMemoryIsADatabaseToo) {
  const std::unique_ptr<Database> database = opened({":memory:"});
  ASSERT_EQ(outcome(database->run_all("create table a (id bigint); insert into a values (7)")), "done");
  ASSERT_EQ(outcome(database->begin(Mode::write)), "done");
  rows(*database, "insert into a values (8)");
  database->rollback();
  EXPECT_EQ(outcome(database->check()), "done");
  ASSERT_EQ(outcome(database->copy_to(path())), "done");
  EXPECT_EQ(rows(*opened({path()}), "select id from a"), (Rows{{std::int64_t{7}}}));
  EXPECT_FALSE(fs::exists(":memory:"));
}

TEST_F(Sqlite, ACopyIsSoundAndWholeWhileOthersWrite) {
  const std::unique_ptr<Database> database = opened({path()});
  rows(*database, "create table entries (id bigint primary key, t text not null)");
  std::atomic<std::int64_t> written = 0;
  std::atomic<bool> enough = false;
  auto writer = std::async(std::launch::async, [&] {
    const std::unique_ptr<Database> own = opened({path()});
    // Two entries in each transaction: a copy has both or none.
    for (std::int64_t id = 1; !enough; id += 2) {
      const Result<void> added = in_transaction(*own, Mode::write, [&] {
        return own->run("insert into entries values ($1, $2)", std::vector<Cell>{id, std::string(500, 'a')})
            .and_then([&](const Rows&) {
              return own->run("insert into entries values ($1, $2)",
                              std::vector<Cell>{id + 1, std::string(500, 'b')});
            })
            .map([](const Rows&) {});
      });
      if (!added) {
        throw std::runtime_error(added.error().what);
      }
      written = id + 1;
    }
  });
  std::int64_t last = 0;
  for (int i = 0; i < 20; ++i) {
    const std::string copy = path("copy" + std::to_string(i) + ".db");
    // Something new since the last copy.
    const auto deadline = std::chrono::steady_clock::now() + kDeadline;
    while (written <= last && std::chrono::steady_clock::now() < deadline) {
      std::this_thread::yield();
    }
    const std::int64_t before = written;
    ASSERT_EQ(outcome(database->copy_to(copy)), "done");
    EXPECT_FALSE(fs::exists(copy + ".part"));
    EXPECT_FALSE(fs::exists(copy + ".part-journal"));
    const std::unique_ptr<Database> copied = opened({copy});
    EXPECT_EQ(outcome(copied->check()), "done");
    const std::int64_t count = whole(*copied, "select count(*) from entries");
    EXPECT_GE(count, before);
    EXPECT_GT(count, last);
    EXPECT_EQ(count % 2, 0);
    EXPECT_EQ(whole(*copied, "select max(id) from entries"), count);
    last = count;
  }
  const std::int64_t after = written;
  enough = true;
  writer.get();
  EXPECT_GE(after, last);
  EXPECT_EQ(outcome(database->check()), "done");
}

TEST_F(Sqlite, ACopyOverwritesNothing) {
  const std::unique_ptr<Database> database = opened({path()});
  rows(*database, "create table a (id bigint)");
  write(path("copy.db"), "precious");
  EXPECT_EQ(outcome(database->copy_to(path("copy.db"))), "unavailable");
  EXPECT_EQ(content(path("copy.db")), "precious");
  EXPECT_FALSE(fs::exists(path("copy.db.part")));
  EXPECT_EQ(outcome(database->copy_to(path())), "unavailable");
  EXPECT_EQ(outcome(database->copy_to(path("missing/copy.db"))), "unavailable");
  EXPECT_EQ(outcome(database->check()), "done");
}

TEST_F(Sqlite, ACopyThatWasCutShortIsMadeAnew) {
  const std::unique_ptr<Database> database = opened({path()});
  rows(*database, "create table a (id bigint)");
  write(path("copy.db.part"), "half a copy");
  write(path("copy.db.part-journal"), "and its journal");
  ASSERT_EQ(outcome(database->copy_to(path("copy.db"))), "done");
  EXPECT_EQ(opened_and_checked(path("copy.db")), "done");
  EXPECT_FALSE(fs::exists(path("copy.db.part")));
}

TEST_F(Sqlite, ACopyOfWhatIsOpenForReadingOnlyIsMadeToo) {
  make_large(path());
  Opening reading;
  reading.read_only = true;
  ASSERT_EQ(outcome(opened({path()}, reading)->copy_to(path("copy.db"))), "done");
  EXPECT_EQ(whole(*opened({path("copy.db")}), "select count(*) from entries"), 2000);
}

}  // namespace
}  // namespace hingeline::sql::test

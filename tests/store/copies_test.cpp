// Dated copies: proven or not there, thinned out by rules, brought back as they were.

#include "hingeline/store/copies.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <set>
#include <thread>

#include "store/archive_support.h"

namespace hingeline::store::test {
namespace {

namespace fs = std::filesystem;

Moment moment(std::string_view text) { return parse_moment(text)->moment; }
const Moment kNow = moment("2026-11-26T14:06:00Z");

// ---- Names and rules
// ---------------------------------------------------------------------------------------

TEST(CopyNames, SayWhichBookAndWhen) {
  const CopyName name{"book", kNow, 1, false};
  EXPECT_EQ(text_of(name), "book-20261126T140600Z.db");
  EXPECT_EQ(text_of({"two-words", kNow, 12, true}), "two-words-20261126T140600Z-12.archive");
  for (const CopyName& one : {name, CopyName{"a-1", kNow, 2, true}, CopyName{"Z", Moment::at(0), 1, true}})
    EXPECT_EQ(copy_name_of(text_of(one)), one) << text_of(one);
  for (const char* none :
       {"", "book.db", "-20261126T140600Z.db", "book-20261126T140600Z", "book-20261126T140600Z.db.unproven",
        "book-20261126T140600.db", "book-20261326T140600Z.db", "book-20261126T146000Z.db",
        "book-20261126T140600Z-1.db", "book-20261126T140600Z-02.db", "book-20261126T140600Z-.db",
        "book-2026-11-26T14:06:00Z.db", "book-20261126t140600Z.db", "book-20261126T140600Z.db-wal"})
    EXPECT_FALSE(copy_name_of(none)) << none;
}

TEST(Keeping, IsSaidInFewLetters) {
  EXPECT_EQ(must(parse_keep("10,14d,8w,12m")), (KeepRules{10, 14, 8, 12}));
  EXPECT_EQ(must(parse_keep("12m,3")), (KeepRules{3, 0, 0, 12}));
  EXPECT_EQ(must(parse_keep("1")), (KeepRules{1, 0, 0, 0}));
  for (const char* wrong :
       {"", ",", "10,", "0", "-1", "1,2", "3d,4d", "5y", "d", "1 d", "01", "10001", "3dd"})
    EXPECT_EQ(parse_keep(wrong).error().fault, Fault::usage) << wrong;
}

std::vector<std::string> dropped(const std::vector<std::string>& made, const KeepRules& rules) {
  std::vector<CopyName> names;
  for (const std::string& at : made) names.push_back({"book", moment(at), 1, false});
  std::vector<std::string> out;
  for (const CopyName& name : to_drop(names, rules, kNow)) out.push_back(iso_text(name.at, {}));
  return out;
}
using Moments = std::vector<std::string>;

TEST(Keeping, GoesByTheCalendar) {
  // 2026-11-26 is a Thursday (ISO 8601 week 48: from Monday the 23rd).
  EXPECT_EQ(dropped({"2026-11-26T00:00:00Z", "2026-11-26T14:06:00Z", "2026-11-25T23:59:59Z",
                     "2026-11-25T00:00:00Z", "2026-11-24T12:00:00Z"},
                    {0, 2, 0, 0}),
            (Moments{"2026-11-24T12:00:00Z", "2026-11-25T00:00:00Z", "2026-11-26T00:00:00Z"}));
  EXPECT_EQ(dropped({"2026-11-26T10:00:00Z", "2026-11-23T00:00:00Z", "2026-11-22T23:59:59Z",
                     "2026-11-16T00:00:00Z", "2026-11-15T23:59:59Z"},
                    {0, 0, 2, 0}),
            (Moments{"2026-11-15T23:59:59Z", "2026-11-16T00:00:00Z", "2026-11-23T00:00:00Z"}));
  EXPECT_EQ(dropped({"2026-11-26T10:00:00Z", "2026-11-01T00:00:00Z", "2026-10-31T23:59:59Z",
                     "2026-10-01T00:00:00Z", "2026-09-30T23:59:59Z"},
                    {0, 0, 0, 2}),
            (Moments{"2026-09-30T23:59:59Z", "2026-10-01T00:00:00Z", "2026-11-01T00:00:00Z"}));
  // From after now: some clock was wrong.
  EXPECT_EQ(dropped({"2027-01-01T00:00:00Z", "2026-11-26T10:00:00Z", "2026-11-26T09:00:00Z"}, {1, 0, 0, 0}),
            (Moments{"2026-11-26T09:00:00Z"}));
  // Each book by itself.
  const CopyName a{"a", kNow.later(-10), 1, false};
  const CopyName b{"b", kNow.later(-20), 1, false};
  const CopyName older{"a", kNow.later(-30), 1, false};
  EXPECT_EQ(to_drop({b, older, a}, {1, 0, 0, 0}, kNow), std::vector{older});
}

rc::Gen<std::vector<CopyName>> copies() {
  // Two years of copies, a few of the same second and some from after now.
  return rc::gen::map(rc::gen::container<std::vector<int>>(rc::gen::inRange(-3, 2 * 365 * 24)),
                      [](const std::vector<int>& hours) {
                        std::set<CopyName> out;
                        for (const int h : hours) {
                          CopyName name{h % 7 == 0 ? "other" : "book", kNow.later(-3600L * h), 1, h % 2 == 0};
                          while (!out.insert(name).second) ++name.nth;
                        }
                        return std::vector<CopyName>(out.begin(), out.end());
                      });
}
rc::Gen<KeepRules> rules() {
  return rc::gen::build<KeepRules>(rc::gen::set(&KeepRules::last, rc::gen::inRange(0, 6)),
                                   rc::gen::set(&KeepRules::days, rc::gen::inRange(0, 20)),
                                   rc::gen::set(&KeepRules::weeks, rc::gen::inRange(0, 12)),
                                   rc::gen::set(&KeepRules::months, rc::gen::inRange(0, 20)));
}
std::vector<CopyName> less(const std::vector<CopyName>& all, const std::vector<CopyName>& gone) {
  std::vector<CopyName> out;
  for (const CopyName& c : all) {
    if (std::find(gone.begin(), gone.end(), c) == gone.end()) out.push_back(c);
  }
  return out;
}

RC_GTEST_PROP(Keeping, NeverDropsTheNewestNorTheOnlyOneOfAPeriod, ()) {
  const auto made = *copies();
  const KeepRules r = *rules();
  const auto gone = to_drop(made, r, kNow);
  const auto kept = less(made, gone);
  RC_ASSERT(kept.size() + gone.size() == made.size());
  RC_ASSERT(
      std::is_sorted(gone.begin(), gone.end(), [](const auto& a, const auto& b) { return a.at < b.at; }));
  for (const char* book : {"book", "other"}) {
    const auto of_book = [&](const CopyName& c) { return c.book == book && c.at <= kNow; };
    // Told in other words than the code's: by texts of the calendar.
    const auto periods = [&](const std::vector<CopyName>& copies, const auto& period, const auto& counts) {
      std::set<std::string> out;
      for (const CopyName& c : copies) {
        if (of_book(c) && counts(c)) out.insert(period(c));
      }
      return out;
    };
    const auto day = [](const CopyName& c) { return iso_text(c.at, {}).substr(0, 10); };
    const auto month = [](const CopyName& c) { return iso_text(c.at, {}).substr(0, 7); };
    const auto in_days = [&](const CopyName& c) {
      return day(c) > day({"", kNow.later(-86'400L * r.days), 1, false});
    };
    RC_ASSERT(periods(made, day, in_days) == periods(kept, day, in_days));
    const auto in_months = [&](const CopyName& c) {
      int year = std::stoi(month(c).substr(0, 4));
      const int of_year = std::stoi(month(c).substr(5));
      return (2026 - year) * 12 + 11 - of_year < r.months;
    };
    RC_ASSERT(periods(made, month, in_months) == periods(kept, month, in_months));
    std::vector<CopyName> newest;
    std::copy_if(made.begin(), made.end(), std::back_inserter(newest), of_book);
    std::sort(newest.begin(), newest.end(), [](const auto& a, const auto& b) { return a.at > b.at; });
    if (newest.empty()) continue;
    const auto still = [&](const CopyName& c) {
      return std::any_of(kept.begin(), kept.end(), [&](const CopyName& k) { return k.at == c.at; });
    };
    RC_ASSERT(still(newest.front()));
    const auto kept_of_book = std::count_if(kept.begin(), kept.end(), of_book);
    RC_ASSERT(kept_of_book >= std::min<std::ptrdiff_t>(std::ssize(newest), std::max(r.last, 1)));
    // And no more than there are rules for.
    RC_ASSERT(kept_of_book <= std::max(r.last, 1) + r.days + r.weeks + r.months);
  }
}

RC_GTEST_PROP(Keeping, DoesNothingMoreWhenDoneAgain, ()) {
  const auto made = *copies();
  const KeepRules r = *rules();
  const auto kept = less(made, to_drop(made, r, kNow));
  RC_ASSERT(to_drop(kept, r, kNow).empty());
}

RC_GTEST_PROP(Keeping, DoneEveryDayItComesToTheSameAsDoneOnce, ()) {
  // A copy that a longer period will want is not dropped by then. The last N are left out: they depend on how
  // many there are.
  const auto made = *copies();
  KeepRules r = *rules();
  r.last = 0;
  const Moment later = kNow.later(86'400L * *rc::gen::inRange(0, 60));
  const auto after_both = [&] {
    auto kept = less(made, to_drop(made, r, kNow));
    return less(kept, to_drop(kept, r, later));
  }();
  const auto at_once = less(made, to_drop(made, r, later));
  // Where a rule reaches as far back as the one before it, what it wants is among what was kept.
  if (r.weeks * 7 >= r.days && r.months * 28 >= r.weeks * 7 && r.days >= 1 && r.weeks >= 1 && r.months >= 1)
    RC_ASSERT(after_both == at_once);
}

// ---- Copies
// ------------------------------------------------------------------------------------------------

class Copies : public OnBothBooks {
 protected:
  [[nodiscard]] std::string place(const std::string& name) const { return (folder.path() / name).string(); }
  [[nodiscard]] std::vector<std::string> files(const std::string& name) const {
    std::vector<std::string> out;
    for (const auto& entry : fs::directory_iterator(place(name))) out.push_back(entry.path().filename());
    std::sort(out.begin(), out.end());
    return out;
  }
};
INSTANTIATE_TEST_SUITE_P(Both, Copies, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres),
                         name_of);

TEST_P(Copies, AreProvenAndBroughtBackToEitherDatabase) {
  live_through({book.get()}, 71, 200);
  const Text text = archive_of(*book);
  const auto said = says(*book);
  const CopyMade made = must(make_copy(address, place("copies"), kNow));
  EXPECT_EQ(made.archive, text.archived);
  EXPECT_EQ(made.form, newest_form());
  EXPECT_EQ(made.copy.size, fs::file_size(made.copy.path));
  const bool server = GetParam() == sql::Dialect::postgres;
  EXPECT_TRUE(made.copy.path.ends_with(server ? "-20261126T140600Z.archive" : "-20261126T140600Z.db"))
      << made.copy.path;
  // One file, a database's with its sum, and nothing else, also after it was read.
  const std::size_t count = server ? 1 : 2;
  EXPECT_EQ(files("copies").size(), count);
  EXPECT_EQ(must(prove_copy(made.copy.path)).archive, text.archived);
  EXPECT_EQ(files("copies").size(), count);
  if (!server) {
    // GNU coreutils reads the sum.
    const std::string command = "cd " + place("copies") + " && sha256sum --check --strict --quiet *.sha256";
    EXPECT_EQ(std::system(command.c_str()), 0);
  }
  const auto listed = must(copies_in(place("copies")));
  ASSERT_EQ(listed.size(), 1U);
  EXPECT_EQ(listed[0].path, made.copy.path);
  // The book goes on and does not change its copy.
  Ids more;
  for (int n = 0; n < 5000; ++n) more.next();
  write({slip(more, owner("Late"))});
  for (const sql::Address& to :
       {sql::Address{place("new.db")}, sql::Address{support::PostgresServer::shared().fresh_database()}}) {
    const Restored restored = must(restore(made.copy.path, to));
    EXPECT_EQ(restored.copy.archive, text.archived);
    EXPECT_TRUE(restored.aside.empty());
    auto back = opened(to);
    EXPECT_EQ(archive_of(*back).text, text.text);
    EXPECT_EQ(says(*back), said);
    must(back->check());
    back.reset();
    // Never over what is there.
    EXPECT_EQ(restore(made.copy.path, to).error().fault, Fault::file);
    EXPECT_EQ(archive_of(*opened(to)).text, text.text);
  }
  // An archive written by hand comes back as well.
  must(write_archive_file(*book, place("shop.archive")));
  EXPECT_FALSE(write_archive_file(*book, place("shop.archive")));
  must(restore(place("shop.archive"), {place("third.db")}));
  EXPECT_EQ(archive_of(*opened({place("third.db")})).text, archive_of(*book).text);
}

TEST_P(Copies, WhatIsThereIsSetAsideWhenAsked) {
  write(made_shop(72, 60));
  const CopyMade made = must(make_copy(address, place("copies"), kNow));
  const std::string before = archive_of(*book).text;
  const std::string to = place("shop.db");
  {
    auto other = opened({to});
    must(other->write(made_shop(73, 30)));
    // Still open elsewhere, and with a log beside it.
    const Restored restored = must(restore(made.copy.path, {to}, kNow));
    EXPECT_EQ(restored.aside, to + ".aside-20261126T140600Z");
    EXPECT_EQ(archive_of(*opened({to})).text, before);
    // Who had it open writes into neither.
    Ids ids;
    EXPECT_FALSE(other->write({slip(ids, owner("Ada"))}));
  }
  EXPECT_EQ(must(opened({to + ".aside-20261126T140600Z"})->counts()).slips, 30);
  EXPECT_EQ(must(restore(made.copy.path, {to}, kNow)).aside, to + ".aside-20261126T140600Z-2");
  // What is damaged is set aside too.
  std::ofstream(to, std::ios::binary) << "This is no database.";
  must(restore(made.copy.path, {to}, kNow));
  EXPECT_EQ(archive_of(*opened({to})).text, before);
  // A log that nothing belongs to would spoil what is put beside it.
  std::ofstream(place("lone.db-wal")) << "x";
  EXPECT_FALSE(restore(made.copy.path, {place("lone.db")}));
  EXPECT_FALSE(fs::exists(place("lone.db")));
  must(restore(made.copy.path, {place("lone.db")}, kNow));
  EXPECT_TRUE(fs::exists(place("lone.db.aside-20261126T140600Z-wal")));
  EXPECT_EQ(archive_of(*opened({place("lone.db")})).text, before);
  if (GetParam() == sql::Dialect::postgres) {
    EXPECT_FALSE(restore(made.copy.path, fresh(), kNow));
  }
}

TEST_P(Copies, OlderOnesAreDroppedByTheRulesAndNothingElse) {
  write(made_shop(74, 20));
  fs::create_directories(place("copies"));
  std::ofstream(place("copies/notes.txt")) << "mine";
  std::ofstream(place("copies/elsewhere-20200101T000000Z.db")) << "another book's";
  std::vector<std::string> paths;
  for (int n = 0; n < 5; ++n) {
    const CopyMade made = must(make_copy(address, place("copies"), kNow.later(n), KeepRules{3, 0, 0, 0}));
    paths.push_back(made.copy.path);
    EXPECT_EQ(made.dropped,
              n < 3 ? std::vector<std::string>{} : std::vector{paths[static_cast<std::size_t>(n) - 3]});
  }
  EXPECT_EQ(files("copies").size(), GetParam() == sql::Dialect::sqlite ? 8U : 5U);
  EXPECT_TRUE(fs::exists(place("copies/notes.txt")));
  EXPECT_TRUE(fs::exists(place("copies/elsewhere-20200101T000000Z.db")));
  // Two of one second.
  const CopyMade twin = must(make_copy(address, place("copies"), kNow.later(4)));
  EXPECT_EQ(twin.copy.name.nth, 2);
  EXPECT_EQ(must(copies_in(place("copies")))[0].path, twin.copy.path);
}

TEST_P(Copies, ADamagedOneIsSeen) {
  Ids ids;
  write({slip(ids, owner("Ada of the marked words"))});
  keep(*book, std::string(5000, 'x') + "a photo of some size");
  const CopyMade made = must(make_copy(address, place("copies"), kNow));
  std::string good;
  {
    std::ifstream in(made.copy.path, std::ios::binary);
    good.assign(std::istreambuf_iterator<char>(in), {});
  }
  const std::string bad = place("bad");
  if (GetParam() == sql::Dialect::sqlite) fs::copy(made.copy.path + ".sha256", bad + ".sha256");
  std::mt19937_64 engine(75);
  std::vector<std::size_t> places{good.find("marked words")};
  for (int n = 0; n < 30; ++n) places.push_back(100 + engine() % (good.size() - 100));
  for (const std::size_t at : places) {
    ASSERT_LT(at, good.size());
    std::string changed = good;
    changed[at] = static_cast<char>(changed[at] ^ 1);
    std::ofstream(bad, std::ios::binary) << changed;
    EXPECT_FALSE(prove_copy(bad)) << at;
    EXPECT_FALSE(restore(bad, {place("from-bad.db")})) << at;
    EXPECT_FALSE(fs::exists(place("from-bad.db")));
  }
  // A photo's bytes are held to their name even where no sum stands beside the copy.
  fs::remove(bad + ".sha256");
  {
    std::string changed = good;
    changed[(GetParam() == sql::Dialect::sqlite ? good.find("xxxxxxxx") : good.find("eHh4eHh4")) + 100] = 'y';
    std::ofstream(bad, std::ios::binary) << changed;
    EXPECT_FALSE(prove_copy(bad));
    EXPECT_FALSE(restore(bad, {place("from-bad.db")}));
  }
  std::ofstream(bad, std::ios::binary) << good.substr(0, good.size() / 2);
  EXPECT_FALSE(prove_copy(bad));
  EXPECT_FALSE(restore(bad, {place("from-bad.db")}));
  std::ofstream(bad, std::ios::binary) << "neither";
  EXPECT_NE(prove_copy(bad).error().what.find("neither"), std::string::npos);
  EXPECT_FALSE(prove_copy(place("none")));
  EXPECT_FALSE(prove_copy(place("")));
  EXPECT_FALSE(make_copy({place("none.db")}, place("copies"), kNow.later(60)));
  for (const auto& entry : fs::directory_iterator(place("")))
    EXPECT_EQ(entry.path().string().find("from-bad"), std::string::npos) << entry.path();
}

TEST_P(Copies, MadeWhileOthersWriteHoldAllThatWasAcknowledged) {
  Ids ids;
  const Slip sax = slip(ids, instrument("Alto", "1"));
  const Slip in = slip(ids, visit("rattles"), sax.id);
  write({sax, in});
  constexpr std::size_t kWriters = 2;
  std::array<std::atomic<std::size_t>, kWriters> acknowledged{};
  std::array<std::vector<Slip>, kWriters> slips;
  for (auto& one : slips) {
    for (int n = 0; n < 20'000; ++n) one.push_back(slip(ids, reading("0.1 mm"), in.id));
  }
  std::atomic<bool> over{false};
  std::atomic<int> failed{0};
  std::vector<std::thread> threads;
  for (std::size_t w = 0; w < kWriters; ++w) {
    threads.emplace_back([&, w] {
      auto own = Book::open(address, {false, std::chrono::seconds(60)});
      for (std::size_t n = 0; !over && n < slips[w].size(); ++n) {
        const auto written = own ? (*own)->write({slips[w][n]}) : tl::unexpected(own.error());
        if (!written || written->front().outcome != Outcome::written) ++failed;
        ++acknowledged[w];
      }
    });
  }
  std::vector<CopyMade> made;
  std::vector<std::array<std::size_t, kWriters>> before;
  for (int n = 0; n < 5; ++n) {
    // However slow the machine is, something is acknowledged before each copy; `failed` is seen below.
    while (failed == 0 && acknowledged[0] + acknowledged[1] < 5U * (static_cast<std::size_t>(n) + 1))
      std::this_thread::yield();
    before.push_back({acknowledged[0], acknowledged[1]});
    made.push_back(must(make_copy(address, place("copies"), kNow.later(n))));
  }
  over = true;
  for (std::thread& t : threads) t.join();
  EXPECT_EQ(failed, 0);
  EXPECT_GE(acknowledged[0] + acknowledged[1], 25U);
  for (std::size_t n = 0; n < made.size(); ++n) {
    const sql::Address to{place("back-" + std::to_string(n))};
    must(restore(made[n].copy.path, to));
    auto back = opened(to);
    EXPECT_EQ(archive_of(*back).archived, made[n].archive);
    for (std::size_t w = 0; w < kWriters; ++w) {
      for (std::size_t k = 0; k < before[n][w]; ++k) ASSERT_TRUE(must(back->thing(slips[w][k].id)));
    }
  }
}

/// Runs `work` in another process, killed after so many microseconds (0: never); its exit code, -1 when
/// killed.
int in_a_process(int kill_after, const std::function<int()>& work) {
  const pid_t pid = ::fork();
  if (pid < 0) throw std::runtime_error("no process");
  if (pid == 0) ::_exit(work());
  if (kill_after > 0) {
    ::usleep(static_cast<useconds_t>(kill_after));
    ::kill(pid, SIGKILL);
  }
  int status = 0;
  ::waitpid(pid, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

TEST_P(Copies, KilledInTheMiddleLeavesNoHalfOne) {
  write(made_shop(76, 400));
  const Archived whole = must(sum_of(*book));
  const CopyMade first = must(make_copy(address, place("copies"), kNow));
  book.reset();
  std::mt19937_64 engine(77);
  int killed = 0;
  for (int n = 0; n < 40; ++n) {
    const int after = 1 + static_cast<int>(engine() % 60'000);
    killed +=
        in_a_process(
            after,
            [&] {
              const auto made = make_copy(address, place("copies"), kNow.later(n + 1), KeepRules{4, 0, 0, 0});
              return made ? 0 : 1;
            }) == -1
            ? 1
            : 0;
    const std::string to = place("restored-" + std::to_string(n));
    killed += in_a_process(after, [&] { return restore(first.copy.path, {to}) ? 0 : 1; }) == -1 ? 1 : 0;
    if (fs::exists(to)) {
      EXPECT_EQ(must(prove_copy(to)).archive, whole) << n;
    }
    for (const Copy& copy : must(copies_in(place("copies"))))
      ASSERT_EQ(must(prove_copy(copy.path)).archive, whole) << n;
    if (n == 0) fs::copy(first.copy.path, place("first"));
    if (!fs::exists(first.copy.path)) fs::copy(place("first"), first.copy.path);
  }
  EXPECT_GT(killed, 5);
  // The next one that goes well takes away what was left.
  must(make_copy(address, place("copies"), kNow.later(100), KeepRules{1, 0, 0, 0}));
  EXPECT_EQ(files("copies").size(), GetParam() == sql::Dialect::sqlite ? 2U : 1U);
}

TEST_P(Copies, AFullDiskLeavesNoHalfOneAndSaysSo) {
  write(made_shop(78, 100));
  keep(*book, std::string(600'000, 'p'));
  const CopyMade good = must(make_copy(address, place("copies"), kNow));
  book.reset();
  const int code = in_a_process(0, [&] {
    // No file may grow beyond this: the writes that would are refused, as on a full disk.
    std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{400'000, 400'000};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    const auto made = make_copy(address, place("copies"), kNow.later(1), KeepRules{1, 0, 0, 0});
    if (made || made.error().fault != Fault::file || made.error().what.empty()) return 2;
    const auto back = restore(good.copy.path, {place("new.db")});
    return back || back.error().fault != Fault::file ? 3 : 0;
  });
  EXPECT_EQ(code, 0);
  EXPECT_EQ(files("copies").size(), GetParam() == sql::Dialect::sqlite ? 2U : 1U);
  EXPECT_FALSE(fs::exists(place("new.db")));
  EXPECT_EQ(must(prove_copy(good.copy.path)).archive, good.archive);
}

TEST(CopiesOfOlderForms, ComeBackAsTheyWere) {
  // The copy that is kept before a book is brought forward is one that can be restored; here it is newest.
  sql::test::TemporaryFolder folder;
  const sql::Address address{(folder.path() / "book.db").string()};
  auto book = opened(address);
  must(book->write(made_shop(79, 50)));
  must(book->copy_to((folder.path() / "book.db.before-2").string()));
  const Restored back =
      must(restore((folder.path() / "book.db.before-2").string(), {(folder.path() / "b").string()}));
  EXPECT_EQ(back.copy.archive, must(sum_of(*book)));
  EXPECT_EQ(back.copy.form, newest_form());
}

}  // namespace
}  // namespace hingeline::store::test

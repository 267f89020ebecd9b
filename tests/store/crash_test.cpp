// Writers killed at random moments, servers gone, disks full: what was acknowledged is there, once.

#include <gtest/gtest.h>

#include <fcntl.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <random>
#include <set>

#include "store/support.h"

namespace hingeline::store::test {
namespace {

constexpr std::size_t kIdSize = 36;

/// Ids no two writers share.
class OwnIds {
 public:
  explicit OwnIds(std::uint64_t writer) : writer_(writer) {}
  std::string next() {
    ++count_;
    return record::slip_id(1'700'000'000'000ULL + count_, writer_ & 0xFFFU, writer_ << 20U | count_);
  }

 private:
  std::uint64_t writer_;
  std::uint64_t count_ = 0;
};

/// A process that opens the book, writes readings and corrections of them one after the other, and sends the
/// id of each through a pipe once it was acknowledged.
struct WriterProcess {
  pid_t pid = 0;
  int acknowledged = -1;
};

[[noreturn]] void write_for_ever(const sql::Address& address, const std::string& visit, std::uint64_t writer,
                                 int out) {
  auto book = Book::open(address, {false, std::chrono::seconds(30)});
  if (!book) ::_exit(3);
  OwnIds ids(writer);
  Slip last;
  for (int n = 0;; ++n) {
    Slip next;
    next.id = ids.next();
    next.at = "2026-11-25T14:05:00Z";
    next.of = visit;
    next.body = reading("0.1 mm");
    if (n % 3 == 2) {
      next.replaces = last.id;
      next.why = "read again";
    }
    const auto written = (*book)->write({next});
    if (!written || written->front().outcome != Outcome::written) ::_exit(4);
    // Small enough to go into the pipe whole or not at all.
    if (::write(out, next.id.data(), kIdSize) != static_cast<ssize_t>(kIdSize)) ::_exit(5);
    last = next;
  }
}

WriterProcess start_writer(const sql::Address& address, const std::string& visit, std::uint64_t writer) {
  std::array<int, 2> ends{};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  // A pipe of 64 KiB holds what is written before anybody reads.
  const pid_t pid = ::fork();
  if (pid < 0) throw std::runtime_error("no process");
  if (pid == 0) {
    ::close(ends[0]);
    write_for_ever(address, visit, writer, ends[1]);
  }
  ::close(ends[1]);
  return {pid, ends[0]};
}

/// Waits until it says that something was kept, however slow the machine is.
bool wait_for_word(const WriterProcess& writer) {
  constexpr int kPatience = 60'000;
  pollfd word{writer.acknowledged, POLLIN, 0};
  return ::poll(&word, 1, kPatience) == 1;
}

/// Kills it, and gives what it had been told was kept. `stopped_by_itself`: that something went wrong in it.
std::vector<std::string> kill_writer(const WriterProcess& writer, bool& stopped_by_itself) {
  ::kill(writer.pid, SIGKILL);
  int status = 0;
  ::waitpid(writer.pid, &status, 0);
  stopped_by_itself = !WIFSIGNALED(status);
  std::string all;
  std::array<char, 4096> piece{};
  for (ssize_t n = 0; (n = ::read(writer.acknowledged, piece.data(), piece.size())) > 0;)
    all.append(piece.data(), static_cast<std::size_t>(n));
  ::close(writer.acknowledged);
  std::vector<std::string> out;
  for (std::size_t at = 0; at + kIdSize <= all.size(); at += kIdSize) out.push_back(all.substr(at, kIdSize));
  return out;
}

/// Every acknowledged slip is in the book, none twice, and the book is sound. Gives how many there are.
std::size_t expect_all_there(Book& book, const std::set<std::string>& acknowledged) {
  std::set<std::string> there;
  std::int64_t number = 0;
  for (;;) {
    const auto kept = must(book.after(number, 5000));
    if (kept.empty()) break;
    for (const Kept& k : kept) {
      EXPECT_EQ(k.number, number + 1);
      number = k.number;
      EXPECT_TRUE(there.insert(k.slip.id).second) << k.slip.id << " twice";
    }
  }
  for (const std::string& id : acknowledged) EXPECT_TRUE(there.contains(id)) << id << " was lost";
  must(book.check());
  return there.size();
}

class Crash : public OnBothBooks {};
INSTANTIATE_TEST_SUITE_P(Both, Crash, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres), name_of);

TEST_P(Crash, KilledWritersLoseNothingThatWasAcknowledged) {
  // Two writers at once; 300 of them killed on each database.
  constexpr int kRounds = 150;
  Ids ids;
  const Slip sax = slip(ids, instrument("Alto", "1"));
  const Slip in = slip(ids, visit("rattles"), sax.id);
  write({sax, in});
  std::mt19937_64 engine(7);
  std::set<std::string> acknowledged{sax.id, in.id};
  std::uint64_t writer = 0;
  std::size_t heard = 0;
  for (int round = 0; round < kRounds; ++round) {
    book.reset();
    std::vector<WriterProcess> writers;
    for (int k = 0; k < 2; ++k) writers.push_back(start_writer(address, in.id, ++writer));
    // A random moment, every third time from before it has opened the book; otherwise from its first word.
    if (round % 3 != 0) {
      ASSERT_TRUE(wait_for_word(writers.front()));
      ++heard;
    }
    ::usleep(static_cast<useconds_t>(engine() % 60'000));
    for (const WriterProcess& w : writers) {
      bool by_itself = false;
      for (std::string& id : kill_writer(w, by_itself)) acknowledged.insert(std::move(id));
      EXPECT_FALSE(by_itself);
    }
    book = opened(address);
    if (round % 10 == 9) expect_all_there(*book, acknowledged);
  }
  const std::size_t there = expect_all_there(*book, acknowledged);
  // At most the one under way of each writer was kept without its word having come through.
  EXPECT_LE(there, acknowledged.size() + writer);
  EXPECT_GE(acknowledged.size(), 2 + heard);
  // And the book goes on.
  EXPECT_EQ(write({slip(ids, visit("still here"), sax.id)})[0].outcome, Outcome::written);
}

TEST(CrashOfTheServer, WhatItAcknowledgedOutlastsIt) {
  // The whole PostgreSQL server stops as in a power cut, its commits having waited for the disk.
  support::PostgresServer server({.durable = true});
  const sql::Address address{server.fresh_database()};
  Ids ids;
  const Slip sax = slip(ids, instrument("Alto", "1"));
  const Slip in = slip(ids, visit("rattles"), sax.id);
  {
    auto book = opened(address);
    must(book->write({sax, in}));
  }
  std::mt19937_64 engine(8);
  std::set<std::string> acknowledged{sax.id, in.id};
  constexpr std::uint64_t kRounds = 5;
  for (std::uint64_t round = 0; round < kRounds; ++round) {
    const WriterProcess writer = start_writer(address, in.id, 5000 + round);
    ASSERT_TRUE(wait_for_word(writer));
    ::usleep(static_cast<useconds_t>(engine() % 60'000));
    server.crash();
    bool by_itself = false;
    for (std::string& id : kill_writer(writer, by_itself)) acknowledged.insert(std::move(id));
    server.start();
    auto book = opened(address);
    expect_all_there(*book, acknowledged);
  }
  EXPECT_GE(acknowledged.size(), 2 + kRounds);
}

TEST(CrashOfTheServer, AFullDiskLosesNothingAndSaysSo) {
  sql::test::TemporaryFolder folder;
  const sql::Address address{(folder.path() / "book").string()};
  Ids ids;
  const Slip sax = slip(ids, instrument("Alto", "1"));
  const Slip in = slip(ids, visit("rattles"), sax.id);
  {
    auto book = opened(address);
    must(book->write({sax, in}));
  }
  std::array<int, 2> ends{};
  ASSERT_EQ(::pipe2(ends.data(), O_CLOEXEC), 0);
  const pid_t pid = ::fork();
  if (pid == 0) {
    // No file may grow beyond this: the writes that would are refused, as on a full disk.
    std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{4'000'000, 4'000'000};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    auto book = Book::open(address);
    if (!book) ::_exit(3);
    OwnIds own(77);
    for (int n = 0; n < 20'000; ++n) {
      Slip next = slip(ids, record::NoteSlip{std::string(2000, 'x'), {}}, in.id);
      next.id = own.next();
      const auto written = (*book)->write({next});
      // A clear word, and the book can still be read.
      if (!written) ::_exit(written.error().fault == Fault::file && (*book)->thing(in.id) ? 0 : 6);
      if (::write(ends[1], next.id.data(), kIdSize) != static_cast<ssize_t>(kIdSize)) ::_exit(5);
    }
    ::_exit(7);
  }
  ::close(ends[1]);
  std::string all;
  std::array<char, 4096> piece{};
  for (ssize_t n = 0; (n = ::read(ends[0], piece.data(), piece.size())) > 0;)
    all.append(piece.data(), static_cast<std::size_t>(n));
  ::close(ends[0]);
  int status = 0;
  ::waitpid(pid, &status, 0);
  ASSERT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 0);
  std::set<std::string> acknowledged;
  for (std::size_t at = 0; at + kIdSize <= all.size(); at += kIdSize)
    acknowledged.insert(all.substr(at, kIdSize));
  EXPECT_GT(acknowledged.size(), 20U);
  auto book = opened(address);
  expect_all_there(*book, acknowledged);
  EXPECT_EQ(must(book->write({slip(ids, owner("There is room again"))}))[0].outcome, Outcome::written);
}

}  // namespace
}  // namespace hingeline::store::test

// The whole server killed at random moments, its disk full: what was acknowledged is in the book, once, and
// whoever sends again gets it in.

#include <gtest/gtest.h>

#include <sys/mount.h>
#include <sys/resource.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <random>
#include <set>
#include <thread>

#include "hingeline/record/assemble.h"
#include "store/archive_support.h"
#include "support/serving.h"

namespace hingeline::load {
namespace {

using Json = nlohmann::ordered_json;
using record::Slip;
using store::test::Ids;
using store::test::must;
using store::test::opened;
using support::Answered;
using support::Asker;
using support::Serving;

std::string batch(const Slip& slip) { return R"({"slips":[)" + record::write_slip(slip) + "]}"; }

/// What became of a batch of one: "written", "already", "waiting"; the status where it was not taken.
std::string became(const Answered& answer) {
  if (answer.status != 200) return std::to_string(answer.status);
  return Json::parse(answer.body).at("outcomes").at(0).at("outcome").get<std::string>();
}

/// Every acknowledged slip is in the book, none twice, and the book is sound. Gives how many there are.
std::size_t expect_all_there(const sql::Address& address, const std::set<std::string>& acknowledged) {
  auto book = opened(address);
  std::set<std::string> there;
  for (std::int64_t number = 0;;) {
    const auto page = must(book->after(number, 5000));
    if (page.empty()) break;
    for (const store::Kept& kept : page) {
      EXPECT_EQ(kept.number, number + 1);
      number = kept.number;
      EXPECT_TRUE(there.insert(kept.slip.id).second) << kept.slip.id << " twice";
    }
  }
  for (const std::string& id : acknowledged) EXPECT_TRUE(there.contains(id)) << id << " was lost";
  must(book->check());
  return there.size();
}

/// The port of the server that runs at the moment; who asks waits until there is one.
class Where {
 public:
  void is(std::uint16_t port) { port_ = port; }
  std::uint16_t operator()() const {
    while (port_ == 0) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    return port_;
  }

 private:
  std::atomic<std::uint16_t> port_{0};
};

/// Sends a slip until it is acknowledged, to whichever server runs.
std::string send_until_taken(const Where& where, std::unique_ptr<Asker>& asker, const Slip& slip) {
  for (;;) {
    if (!asker) asker = std::make_unique<Asker>(where());
    const Answered answer = asker->ask("POST", "/api/slips", batch(slip));
    if (answer.status == 200) return became(answer);
    asker.reset();
    if (answer.status != 0 && answer.status != 503) return became(answer);
  }
}

/// An instrument of few keys that name no other, a visit, readings and corrections of them, notes: as a bench
/// writes them down in their order.
std::vector<Slip> a_visit(Ids& ids) {
  Json document = Json::parse(std::ifstream(std::string(HINGELINE_SOURCE_DIR) + "/examples/saxophone.json"));
  for (const char* name : {"works", "stacks", "links", "closes_together", "budget"}) document.erase(name);
  document.at("keys").erase(document.at("keys").begin() + 4, document.at("keys").end());
  record::SlipMaking making;
  making.next_id = [&] { return ids.next(); };
  making.at = "2026-11-25T14:05:00Z";
  auto out = record::instrument_slips(document.dump(), "example", {}, "2026-11-25", making);
  if (!out) throw std::runtime_error(out.error().front().what);
  const std::vector<Slip> first = *out;
  for (const Slip& s : first) {
    if (s.kind() == record::SlipKind::visit)
      out->push_back(store::test::slip(ids, record::NoteSlip{"found in the rain", {}}, s.id));
    if (s.kind() != record::SlipKind::reading) continue;
    const Slip again = store::test::instead(ids, s, s.body);
    out->push_back(again);
    out->push_back(store::test::instead(ids, again, s.body, "and once more"));
  }
  return *out;
}

class WholeServer : public testing::TestWithParam<sql::Dialect> {
 protected:
  WholeServer() {
    const bool file = GetParam() == sql::Dialect::sqlite;
    address.text =
        file ? (folder.path() / "book.db").string() : support::PostgresServer::shared().fresh_database();
  }
  std::unique_ptr<Serving> started(std::uint64_t file_bytes = 0) {
    return std::make_unique<Serving>(Serving::Asked{
        HINGELINE_PROGRAM, address.text, (folder.path() / "serve.out").string(), {"--quiet"}, file_bytes});
  }
  sql::test::TemporaryFolder folder;
  sql::Address address;
};
INSTANTIATE_TEST_SUITE_P(Both, WholeServer, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres),
                         sql::test::name_of);

TEST_P(WholeServer, KilledUnderFourWritersAndABenchThatWasAwayLosesNothing) {
  // By hand: HINGELINE_KILLS=120 test_load --gtest_filter='*Killed*'
  const char* wanted = std::getenv("HINGELINE_KILLS");
  const int kills = wanted == nullptr ? 6 : std::max(std::atoi(wanted), 1);
  Ids ids;
  const Slip sax = store::test::slip(ids, store::test::instrument("Alto", "1"));
  const Slip in = store::test::slip(ids, store::test::visit("rattles"), sax.id);
  must(opened(address)->write({sax, in}));

  Where where;
  std::atomic<bool> over{false};
  std::mutex mutex;
  std::set<std::string> acknowledged{sax.id, in.id};
  std::atomic<int> again{0};
  std::vector<std::string> wrong;
  std::vector<std::thread> threads;
  for (std::uint64_t writer = 1; writer <= 4; ++writer) {
    threads.emplace_back([&, writer] {
      std::unique_ptr<Asker> asker;
      for (std::uint64_t n = 1; !over; ++n) {
        Slip slip = in;
        slip.id = record::slip_id(1'750'000'000'000ULL + n, writer, writer << 20U | n);
        slip.of = in.id;
        slip.body = record::NoteSlip{"cork is hard", {}};
        const std::string outcome = send_until_taken(where, asker, slip);
        const std::lock_guard lock(mutex);
        if (outcome == "written" || outcome == "already")
          acknowledged.insert(slip.id);
        else
          wrong.push_back(outcome);
        if (outcome == "already") ++again;
      }
    });
  }
  // Its slips are of days ago, come in any order, and each twice.
  std::vector<Slip> away = a_visit(ids);
  const std::vector<Slip> in_order = away;
  away.insert(away.end(), in_order.begin(), in_order.end());
  std::mt19937_64 engine(11);
  std::shuffle(away.begin(), away.end(), engine);
  threads.emplace_back([&] {
    std::unique_ptr<Asker> asker;
    for (const Slip& slip : away) {
      const std::string outcome = send_until_taken(where, asker, slip);
      const std::lock_guard lock(mutex);
      if (outcome != "written" && outcome != "already" && outcome != "waiting")
        wrong.push_back(std::string(record::word(slip.kind())) + " " + outcome);
      acknowledged.insert(slip.id);
    }
  });
  for (int kill = 0; kill < kills; ++kill) {
    const auto server = started();
    where.is(server->port());
    // Chance only shifts what is seen; nothing here waits for anything to be done.
    ::usleep(static_cast<useconds_t>(20'000 + engine() % 150'000));
    where.is(0);
    EXPECT_EQ(server->stop(SIGKILL), 128 + SIGKILL);
  }
  const auto server = started();
  where.is(server->port());
  threads.back().join();
  threads.pop_back();
  over = true;
  for (std::thread& thread : threads) thread.join();
  EXPECT_EQ(server->stop(SIGTERM), 0) << server->told();
  EXPECT_TRUE(wrong.empty()) << wrong.size() << " were refused, the first: " << wrong.front();
  EXPECT_EQ(expect_all_there(address, acknowledged), acknowledged.size());
  EXPECT_GT(acknowledged.size(), 50U);
  RecordProperty("slips", static_cast<int>(acknowledged.size()));
  RecordProperty("already_there", again);

  // The same told in order, by one bench that was there, is the same book.
  const sql::Address calm{(folder.path() / "calm.db").string()};
  auto book = opened(calm);
  must(book->write({sax, in}));
  must(book->write(in_order));
  auto whole = opened(address);
  for (const store::Kept& kept : must(whole->after(0, 1'000'000))) must(book->write({kept.slip}));
  EXPECT_EQ(store::test::archive_of(*whole).text, store::test::archive_of(*book).text);
  EXPECT_EQ(store::test::says(*whole), store::test::says(*book));
}

// ---- full disks -------------------------------------------------------------------------------------------

/// Writes notes until one is refused; gives what was answered then.
Answered write_until_refused(Asker& asker, Ids& ids, const std::string& visit,
                             std::set<std::string>& acknowledged, std::vector<Slip>& refused) {
  for (int n = 0; n < 20'000; ++n) {
    const Slip slip = store::test::slip(ids, record::NoteSlip{std::string(4000, 'x'), {}}, visit);
    const Answered answer = asker.ask("POST", "/api/slips", batch(slip));
    if (answer.status != 200) {
      refused.push_back(slip);
      return answer;
    }
    EXPECT_EQ(became(answer), "written");
    acknowledged.insert(slip.id);
  }
  return {200, {}};
}

/// A file system of its own in memory, as small as is asked for; where mounting is not allowed it says so.
class SmallDisk {
 public:
  SmallDisk(std::filesystem::path at, const std::string& size) : at_(std::move(at)) {
    std::filesystem::create_directories(at_);
    mounted_ = ::mount("tmpfs", at_.c_str(), "tmpfs", 0, ("size=" + size + ",mode=0777").c_str()) == 0;
  }
  ~SmallDisk() {
    if (mounted_) ::umount2(at_.c_str(), MNT_DETACH);
  }
  SmallDisk(const SmallDisk&) = delete;
  SmallDisk& operator=(const SmallDisk&) = delete;
  [[nodiscard]] bool mounted() const { return mounted_; }
  [[nodiscard]] const std::filesystem::path& path() const { return at_; }
  bool becomes(const std::string& size) const {
    return ::mount("tmpfs", at_.c_str(), "tmpfs", MS_REMOUNT, ("size=" + size).c_str()) == 0;
  }

 private:
  std::filesystem::path at_;
  bool mounted_ = false;
};

TEST(FullDisk, OfAFileRefusesWithAWordAndGoesOnWhenThereIsRoom) {
  // A disk of its own where that is allowed; else no file may grow beyond a size, which the system refuses in
  // the same place with another number.
  sql::test::TemporaryFolder folder;
  const SmallDisk disk(folder.path() / "disk", "3m");
  const sql::Address address{(disk.path() / "book.db").string()};
  Ids ids;
  const Slip sax = store::test::slip(ids, store::test::instrument("Alto", "1"));
  const Slip in = store::test::slip(ids, store::test::visit("rattles"), sax.id);
  must(opened(address)->write({sax, in}));
  Serving server({HINGELINE_PROGRAM,
                  address.text,
                  (folder.path() / "serve.out").string(),
                  {"--quiet"},
                  disk.mounted() ? 0U : 3'000'000U});
  Asker asker(server.port());
  std::set<std::string> acknowledged{sax.id, in.id};
  std::vector<Slip> refused;
  const Answered no = write_until_refused(asker, ids, in.id, acknowledged, refused);
  EXPECT_EQ(no.status, 503) << no.body;
  EXPECT_NE(no.body.find("disk"), std::string::npos) << no.body;
  EXPECT_GT(acknowledged.size(), 20U);
  // It can still be read, and the next one is refused alike.
  EXPECT_EQ(asker.get("/api/visits/" + in.id).status, 200);
  const Answered still = write_until_refused(asker, ids, in.id, acknowledged, refused);
  EXPECT_EQ(still.status, no.status) << still.body;

  if (disk.mounted()) {
    ASSERT_TRUE(disk.becomes("30m"));
  } else {
    const rlimit room{RLIM_INFINITY, RLIM_INFINITY};
    ASSERT_EQ(::prlimit(server.process(), RLIMIT_FSIZE, &room, nullptr), 0);
  }
  for (const Slip& slip : refused) {
    EXPECT_EQ(became(asker.ask("POST", "/api/slips", batch(slip))), "written");
    acknowledged.insert(slip.id);
  }
  EXPECT_EQ(server.stop(SIGTERM), 0);
  EXPECT_EQ(expect_all_there(address, acknowledged), acknowledged.size());
}

TEST(FullDisk, OfAServersRefusesWithAWordAndGoesOnWhenThereIsRoom) {
  sql::test::TemporaryFolder folder;
  ASSERT_EQ(::chmod(folder.path().c_str(), 0755), 0);
  const SmallDisk disk(folder.path() / "disk", "64m");
  support::PostgresServer postgres(
      {.durable = true, .parent = disk.mounted() ? disk.path().string() : "/tmp"});
  const sql::Address address{postgres.fresh_database()};
  Ids ids;
  const Slip sax = store::test::slip(ids, store::test::instrument("Alto", "1"));
  const Slip in = store::test::slip(ids, store::test::visit("rattles"), sax.id);
  must(opened(address)->write({sax, in}));
  // Where there is no disk of its own: the largest file is the log's, which stays as it is.
  if (!disk.mounted()) postgres.limit_files(17U << 20U);
  Serving server({HINGELINE_PROGRAM, address.text, (folder.path() / "serve.out").string(), {"--quiet"}});
  Asker asker(server.port());
  std::set<std::string> acknowledged{sax.id, in.id};
  std::vector<Slip> refused;
  const Answered no = write_until_refused(asker, ids, in.id, acknowledged, refused);
  EXPECT_EQ(no.status, 503) << no.body;
  EXPECT_NE(no.body.find("detail"), std::string::npos) << no.body;
  EXPECT_GT(acknowledged.size(), 20U);

  if (disk.mounted()) {
    ASSERT_TRUE(disk.becomes("200m"));
  } else {
    postgres.limit_files(RLIM_INFINITY);
  }
  // A database server that could not write its log stops and comes back: it is asked until it has.
  const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(60);
  for (const Slip& slip : refused) {
    std::string outcome;
    do {
      outcome = became(asker.ask("POST", "/api/slips", batch(slip)));
      if (outcome == "503") std::this_thread::sleep_for(std::chrono::milliseconds(100));
      if (outcome == "503" && !postgres.runs()) postgres.start();
    } while (outcome == "503" && std::chrono::steady_clock::now() < until);
    // It may have been kept without its word having come through.
    EXPECT_TRUE(outcome == "written" || outcome == "already") << outcome;
    acknowledged.insert(slip.id);
  }
  EXPECT_EQ(server.stop(SIGTERM), 0);
  EXPECT_EQ(expect_all_there(address, acknowledged), acknowledged.size());
}

}  // namespace
}  // namespace hingeline::load

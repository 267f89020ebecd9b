// The whole shop as one text: the same from either database, whole or refused.

#include "hingeline/store/archive.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <thread>

#include "store/archive_support.h"

namespace hingeline::store::test {
namespace {

/// What the fuzzer of archives starts from, and whatever once broke something: whole and in small pieces.
TEST(PastArchives, SayTheSameInPieces) {
  std::size_t whole_ones = 0;
  for (const char* folder : {"/fuzz/corpus/archive", "/fuzz/crashes/archive"}) {
    const std::filesystem::path all = std::string(HINGELINE_SOURCE_DIR) + folder;
    if (!std::filesystem::exists(all)) continue;
    for (const auto& entry : std::filesystem::directory_iterator(all)) {
      std::ifstream file(entry.path(), std::ios::binary);
      const std::string text{std::istreambuf_iterator<char>(file), {}};
      const auto checked = [&](std::size_t piece) {
        std::string_view left = text;
        return check_archive(
            [&](std::span<char> into) -> Expected<std::size_t> {
              const std::size_t size = std::min({into.size(), piece, left.size()});
              std::copy_n(left.begin(), size, into.begin());
              left.remove_prefix(size);
              return size;
            },
            "archive");
      };
      const auto whole = checked(text.size() + 1);
      const auto pieces = checked(7);
      ASSERT_EQ(whole.has_value(), pieces.has_value()) << entry.path();
      // Of those it starts from only the torn one is no archive.
      const bool start = std::string_view(folder) == "/fuzz/corpus/archive";
      EXPECT_EQ(whole.has_value(), start && entry.path().filename() != "torn") << entry.path();
      whole_ones += whole ? 1U : 0U;
    }
  }
  EXPECT_GT(whole_ones, 2U);
}

TEST(Sha256, IsTheStandards) {
  // The examples to FIPS 180-4, one block and two, and the sum of nothing; from memory. Python's hashlib
  // reckons whole archives' sums beside this below.
  EXPECT_EQ(sha256_hex(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha256_hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  Sha256 sum;
  for (const char* piece : {"a", "", "bc"}) sum.add(piece);
  EXPECT_EQ(sum.hex(), sha256_hex("abc"));
  EXPECT_TRUE(is_sha256_hex(sha256_hex("abc")));
  for (const std::string& wrong : {std::string(), std::string(63, 'a'), std::string(64, 'A')})
    EXPECT_FALSE(is_sha256_hex(wrong));
}

class Archives : public OnBothBooks {};
INSTANTIATE_TEST_SUITE_P(Both, Archives, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres),
                         name_of);

TEST_P(Archives, OfAnEmptyBookIsTwoLines) {
  const Text empty = archive_of(*book);
  const std::string heading =
      R"({"format":"hingeline-archive","version":1,"slips":0,"waiting":0,"forgotten":0,"bytes":0})"
      "\n";
  EXPECT_EQ(empty.text, heading + R"({"sha256":")" + sha256_hex(heading) + "\"}\n");
  EXPECT_EQ(empty.archived.sha256, sha256_hex(heading));
  auto other = opened(fresh());
  EXPECT_EQ(must(read_archive(*other, pieces_of(empty.text), "text")), empty.archived);
}

TEST_P(Archives, BringBackAllOfTheShopAndNothingElse) {
  for (const std::uint64_t seed : {21U, 22U, 23U}) {
    auto shop = opened(fresh());
    live_through({shop.get()}, seed, 250);
    const Text text = archive_of(*shop);
    EXPECT_GT(text.archived.slips, 100);
    auto again = opened(fresh());
    // Pieces of any size, down to single bytes.
    const std::size_t size = seed == 21 ? 1 : seed == 22 ? 77 : 1U << 20U;
    EXPECT_EQ(must(read_archive(*again, pieces_of(text.text, size), "text")), text.archived);
    EXPECT_EQ(archive_of(*again).text, text.text);
    EXPECT_EQ(says(*again), says(*shop));
    EXPECT_EQ(must(again->counts()).slips, must(shop->counts()).slips);
    EXPECT_EQ(must(again->counts()).things, must(shop->counts()).things);
    must(again->check());
    // It goes on from there as the first would: what it waited for comes, what was forgotten stays so.
    for (Book* b : {shop.get(), again.get()}) must(b->write(made_shop(seed, 250)));
    EXPECT_EQ(archive_of(*again).text, archive_of(*shop).text);
    EXPECT_EQ(says(*again), says(*shop));
  }
}

TEST_P(Archives, HoldWhatWaitsWhatWasRefusedAndWhatWasForgotten) {
  Ids ids;
  const Slip who = slip(ids, owner("Ada \"Example\""));
  const Slip sax = slip(ids, instrument("Alto", "1"), who.id);
  const Slip wrong = slip(ids, visit("of an owner"), who.id);
  const Slip early = slip(ids, reading("1 mm"), ids.next());
  write({wrong, early, who, sax});
  must(book->forget_owner(who.id));
  keep(*book, "");
  keep(*book, "a photo");
  const Text text = archive_of(*book);
  EXPECT_EQ(text.archived.slips, 2);
  EXPECT_EQ(text.archived.waiting, 2);
  EXPECT_EQ(text.archived.forgotten, 1);
  EXPECT_EQ(text.archived.bytes, 2);
  EXPECT_EQ(text.text.find("Ada"), std::string::npos);
  EXPECT_NE(text.text.find(R"({"needs":"","why":"a visit does not belong to a owner","waiting":)"),
            std::string::npos)
      << text.text;
  EXPECT_NE(text.text.find(R"({"needs":")" + early.of + R"(","why":"","waiting":)"), std::string::npos);
  EXPECT_NE(text.text.find(R"({"forgotten":")" + who.id + "\"}\n"), std::string::npos);
  // RFC 4648: "a photo" in base64, reckoned by hand from its section 4.
  EXPECT_NE(text.text.find(R"("base64":"YSBwaG90bw=="})"), std::string::npos);
  auto again = opened(fresh());
  must(read_archive(*again, pieces_of(text.text), "text"));
  EXPECT_EQ(must(again->write({wrong}))[0].refusal, Refusal::wrong_kind);
  EXPECT_EQ(must(again->write({early}))[0].outcome, Outcome::waiting);
  // Still forgotten: sent again it is known and changes nothing.
  EXPECT_EQ(must(again->write({who}))[0].outcome, Outcome::already);
  EXPECT_EQ(*must(again->bytes_of(sha256_hex("a photo"))), bytes_from("a photo"));
  EXPECT_EQ(archive_of(*again).text, text.text);
}

TEST_P(Archives, AreReadByAnotherProgramThatKnowsOnlyThePage) {
  live_through({book.get()}, 31, 300);
  const Text text = archive_of(*book);
  const std::string path = (folder.path() / "shop.archive").string();
  std::ofstream(path, std::ios::binary) << text.text;
  const std::string command =
      std::string(HINGELINE_PYTHON) + " " + HINGELINE_SOURCE_DIR + "/tests/store/read_archive.py " + path;
  std::FILE* const out = ::popen(command.c_str(), "r");
  ASSERT_NE(out, nullptr);
  std::array<char, 300> line{};
  ASSERT_NE(std::fgets(line.data(), line.size(), out), nullptr);
  EXPECT_EQ(::pclose(out), 0);
  const Archived& a = text.archived;
  EXPECT_EQ(std::string(line.data()), std::to_string(a.slips) + " " + std::to_string(a.waiting) + " " +
                                          std::to_string(a.forgotten) + " " + std::to_string(a.bytes) + " " +
                                          a.sha256 + "\n");
  EXPECT_GT(a.waiting, 0);
  EXPECT_GT(a.forgotten, 0);
  EXPECT_GT(a.bytes, 0);
}

TEST_P(Archives, GoIntoAnEmptyBookOnly) {
  Ids ids;
  const Text text = archive_of(*book);
  write({slip(ids, owner("Ada"))});
  const std::string before = archive_of(*book).text;
  const auto refused = read_archive(*book, pieces_of(text.text), "text");
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().fault, Fault::file);
  EXPECT_NE(refused.error().what.find("not empty"), std::string::npos);
  EXPECT_EQ(archive_of(*book).text, before);
}

/// The same archive with its sum reckoned anew: what is wrong in it has to be seen otherwise.
std::string summed(const std::string& text) {
  const std::size_t end = text.rfind("{\"sha256\":");
  return text.substr(0, end) + R"({"sha256":")" + sha256_hex(text.substr(0, end)) + "\"}\n";
}
std::string with(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  if (at == std::string::npos) throw std::runtime_error("no " + from);
  return text.replace(at, from.size(), to);
}

TEST_P(Archives, ThatAreNotWholeAreRefusedWithAClearWord) {
  Ids ids;
  const Slip who = slip(ids, owner("Ada Example"));
  const Slip sax = slip(ids, instrument("Alto", "1"), who.id);
  const Slip play = slip(ids, reading("1 mm"), ids.next());
  write({who, sax, play});
  must(book->forget_owner(who.id));
  keep(*book, "a photo");
  const std::string good = archive_of(*book).text;
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < good.size(); at = good.find('\n', at) + 1)
    lines.push_back(good.substr(at, good.find('\n', at) + 1 - at));
  ASSERT_EQ(lines.size(), 7U);
  const auto joined = [&](const std::vector<std::size_t>& order) {
    std::string out;
    for (const std::size_t n : order) out += lines[n];
    return out;
  };
  const Slip orphan = slip(ids, instrument("Bass", "2"), ids.next());
  const struct {
    std::string text;
    Fault fault;
    const char* says;
  } rows[] = {
      {"", Fault::syntax, "torn"},
      {"{}\n", Fault::syntax, "no archive"},
      {good.substr(0, good.size() - 1), Fault::syntax, "torn"},
      {joined({0, 1, 2, 3, 4, 5}), Fault::syntax, "torn"},
      {joined({0, 1, 2, 3}), Fault::syntax, "torn"},
      {good + "\n", Fault::syntax, "after the archive's end"},
      {good + good, Fault::syntax, "after the archive's end"},
      {good + "x", Fault::syntax, "after the archive's end"},
      {with(good, "Alto", "Elto"), Fault::syntax, "its sum is another"},
      {with(good, "\"version\":1", "\"version\":2"), Fault::version, "version 2"},
      {with(good, "\"version\":1", "\"version\":0"), Fault::syntax, "version"},
      {joined({0, 1, 1, 2, 3, 4, 5, 6}), Fault::syntax, "out of order or twice"},
      {joined({0, 2, 1, 3, 4, 5, 6}), Fault::syntax, "out of order or twice"},
      {joined({0, 1, 3, 2, 4, 5, 6}), Fault::syntax, "out of its part"},
      {joined({0, 1, 2, 4, 5, 6}), Fault::syntax, "not hold as much"},
      // From here on the sum is right and the archive says what cannot be.
      {summed(with(good, "\"slips\":2", "\"slips\": 2")), Fault::syntax, "heading"},
      {summed(with(good, "\"slips\":2", "\"slips\":3")), Fault::syntax, "not hold as much"},
      {summed(with(good, "{\"slip\":{", "{\"slip\":{ ")), Fault::syntax, "not written as slips are"},
      {summed(with(good, "{\"slip\":{", "{\"slip\":[")), Fault::syntax, ""},
      {summed(with(good, lines[4], R"({"forgotten":")" + orphan.id + "\"}\n")), Fault::content,
       "is not there"},
      {summed(with(good, "\"needs\":\"" + play.of, "\"needs\":\"" + sax.id)), Fault::content,
       "waits for one that is there"},
      {summed(with(good, "\"needs\":\"" + play.of, "\"needs\":\"")), Fault::content, "refused for a reason"},
      {summed(with(good, "\"why\":\"\"", "\"why\":\"\\u0041\"")), Fault::syntax, "no line of an archive"},
      {summed(with(good, "\"why\":\"\"", "\"why\":\"\\")), Fault::syntax, "no line of an archive"},
      {summed(with(good, "YSBwaG90bw==", "YSBwaG90bx==")), Fault::syntax, "base64"},
      {summed(with(good, "YSBwaG90bw==", "YSBwaG90bw= ")), Fault::syntax, "base64"},
      {summed(with(good, "YSBwaG90bw==", "YSBwaG90cw==")), Fault::content, "SHA-256"},
      {summed(with(with(good, lines[2], lines[2] + "{\"slip\":" + record::write_slip(orphan) + "}\n"),
                   "\"slips\":2", "\"slips\":3")),
       Fault::content, "what it names is not there"},
      {summed(with(with(good, lines[2],
                        lines[2] + "{\"slip\":" + record::write_slip(slip(ids, visit("x"), who.id)) + "}\n"),
                   "\"slips\":2", "\"slips\":3")),
       Fault::content, "does not belong to"},
  };
  auto other = opened(fresh());
  const std::string nothing = archive_of(*other).text;
  for (const auto& row : rows) {
    const auto read = read_archive(*other, pieces_of(row.text), "shop.archive");
    ASSERT_FALSE(read) << row.says;
    EXPECT_EQ(read.error().fault, row.fault) << row.says << ": " << read.error().what;
    EXPECT_NE(read.error().what.find(row.says), std::string::npos) << row.says << ": " << read.error().what;
    EXPECT_EQ(read.error().place.file, "shop.archive") << row.says;
    ASSERT_EQ(archive_of(*other).text, nothing) << row.says;
  }
  EXPECT_TRUE(read_archive(*other, pieces_of(good), "shop.archive"));
}

TEST_P(Archives, AnySingleByteThatIsChangedIsSeen) {
  live_through({book.get()}, 41, 60);
  const Text text = archive_of(*book);
  auto other = opened(fresh());
  std::mt19937_64 engine(42);
  for (int n = 0; n < 200; ++n) {
    std::string changed = text.text;
    char& byte = changed[engine() % changed.size()];
    byte = static_cast<char>(byte ^ static_cast<char>(1 + engine() % 255));
    const auto read = read_archive(*other, pieces_of(changed), "text");
    ASSERT_FALSE(read) << n;
    ASSERT_FALSE(read.error().what.empty());
  }
  // Torn anywhere it is seen as well.
  for (int n = 0; n < 20; ++n)
    ASSERT_FALSE(read_archive(*other, pieces_of(text.text.substr(0, engine() % text.text.size())), "text"));
  EXPECT_EQ(must(other->counts()).slips, 0);
  EXPECT_EQ(must(read_archive(*other, pieces_of(text.text), "text")), text.archived);
}

TEST_P(Archives, ASinkOrASourceThatFailsIsTold) {
  write(made_shop(1, 50));
  const auto full = [](std::string_view) -> Expected<void> { return fail(Fault::file, "no room"); };
  EXPECT_EQ(write_archive(*book, full).error().what, "no room");
  const std::string text = archive_of(*book).text;
  auto other = opened(fresh());
  auto first = pieces_of(text, 500);
  int pieces = 0;
  const auto breaks = [&](std::span<char> into) -> Expected<std::size_t> {
    if (++pieces == 5) return fail(Fault::file, "it does not read");
    return first(into);
  };
  EXPECT_EQ(read_archive(*other, breaks, "text").error().what, "it does not read");
  EXPECT_EQ(must(other->counts()).slips, 0);
  // Both books can be used as before.
  must(read_archive(*other, pieces_of(text), "text"));
}

TEST_P(Archives, AreOfOneMomentWhileOthersWrite) {
  // A writer adds pairs in one transaction each: whole pairs are in the archive, and all that was there when
  // it began.
  Ids ids;
  const Slip sax = slip(ids, instrument("Alto", "1"));
  write({sax});
  std::atomic<bool> over{false};
  std::atomic<int> pairs{0};
  std::thread writer([&] {
    auto own = opened(address);
    while (!over) {
      const Slip in = slip(ids, visit("rattles"), sax.id);
      must(own->write({in, slip(ids, reading("1 mm"), in.id)}));
      ++pairs;
    }
  });
  for (int n = 0; n < 20; ++n) {
    const int before = pairs;
    const Text text = archive_of(*book);
    EXPECT_EQ(text.archived.slips % 2, 1);
    EXPECT_GE(text.archived.slips, 1 + 2 * before);
    EXPECT_TRUE(check_archive(pieces_of(text.text), "text"));
  }
  over = true;
  writer.join();
}

TEST(BothArchives, AreTheSameToTheByteWhateverTheDatabase) {
  sql::test::TemporaryFolder folder;
  // One database each, emptied between: a server makes a new one slowly.
  const sql::Address server{support::PostgresServer::shared().fresh_database()};
  std::int64_t waiting = 0;
  std::int64_t forgotten = 0;
  for (std::uint64_t seed = 1000; seed < 1100; ++seed) {
    {
      auto raw = sql::test::opened(server);
      ASSERT_TRUE(raw->run_all("drop schema public cascade; create schema public"));
    }
    auto one = opened({(folder.path() / std::to_string(seed)).string()});
    auto two = opened(server);
    live_through({one.get(), two.get()}, seed, 30);
    const Text a = archive_of(*one);
    ASSERT_EQ(a.text, archive_of(*two).text) << "seed " << seed;
    waiting += a.archived.waiting;
    forgotten += a.archived.forgotten;
  }
  // They do hold what is rare.
  EXPECT_GT(waiting, 50);
  EXPECT_GT(forgotten, 30);
}

TEST(BothArchives, AShopMovesToTheServerAndBack) {
  sql::test::TemporaryFolder folder;
  auto small = opened({(folder.path() / "one").string()});
  live_through({small.get()}, 51, 300);
  const Text text = archive_of(*small);
  auto large = opened({support::PostgresServer::shared().fresh_database()});
  const Moved there = must(move_book(*small, *large));
  EXPECT_EQ(there.archive, text.archived);
  EXPECT_EQ(there.from.slips, there.to.slips);
  EXPECT_EQ(there.from.waiting, there.to.waiting);
  EXPECT_EQ(there.from.things, there.to.things);
  EXPECT_EQ(archive_of(*large).text, text.text);
  EXPECT_EQ(says(*large), says(*small));
  must(large->check());
  auto back = opened({(folder.path() / "two").string()});
  must(move_book(*large, *back));
  EXPECT_EQ(archive_of(*back).text, text.text);
  must(back->check());
  // Not over what is there, nor into itself.
  EXPECT_FALSE(move_book(*small, *large));
  EXPECT_FALSE(move_book(*small, *back));
  EXPECT_FALSE(move_book(*small, *small));
  EXPECT_EQ(archive_of(*large).text, text.text);
}

TEST(BothArchives, DamagedBytesAreSeenWhenTheyAreWritten) {
  sql::test::TemporaryFolder folder;
  const sql::Address address{(folder.path() / "book").string()};
  auto book = opened(address);
  keep(*book, "a photo");
  auto raw = sql::test::opened(address);
  ASSERT_TRUE(raw->run("update bytes set data = $1", std::vector<sql::Cell>{bytes_from("b photo")}));
  const auto written = sum_of(*book);
  ASSERT_FALSE(written);
  EXPECT_NE(written.error().what.find("damaged"), std::string::npos);
}

}  // namespace
}  // namespace hingeline::store::test

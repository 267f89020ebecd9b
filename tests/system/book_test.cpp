// The shop's book from the command line.

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "hingeline/store/copies.h"
#include "program.h"
#include "support/postgres_server.h"

namespace hingeline::test {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

/// A shop of one owner, an instrument and so many visits with a reading each, made through the room itself:
/// no command writes slips yet.
void make_shop(const std::string& place, std::uint64_t visits = 20) {
  std::uint64_t count = 0;
  const auto slip = [&](record::SlipBody body, const std::string& of) {
    ++count;
    record::Slip s;
    s.id = record::slip_id(1'700'000'000'000ULL + count, count, count);
    s.at = "2026-11-25T14:05:00Z";
    s.of = of;
    s.body = std::move(body);
    return s;
  };
  std::vector<record::Slip> slips;
  slips.push_back(slip(record::OwnerSlip{"Ada Example", "555 0100", {}, {}}, ""));
  slips.push_back(slip(record::InstrumentSlip{"Old alto", "alto saxophone", "1", {}, {}}, slips[0].id));
  for (std::uint64_t n = 0; n < visits; ++n) {
    slips.push_back(slip(record::VisitSlip{"rattles", "2026-11-20", "", record::VisitState::waiting, {}, {}},
                         slips[1].id));
    slips.push_back(slip(record::ReadingSlip{"/readings/end_play", {"\"0.1 mm\"", {}}, {}}, slips.back().id));
  }
  auto book = store::Book::open({place});
  if (!book || !(*book)->write(slips)) throw std::runtime_error("no shop");
}

/// What a command says as JSON; it must go well.
json told(std::vector<std::string> arguments, const Setting& setting = {}) {
  arguments.insert(arguments.begin(), "book");
  arguments.emplace_back("--json");
  const Outcome o = hingeline_with(arguments, setting);
  EXPECT_EQ(o.code, 0) << o.err;
  EXPECT_EQ(o.err, "");
  return o.code == 0 ? json::parse(o.out) : json();
}
std::string sum_of(const std::string& place) { return told({"show", place, "--sum"}).value("sum", ""); }

TEST(BookCommand, ShowsWhatIsInIt) {
  const Folder folder;
  const std::string place = (folder.path() / "shop.db").string();
  make_shop(place);
  const json shown = told({"show", place});
  EXPECT_EQ(shown["slips"], 42);
  EXPECT_EQ(shown["visits"], 20);
  EXPECT_EQ(shown["things"], 42);
  EXPECT_EQ(shown["waiting"], 0);
  EXPECT_EQ(shown["photos"], 0);
  EXPECT_EQ(shown["form"], store::newest_form());
  EXPECT_GT(shown["bytes"], 10'000);
  EXPECT_FALSE(shown.contains("sum"));
  const std::string sum = sum_of(place);
  EXPECT_EQ(sum.size(), 64U);
  const Outcome words = hingeline_with({"book", "show", place, "--sum"});
  EXPECT_EQ(words.code, 0);
  EXPECT_NE(words.out.find("visits     20"), std::string::npos) << words.out;
  EXPECT_NE(words.out.find(sum), std::string::npos);
  const json checked = told({"check", place});
  EXPECT_EQ(checked["sound"], true);
  EXPECT_EQ(checked["sum"], sum);
  // Looking changes nothing and makes nothing.
  EXPECT_EQ(hingeline_with({"book", "show", (folder.path() / "none.db").string()}).code, 3);
  EXPECT_FALSE(fs::exists(folder.path() / "none.db"));
}

TEST(BookCommand, KnowsItsPlaceFromTheEnvironment) {
  const Folder folder;
  const std::string home = folder.path().string();
  fs::create_directories(folder.path() / "data/hingeline");
  fs::create_directories(folder.path() / ".local/share/hingeline");
  make_shop(home + "/set.db", 1);
  make_shop(home + "/data/hingeline/book.db", 2);
  make_shop(home + "/.local/share/hingeline/book.db", 3);
  const auto visits = [](const std::vector<std::string>& environment) {
    return told({"show"}, {.environment = environment}).value("visits", -1);
  };
  EXPECT_EQ(visits({"HINGELINE_BOOK=" + home + "/set.db", "XDG_DATA_HOME=" + home + "/data", "HOME=" + home}),
            1);
  EXPECT_EQ(visits({"XDG_DATA_HOME=" + home + "/data", "HOME=" + home}), 2);
  // XDG Base Directory Specification: a relative path is taken for none, and so is an empty one.
  EXPECT_EQ(visits({"XDG_DATA_HOME=data", "HOME=" + home}), 3);
  EXPECT_EQ(visits({"XDG_DATA_HOME=", "HINGELINE_BOOK=", "HOME=" + home}), 3);
  const Outcome nowhere = hingeline_with({"book", "show"});
  EXPECT_EQ(nowhere.code, 2);
  EXPECT_NE(nowhere.err.find("HINGELINE_BOOK"), std::string::npos);
  // A book that is named comes first, and a new one's folder is made.
  make_shop(home + "/four.db", 4);
  EXPECT_EQ(hingeline_with({"book", "write-out", home + "/a", "--book", home + "/four.db"}).code, 0);
  told({"read-in", home + "/a"}, {.environment = {"HOME=" + home + "/new"}});
  EXPECT_EQ(visits({"HOME=" + home + "/new"}), 4);
}

TEST(BookCommand, CopiesAndBringsBack) {
  const Folder folder;
  const std::string place = (folder.path() / "shop.db").string();
  const std::string copies = (folder.path() / "copies").string();
  make_shop(place);
  const std::string sum = sum_of(place);
  const json made = told({"copy", copies, "--book", place});
  EXPECT_EQ(made["sum"], sum);
  EXPECT_TRUE(made["dropped"].empty());
  const std::string copy = made["copy"];
  EXPECT_TRUE(store::copy_name_of(fs::path(copy).filename().string())) << copy;
  const json next = told({"copy", copies, "--book", place, "--keep", "1"});
  EXPECT_EQ(next["dropped"], json::array({copy}));
  const json listed = told({"copies", copies, "--check"});
  ASSERT_EQ(listed["copies"].size(), 1U);
  EXPECT_EQ(listed["copies"][0]["copy"], next["copy"]);
  EXPECT_EQ(listed["copies"][0]["sound"], true);
  EXPECT_EQ(listed["copies"][0]["sum"], sum);
  EXPECT_NE(hingeline_with({"book", "copies", copies}).out.find("shop"), std::string::npos);

  const std::string back = (folder.path() / "back.db").string();
  EXPECT_EQ(told({"restore", next["copy"], back})["sum"], sum);
  EXPECT_EQ(sum_of(back), sum);
  const Outcome over = hingeline_with({"book", "restore", next["copy"], back});
  EXPECT_EQ(over.code, 3);
  EXPECT_NE(over.err.find("there is something already"), std::string::npos) << over.err;
  const json aside = told({"restore", next["copy"], back, "--aside"});
  EXPECT_EQ(sum_of(aside["aside"]), sum);

  // A damaged copy is told among the others, and the exit code says so.
  std::string bytes = file_text(next["copy"].get<std::string>());
  bytes[bytes.find("Ada Example")] = 'B';
  std::ofstream(next["copy"].get<std::string>(), std::ios::binary) << bytes;
  const Outcome damaged = hingeline_with({"book", "copies", copies, "--check", "--json"});
  EXPECT_EQ(damaged.code, 3);
  EXPECT_EQ(json::parse(damaged.out)["copies"][0]["sound"], false);
  EXPECT_EQ(hingeline_with({"book", "check", next["copy"]}).code, 3);
  EXPECT_EQ(hingeline_with({"book", "restore", next["copy"], (folder.path() / "no.db").string()}).code, 3);
  EXPECT_EQ(hingeline_with({"book", "copy", copies, "--book", place, "--keep", "often"}).code, 2);
  EXPECT_EQ(hingeline_with({"book", "copies", (folder.path() / "none").string()}).code, 3);
}

TEST(BookCommand, WritesOutReadsInAndMoves) {
  const Folder folder;
  const std::string place = (folder.path() / "shop.db").string();
  make_shop(place);
  const std::string sum = sum_of(place);
  const std::string archive = (folder.path() / "shop.archive").string();
  EXPECT_EQ(told({"write-out", archive, "--book", place})["sum"], sum);
  EXPECT_EQ(hingeline_with({"book", "write-out", archive, "--book", place}).code, 3);
  const Outcome out = hingeline_with({"book", "write-out", "-", "--book", place});
  EXPECT_EQ(out.code, 0);
  EXPECT_EQ(out.out, file_text(archive));
  EXPECT_EQ(hingeline_with({"book", "write-out", "-", "--book", place}, {.output = "/dev/full"}).code, 3);
  EXPECT_EQ(told({"check", archive})["sum"], sum);

  const std::string second = (folder.path() / "second.db").string();
  const Outcome in = hingeline_with({"book", "read-in", "-", "--book", second}, {.input = out.out});
  EXPECT_EQ(in.code, 0) << in.err;
  EXPECT_EQ(sum_of(second), sum);
  EXPECT_EQ(hingeline_with({"book", "read-in", archive, "--book", second}).code, 3);
  std::string torn = out.out.substr(0, out.out.size() / 2);
  const std::string third = (folder.path() / "third.db").string();
  const Outcome refused = hingeline_with({"book", "read-in", "-", "--book", third}, {.input = torn});
  EXPECT_EQ(refused.code, 4);
  EXPECT_NE(refused.err.find("torn"), std::string::npos) << refused.err;
  EXPECT_EQ(told({"show", third})["slips"], 0);
  std::string newer = out.out;
  newer.replace(newer.find("\"version\":1"), 11, "\"version\":7");
  EXPECT_EQ(hingeline_with({"book", "read-in", "-", "--book", third}, {.input = newer}).code, 5);

  // To a server and back.
  const std::string server = support::PostgresServer::shared().fresh_database();
  const json moved = told({"move", place, server});
  EXPECT_EQ(moved["sum"], sum);
  EXPECT_EQ(moved["from"]["slips"], 42);
  EXPECT_EQ(moved["to"]["slips"], 42);
  EXPECT_EQ(sum_of(server), sum);
  EXPECT_EQ(told({"show", server})["visits"], 20);
  EXPECT_EQ(hingeline_with({"book", "move", place, server}).code, 3);
  const std::string copies = (folder.path() / "copies").string();
  const std::string copy = told({"copy", copies, "--book", server})["copy"];
  EXPECT_TRUE(copy.ends_with(".archive")) << copy;
  EXPECT_EQ(file_text(copy), out.out);
  EXPECT_EQ(told({"move", server, third})["sum"], sum);
  EXPECT_EQ(sum_of(third), sum);
}

TEST(BookCommand, IsInTheManualWithAllItsOptions) {
  std::string manual = file_text(std::string(HINGELINE_SOURCE_DIR) + "/docs/hingeline.1");
  manual.erase(std::remove(manual.begin(), manual.end(), '\\'), manual.end());
  for (const std::string command :
       {"show", "check", "copy", "copies", "restore", "write-out", "read-in", "move"}) {
    const Outcome o = hingeline_with({"book", command, "--help"});
    EXPECT_EQ(o.code, 0);
    EXPECT_NE(o.out.find("Usage: hingeline book " + command), std::string::npos) << o.out;
    EXPECT_NE(o.out.find("Examples:"), std::string::npos);
    EXPECT_NE(manual.find("book " + command), std::string::npos) << command;
  }
  for (const std::string option : {"--sum", "--keep", "--book", "--check", "--aside"})
    EXPECT_NE(manual.find(option), std::string::npos) << option;
  EXPECT_EQ(hingeline_with({"book"}).code, 2);
  EXPECT_EQ(hingeline_with({"book", "nothing"}).code, 2);
}

}  // namespace
}  // namespace hingeline::test

// Passwords as they are kept, beside other implementations of Argon2id (RFC 9106). That document's own
// vectors have a secret and associated data, which libsodium does not take; these are the reference
// implementation's.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "access/support.h"

namespace hingeline::access::test {
namespace {

std::string file_text(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

class Argon2 : public OnBothBooks {
 protected:
  Argon2() { begin_with_ada(); }
  /// The oracle's answers to lines.
  std::string oracle(const std::string& what, const std::string& lines) {
    const std::filesystem::path asked = folder.path() / "asked";
    const std::filesystem::path said = folder.path() / "said";
    std::ofstream(asked, std::ios::binary) << lines;
    const std::string command =
        fmt::format("'{}' '{}/tests/access/argon2_oracle.py' {} < '{}' > '{}' 2>&1", HINGELINE_PYTHON,
                    HINGELINE_SOURCE_DIR, what, asked.string(), said.string());
    const int status = std::system(command.c_str());  // NOLINT(cert-env33-c): a command of this test's own
    return status == 0 ? file_text(said) : "failed: " + file_text(said);
  }
  void keep_as(const std::string& hash) {
    sql::test::rows(*database, "update access_password set hash = $1", {hash});
  }
  std::unique_ptr<sql::Database> database = sql::test::opened(address);
};
HINGELINE_ON_BOTH_BOOKS(Argon2);

TEST_P(Argon2, TakesThePublishedStrings) {
  // github.com/P-H-C/phc-winner-argon2, src/test.c, version 0x13, Argon2id.
  const std::vector<std::pair<std::string, std::string>> published{
      {"password", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"},
      {"password", "$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4"},
      {"password", "$argon2id$v=19$m=256,t=2,p=2$c29tZXNhbHQ$bQk8UB/VmZZF4Oo79iDXuL5/0ttZwg2f/5U52iv1cDc"},
  };
  for (const auto& [password, hash] : published) {
    keep_as(hash);
    EXPECT_EQ(log_in(password + "x").verdict, Verdict::wrong) << hash;
    EXPECT_EQ(log_in(password).verdict, Verdict::admitted) << hash;
  }
}

TEST_P(Argon2, IsTheSameElsewhere) {
  const std::vector<std::string> passwords{"cork and felt by candlelight", "Ünïcode ist auch erlaubt",
                                           std::string(128, 'x').replace(3, 9, "not alike")};
  std::string ask;
  for (const std::string& password : passwords) {
    for (const Cost& cost : {kCheap, Cost{3, 1U << 20U}}) {
      Rules rules = cheap();
      rules.cost = cost;
      must(opened(rules)->set_password(kAda, "ada", password, kNow));
      const auto hash =
          std::get<std::string>(sql::test::rows(*database, "select hash from access_password")[0][0]);
      ask += fmt::format("{}\t{}\n{}x\t{}\n", password, hash, password, hash);
    }
  }
  std::string expected;
  for (int n = 0; n < 6; ++n) expected += "fits\ndoes not\n";
  EXPECT_EQ(oracle("look", ask), expected);

  std::string to_keep;
  for (const std::string& password : passwords) to_keep += password + "\t1\t8\n" + password + "\t4\t2048\n";
  std::istringstream kept(oracle("keep", to_keep));
  std::string hash;
  std::size_t n = 0;
  for (; std::getline(kept, hash); ++n) {
    keep_as(hash);
    EXPECT_EQ(log_in(passwords.at(n / 2) + "x").verdict, Verdict::wrong) << hash;
    EXPECT_EQ(log_in(passwords.at(n / 2)).verdict, Verdict::admitted) << hash;
  }
  EXPECT_EQ(n, 6U);
}

TEST_P(Argon2, DamagedStringsOpenNothing) {
  for (const std::string& hash :
       {""s, "x"s, "$argon2id$"s, kPassword, "$argon2id$v=19$m=8,t=1,p=1$c29tZXNhbHQ$"s,
        "$argon2id$v=19$m=8,t=1,p=1$c29tZXNhbHQ$"s + std::string(500, 'A'),
        "$2b$04$abcdefghijklmnopqrstuv"s}) {
    keep_as(hash);
    EXPECT_EQ(log_in(kPassword, kNow, "ada", "", "192.0.2." + std::to_string(hash.size() % 200)).token, "")
        << hash;
  }
}

}  // namespace
}  // namespace hingeline::access::test

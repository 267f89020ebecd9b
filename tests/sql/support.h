#pragma once
/// \file
/// The same contract asked of both databases.

#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <initializer_list>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "hingeline/sql/database.h"
#include "support/postgres_server.h"

namespace hingeline::sql {

/// How GoogleTest prints what a test got.
inline void PrintTo(const Failure& failure, std::ostream* out) {
  *out << word(failure.trouble) << ": " << failure.what;
}

namespace test {

/// Nothing waits this long unless it is broken.
inline constexpr std::chrono::seconds kDeadline{30};

/// A folder of its own, removed with all that is in it.
class TemporaryFolder {
 public:
  TemporaryFolder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "hingeline-sql-XXXXXX").string();
    if (::mkdtemp(pattern.data()) == nullptr) {
      throw std::runtime_error("no temporary folder");
    }
    path_ = pattern;
  }
  ~TemporaryFolder() {
    std::error_code left;
    std::filesystem::remove_all(path_, left);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

inline std::unique_ptr<Database> opened(const Address& address, const Opening& opening = {}) {
  Result<std::unique_ptr<Database>> database = open(address, opening);
  if (!database) {
    throw std::runtime_error(database.error().what);
  }
  return std::move(*database);
}

/// Rows of a statement that must work.
inline Rows rows(Database& database, std::string_view statement, const std::vector<Cell>& arguments = {}) {
  Result<Rows> got = database.run(statement, arguments);
  if (!got) {
    throw std::runtime_error(std::string(statement) + ": " + word(got.error().trouble) + ": " +
                             got.error().what);
  }
  return std::move(*got);
}

inline std::int64_t whole(Database& database, std::string_view statement,
                          const std::vector<Cell>& arguments = {}) {
  return std::get<std::int64_t>(rows(database, statement, arguments).at(0).at(0));
}

/// "done", or the trouble's word.
template <class T>
std::string outcome(const Result<T>& result) {
  return result ? "done" : word(result.error().trouble);
}

inline std::string tried(Database& database, std::string_view statement,
                         const std::vector<Cell>& arguments = {}) {
  return outcome(database.run(statement, arguments));
}

class OnBoth : public testing::TestWithParam<Dialect> {
 protected:
  /// A new, empty database.
  OnBoth()
      : address{GetParam() == Dialect::sqlite ? (folder.path() / "shop.db").string()
                                              : support::PostgresServer::shared().fresh_database()},
        database(opened(address)) {}

  TemporaryFolder folder;
  Address address;
  std::unique_ptr<Database> database;
};

inline std::string name_of(const testing::TestParamInfo<Dialect>& info) {
  return info.param == Dialect::sqlite ? "sqlite" : "postgres";
}

#define HINGELINE_ON_BOTH(suite) \
  INSTANTIATE_TEST_SUITE_P(Both, suite, testing::Values(Dialect::sqlite, Dialect::postgres), name_of)

}  // namespace test
}  // namespace hingeline::sql

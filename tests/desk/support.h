#pragma once
/// \file
/// A desk with the example instrument taken in.

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "hingeline/desk/desk.h"
#include "store/support.h"

namespace hingeline::desk::test {

using Json = nlohmann::ordered_json;
using store::test::Ids;

inline std::string file_text(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream out;
  out << file.rdbuf();
  return out.str();
}
inline std::string example(const std::string& name) {
  return file_text(std::filesystem::path(HINGELINE_SOURCE_DIR) / "examples" / name);
}

template <class T>
T must(Answer<T> answer) {
  if (!answer) {
    throw std::runtime_error(std::string(word(answer.error().kind)) + ": " +
                             answer.error().errors.front().what + "; " +
                             answer.error().errors.front().expected);
  }
  if constexpr (!std::is_void_v<T>) return std::move(*answer);
}
inline Json json(Answer<std::string> answer) { return Json::parse(must(std::move(answer))); }
template <class T>
Trouble::Kind trouble(const Answer<T>& answer) {
  EXPECT_FALSE(answer) << "it was done";
  return answer ? Trouble::Kind::unavailable : answer.error().kind;
}

inline Who with(Right right, const std::string& person = "someone") { return {person, right}; }
/// One person at their own bench.
inline const Who kAlone{};

/// On both databases.
class Desks : public testing::TestWithParam<sql::Dialect> {
 protected:
  Desks() { fresh(); }
  /// A desk with an empty book.
  void fresh() {
    DeskRules rules;
    rules.milliseconds = [this] { return clock; };
    if (GetParam() == sql::Dialect::postgres)
      address = {support::PostgresServer::shared().fresh_database()};
    else
      address = {(folder.path() / ("book-" + std::to_string(++books_) + ".db")).string()};
    auto opened = Desk::open(address, rules);
    if (!opened) throw std::runtime_error(opened.error().what);
    desk = std::move(*opened);
  }
  /// The example saxophone with its shop; gives the visit.
  std::string take_in(const std::string& owner = {}) {
    const Json put = {{"id", ids.next()}, {"document", Json::parse(example("shop.json"))}};
    must(desk->put_shop(kAlone, put.dump()));
    last_take_in = {{"id", big_id()},           {"owner", owner},
                    {"day", "2026-11-20"},      {"complaint", "low notes rattle"},
                    {"promised", "2026-12-01"}, {"document", Json::parse(example("saxophone.json"))}};
    return json(desk->take_in(kAlone, last_take_in.dump())).at("visit").get<std::string>();
  }
  Json write(const std::vector<record::Slip>& slips, const Who& who = kAlone) {
    return json(desk->write(who, batch(slips)));
  }
  static std::string batch(const std::vector<record::Slip>& slips) {
    Json out = {{"slips", Json::array()}};
    for (const record::Slip& s : slips) out["slips"].push_back(Json::parse(record::write_slip(s)));
    return out.dump();
  }
  /// Whose later ones reach nobody else's: a taken-in document makes a hundred slips.
  std::string big_id() {
    ++big_;
    return record::slip_id(1'750'000'000'000ULL + big_, big_, 0);
  }

  sql::test::TemporaryFolder folder;
  sql::Address address;
  std::int64_t clock = 1'764'000'000'000;
  std::unique_ptr<Desk> desk;
  Ids ids;
  Json last_take_in;

 private:
  std::uint64_t big_ = 0;
  int books_ = 0;
};

}  // namespace hingeline::desk::test

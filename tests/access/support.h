#pragma once
/// \file
/// Accounts in a new book, on either database, at a cost that tests can bear.

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "hingeline/access/accounts.h"
#include "hingeline/store/book.h"
#include "sql/support.h"

namespace hingeline::access::test {

using namespace std::chrono_literals;
using namespace std::string_literals;

template <class T>
T must(Expected<T> value) {
  if (!value) throw std::runtime_error(value.error().what + "; " + value.error().expected);
  if constexpr (!std::is_void_v<T>) return std::move(*value);
}
template <class T>
std::string refusal(const Expected<T>& value) {
  return value ? "taken" : value.error().what;
}

inline const std::string kAda = "0190a5c0-0000-7000-8000-00000000ada1";
inline const std::string kBea = "0190a5c0-0000-7000-8000-00000000bea1";
inline const std::string kPassword = "cork and felt by candlelight";
inline const std::string kPeer = "192.0.2.7";  // RFC 5737: for documentation
inline constexpr Milliseconds kNow{1'764'000'000'000};

/// The least that libsodium does.
inline constexpr Cost kCheap{1, 8192};
inline Rules cheap() {
  Rules out;
  out.cost = kCheap;
  return out;
}

class OnBothBooks : public testing::TestWithParam<sql::Dialect> {
 protected:
  OnBothBooks()
      : address{GetParam() == sql::Dialect::postgres ? support::PostgresServer::shared().fresh_database()
                                                     : (folder.path() / "book.db").string()} {
    must(store::Book::open(address));
    accounts = opened();
  }
  [[nodiscard]] std::unique_ptr<Accounts> opened(const Rules& rules = cheap()) const {
    return must(Accounts::open(address, rules, {false, std::chrono::seconds(30)}));
  }
  void begin_with_ada() { must(accounts->set_password(kAda, "ada", kPassword, kNow)); }
  Admission log_in(const std::string& password = kPassword, Milliseconds now = kNow,
                   const std::string& login = "ada", const std::string& device_token = "",
                   const std::string& peer = kPeer) {
    return must(accounts->by_password({login, password, peer, device_token}, now));
  }
  Admission pin_in(const std::string& pin, const std::string& device_token, Milliseconds now = kNow,
                   const std::string& person = kAda) {
    return must(accounts->by_pin({person, pin, kPeer, device_token}, now));
  }
  bool is_open(const std::string& token, Milliseconds now = kNow) {
    return must(accounts->session(token, now)).has_value();
  }
  /// What the log says, first first, each "who what".
  std::vector<std::string> log() {
    std::vector<std::string> out;
    for (const LogLine& line : must(accounts->log(1000)))
      out.insert(out.begin(), (line.person == kAda   ? "ada "
                               : line.person == kBea ? "bea "
                                                     : line.person + " ") +
                                  line.what);
    return out;
  }

  sql::test::TemporaryFolder folder;
  sql::Address address;
  std::unique_ptr<Accounts> accounts;
};

inline std::string name_of(const testing::TestParamInfo<sql::Dialect>& info) {
  return info.param == sql::Dialect::sqlite ? "sqlite" : "postgres";
}
#define HINGELINE_ON_BOTH_BOOKS(suite)                                                                 \
  INSTANTIATE_TEST_SUITE_P(Both, suite, testing::Values(sql::Dialect::sqlite, sql::Dialect::postgres), \
                           name_of)

}  // namespace hingeline::access::test

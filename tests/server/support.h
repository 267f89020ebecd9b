#pragma once
/// \file
/// A shop's server, and a browser of few words to ask it.

#include <gtest/gtest.h>

#include <map>
#include <memory>
#include <optional>
#include <string>

#include "desk/support.h"
#include "hingeline/server/shop_server.h"
#include "http/client.h"

namespace hingeline::server::test {

using desk::test::example;
using desk::test::file_text;
using Json = nlohmann::ordered_json;
using store::test::Ids;

/// Keeps cookies and sends the session's own word, as the page does.
class Browser {
 public:
  explicit Browser(std::uint16_t port, std::string from = "127.0.0.1")
      : port_(port), from_(std::move(from)) {}

  http::Answer ask(const std::string& method, const std::string& path, const std::string& body = {},
                   const std::string& type = "application/json") {
    std::string text = method + " " + path + " HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n";
    if (!cookies.empty()) {
      std::string all;
      for (const auto& [name, value] : cookies) all += (all.empty() ? "" : "; ") + name + "=" + value;
      text += "Cookie: " + all + "\r\n";
    }
    if (!csrf.empty()) text += "Hingeline-CSRF: " + csrf + "\r\n";
    for (const auto& [name, value] : headers) text += name + ": " + value + "\r\n";
    if (!body.empty()) text += "Content-Type: " + type + "\r\n";
    if (!body.empty() || method != "GET") text += "Content-Length: " + std::to_string(body.size()) + "\r\n";
    http::Client client(port_, from_.c_str());
    client.send(text + "\r\n" + body);
    auto answer = client.read(method == "HEAD");
    if (!answer) throw std::runtime_error("no answer to " + method + " " + path);
    for (const http::Field& h : answer->headers) {
      if (h.name == "set-cookie") take(h.value);
    }
    return std::move(*answer);
  }
  http::Answer get(const std::string& path) { return ask("GET", path); }
  Json json(const std::string& path) {
    const http::Answer answer = get(path);
    EXPECT_EQ(answer.status, 200) << path << ": " << answer.body;
    return Json::parse(answer.body);
  }
  Json post(const std::string& path, const Json& body) {
    const http::Answer answer = ask("POST", path, body.dump());
    EXPECT_EQ(answer.status, 200) << path << ": " << answer.body;
    return Json::parse(answer.body);
  }
  int log_in(const std::string& login, const std::string& password) {
    csrf.clear();
    const http::Answer answer =
        ask("POST", "/api/log-in", Json({{"login", login}, {"password", password}}).dump());
    if (answer.status == 200) csrf = Json::parse(answer.body).at("csrf");
    return answer.status;
  }

  std::map<std::string, std::string> cookies;
  std::map<std::string, std::string> headers;
  std::string csrf;
  std::vector<std::string> set_cookies;  ///< as they came

 private:
  void take(const std::string& cookie) {
    set_cookies.push_back(cookie);
    const std::size_t equals = cookie.find('=');
    const std::string value = cookie.substr(equals + 1, cookie.find(';') - equals - 1);
    if (value.empty())
      cookies.erase(cookie.substr(0, equals));
    else
      cookies[cookie.substr(0, equals)] = value;
  }
  std::uint16_t port_;
  std::string from_;
};

/// Quick to reckon; only for tests.
inline access::Rules quick_rules() {
  access::Rules out;
  out.cost.passes = 1;
  out.cost.memory = 8U << 10U;
  return out;
}

inline constexpr const char* kPassword = "correct horse battery";

/// A shop where people log in (as behind a proxy on this machine), with one of each role.
class Shop {
 public:
  explicit Shop(const sql::Address& book, bool alone = false) {
    settings.book = book;
    settings.behind_proxy = !alone;
    settings.access = quick_rules();
    settings.requests_per_second = 100'000;
    settings.requests_at_once = 100'000;
    settings.milliseconds = [this] { return clock.load(); };
    settings.log = [this](const std::string& line) {
      const std::lock_guard lock(log_mutex_);
      log_.push_back(line);
    };
    if (!alone) people();
  }
  void start() {
    auto started = ShopServer::start(settings);
    if (!started) throw std::runtime_error(started.error().what + "; " + started.error().expected);
    server = std::move(*started);
  }
  [[nodiscard]] std::uint16_t port() const { return server->listening().front().port; }
  [[nodiscard]] Browser browser() const { return Browser(port()); }
  Browser logged_in(const std::string& role) {
    Browser out(port());
    EXPECT_EQ(out.log_in(role, kPassword), 200) << role;
    return out;
  }
  std::vector<std::string> log() {
    const std::lock_guard lock(log_mutex_);
    return log_;
  }

  // The server writes its log until it is gone: these outlive it.
 private:
  std::mutex log_mutex_;
  std::vector<std::string> log_;

 public:
  ShopSettings settings;
  std::atomic<std::int64_t> clock{1'764'000'000'000};
  std::map<std::string, std::string> person;  ///< id by role
  Ids ids;
  std::unique_ptr<ShopServer> server;

 private:
  void people() {
    auto book = store::test::opened(settings.book);
    auto accounts = access::Accounts::open(settings.book, settings.access);
    ASSERT_TRUE(accounts) << accounts.error().what;
    for (const auto& [role, name] :
         {std::pair{record::Role::owner, "Orla Example"}, std::pair{record::Role::bench, "Bo Example"},
          std::pair{record::Role::counter, "Cay Example"},
          std::pair{record::Role::look_only, "Lou Example"}}) {
      const record::Slip slip = store::test::slip(ids, record::PersonSlip{name, "", role, false, {}});
      store::test::must(book->write({slip}));
      person[record::word(role)] = slip.id;
      const auto set = (*accounts)->set_password(slip.id, record::word(role), kPassword,
                                                 access::Milliseconds(clock.load()));
      ASSERT_TRUE(set) << set.error().what;
    }
  }
};

class Shops : public testing::TestWithParam<sql::Dialect> {
 protected:
  sql::Address fresh() {
    if (GetParam() == sql::Dialect::postgres) return {support::PostgresServer::shared().fresh_database()};
    return {(folder.path() / ("book-" + std::to_string(++count_) + ".db")).string()};
  }
  sql::test::TemporaryFolder folder;

 private:
  int count_ = 0;
};

/// Takes the example instrument in; gives the visit.
inline std::string take_in(Browser& browser, const std::string& owner = {}, std::uint64_t nth = 1) {
  const Json wanted = {{"id", record::slip_id(1'760'000'000'000ULL + nth, nth, 0)},
                       {"owner", owner},
                       {"day", "2026-11-20"},
                       {"complaint", "rattles"},
                       {"promised", "2026-12-01"},
                       {"document", Json::parse(example("saxophone.json"))}};
  return browser.post("/api/documents", wanted).at("visit");
}
inline void put_shop(Browser& browser) {
  const Json wanted = {{"id", record::slip_id(1'759'000'000'000ULL, 1, 0)},
                       {"document", Json::parse(example("shop.json"))}};
  EXPECT_EQ(browser.ask("PUT", "/api/shop", wanted.dump()).status, 200);
}

}  // namespace hingeline::server::test

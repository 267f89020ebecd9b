#pragma once
/// \file
/// Who comes in, and what each request has to show before anything is done for it.

#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "endpoint.h"
#include "hingeline/access/accounts.h"

namespace hingeline::server {

struct DoorRules {
  bool alone = true;          ///< one person at this machine: nobody is asked for a name
  bool secure = false;        ///< browsers reach it over TLS, here or at a proxy: cookies never go without
  bool behind_proxy = false;  ///< the last address in X-Forwarded-For is the client's
  double requests_per_second = 50;    ///< from one address, in the long run
  double requests_at_once = 400;      ///< and in one go
  std::size_t passwords_at_once = 2;  ///< each takes much memory and time
  access::Rules access;
};

/// Counted since the start.
struct DoorCounts {
  std::uint64_t not_logged_in = 0;
  std::uint64_t not_allowed = 0;
  std::uint64_t forged = 0;    ///< from another page, or without the session's secret
  std::uint64_t too_many = 0;  ///< more requests than one address may make
  std::uint64_t log_ins = 0;
  std::uint64_t refused_log_ins = 0;
};

class Door {
 public:
  /// `desk` outlives it. `ended` is called when sessions end, so that open streams do.
  static Expected<std::unique_ptr<Door>> open(desk::Desk& desk, const sql::Address& book, DoorRules rules,
                                              std::function<std::int64_t()> milliseconds,
                                              std::function<void()> ended);
  ~Door();

  /// The endpoint as the router takes it: with all that it takes to get in.
  http::Handler guarded(const Endpoint& endpoint);
  /// Logging in and out, accounts, devices.
  std::vector<Endpoint> endpoints();

  /// Whether somebody with the right "owner" has a password.
  Expected<bool> has_owner();
  [[nodiscard]] DoorCounts counts() const;

 private:
  Door(desk::Desk& desk, sql::Address book, DoorRules rules, std::function<std::int64_t()> milliseconds,
       std::function<void()> ended);

  struct Caller {
    desk::Who who;
    std::string name;
    std::string csrf;
    std::string token;
  };
  /// Nothing where nobody is logged in.
  Expected<std::optional<Caller>> caller(const http::Request& request);
  /// What is wrong with a request that would change something; nothing: it may.
  std::optional<http::Response> forged(const http::Request& request,
                                       const std::optional<Caller>& caller) const;
  bool within_rate(const std::string& peer);
  [[nodiscard]] std::string peer_of(const http::Request& request) const;
  [[nodiscard]] access::Milliseconds now() const { return access::Milliseconds(milliseconds_()); }

  /// A connection to the accounts, for as long as it is held.
  class Lent;
  Expected<Lent> accounts();

  http::Response me(const Asked& asked);
  http::Response log_in(const Asked& asked);
  http::Response log_in_pin(const Asked& asked);
  http::Response log_out(const Asked& asked);
  http::Response list_accounts(const Asked& asked);
  http::Response set_password(const Asked& asked);
  http::Response set_pin(const Asked& asked);
  http::Response remove_account(const Asked& asked);
  http::Response end_sessions(const Asked& asked);
  http::Response list_devices(const Asked& asked);
  http::Response enrol(const Asked& asked);
  http::Response withdraw(const Asked& asked);
  http::Response list_log(const Asked& asked);
  http::Response admitted(const access::Admission& admission);
  /// Their own password once more, before something is changed that lets people in; nothing: it was right.
  std::optional<http::Response> confirmed(access::Accounts& accounts, const Asked& asked,
                                          const std::string& password);
  [[nodiscard]] std::string cookie_name(const char* what) const;
  [[nodiscard]] std::string cookie(const char* what, const std::string& value, long seconds) const;

  desk::Desk& desk_;
  sql::Address book_;
  DoorRules rules_;
  std::function<std::int64_t()> milliseconds_;
  std::function<void()> ended_;

  std::mutex pool_mutex_;
  std::vector<std::unique_ptr<access::Accounts>> free_;
  std::size_t passwords_now_ = 0;

  struct Bucket {
    double left = 0;
    std::int64_t at = 0;  ///< ms
  };
  std::mutex rate_mutex_;
  std::map<std::string, Bucket> buckets_;

  mutable std::mutex count_mutex_;
  DoorCounts counts_;
};

}  // namespace hingeline::server

#pragma once
/// \file
/// A shop's book on the network, or for one person on this machine: the page, the HTTP interface, live
/// events, health and figures, and copies on a schedule.

#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "hingeline/access/accounts.h"
#include "hingeline/base/error.h"
#include "hingeline/http/server.h"
#include "hingeline/sql/database.h"
#include "hingeline/store/copies.h"

namespace hingeline::server {

struct CopySchedule {
  std::string folder;
  std::chrono::minutes every{24 * 60};
  std::optional<store::KeepRules> keep;  ///< none: every copy stays
};

struct ShopSettings {
  sql::Address book;
  std::vector<http::Listen> listen{http::Listen{}};
  std::optional<http::Certificate> certificate;
  std::vector<std::string> allowed_hosts;  ///< as http::Settings has them
  /// TLS is a proxy's in front of this server: who reaches it logs in, also where it listens on the loopback
  /// address alone.
  bool behind_proxy = false;
  std::size_t workers = 4;  ///< requests worked on at a time, and besides as many that work something out
  unsigned threads = 1;     ///< for one instrument
  access::Rules access;
  double requests_per_second = 50;  ///< from one address, where people log in
  double requests_at_once = 400;
  std::optional<http::Limits> limits;  ///< none: as where it listens asks for
  std::optional<CopySchedule> copies;
  /// Takes a line of the log, JSON without a newline. Any thread.
  std::function<void(const std::string&)> log;
  /// Milliseconds since 1970; none: the machine's clock.
  std::function<std::int64_t()> milliseconds;
};

class ShopServer {
 public:
  /// Opens the book and listens. Fault::usage where it would listen on a network without accounts or without
  /// TLS, otherwise the faults of the book and of http::Server.
  static Expected<std::unique_ptr<ShopServer>> start(ShopSettings settings);
  /// Stops.
  ~ShopServer();
  ShopServer(const ShopServer&) = delete;
  ShopServer& operator=(const ShopServer&) = delete;

  [[nodiscard]] const std::vector<http::Listen>& listening() const;
  /// Nobody is asked for a name.
  [[nodiscard]] bool alone() const;
  /// Lets requests finish for at most so long, ends event streams, then returns.
  void stop(std::chrono::milliseconds patience);
  /// Reads the certificate's files again.
  Expected<void> reload_certificate();
  /// The published description of the interface: OpenAPI, JSON.
  [[nodiscard]] const std::string& description() const;

  /// One endpoint, for what looks at them all.
  struct Row {
    http::Method method = http::Method::get;
    std::string pattern;
    std::string right;  ///< "look", "counter", "bench", "owner"; empty: open to all
  };
  [[nodiscard]] std::vector<Row> rows() const;

 private:
  class Inside;
  explicit ShopServer(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace hingeline::server

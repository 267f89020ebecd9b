#pragma once
/// \file
/// An HTTP/1.1 server: one thread for the network, a bounded pool of workers for the handlers. It knows
/// nothing of what it serves.

#include <array>
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/base/error.h"
#include "hingeline/http/message.h"
#include "hingeline/http/router.h"

namespace hingeline::http {

/// What one client, or all of them, may take up. All numbers at least 1.
struct Limits {
  std::size_t line_bytes = 8U << 10U;          ///< the request line with its end; above: 414
  std::size_t header_bytes = 16U << 10U;       ///< the request line and all headers; above: 431
  std::size_t header_count = 64;               ///< above: 431
  std::size_t body_bytes = 1U << 20U;          ///< one body, where its route says nothing else; above: 413
  std::size_t all_bodies_bytes = 256U << 20U;  ///< bodies held at one time; above: 503
  std::chrono::milliseconds header_time{
      10000};                                  ///< from a request's first byte to the end of its headers: 408
  std::chrono::milliseconds body_time{60000};  ///< from there to the end of its body: 408
  std::chrono::milliseconds idle_time{60000};  ///< without a request: closed without a word
  std::chrono::milliseconds write_time{30000};  ///< for each 64 KiB of an answer: closed
  std::chrono::milliseconds linger_time{2000};  ///< after the last answer, for the client to read it
  /// In all. Above it the connection that has been idle longest is closed; if there is none, the new one:
  /// 503.
  std::size_t connections = 2048;
  /// From one address (of IPv6: from one /64): 503.
  std::size_t connections_per_address = 256;
  std::size_t requests_per_connection = 10000;  ///< then it is closed, the client may open another
  std::size_t event_clients = 512;              ///< event streams at one time; above: 503

  /// As above: benches on a network.
  static Limits network() { return {}; }
  /// One address holds everybody: this machine alone, or a proxy in front.
  static Limits one_address();
};

/// PEM files. The chain begins with the server's own certificate.
struct Certificate {
  std::string chain_file;
  std::string key_file;
};

struct Listen {
  std::string address = "127.0.0.1";  ///< an IPv4 or IPv6 address, no name; "::" does not take IPv4 in
  std::uint16_t port = 0;             ///< 0: any free one
  bool secure = false;                ///< TLS 1.2 or later, with the settings' certificate
};

/// Why something was not served.
enum class Refused {
  syntax,             ///< not HTTP, or a target that is none: 400, 505
  framing,            ///< the body's length is said twice, otherwise, or wrongly: 400, 501
  method,             ///< 501
  expectation,        ///< 417
  host,               ///< missing or bad (400), or none of ours (421)
  long_line,          ///< 414
  big_headers,        ///< 431
  big_body,           ///< 413
  slow_headers,       ///< 408
  slow_body,          ///< 408
  slow_reader,        ///< did not read its answer, or not its events
  tls,                ///< a handshake that failed or did not end in time
  plain_on_tls,       ///< plain HTTP to a port for TLS: 400
  many_connections,   ///< 503
  many_from_address,  ///< 503
  many_events,        ///< 503
  memory,             ///< all bodies together: 503
  busy                ///< the workers' queue is full: 503
};
inline constexpr std::size_t kRefusedCount = static_cast<std::size_t>(Refused::busy) + 1;
/// "syntax", "framing", ...
const char* word(Refused refused);

/// One answered request, without personal data but the peer's address.
struct LogEntry {
  std::string method;  ///< "-" where it was not understood
  std::string route;   ///< the pattern, never the path; "-" where there was none
  int status = 0;
  std::uint64_t bytes = 0;  ///< sent, headers included
  /// From the request's last byte to the answer's; of an event stream: to its end.
  std::chrono::microseconds took{0};
  std::string peer;
  std::optional<Refused> refused;
  std::string fault;  ///< what a handler threw or did wrong; empty otherwise
};

/// Upper bounds of the histogram's buckets but the last, which has none.
inline constexpr std::array<std::chrono::microseconds, 13> kTimeBounds{
    std::chrono::microseconds{500},    std::chrono::microseconds{1000},   std::chrono::microseconds{2500},
    std::chrono::microseconds{5000},   std::chrono::microseconds{10000},  std::chrono::microseconds{25000},
    std::chrono::microseconds{50000},  std::chrono::microseconds{100000}, std::chrono::microseconds{250000},
    std::chrono::microseconds{500000}, std::chrono::seconds{1},           std::chrono::microseconds{2500000},
    std::chrono::seconds{10}};

/// Counted since the start, but for what is said to be now.
struct Counters {
  std::size_t connections_now = 0;
  std::uint64_t connections = 0;
  std::array<std::uint64_t, 6> answers{};  ///< by the status' first digit; [0] and [1] stay 0
  std::array<std::uint64_t, kRefusedCount> refused{};
  std::uint64_t bytes_in = 0;   ///< as the requests' text, after TLS
  std::uint64_t bytes_out = 0;  ///< likewise
  std::size_t event_clients_now = 0;
  std::uint64_t events = 0;         ///< sent
  std::size_t waiting_now = 0;      ///< requests waiting for a worker
  std::size_t body_bytes_now = 0;   ///< bodies held
  std::uint64_t accept_pauses = 0;  ///< times there was no descriptor left for another connection
  /// Answers of handlers by LogEntry::took, without event streams; the last: above all bounds.
  std::array<std::uint64_t, kTimeBounds.size() + 1> times{};
  std::chrono::microseconds time_sum{0};  ///< of the answers in `times`

  [[nodiscard]] std::uint64_t refused_for(Refused why) const {
    return refused[static_cast<std::size_t>(why)];
  }
};

struct Settings {
  std::vector<Listen> listen{Listen{}};
  std::optional<Certificate> certificate;
  /// What the client may call this server: names or addresses without port ("shop.example", "192.0.2.7",
  /// "[2001:db8::7]"). Anything else is answered 421: a page of elsewhere whose name was bent to this address
  /// gets nothing. Empty: the addresses listened on, and "localhost" where one of them is a loopback address;
  /// none of them may be "0.0.0.0" or "::" then.
  std::vector<std::string> allowed_hosts;
  Limits limits;
  std::size_t workers = 4;  ///< threads that run handlers
  /// Threads for routes that take long, which give way to the others: quick requests neither wait behind them
  /// nor share the processor evenly with them. 0: there are none, and such routes go with the others.
  std::size_t long_workers = 0;
  std::size_t waiting_requests = 64;  ///< for a worker of either sort; above: 503 with Retry-After
  /// Added to every response that has none of that name.
  Fields headers;
  /// Makes the body of what the server itself refuses (404, 413, ...); text/plain where there is none. Runs
  /// on the network's thread, must be quick and not throw.
  std::function<Response(int status, std::string_view why)> refusal;
  /// Called after every answer on the network's thread; must be quick and not throw.
  std::function<void(const LogEntry&)> log;
  /// How long running requests are waited for when the server is destroyed.
  std::chrono::milliseconds patience{5000};
};

class Server {
 public:
  /// Listens on all of the settings' addresses, or on none. Fault::usage: an address that is none, TLS
  /// without a certificate, no allowed host, no worker, a header that cannot be sent. Fault::file: a port
  /// that is taken or not allowed, a certificate that cannot be read or does not go with its key.
  static Expected<std::unique_ptr<Server>> start(Router router, Settings settings);

  /// Stops.
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  /// As in the settings, with the ports really taken.
  [[nodiscard]] const std::vector<Listen>& listening() const;

  /// Reads the certificate's files again; connections that are open keep what they have. On failure the old
  /// one stays. Any thread.
  Expected<void> reload_certificate();

  /// Takes no more connections, closes the idle ones, ends event streams, and lets requests finish for at
  /// most so long; then closes what is left and returns when the last handler has returned. Any thread but
  /// the server's own (so not from a handler or the log); a second call waits for the first.
  void stop(std::chrono::milliseconds patience);

  /// Any thread.
  [[nodiscard]] Counters counters() const;

 private:
  class Core;
  explicit Server(std::shared_ptr<Core> core);
  std::shared_ptr<Core> core_;
};

}  // namespace hingeline::http

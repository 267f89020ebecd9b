#if defined(__GNUC__) && !defined(__clang__)
// GCC 12 inlines the coroutine frame's operator new, sees ::operator new in it, and takes the frame's own
// operator delete for the wrong one.
#pragma GCC diagnostic ignored "-Wmismatched-new-delete"
// The thread sanitizer does not follow Asio's fences; it follows the mutexes beside them.
#pragma GCC diagnostic ignored "-Wtsan"
#endif
#if defined(__clang__)
// Boost 1.74 looks for the coroutines of an older clang.
#define BOOST_ASIO_HAS_CO_AWAIT 1
#endif

#include "hingeline/http/server.h"

// Boost 1.74's <boost/asio/awaitable.hpp> uses std::exchange without this.
#include <utility>

#include <openssl/ssl.h>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ip/v6_only.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/ssl.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/status.hpp>
#include <boost/beast/http/string_body.hpp>

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <ctime>
#include <exception>
#include <limits>
#include <list>
#include <map>
#include <mutex>
#include <thread>
#include <unordered_map>

#include <fmt/format.h>

#include "event_queue.h"
#include "head.h"
#include "text.h"
#include "workers.h"

namespace hingeline::http {

namespace asio = boost::asio;
namespace beast = boost::beast;
using Tcp = asio::ip::tcp;
using Code = boost::system::error_code;
using Clock = std::chrono::steady_clock;

namespace {

constexpr std::size_t kReadBytes = 8U << 10U;
// The most that is read ahead of what has been understood: a chunk's header with its extension, or trailers.
constexpr std::size_t kAheadBytes = 32U << 10U;
constexpr std::size_t kPieceBytes = 64U << 10U;
// Connections that are only told that there are too many; more are closed without a word.
constexpr std::size_t kTurnedAway = 64;
// Beast's chunk parser asserts five bytes once it has seen the last chunk's size. No chunked body that has
// not ended is ever fewer bytes from its end.
constexpr std::size_t kChunkBytes = 5;
constexpr std::chrono::milliseconds kAcceptPause{50};

asio::redirect_error_t<std::decay_t<decltype(asio::use_awaitable)>> into(Code& code) {
  return asio::redirect_error(asio::use_awaitable, code);
}

std::string in_lower_url_form(const asio::ip::address& address) {
  return lower(address.is_v6() ? "[" + address.to_string() + "]" : address.to_string());
}

// One household, as far as it can be told: an IPv4 address, an IPv6 network of 64 bits.
std::string neighbourhood(const asio::ip::address& address) {
  if (!address.is_v6()) return address.to_string();
  const asio::ip::address_v6::bytes_type bytes = address.to_v6().to_bytes();
  return std::string(bytes.begin(), bytes.begin() + 8);
}

std::string date_now() {
  const std::time_t now = std::time(nullptr);
  std::tm utc{};
  gmtime_r(&now, &utc);
  constexpr std::array<const char*, 7> kDays{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  constexpr std::array<const char*, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  return fmt::format("{}, {:02} {} {} {:02}:{:02}:{:02} GMT", kDays[static_cast<std::size_t>(utc.tm_wday)],
                     utc.tm_mday, kMonths[static_cast<std::size_t>(utc.tm_mon)], utc.tm_year + 1900,
                     utc.tm_hour, utc.tm_min, utc.tm_sec);
}

std::string_view bytes_of(const Response& response) {
  if (const auto* text = std::get_if<std::string>(&response.body)) return *text;
  if (const auto* bytes = std::get_if<Bytes>(&response.body)) return bytes->view();
  return {};
}

// What keeps it from being sent; empty: nothing.
std::string fault_of(const Response& response) {
  if (response.status < 200 || response.status > 599) return fmt::format("status {}", response.status);
  for (const Field& field : response.headers) {
    if (!is_token(field.name)) return "a header's name is not a token";
    if (!is_field_value(field.value)) return "header " + field.name + " has a control character";
    for (const char* own : {"content-length", "transfer-encoding", "connection", "date"}) {
      if (same_word(field.name, own)) return "header " + field.name + " is the server's own";
    }
  }
  return {};
}

bool has_no_body(int status) { return status == 204 || status == 304; }

std::string head_text(const Response& response, const Fields& common, bool keep_alive) {
  std::string text = fmt::format("HTTP/1.1 {} ", response.status);
  const beast::string_view reason =
      beast::http::obsolete_reason(beast::http::int_to_status(static_cast<unsigned>(response.status)));
  text.append(reason.data(), reason.size());
  text.append("\r\ndate: ").append(date_now()).append("\r\n");
  for (const Field& field : response.headers)
    text.append(field.name).append(": ").append(field.value).append("\r\n");
  for (const Field& field : common) {
    if (response.header(field.name).empty()) {
      text.append(field.name).append(": ").append(field.value).append("\r\n");
    }
  }
  if (!has_no_body(response.status) && !std::holds_alternative<EventStream>(response.body)) {
    text.append(fmt::format("content-length: {}\r\n", bytes_of(response).size()));
  }
  if (!keep_alive) text.append("connection: close\r\n");
  return text.append("\r\n");
}

Expected<std::shared_ptr<asio::ssl::context>> read_certificate(const Certificate& certificate) {
  auto context = std::make_shared<asio::ssl::context>(asio::ssl::context::tls_server);
  SSL_CTX* native = context->native_handle();
  SSL_CTX_set_min_proto_version(native, TLS1_2_VERSION);
  SSL_CTX_set_cipher_list(native, "ECDHE+AESGCM:ECDHE+CHACHA20");
  SSL_CTX_set_options(native,
                      SSL_OP_NO_RENEGOTIATION | SSL_OP_NO_COMPRESSION | SSL_OP_CIPHER_SERVER_PREFERENCE);
  // Idle connections keep no record buffers.
  SSL_CTX_set_mode(native, SSL_MODE_RELEASE_BUFFERS);
  Code code;
  // A key under a password is refused; OpenSSL would ask the terminal for it.
  context->set_password_callback(
      [](std::size_t, asio::ssl::context::password_purpose) { return std::string(); }, code);
  context->use_certificate_chain_file(certificate.chain_file, code);
  if (code) {
    return fail(Fault::file, "the certificate cannot be read: " + code.message(),
                "a PEM file that begins with the server's own certificate",
                {certificate.chain_file, {}, 0, 0});
  }
  context->use_private_key_file(certificate.key_file, asio::ssl::context::pem, code);
  if (code || SSL_CTX_check_private_key(native) != 1) {
    return fail(Fault::file, "the key cannot be read, or is not the certificate's",
                "a PEM file without a password, with the key the certificate was made for",
                {certificate.key_file, {}, 0, 0});
  }
  return context;
}

}  // namespace

const char* word(Refused refused) {
  constexpr std::array<const char*, kRefusedCount> kWords{
      "syntax",      "framing",     "method",       "expectation",      "host",
      "long_line",   "big_headers", "big_body",     "slow_headers",     "slow_body",
      "slow_reader", "tls",         "plain_on_tls", "many_connections", "many_from_address",
      "many_events", "memory",      "busy"};
  return kWords[static_cast<std::size_t>(refused)];
}

Limits Limits::one_address() {
  Limits limits;
  limits.connections_per_address = limits.connections;
  return limits;
}

// All but what is said otherwise is touched by the network's thread only.
class Server::Core : public std::enable_shared_from_this<Server::Core> {
 public:
  class Connection;

  Core(Router router, Settings settings)
      : router_(std::move(router)),
        settings_(std::move(settings)),
        pause_(io_),
        last_call_(io_),
        work_(asio::make_work_guard(io_)) {}

  // Before the thread begins.
  Expected<void> listen();
  void begin();

  // Any thread.
  Expected<void> reload_certificate();
  void stop(std::chrono::milliseconds patience);
  Counters counters() const;
  const Settings& settings() const { return settings_; }

 private:
  asio::awaitable<void> accept(std::size_t which);
  void admit(Tcp::socket socket, bool secure);
  bool close_longest_idle();
  void left(Connection& connection);
  void begin_stop(std::chrono::milliseconds patience);
  Response refusal(int status, std::string_view words) const;
  std::shared_ptr<asio::ssl::context> certificate() const;
  void count_refused(Refused why);
  template <class Change>
  void count(Change&& change) {
    const std::lock_guard lock(counters_mutex_);
    change(counters_);
  }

  const Router router_;
  Settings settings_;
  std::vector<std::string> hosts_;

  mutable std::mutex certificate_mutex_;
  std::shared_ptr<asio::ssl::context> certificate_;

  mutable std::mutex counters_mutex_;
  Counters counters_;

  std::mutex stop_mutex_;
  std::condition_variable stop_changed_;
  bool stop_called_ = false;
  bool stopped_ = false;

  asio::io_context io_{1};
  asio::steady_timer pause_;
  asio::steady_timer last_call_;
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::vector<Tcp::acceptor> acceptors_;
  std::map<Connection*, std::shared_ptr<Connection>> connections_;
  // The longest idle first.
  std::list<Connection*> idle_;
  std::unordered_map<std::string, std::size_t> from_;
  std::size_t turned_away_ = 0;
  bool stopping_ = false;
  // Written by the network's thread, read by any.
  std::atomic<std::size_t> open_{0};
  std::atomic<std::size_t> event_clients_{0};
  std::atomic<std::size_t> body_bytes_{0};

  std::unique_ptr<Workers> workers_;
  std::unique_ptr<Workers> long_workers_;
  std::thread network_;
};

class Server::Core::Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(Core& core, Tcp::socket socket, const asio::ip::address& peer, bool secure,
             std::optional<Refused> away)
      : core_(core),
        socket_(std::move(socket)),
        deadline_(core.io_),
        signal_(core.io_),
        peer_(peer.to_string()),
        neighbourhood_(neighbourhood(peer)),
        secure_(secure),
        away_(away) {}

  void begin() {
    asio::co_spawn(
        core_.io_, [self = shared_from_this()] { return self->live(); },
        [self = shared_from_this()](const std::exception_ptr&) { self->end(); });
  }

  /// Its operations end with an error.
  void close_now() {
    Code ignored;
    socket_.close(ignored);
    wake();
  }
  /// The server stops: event streams end. Idle connections are closed by the server itself.
  void wake() {
    woken_ = true;
    signal_.cancel();
  }

  /// Ends the waiting for a request. One that was read already, though this connection does not know it yet,
  /// is answered first.
  void end_waiting() {
    leave_idle();
    Code ignored;
    socket_.cancel(ignored);
  }
  /// Bytes have come that nobody has read yet.
  [[nodiscard]] bool was_sent_something() const {
    Code ignored;
    return socket_.available(ignored) > 0;
  }
  [[nodiscard]] const std::string& neighbours() const { return neighbourhood_; }
  [[nodiscard]] bool is_turned_away() const { return away_.has_value(); }

 private:
  friend class Core;

  // One request on its way through a worker.
  struct Job {
    std::shared_ptr<Connection> connection;
    Request request;
    const Route* route = nullptr;
    Response response;
    std::string fault;
  };
  // What the log wants to know.
  struct Told {
    std::string method = "-";
    std::string route = "-";
    std::optional<Refused> refused;
    std::string fault;
    bool handled = false;
    Clock::time_point since = Clock::now();
  };
  using Parser = beast::http::request_parser<beast::http::string_body>;

  asio::awaitable<void> live();
  asio::awaitable<bool> greet();
  asio::awaitable<bool> await_request();
  // These give false when the connection has to end.
  asio::awaitable<bool> exchange();
  asio::awaitable<tl::expected<std::size_t, Refusal>> read_head(HeadScan& scan);
  static tl::expected<RawHead, Refusal> parse(Parser& parser, std::string_view text);
  asio::awaitable<std::optional<Refusal>> read_body(Parser& parser, const Head& head);
  asio::awaitable<bool> run_handler(Head head, const Route& route, Fields parameters, Parser& parser,
                                    bool keep, Told told);
  asio::awaitable<bool> answer(Response response, bool head_only, bool keep, Told told);
  asio::awaitable<bool> refuse(Refusal refusal, Told told);
  asio::awaitable<std::uint64_t> send_events(std::shared_ptr<detail::EventQueue> queue, Told& told);
  asio::awaitable<void> watch_for_end();
  asio::awaitable<void> part();

  asio::awaitable<std::size_t> read_some(std::size_t most, Code& code);
  asio::awaitable<bool> write(std::string_view head, std::string_view body);
  asio::awaitable<void> wait_for_signal(Clock::time_point until);

  void arm(std::chrono::milliseconds time);
  void fire_at(Clock::time_point at, std::uint64_t turn);
  void disarm();
  void go_idle();
  void leave_idle();
  void release_body();
  void tell(const Told& told, int status, std::uint64_t bytes);
  void end();

  Core& core_;
  Tcp::socket socket_;
  std::shared_ptr<asio::ssl::context> context_;
  std::optional<asio::ssl::stream<Tcp::socket&>> tls_;
  bool shaken_ = false;
  asio::steady_timer deadline_;
  std::uint64_t turn_ = 0;
  bool late_ = false;
  asio::steady_timer signal_;
  bool woken_ = false;
  beast::flat_buffer buffer_;
  const std::string peer_;
  const std::string neighbourhood_;
  const bool secure_;
  const std::optional<Refused> away_;
  std::size_t requests_ = 0;
  std::size_t body_bytes_ = 0;
  bool client_left_ = false;
  bool watching_ = false;
  bool parting_ = false;
  std::optional<std::list<Connection*>::iterator> idle_at_;
  std::shared_ptr<Job> done_;
};

// --- time
// -----------------------------------------------------------------------------------------------------------

void Server::Core::Connection::arm(std::chrono::milliseconds time) {
  late_ = false;
  fire_at(Clock::now() + time, ++turn_);
}

// Cancelling does nothing to an operation that has just ended inside a longer one (a TLS read takes several),
// so it is done again until somebody disarms.
void Server::Core::Connection::fire_at(Clock::time_point at, std::uint64_t turn) {
  deadline_.expires_at(at);
  deadline_.async_wait([self = shared_from_this(), turn](const Code& code) {
    if (code || turn != self->turn_) return;
    self->late_ = true;
    Code ignored;
    self->socket_.cancel(ignored);
    self->fire_at(Clock::now() + std::chrono::milliseconds(20), turn);
  });
}

void Server::Core::Connection::disarm() {
  ++turn_;
  deadline_.cancel();
}

asio::awaitable<void> Server::Core::Connection::wait_for_signal(Clock::time_point until) {
  Code code;
  signal_.expires_at(until);
  co_await signal_.async_wait(into(code));
}

// --- bytes
// ----------------------------------------------------------------------------------------------------------

asio::awaitable<std::size_t> Server::Core::Connection::read_some(std::size_t most, Code& code) {
  const asio::mutable_buffer space = buffer_.prepare(most);
  std::size_t got = 0;
  if (tls_) {
    got = co_await tls_->async_read_some(space, into(code));
  } else {
    got = co_await socket_.async_read_some(space, into(code));
  }
  buffer_.commit(got);
  core_.count([&](Counters& c) { c.bytes_in += got; });
  co_return got;
}

// Each piece has the time for writing; false: the connection is of no more use.
asio::awaitable<bool> Server::Core::Connection::write(std::string_view head, std::string_view body) {
  for (;;) {
    const std::size_t from_head = std::min(head.size(), kPieceBytes);
    const std::size_t from_body = std::min(body.size(), kPieceBytes - from_head);
    if (from_head + from_body == 0) co_return true;
    const std::array<asio::const_buffer, 2> piece{asio::buffer(head.data(), from_head),
                                                  asio::buffer(body.data(), from_body)};
    Code code;
    std::size_t sent = 0;
    arm(core_.settings_.limits.write_time);
    if (tls_) {
      sent = co_await asio::async_write(*tls_, piece, into(code));
    } else {
      sent = co_await asio::async_write(socket_, piece, into(code));
    }
    const bool late = late_;
    disarm();
    core_.count([&](Counters& c) { c.bytes_out += sent; });
    if (late) core_.count_refused(Refused::slow_reader);
    if (late || code) {
      close_now();
      co_return false;
    }
    head.remove_prefix(from_head);
    body.remove_prefix(from_body);
  }
}

// --- a connection's life
// ---------------------------------------------------------------------------------------------

asio::awaitable<void> Server::Core::Connection::live() {
  if (away_) {
    const Refusal refusal{503, *away_, "There are too many connections"};
    const Told nothing;
    co_await refuse(refusal, nothing);
    co_await part();
    co_return;
  }
  if (secure_) {
    const bool greeted = co_await greet();
    if (!greeted) co_return;
  }
  for (;;) {
    const bool asked = co_await await_request();
    if (!asked) break;
    const bool more = co_await exchange();
    if (!more) break;
  }
  co_await part();
}

void Server::Core::Connection::end() {
  disarm();
  leave_idle();
  release_body();
  close_now();
  core_.left(*this);
}

void Server::Core::Connection::go_idle() { idle_at_ = core_.idle_.insert(core_.idle_.end(), this); }

void Server::Core::Connection::leave_idle() {
  if (idle_at_) core_.idle_.erase(*idle_at_);
  idle_at_.reset();
}

void Server::Core::Connection::release_body() {
  core_.body_bytes_ -= body_bytes_;
  body_bytes_ = 0;
}

// The TLS handshake. Somebody who speaks plain HTTP here is told so in plain HTTP.
asio::awaitable<bool> Server::Core::Connection::greet() {
  Code code;
  go_idle();
  arm(core_.settings_.limits.header_time);
  co_await socket_.async_wait(Tcp::socket::wait_read, into(code));
  leave_idle();
  if (code || late_) {
    if (late_) core_.count_refused(Refused::tls);
    co_return false;
  }
  char first = 0;
  const std::size_t got = socket_.receive(asio::buffer(&first, 1), asio::socket_base::message_peek, code);
  if (code || got == 0) co_return false;
  if (first >= 'A' && first <= 'Z') {
    disarm();
    const Refusal refusal{400, Refused::plain_on_tls, "This port is for https"};
    const Told nothing;
    co_await refuse(refusal, nothing);
    co_await part();
    co_return false;
  }
  context_ = core_.certificate();
  tls_.emplace(socket_, *context_);
  co_await tls_->async_handshake(asio::ssl::stream_base::server, into(code));
  const bool late = late_;
  disarm();
  if (code || late) {
    core_.count_refused(Refused::tls);
    co_return false;
  }
  shaken_ = true;
  co_return true;
}

// Until the first byte of a request is there.
asio::awaitable<bool> Server::Core::Connection::await_request() {
  if (buffer_.size() > 0) co_return !core_.stopping_;
  if (core_.stopping_) co_return false;
  buffer_.shrink_to_fit();
  Code code;
  go_idle();
  arm(core_.settings_.limits.idle_time);
  co_await read_some(kReadBytes, code);
  leave_idle();
  const bool late = late_;
  disarm();
  // Nobody waits for anything here, so there is nothing to wait for either.
  if (late || code == asio::error::operation_aborted) close_now();
  co_return !code && !late;
}

// So that the client reads the last answer: a closed socket with unread bytes in it would take that away from
// it.
asio::awaitable<void> Server::Core::Connection::part() {
  if (!socket_.is_open()) co_return;
  Code code;
  arm(core_.settings_.limits.linger_time);
  if (shaken_) co_await tls_->async_shutdown(into(code));
  socket_.shutdown(Tcp::socket::shutdown_send, code);
  std::array<char, 4096> scrap;
  while (!code && !late_) {
    co_await socket_.async_read_some(asio::buffer(scrap), into(code));
  }
  disarm();
}

// --- one request
// -----------------------------------------------------------------------------------------------------

asio::awaitable<tl::expected<std::size_t, Refusal>> Server::Core::Connection::read_head(HeadScan& scan) {
  arm(core_.settings_.limits.header_time);
  for (;;) {
    const auto bytes = buffer_.data();
    const auto end = scan.look({static_cast<const char*>(bytes.data()), bytes.size()});
    if (!end) {
      disarm();
      co_return tl::unexpected<Refusal>(end.error());
    }
    if (*end) {
      disarm();
      co_return **end;
    }
    Code code;
    co_await read_some(kReadBytes, code);
    if (late_) {
      disarm();
      co_return tl::unexpected<Refusal>(
          Refusal{408, Refused::slow_headers, "The headers did not come in time"});
    }
    if (code) {
      close_now();
      co_return tl::unexpected<Refusal>(Refusal{});
    }
  }
}

tl::expected<RawHead, Refusal> Server::Core::Connection::parse(Parser& parser, std::string_view text) {
  Code code;
  const std::size_t used = parser.put(asio::buffer(text.data(), text.size()), code);
  namespace bh = beast::http;
  if (code == bh::error::bad_version && text.find("HTTP/") != std::string_view::npos) {
    return tl::unexpected<Refusal>(Refusal{505, Refused::syntax, "This server speaks HTTP/1.1"});
  }
  if (code == bh::error::bad_content_length || code == bh::error::bad_transfer_encoding) {
    return tl::unexpected<Refusal>(Refusal{400, Refused::framing, "The body's length is not well said"});
  }
  if (code || used != text.size() || !parser.is_header_done()) {
    return tl::unexpected<Refusal>(Refusal{400, Refused::syntax, "This is not HTTP"});
  }
  RawHead raw;
  const auto& message = parser.get();
  raw.version = static_cast<int>(message.version());
  raw.method = std::string(message.method_string());
  raw.target = std::string(message.target());
  for (const auto& field : message)
    raw.headers.push_back({std::string(field.name_string()), std::string(field.value())});
  return raw;
}

asio::awaitable<bool> Server::Core::Connection::exchange() {
  const Limits& limits = core_.settings_.limits;
  Told told;
  HeadScan scan(limits);
  const tl::expected<std::size_t, Refusal> end = co_await read_head(scan);
  if (!end) {
    if (!socket_.is_open()) co_return false;
    co_return co_await refuse(end.error(), told);
  }
  Parser parser;
  parser.eager(true);
  // Beast's own preset would refuse a length before its route is known. Not boost::none: in 1.74 every length
  // is above that.
  parser.body_limit(std::numeric_limits<std::uint64_t>::max());
  parser.header_limit(static_cast<std::uint32_t>(std::min<std::size_t>(limits.header_bytes, 1U << 30U)) + 1);
  const auto bytes = buffer_.data();
  tl::expected<RawHead, Refusal> raw =
      parse(parser, std::string_view(static_cast<const char*>(bytes.data()), *end).substr(scan.before()));
  if (!raw) co_return co_await refuse(raw.error(), told);
  buffer_.consume(*end);

  tl::expected<Head, Refusal> head = judge(std::move(*raw), core_.hosts_, secure_);
  if (!head) co_return co_await refuse(head.error(), told);
  told.method = word(head->request.method);
  const bool keep = head->keep_alive && ++requests_ < limits.requests_per_connection;
  const bool unread = head->framing != Framing::none;

  Match match;
  if (head->whole_server) {
    match.allow = "GET, HEAD, POST, PUT, PATCH, DELETE, OPTIONS";
  } else {
    match = core_.router_.find(head->request.method, head->request.segments);
  }
  if (match.route != nullptr) {
    co_return co_await run_handler(std::move(*head), *match.route, std::move(match.parameters), parser, keep,
                                   std::move(told));
  }
  Response response;
  if (match.allow.empty()) {
    response = core_.refusal(404, "There is nothing here");
  } else {
    response = head->request.method == Method::options ? Response::empty(204)
                                                       : core_.refusal(405, "This is not done here");
    response.set("allow", match.allow);
  }
  const bool head_only = head->request.method == Method::head;
  co_return co_await answer(std::move(response), head_only, keep && !unread, std::move(told));
}

asio::awaitable<std::optional<Refusal>> Server::Core::Connection::read_body(Parser& parser,
                                                                            const Head& head) {
  const Limits& limits = core_.settings_.limits;
  if (head.wants_continue && buffer_.size() == 0) {
    const bool sent = co_await write("HTTP/1.1 100 Continue\r\n\r\n", {});
    if (!sent) co_return Refusal{};
  }
  const std::size_t least = head.framing == Framing::chunked ? kChunkBytes : 1;
  arm(limits.body_time);
  for (;;) {
    Code code;
    if (buffer_.size() >= least) {
      const std::size_t before = parser.get().body().size();
      const std::size_t used = parser.put(buffer_.data(), code);
      buffer_.consume(used);
      const std::size_t more = parser.get().body().size() - before;
      body_bytes_ += more;
      core_.body_bytes_ += more;
      if (code == beast::http::error::body_limit) {
        disarm();
        co_return Refusal{413, Refused::big_body, "The body is too long"};
      }
      if ((code && code != beast::http::error::need_more) || buffer_.size() >= kAheadBytes) {
        // A body that has ended may have whole requests behind it.
        if (code || !parser.is_done()) {
          disarm();
          co_return Refusal{400, Refused::framing, "The body is not well chunked"};
        }
      }
      if (core_.body_bytes_ > limits.all_bodies_bytes) {
        disarm();
        co_return Refusal{503, Refused::memory, "Too much is being sent at this time"};
      }
    }
    if (parser.is_done()) break;
    co_await read_some(kReadBytes, code);
    if (late_) {
      disarm();
      co_return Refusal{408, Refused::slow_body, "The body did not come in time"};
    }
    if (code) {
      close_now();
      co_return Refusal{};
    }
  }
  disarm();
  co_return std::nullopt;
}

asio::awaitable<bool> Server::Core::Connection::run_handler(Head head, const Route& route, Fields parameters,
                                                            Parser& parser, bool keep, Told told) {
  told.route = route.pattern;
  const std::size_t most = route.rules.body_bytes.value_or(core_.settings_.limits.body_bytes);
  if (head.framing == Framing::length && head.length > most) {
    const Refusal refusal{413, Refused::big_body, "The body is too long"};
    co_return co_await refuse(refusal, std::move(told));
  }
  if (head.framing != Framing::none) {
    parser.body_limit(most);
    const std::optional<Refusal> refusal = co_await read_body(parser, head);
    if (!socket_.is_open()) co_return false;
    if (refusal) co_return co_await refuse(*refusal, std::move(told));
  }
  told.since = Clock::now();

  auto job = std::make_shared<Job>();
  job->connection = shared_from_this();
  job->request = std::move(head.request);
  job->request.body = std::move(parser.get().body());
  job->request.peer = peer_;
  job->request.route = route.pattern;
  job->request.parameters = std::move(parameters);
  job->route = &route;
  const bool head_only = job->request.method == Method::head;
  // The job goes on to the network's thread with all it holds: nothing of a connection dies on a worker.
  Workers& workers = route.rules.takes_long && core_.long_workers_ ? *core_.long_workers_ : *core_.workers_;
  const bool taken = workers.submit([job]() mutable {
    try {
      job->response = job->route->handler(job->request);
    } catch (const std::exception& error) {
      job->fault = error.what();
    } catch (...) {
      job->fault = "something that is not an exception";
    }
    asio::io_context& io = job->connection->core_.io_;
    asio::post(io, [job = std::move(job)] {
      Connection& connection = *job->connection;
      connection.done_ = job;
      connection.wake();
    });
  });
  job.reset();
  if (!taken) {
    release_body();
    core_.count_refused(Refused::busy);
    told.refused = Refused::busy;
    Response response = core_.refusal(503, "The server is busy");
    response.set("retry-after", "1");
    co_return co_await answer(std::move(response), head_only, keep, std::move(told));
  }
  while (!done_) co_await wait_for_signal(Clock::time_point::max());
  job = std::exchange(done_, nullptr);
  release_body();
  // A connection that was cut off in the meantime is seen by the write.
  told.fault = std::move(job->fault);
  if (told.fault.empty()) told.fault = fault_of(job->response);
  Response response = std::move(job->response);
  job.reset();
  if (!told.fault.empty()) response = core_.refusal(500, "Something went wrong here");
  told.handled = true;
  co_return co_await answer(std::move(response), head_only, keep, std::move(told));
}

asio::awaitable<bool> Server::Core::Connection::refuse(Refusal refusal, Told told) {
  release_body();
  core_.count_refused(refusal.why);
  told.refused = refusal.why;
  Response response = core_.refusal(refusal.status, refusal.words);
  if (refusal.status == 503) response.set("retry-after", "1");
  const bool head_only = told.method == word(Method::head);
  co_return co_await answer(std::move(response), head_only, false, std::move(told));
}

asio::awaitable<bool> Server::Core::Connection::answer(Response response, bool head_only, bool keep,
                                                       Told told) {
  std::shared_ptr<detail::EventQueue> queue;
  if (auto* stream = std::get_if<EventStream>(&response.body)) {
    queue = detail::EventQueue::of(*stream);
    const bool room = core_.event_clients_ < core_.settings_.limits.event_clients;
    const bool attached =
        room && !core_.stopping_ && queue->attach([core = core_.weak_from_this(), self = weak_from_this()] {
          // The connection is looked for by its own thread alone, so that it cannot die on this one.
          if (const auto alive = core.lock()) {
            asio::post(alive->io_, [self] {
              if (const auto connection = self.lock()) connection->wake();
            });
          }
        });
    if (room && !core_.stopping_ && !attached) told.fault = "an event stream went out twice";
    if (!attached) {
      if (told.fault.empty()) queue->detach();
      queue.reset();
      if (!room) {
        core_.count_refused(Refused::many_events);
        told.refused = Refused::many_events;
      }
      response = told.fault.empty() ? core_.refusal(503, "No more can follow the events at this time")
                                    : core_.refusal(500, "Something went wrong here");
      if (told.fault.empty()) response.set("retry-after", "1");
    }
  }
  keep = keep && !core_.stopping_ && !queue;
  const std::string head = head_text(response, core_.settings_.headers, keep);
  const std::string_view body =
      head_only || has_no_body(response.status) ? std::string_view{} : bytes_of(response);
  bool sent = co_await write(head, body);
  std::uint64_t bytes = head.size() + body.size();
  if (queue) {
    if (sent && !head_only) bytes += co_await send_events(queue, told);
    queue->detach();
    sent = false;
  }
  tell(told, response.status, bytes);
  if (told.handled && !queue) {
    const auto took = std::chrono::duration_cast<std::chrono::microseconds>(Clock::now() - told.since);
    const auto bucket = static_cast<std::size_t>(
        std::lower_bound(kTimeBounds.begin(), kTimeBounds.end(), took) - kTimeBounds.begin());
    core_.count([&](Counters& c) {
      ++c.times[bucket];
      c.time_sum += took;
    });
  }
  co_return sent&& keep;
}

void Server::Core::Connection::tell(const Told& told, int status, std::uint64_t bytes) {
  core_.count([&](Counters& c) { ++c.answers[static_cast<std::size_t>(status / 100)]; });
  if (!core_.settings_.log) return;
  const auto took = std::chrono::duration_cast<std::chrono::microseconds>(Clock::now() - told.since);
  core_.settings_.log({told.method, told.route, status, bytes, took, peer_, told.refused, told.fault});
}

// --- events
// ----------------------------------------------------------------------------------------------------------

// Reads over whatever comes, to notice the client's leaving.
asio::awaitable<void> Server::Core::Connection::watch_for_end() {
  Code code;
  std::size_t read = 0;
  while (!code && !parting_ && read < kAheadBytes) {
    buffer_.clear();
    read += co_await read_some(kReadBytes, code);
  }
  buffer_.clear();
}

asio::awaitable<std::uint64_t> Server::Core::Connection::send_events(
    std::shared_ptr<detail::EventQueue> queue, Told& told) {
  const EventRules& rules = queue->rules();
  ++core_.event_clients_;
  watching_ = true;
  asio::co_spawn(
      core_.io_, [self = shared_from_this()] { return self->watch_for_end(); },
      [self = shared_from_this()](const std::exception_ptr&) {
        self->watching_ = false;
        self->client_left_ = true;
        self->wake();
      });
  std::uint64_t bytes = 0;
  std::string text = fmt::format("retry: {}\n\n", rules.comes_back.count());
  bool going = true;
  while (going) {
    woken_ = false;
    detail::EventQueue::Taken taken = queue->take();
    text += taken.text;
    if (taken.too_slow) {
      text += ": dropped: too much waited\n\n";
      told.refused = Refused::slow_reader;
      core_.count_refused(Refused::slow_reader);
    } else if (core_.stopping_ && !taken.ends) {
      text += ": the server stops\n\n";
    }
    going = !taken.ends && !core_.stopping_;
    if (!text.empty()) {
      const bool sent = co_await write(text, {});
      if (!sent) break;
      bytes += text.size();
      core_.count([&](Counters& c) { c.events += taken.events; });
      text.clear();
    }
    if (client_left_) break;
    if (!going || woken_) continue;
    const Clock::time_point heartbeat = Clock::now() + rules.heartbeat;
    while (!woken_ && Clock::now() < heartbeat) co_await wait_for_signal(heartbeat);
    if (!woken_) text = ":\n\n";
    if (client_left_) break;
  }
  queue->detach();
  --core_.event_clients_;
  // The watcher must be gone before anything else reads.
  parting_ = true;
  arm(std::chrono::milliseconds(0));
  while (watching_) co_await wait_for_signal(Clock::time_point::max());
  disarm();
  co_return bytes;
}

// --- the server
// ------------------------------------------------------------------------------------------------------

Expected<void> Server::Core::listen() {
  const bool named = !settings_.allowed_hosts.empty();
  for (const std::string& host : settings_.allowed_hosts) hosts_.push_back(lower(host));
  if (settings_.workers == 0)
    return fail(Fault::usage, "there is no thread for handlers", "one worker or more");
  Response common;
  common.headers = settings_.headers;
  if (const std::string fault = fault_of(common); !fault.empty()) return fail(Fault::usage, fault);
  for (Listen& listen : settings_.listen) {
    const std::string shown = fmt::format("{} port {}", listen.address, listen.port);
    Code code;
    const asio::ip::address address = asio::ip::make_address(listen.address, code);
    if (code) {
      return fail(Fault::usage, "\"" + listen.address + "\" is not an address",
                  "an IPv4 or IPv6 address such as 127.0.0.1");
    }
    if (!named && address.is_unspecified()) {
      return fail(Fault::usage, "listening on every address without a name", "the names clients may use");
    }
    if (listen.secure && !certificate_) {
      if (!settings_.certificate) {
        return fail(Fault::usage, "TLS on " + shown + " without a certificate", "a certificate and its key");
      }
      if (Expected<void> read = reload_certificate(); !read) return read;
    }
    if (!named) {
      hosts_.push_back(in_lower_url_form(address));
      if (address.is_loopback()) hosts_.emplace_back("localhost");
    }
    const Tcp::endpoint endpoint(address, listen.port);
    Tcp::acceptor acceptor(io_);
    acceptor.open(endpoint.protocol(), code);
    if (!code) acceptor.set_option(Tcp::acceptor::reuse_address(true), code);
    if (!code && address.is_v6()) acceptor.set_option(asio::ip::v6_only(true), code);
    if (!code) acceptor.bind(endpoint, code);
    if (!code) acceptor.listen(asio::socket_base::max_listen_connections, code);
    if (!code) acceptor.non_blocking(true, code);
    if (!code) listen.port = acceptor.local_endpoint(code).port();
    if (code) return fail(Fault::file, "cannot listen on " + shown + ": " + code.message());
    acceptors_.push_back(std::move(acceptor));
  }
  return {};
}

void Server::Core::begin() {
  workers_ = std::make_unique<Workers>(settings_.workers, settings_.waiting_requests);
  if (settings_.long_workers > 0) {
    long_workers_ = std::make_unique<Workers>(settings_.long_workers, settings_.waiting_requests, true);
  }
  for (std::size_t i = 0; i < acceptors_.size(); ++i) {
    // The thread is joined before this goes.
    asio::co_spawn(
        io_, [this, i] { return accept(i); }, [](const std::exception_ptr&) {});
  }
  network_ = std::thread([this] { io_.run(); });
}

Expected<void> Server::Core::reload_certificate() {
  if (!settings_.certificate) return fail(Fault::usage, "there is no certificate to read again");
  Expected<std::shared_ptr<asio::ssl::context>> context = read_certificate(*settings_.certificate);
  if (!context) return tl::unexpected<Error>(context.error());
  const std::lock_guard lock(certificate_mutex_);
  certificate_ = std::move(*context);
  return {};
}

std::shared_ptr<asio::ssl::context> Server::Core::certificate() const {
  const std::lock_guard lock(certificate_mutex_);
  return certificate_;
}

Counters Server::Core::counters() const {
  const std::lock_guard lock(counters_mutex_);
  Counters counters = counters_;
  counters.connections_now = open_;
  counters.event_clients_now = event_clients_;
  counters.body_bytes_now = body_bytes_;
  counters.waiting_now = workers_->waiting() + (long_workers_ ? long_workers_->waiting() : 0);
  return counters;
}

void Server::Core::count_refused(Refused why) {
  count([&](Counters& c) { ++c.refused[static_cast<std::size_t>(why)]; });
}

Response Server::Core::refusal(int status, std::string_view words) const {
  if (settings_.refusal) {
    Response response = settings_.refusal(status, words);
    response.status = status;
    if (fault_of(response).empty() && !std::holds_alternative<EventStream>(response.body)) return response;
  }
  return Response::text(status, std::string(words) + ".\n");
}

asio::awaitable<void> Server::Core::accept(std::size_t which) {
  while (!stopping_) {
    // Accepting is tried only when somebody is there: the system wants a free descriptor for it even if
    // nobody is.
    Code code;
    co_await acceptors_[which].async_wait(Tcp::acceptor::wait_read, into(code));
    if (stopping_) break;
    Tcp::socket socket(io_);
    if (!code) acceptors_[which].accept(socket, code);
    if (code == asio::error::would_block || code == asio::error::connection_aborted) continue;
    if (!code) {
      admit(std::move(socket), settings_.listen[which].secure);
    } else if (!close_longest_idle()) {
      // Most likely there is no descriptor left: whoever waits in the system's queue is served when there is.
      count([](Counters& c) { ++c.accept_pauses; });
      pause_.expires_after(kAcceptPause);
      co_await pause_.async_wait(into(code));
    }
  }
}

void Server::Core::admit(Tcp::socket socket, bool secure) {
  Code code;
  asio::ip::address peer = socket.remote_endpoint(code).address();
  if (code) return;
  socket.set_option(Tcp::no_delay(true), code);
  if (peer.is_v6() && peer.to_v6().is_v4_mapped()) {
    peer = asio::ip::make_address_v4(asio::ip::v4_mapped, peer.to_v6());
  }
  std::optional<Refused> away;
  const auto known = from_.find(neighbourhood(peer));
  if (known != from_.end() && known->second >= settings_.limits.connections_per_address) {
    away = Refused::many_from_address;
  } else if (connections_.size() - turned_away_ >= settings_.limits.connections && !close_longest_idle()) {
    away = Refused::many_connections;
  }
  if (away) {
    if (secure || turned_away_ >= kTurnedAway) {
      count_refused(*away);
      return;
    }
    ++turned_away_;
  } else {
    ++from_[neighbourhood(peer)];
  }
  auto connection = std::make_shared<Connection>(*this, std::move(socket), peer, secure, away);
  connections_.emplace(connection.get(), connection);
  open_ = connections_.size();
  count([&](Counters& c) { ++c.connections; });
  connection->begin();
}

bool Server::Core::close_longest_idle() {
  // Who has sent something that was not looked at yet waits for an answer.
  const auto oldest =
      std::find_if(idle_.begin(), idle_.end(), [](Connection* c) { return !c->was_sent_something(); });
  if (oldest == idle_.end()) return false;
  (*oldest)->end_waiting();
  return true;
}

void Server::Core::left(Connection& connection) {
  if (connection.is_turned_away()) {
    --turned_away_;
  } else {
    const auto from = from_.find(connection.neighbours());
    if (--from->second == 0) from_.erase(from);
  }
  connections_.erase(&connection);
  open_ = connections_.size();
  if (stopping_ && connections_.empty()) {
    last_call_.cancel();
    work_.reset();
  }
}

void Server::Core::begin_stop(std::chrono::milliseconds patience) {
  stopping_ = true;
  Code ignored;
  for (Tcp::acceptor& acceptor : acceptors_) acceptor.close(ignored);
  pause_.cancel();
  while (close_longest_idle()) {
  }
  if (connections_.empty()) {
    work_.reset();
    return;
  }
  for (const auto& [connection, kept] : connections_) connection->wake();
  last_call_.expires_after(patience);
  last_call_.async_wait([this](const Code& code) {
    if (code) return;
    for (const auto& [connection, kept] : connections_) connection->close_now();
  });
}

void Server::Core::stop(std::chrono::milliseconds patience) {
  {
    std::unique_lock lock(stop_mutex_);
    if (stop_called_) {
      stop_changed_.wait(lock, [this] { return stopped_; });
      return;
    }
    stop_called_ = true;
  }
  asio::post(io_, [this, patience] { begin_stop(patience); });
  network_.join();
  workers_->stop();
  if (long_workers_) long_workers_->stop();
  {
    const std::lock_guard lock(stop_mutex_);
    stopped_ = true;
  }
  stop_changed_.notify_all();
}

Expected<std::unique_ptr<Server>> Server::start(Router router, Settings settings) {
  auto core = std::make_shared<Core>(std::move(router), std::move(settings));
  if (Expected<void> listening = core->listen(); !listening) return tl::unexpected<Error>(listening.error());
  core->begin();
  return std::unique_ptr<Server>(new Server(std::move(core)));
}

Server::Server(std::shared_ptr<Core> core) : core_(std::move(core)) {}

Server::~Server() { stop(core_->settings().patience); }

const std::vector<Listen>& Server::listening() const { return core_->settings().listen; }

Expected<void> Server::reload_certificate() { return core_->reload_certificate(); }

void Server::stop(std::chrono::milliseconds patience) { core_->stop(patience); }

Counters Server::counters() const { return core_->counters(); }

}  // namespace hingeline::http

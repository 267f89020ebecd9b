#pragma once
// A client that says exactly what it is told to, byte by byte, and a server to say it to.

#include <openssl/ssl.h>

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <thread>
#include <utility>
#include <vector>

#include "hingeline/http/server.h"

namespace hingeline::http {

/// Far longer than anything takes, also under a sanitizer on a busy machine.
inline constexpr std::chrono::seconds kDeadline{60};

/// Asks again and again until it is so, or the deadline is over.
template <class Condition>
bool becomes(Condition&& condition) {
  const auto end = std::chrono::steady_clock::now() + kDeadline;
  while (!condition()) {
    if (std::chrono::steady_clock::now() > end) return false;
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  return true;
}

/// Handlers wait before it until it is opened, for good; so does whoever wants to know that one has come.
class Gate {
 public:
  ~Gate() { open(); }
  void open() {
    const std::lock_guard lock(mutex_);
    open_ = true;
    changed_.notify_all();
  }
  void pass() {
    std::unique_lock lock(mutex_);
    ++came_;
    changed_.notify_all();
    changed_.wait(lock, [this] { return open_; });
  }
  bool waits_for(int visitors) {
    std::unique_lock lock(mutex_);
    return changed_.wait_for(lock, kDeadline, [&] { return came_ >= visitors; });
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool open_ = false;
  int came_ = 0;
};

struct Answer {
  int status = 0;
  Fields headers;
  std::string body;
  [[nodiscard]] std::string header(std::string_view name) const {
    const auto found =
        std::find_if(headers.begin(), headers.end(), [&](const Field& field) { return field.name == name; });
    return found == headers.end() ? std::string{} : found->value;
  }
};

/// Takes a status line and headers off the front; nothing when they are not there whole or not as they should
/// be.
inline std::optional<Answer> take_head(std::string& text) {
  const std::size_t end = text.find("\r\n\r\n");
  if (end == std::string::npos || !text.starts_with("HTTP/1.1 ") || text.size() < 13 || text[12] != ' ') {
    return std::nullopt;
  }
  Answer answer;
  for (std::size_t i = 9; i < 12; ++i) {
    if (text[i] < '0' || text[i] > '9') return std::nullopt;
    answer.status = answer.status * 10 + (text[i] - '0');
  }
  for (std::size_t line = text.find("\r\n") + 2; line < end + 2;) {
    const std::size_t line_end = text.find("\r\n", line);
    const std::size_t colon = text.find(": ", line);
    if (colon == std::string::npos || colon > line_end) return std::nullopt;
    answer.headers.push_back({text.substr(line, colon - line), text.substr(colon + 2, line_end - colon - 2)});
    line = line_end + 2;
  }
  text.erase(0, end + 4);
  return answer;
}

class Client {
 public:
  /// Not connected yet; for those who need the descriptor early.
  Client() : fd_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {}
  explicit Client(std::uint16_t port, const char* from = "127.0.0.1", int receive_bytes = 0) : Client() {
    if (receive_bytes > 0) ::setsockopt(fd_, SOL_SOCKET, SO_RCVBUF, &receive_bytes, sizeof receive_bytes);
    sockaddr_in own = address(from, 0);
    EXPECT_EQ(::bind(fd_, reinterpret_cast<sockaddr*>(&own), sizeof own), 0);
    EXPECT_TRUE(connect(port));
  }
  ~Client() { close(); }
  Client(Client&& other) noexcept
      : fd_(std::exchange(other.fd_, -1)),
        ssl_(std::exchange(other.ssl_, nullptr)),
        read_(std::move(other.read_)) {}
  Client& operator=(Client&&) = delete;

  bool connect(std::uint16_t port) {
    sockaddr_in to = address("127.0.0.1", port);
    if (::connect(fd_, reinterpret_cast<sockaddr*>(&to), sizeof to) != 0) return false;
    ::fcntl(fd_, F_SETFL, ::fcntl(fd_, F_GETFL) | O_NONBLOCK);
    const int on = 1;
    ::setsockopt(fd_, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    return true;
  }
  /// Speaks TLS from here on. False: the handshake failed.
  bool shake_hands(SSL_CTX* context) {
    ssl_ = SSL_new(context);
    SSL_set_fd(ssl_, fd_);
    SSL_set_tlsext_host_name(ssl_, "localhost");
    return until([this] { return SSL_connect(ssl_); }) == 1;
  }
  [[nodiscard]] SSL* ssl() const { return ssl_; }

  /// False: the other end does not take it.
  bool send(std::string_view text) {
    while (!text.empty()) {
      const std::ptrdiff_t sent = put(text);
      if (sent <= 0) return false;
      text.remove_prefix(static_cast<std::size_t>(sent));
    }
    return true;
  }
  void say_no_more() { ::shutdown(fd_, SHUT_WR); }
  void close() {
    if (ssl_ != nullptr) SSL_free(std::exchange(ssl_, nullptr));
    if (fd_ >= 0) ::close(std::exchange(fd_, -1));
  }
  /// Leaves without a good-bye.
  void reset() {
    const linger at_once{1, 0};
    ::setsockopt(fd_, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
    close();
  }

  /// The next answer, whole; nothing when the connection ends before it has.
  std::optional<Answer> read(bool without_body = false) {
    while (read_.find("\r\n\r\n") == std::string::npos) {
      if (!more()) return std::nullopt;
    }
    std::optional<Answer> answer = take_head(read_);
    if (!answer || without_body || answer->status < 200 || answer->header("content-length").empty())
      return answer;
    const std::size_t length = std::stoul(answer->header("content-length"));
    while (read_.size() < length) {
      if (!more()) return std::nullopt;
    }
    answer->body = read_.substr(0, length);
    read_.erase(0, length);
    return answer;
  }
  int status(std::string_view request) {
    send(request);
    const std::optional<Answer> answer = read();
    return answer ? answer->status : 0;
  }
  /// Up to that text and with it; nothing when the connection ends before.
  std::optional<std::string> read_until(std::string_view text) {
    while (read_.find(text) == std::string::npos) {
      if (!more()) return std::nullopt;
    }
    const std::size_t end = read_.find(text) + text.size();
    std::string result = read_.substr(0, end);
    read_.erase(0, end);
    return result;
  }
  /// All that comes until the other end closes (or resets) the connection, which it has to before the
  /// deadline.
  std::string read_to_end() {
    while (more()) {
    }
    EXPECT_TRUE(ended_) << "the connection was not closed";
    return std::exchange(read_, {});
  }
  [[nodiscard]] bool was_reset() const { return reset_; }
  /// Whether it has been closed, without waiting. What comes first is kept.
  bool is_closed() {
    while (!ended_ && wait(POLLIN, std::chrono::milliseconds(0))) take();
    return ended_;
  }
  /// What has come and was not taken.
  [[nodiscard]] const std::string& unread() const { return read_; }

 private:
  static sockaddr_in address(const char* text, std::uint16_t port) {
    sockaddr_in result{};
    result.sin_family = AF_INET;
    result.sin_port = htons(port);
    ::inet_pton(AF_INET, text, &result.sin_addr);
    return result;
  }
  bool wait(short events, std::chrono::milliseconds time) const {
    pollfd one{fd_, events, 0};
    return ::poll(&one, 1, static_cast<int>(time.count())) > 0;
  }
  // An OpenSSL call, until it has what it wants.
  template <class Call>
  int until(Call&& call) {
    for (;;) {
      const int result = call();
      if (result > 0) return result;
      const int why = SSL_get_error(ssl_, result);
      const short events = why == SSL_ERROR_WANT_READ ? POLLIN : why == SSL_ERROR_WANT_WRITE ? POLLOUT : 0;
      if (events == 0 || !wait(events, kDeadline)) return result;
    }
  }
  std::ptrdiff_t put(std::string_view text) {
    if (ssl_ != nullptr) {
      return until([&] {
        return SSL_write(ssl_, text.data(), static_cast<int>(std::min<std::size_t>(text.size(), 1U << 14U)));
      });
    }
    for (;;) {
      const ssize_t sent = ::send(fd_, text.data(), text.size(), MSG_NOSIGNAL);
      if (sent >= 0 || errno != EAGAIN || !wait(POLLOUT, kDeadline)) return sent;
    }
  }
  // False: the end.
  bool take() {
    std::array<char, 16384> bytes{};
    const ssize_t got =
        ssl_ != nullptr ? until([&] { return SSL_read(ssl_, bytes.data(), static_cast<int>(bytes.size())); })
                        : ::recv(fd_, bytes.data(), bytes.size(), 0);
    if (got > 0) {
      read_.append(bytes.data(), static_cast<std::size_t>(got));
      return true;
    }
    ended_ = ssl_ != nullptr || got == 0 || errno != EAGAIN;
    reset_ = got < 0;
    return false;
  }
  bool more() {
    if (ended_) return false;
    if (ssl_ == nullptr && !wait(POLLIN, kDeadline)) return false;
    return take();
  }

  int fd_;
  SSL* ssl_ = nullptr;
  std::string read_;
  bool ended_ = false;
  bool reset_ = false;
};

/// A request without a body.
inline std::string ask(std::string_view method, std::string_view target, std::string_view headers = {}) {
  std::string text(method);
  return text.append(" ")
      .append(target)
      .append(" HTTP/1.1\r\nHost: localhost\r\n")
      .append(headers)
      .append("\r\n");
}
inline std::string get(std::string_view target, std::string_view headers = {}) {
  return ask("GET", target, headers);
}
inline std::string post(std::string_view target, std::string_view body) {
  return ask("POST", target, "Content-Length: " + std::to_string(body.size()) + "\r\n").append(body);
}

/// "/hello" says hello; "/echo" gives a body back; "/items/{id}" gives the id back; "/gate" waits at the
/// gate.
class Rig {
 public:
  Rig() {
    router.add(Method::get, "/hello", [](const Request&) { return Response::text(200, "hello"); });
    router.add(Method::post, "/echo",
               [](const Request& request) { return Response::text(200, request.body); });
    router.add(Method::get, "/items/{id}", [](const Request& request) {
      return Response::text(200, std::string(request.parameter("id")));
    });
    router.add(Method::get, "/gate", [this](const Request&) {
      gate.pass();
      return Response::text(200, "through");
    });
    settings.listen = {{"127.0.0.1", 0, false}};
    settings.log = [this](const LogEntry& entry) {
      const std::lock_guard lock(log_mutex_);
      log_.push_back(entry);
    };
  }
  ~Rig() { gate.open(); }
  Rig(const Rig&) = delete;
  Rig& operator=(const Rig&) = delete;

  void start() {
    Expected<std::unique_ptr<Server>> started = Server::start(std::move(router), settings);
    ASSERT_TRUE(started) << started.error().what;
    server = std::move(*started);
  }
  [[nodiscard]] std::uint16_t port(std::size_t which = 0) const { return server->listening()[which].port; }
  [[nodiscard]] Client client() const { return Client(port()); }
  [[nodiscard]] std::uint64_t refused(Refused why) const { return server->counters().refused_for(why); }
  /// A new client is served.
  [[nodiscard]] bool serves() const { return client().status(get("/hello")) == 200; }
  /// Waits until that many answers were told of.
  std::vector<LogEntry> log(std::size_t entries) {
    EXPECT_TRUE(becomes([&] {
      const std::lock_guard lock(log_mutex_);
      return log_.size() >= entries;
    }));
    const std::lock_guard lock(log_mutex_);
    return log_;
  }

  Gate gate;
  Router router;
  Settings settings;

 private:
  std::mutex log_mutex_;
  std::vector<LogEntry> log_;

 public:
  // Last: it is gone before what its handlers use.
  std::unique_ptr<Server> server;
};

}  // namespace hingeline::http

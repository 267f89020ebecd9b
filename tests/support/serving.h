#pragma once
/// \file
/// `hingeline serve` as a process of its own, and a client that asks it one thing after the other, as a bench
/// does.

#include <sys/types.h>

#include <chrono>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace hingeline::support {

/// A running server on 127.0.0.1.
class Serving {
 public:
  struct Asked {
    std::string program;              ///< path of hingeline
    std::string book;                 ///< a file or postgresql://...
    std::string log;                  ///< path of a file for what it says; its log lines go to LOG.err
    std::vector<std::string> more{};  ///< further arguments
    std::uint64_t file_bytes = 0;     ///< no file it writes may grow beyond this, as on a full disk; 0: any
  };
  /// Starts it and waits until it listens. Throws std::runtime_error with its own words when it does not.
  explicit Serving(Asked asked);
  /// Kills it when it still runs.
  ~Serving();
  Serving(const Serving&) = delete;
  Serving& operator=(const Serving&) = delete;

  [[nodiscard]] std::uint16_t port() const { return port_; }
  [[nodiscard]] pid_t process() const { return process_; }
  /// Sends a signal and waits for its end; the exit code, 128 + signal when it was killed.
  int stop(int signal);
  /// What it wrote on standard error so far.
  [[nodiscard]] std::string told() const;

 private:
  std::string log_;
  pid_t process_ = -1;
  std::uint16_t port_ = 0;
};

struct Answered {
  int status = 0;  ///< 0: there was no answer
  std::string body;
};

/// One connection that is kept, and opened anew when the server has closed it. Keeps cookies, and sends the
/// session's own word.
class Asker {
 public:
  /// `address`: whom a proxy in front would say it asks for; empty: nobody.
  explicit Asker(std::uint16_t port, std::string address = {});
  ~Asker();
  Asker(Asker&& other) noexcept;
  Asker& operator=(Asker&&) = delete;

  /// Status 0 when the connection ended, or `patience` did, before there was an answer. A kept connection
  /// that turns out to be closed is opened once more.
  Answered ask(std::string_view method, const std::string& path, const std::string& body = {});
  Answered get(const std::string& path) { return ask("GET", path); }
  /// Whether that opens a session.
  bool log_in(const std::string& login, const std::string& password);
  /// A socket for GET `path` whose answer goes on, such as events: the request is sent, nothing is read. -1:
  /// no connection. The caller closes it.
  [[nodiscard]] int opened(const std::string& path, const std::string& headers = {}) const;

  std::chrono::seconds patience{60};

 private:
  [[nodiscard]] std::string head(std::string_view method, const std::string& path, std::size_t bytes) const;
  bool connect();
  void close();
  bool send(std::string_view text);
  bool more();
  bool read(Answered& into);
  void take_cookie(const std::string& field);

  std::uint16_t port_;
  std::string address_;
  std::map<std::string, std::string> cookies_;
  std::string csrf_;
  int fd_ = -1;
  std::string read_;
};

/// A blocking socket to 127.0.0.1; -1: no connection. `receive_bytes`: of the socket's buffer; 0: as usual.
int connected(std::uint16_t port, int receive_bytes = 0);

}  // namespace hingeline::support

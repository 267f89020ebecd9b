#include "support/serving.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cctype>
#include <csignal>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <thread>
#include <utility>

namespace hingeline::support {
namespace {

using Clock = std::chrono::steady_clock;

std::string text_of(const std::string& path) {
  std::ostringstream out;
  out << std::ifstream(path, std::ios::binary).rdbuf();
  return out.str();
}

/// The port in "... at http://127.0.0.1:8420/ ..."; 0: it is not there yet.
std::uint16_t port_in(const std::string& text) {
  constexpr std::string_view kAddress = "127.0.0.1:";
  const std::size_t at = text.find(kAddress);
  if (at == std::string::npos || text.find('/', at) == std::string::npos) return 0;
  return static_cast<std::uint16_t>(std::stoi(text.substr(at + kAddress.size())));
}

/// The value of a member "name":"..." without escapes; empty: it is not there.
std::string member(const std::string& json, const std::string& name) {
  const std::string before = '"' + name + "\":\"";
  const std::size_t at = json.find(before);
  if (at == std::string::npos) return {};
  const std::size_t from = at + before.size();
  return json.substr(from, json.find('"', from) - from);
}

}  // namespace

Serving::Serving(Asked asked) : log_(asked.log) {
  std::vector<std::string> arguments{asked.program, "serve", "--book", asked.book, "--listen", "127.0.0.1:0"};
  arguments.insert(arguments.end(), asked.more.begin(), asked.more.end());
  std::vector<char*> argv;
  for (std::string& a : arguments) argv.push_back(a.data());
  argv.push_back(nullptr);
  std::ofstream(log_) << "";
  const std::string errors = log_ + ".err";
  process_ = ::fork();
  if (process_ < 0) throw std::runtime_error("no process for the server");
  if (process_ == 0) {
    // Between fork and exec only what is safe there.
    const int nothing = ::open("/dev/null", O_RDONLY);
    const int out = ::open(log_.c_str(), O_WRONLY | O_APPEND);
    const int err = ::open(errors.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600);
    if (nothing < 0 || out < 0 || err < 0 || ::dup2(nothing, 0) < 0 || ::dup2(out, 1) < 0 ||
        ::dup2(err, 2) < 0)
      ::_exit(127);
    if (asked.file_bytes > 0) {
      // Ignored signals stay ignored in the program: it sees the refused write.
      ::signal(SIGXFSZ, SIG_IGN);
      const rlimit limit{asked.file_bytes, RLIM_INFINITY};
      ::setrlimit(RLIMIT_FSIZE, &limit);
    }
    ::execv(argv[0], argv.data());
    ::_exit(127);
  }
  const auto deadline = Clock::now() + std::chrono::seconds(60);
  while ((port_ = port_in(text_of(log_))) == 0) {
    int status = 0;
    const bool ended = ::waitpid(process_, &status, WNOHANG) == process_;
    if (ended) process_ = -1;
    if (ended || Clock::now() > deadline) {
      if (!ended) stop(SIGKILL);
      throw std::runtime_error("the server does not listen: " + told());
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
}

Serving::~Serving() {
  if (process_ > 0) stop(SIGKILL);
}

int Serving::stop(int signal) {
  if (process_ <= 0) return -1;
  ::kill(process_, signal);
  int status = 0;
  ::waitpid(process_, &status, 0);
  process_ = -1;
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

std::string Serving::told() const { return text_of(log_ + ".err"); }

int connected(std::uint16_t port, int receive_bytes) {
  const int fd = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (fd < 0) return -1;
  if (receive_bytes > 0) ::setsockopt(fd, SOL_SOCKET, SO_RCVBUF, &receive_bytes, sizeof receive_bytes);
  sockaddr_in to{};
  to.sin_family = AF_INET;
  to.sin_port = htons(port);
  to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (::connect(fd, reinterpret_cast<const sockaddr*>(&to), sizeof to) != 0) {
    ::close(fd);
    return -1;
  }
  const int on = 1;
  ::setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  return fd;
}

Asker::Asker(std::uint16_t port, std::string address) : port_(port), address_(std::move(address)) {}
Asker::~Asker() { close(); }
Asker::Asker(Asker&& other) noexcept
    : patience(other.patience),
      port_(other.port_),
      address_(std::move(other.address_)),
      cookies_(std::move(other.cookies_)),
      csrf_(std::move(other.csrf_)),
      fd_(std::exchange(other.fd_, -1)),
      read_(std::move(other.read_)) {}

bool Asker::connect() {
  close();
  fd_ = connected(port_);
  return fd_ >= 0;
}

void Asker::close() {
  if (fd_ >= 0) ::close(std::exchange(fd_, -1));
  read_.clear();
}

bool Asker::send(std::string_view text) {
  while (!text.empty()) {
    const ssize_t sent = ::send(fd_, text.data(), text.size(), MSG_NOSIGNAL);
    if (sent <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(sent));
  }
  return true;
}

bool Asker::more() {
  pollfd look{fd_, POLLIN, 0};
  const auto wait = std::chrono::duration_cast<std::chrono::milliseconds>(patience).count();
  if (::poll(&look, 1, static_cast<int>(wait)) != 1) return false;
  std::array<char, 64U << 10U> piece;
  const ssize_t got = ::recv(fd_, piece.data(), piece.size(), 0);
  if (got <= 0) return false;
  read_.append(piece.data(), static_cast<std::size_t>(got));
  return true;
}

std::string Asker::head(std::string_view method, const std::string& path, std::size_t bytes) const {
  std::string out(method);
  out += " " + path + " HTTP/1.1\r\nHost: localhost\r\n";
  if (!address_.empty()) out += "X-Forwarded-For: " + address_ + "\r\n";
  if (!cookies_.empty()) {
    std::string all;
    for (const auto& [name, value] : cookies_) all += (all.empty() ? "" : "; ") + name + "=" + value;
    out += "Cookie: " + all + "\r\n";
  }
  if (!csrf_.empty()) out += "Hingeline-CSRF: " + csrf_ + "\r\n";
  if (method != "GET") {
    out += "Content-Type: application/json\r\nContent-Length: " + std::to_string(bytes) + "\r\n";
  }
  return out;
}

void Asker::take_cookie(const std::string& field) {
  const std::size_t equals = field.find('=');
  if (equals == std::string::npos) return;
  cookies_[field.substr(0, equals)] = field.substr(equals + 1, field.find(';') - equals - 1);
}

bool Asker::read(Answered& into) {
  std::size_t end = 0;
  while ((end = read_.find("\r\n\r\n")) == std::string::npos) {
    if (!more()) return false;
  }
  const std::string top = read_.substr(0, end + 2);
  read_.erase(0, end + 4);
  into.status = std::stoi(top.substr(9, 3));
  std::size_t length = 0;
  bool last = false;
  for (std::size_t at = top.find("\r\n") + 2; at < top.size();) {
    const std::size_t line_end = top.find("\r\n", at);
    const std::size_t colon = top.find(": ", at);
    std::string name = top.substr(at, colon - at);
    for (char& c : name) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    const std::string value = top.substr(colon + 2, line_end - colon - 2);
    if (name == "content-length") length = std::stoul(value);
    if (name == "connection") last = value == "close";
    if (name == "set-cookie") take_cookie(value);
    at = line_end + 2;
  }
  while (read_.size() < length) {
    if (!more()) return false;
  }
  into.body = read_.substr(0, length);
  read_.erase(0, length);
  if (last) close();
  return true;
}

Answered Asker::ask(std::string_view method, const std::string& path, const std::string& body) {
  const std::string request = head(method, path, body.size()) + "\r\n" + body;
  for (bool kept = fd_ >= 0;; kept = false) {
    if (!kept && !connect()) return {};
    Answered out;
    if (send(request) && read(out)) return out;
    // Closed while nothing was asked. Whatever is asked here counts once, however often it is sent.
    const bool unread = kept && read_.empty();
    close();
    if (!unread) return {};
  }
}

bool Asker::log_in(const std::string& login, const std::string& password) {
  csrf_.clear();
  const Answered answer =
      ask("POST", "/api/log-in", R"({"login":")" + login + R"(","password":")" + password + R"("})");
  if (answer.status == 200) csrf_ = member(answer.body, "csrf");
  return answer.status == 200;
}

int Asker::opened(const std::string& path, const std::string& headers) const {
  const int fd = connected(port_);
  if (fd < 0) return -1;
  const std::string request = head("GET", path, 0) + headers + "\r\n";
  if (::send(fd, request.data(), request.size(), MSG_NOSIGNAL) != static_cast<ssize_t>(request.size())) {
    ::close(fd);
    return -1;
  }
  return fd;
}

}  // namespace hingeline::support

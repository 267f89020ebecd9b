// Any bytes as a request's head, and as all that a client sends to a server: nothing crashes, a head is
// scanned alike in one piece and byte by byte, and the server's answers are whole.

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "head.h"
#include "hingeline/http/server.h"

namespace {

using namespace hingeline::http;

void demand(bool holds) {
  if (!holds) std::abort();
}

/// Where the head ends, or with which status it is refused; 0: neither yet.
std::int64_t scanned(std::string_view text, std::size_t piece, const Limits& limits) {
  HeadScan scan(limits);
  for (std::size_t seen = 0; seen < text.size();) {
    seen = std::min(text.size(), seen + piece);
    const auto end = scan.look(text.substr(0, seen));
    if (!end) return -end.error().status;
    if (*end) {
      demand(**end <= seen);
      return static_cast<std::int64_t>(**end);
    }
  }
  return 0;
}

/// The bytes as what the parser would split: lines of method, target and fields.
void judged(std::string_view text) {
  RawHead raw;
  raw.version = !text.empty() && text.front() % 2 == 0 ? 10 : 11;
  std::size_t line = 0;
  for (std::size_t at = 0; at < text.size() && line < 40; ++line) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string_view one = text.substr(at, end - at);
    at = end + 1;
    if (line == 0) raw.method = one;
    if (line == 1) raw.target = one;
    if (line < 2) continue;
    const std::size_t colon = std::min(one.find(':'), one.size());
    const std::string_view value = colon < one.size() ? one.substr(colon + 1) : std::string_view{};
    raw.headers.push_back({std::string(one.substr(0, colon)), std::string(value)});
  }
  for (const bool secure : {false, true}) {
    const auto head = judge(raw, {"localhost", "[::1]"}, secure);
    if (!head) demand(head.error().status >= 400 && head.error().status < 600);
  }
}

/// A server for all inputs, with small limits so that they are met.
const Server& server() {
  static const std::unique_ptr<Server> running = [] {
    Router router;
    router.add(Method::get, "/hello", [](const Request&) { return Response::text(200, "hello"); });
    router.add(Method::post, "/echo", [](const Request& r) { return Response::text(200, r.body); });
    router.add(Method::get, "/items/{id}",
               [](const Request& r) { return Response::text(200, std::string(r.parameter("id"))); });
    Settings settings;
    settings.listen = {{"127.0.0.1", 0, false}};
    settings.limits.header_bytes = 2048;
    settings.limits.body_bytes = 4096;
    settings.workers = 1;
    auto started = Server::start(std::move(router), std::move(settings));
    demand(started.has_value());
    return std::move(*started);
  }();
  return *running;
}

/// Sends all of it and says no more; gives all that comes back.
std::string answered(std::string_view text) {
  const int fd = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in to{};
  to.sin_family = AF_INET;
  to.sin_port = htons(server().listening().front().port);
  to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  demand(::connect(fd, reinterpret_cast<const sockaddr*>(&to), sizeof to) == 0);
  static_cast<void>(::send(fd, text.data(), text.size(), MSG_NOSIGNAL));
  ::shutdown(fd, SHUT_WR);
  std::string out;
  std::array<char, 4096> piece{};
  for (ssize_t got = 0; (got = ::recv(fd, piece.data(), piece.size(), 0)) > 0;)
    out.append(piece.data(), static_cast<std::size_t>(got));
  // No connection waits for the last packets of one of a moment ago.
  const linger at_once{1, 0};
  ::setsockopt(fd, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
  ::close(fd);
  return out;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  Limits limits;
  limits.header_bytes = 2048;
  limits.line_bytes = 512;
  demand(scanned(text, size + 1, limits) == scanned(text, 1, limits));
  judged(text);
  const std::string answers = answered(text);
  demand(answers.empty() || answers.starts_with("HTTP/1.1 "));
  demand(answers.find("HTTP/1.1 500") == std::string::npos || text.find("HTTP/1.1 500") != std::string::npos);
  return 0;
}

#pragma once
/// \file
/// What came in and what goes out: a request, taken apart and checked, and its response.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "hingeline/http/events.h"

namespace hingeline::http {

/// The methods the server knows; any other is answered 501.
enum class Method { get, head, post, put, patch, remove, options };
/// "GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS".
const char* word(Method method);
/// The method of that word; nothing for any other (methods are told apart by case).
std::optional<Method> method_of(std::string_view word);

/// One header or query field.
struct Field {
  std::string name;
  std::string value;
  bool operator==(const Field&) const = default;
};
using Fields = std::vector<Field>;

struct Request {
  Method method = Method::get;
  /// The path's segments, percent-decoded: "/a/b%20c" is {"a", "b c"}, "/" is {""}. They are UTF-8 without
  /// control characters, '/' and '\\', and none is "." or "..".
  std::vector<std::string> segments;
  /// In the order they came, decoded ('+' is a space), UTF-8 without NUL. A field without '=' has an empty
  /// value.
  Fields query;
  /// In the order they came; names in lower case, values without blanks around them. Trailers are left out.
  Fields headers;
  std::string body;
  /// Without the port, in lower case; one of the server's allowed hosts.
  std::string host;
  /// The other end's address without its port, as "192.0.2.7" or "2001:db8::7". Personal data.
  std::string peer;
  /// Whether it came over TLS to this server.
  bool secure = false;
  /// The pattern that took it, as "/api/visits/{id}", and what stood in its braces.
  std::string route;
  Fields parameters;

  /// The first header of that name (given in lower case); empty when there is none.
  [[nodiscard]] std::string_view header(std::string_view name) const;
  [[nodiscard]] bool has_header(std::string_view name) const;
  /// The first query field of that name; nothing when there is none.
  [[nodiscard]] std::optional<std::string_view> asked(std::string_view name) const;
  /// What stood in the pattern's {name}; empty when the pattern has none.
  [[nodiscard]] std::string_view parameter(std::string_view name) const;
  /// The first cookie of that name, as it came, without quotes around it; nothing when there is none.
  [[nodiscard]] std::optional<std::string_view> cookie(std::string_view name) const;
  /// Where a client of an event stream left off; empty at its first visit.
  [[nodiscard]] std::string_view last_event_id() const { return header("last-event-id"); }
};

/// Bytes that never change and may be shared by many responses; what owns them lives as long as any copy.
class Bytes {
 public:
  Bytes() = default;
  explicit Bytes(std::string text);
  /// `view` must live as long as `owner`; with none, for ever.
  Bytes(std::shared_ptr<const void> owner, std::string_view view) : owner_(std::move(owner)), view_(view) {}
  [[nodiscard]] std::string_view view() const { return view_; }
  [[nodiscard]] bool empty() const { return view_.empty(); }

 private:
  std::shared_ptr<const void> owner_;
  std::string_view view_;
};

struct Response {
  /// 200 to 599.
  int status = 200;
  /// Names are tokens, values have no control characters but tabs: otherwise 500 is sent in its place, and
  /// the same for a name that is the server's own: content-length, transfer-encoding, connection, date.
  Fields headers;
  /// Left out on the wire for HEAD, 204 and 304. An event stream goes to one client only.
  std::variant<std::string, Bytes, EventStream> body;

  static Response empty(int status);
  /// text/plain in UTF-8.
  static Response text(int status, std::string body);
  static Response json(int status, std::string body);
  /// The usual headers of an event stream, not to be cached.
  static Response events(EventStream stream);

  /// Sets a header, in place of what stood there under that name (given in any case).
  Response& set(std::string_view name, std::string value);
  /// Adds a header beside others of that name, as "set-cookie" needs.
  Response& add(std::string name, std::string value);
  /// The first header of that name in any case; empty when there is none.
  [[nodiscard]] std::string_view header(std::string_view name) const;
};

/// Runs on one of the server's worker threads, several at once. What it throws is answered 500 and told to
/// the log.
using Handler = std::function<Response(const Request&)>;

}  // namespace hingeline::http

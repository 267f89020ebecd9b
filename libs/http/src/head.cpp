#include "head.h"

#include <algorithm>
#include <charconv>
#include <utility>

#include "hingeline/base/utf8.h"
#include "text.h"

namespace hingeline::http {

namespace {

tl::unexpected<Refusal> refuse(int status, Refused why, const char* words) {
  return tl::unexpected<Refusal>(Refusal{status, why, words});
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

std::optional<std::string> percent_decoded(std::string_view text, bool plus_is_space) {
  std::string decoded;
  decoded.reserve(text.size());
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '%') {
      if (i + 2 >= text.size()) return std::nullopt;
      const int high = hex_digit(text[i + 1]);
      const int low = hex_digit(text[i + 2]);
      if (high < 0 || low < 0) return std::nullopt;
      decoded.push_back(static_cast<char>(high * 16 + low));
      i += 2;
    } else {
      decoded.push_back(plus_is_space && text[i] == '+' ? ' ' : text[i]);
    }
  }
  return decoded;
}

bool is_control(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte < 0x20 || byte == 0x7F;
}

tl::expected<std::vector<std::string>, Refusal> segments_of(std::string_view path) {
  if (!path.starts_with('/')) return refuse(400, Refused::syntax, "The target has no path");
  std::vector<std::string> segments;
  for (const std::string_view raw : split(path.substr(1), '/')) {
    std::optional<std::string> segment = percent_decoded(raw, false);
    if (!segment || !is_utf8(*segment)) {
      return refuse(400, Refused::syntax, "The path is not percent-encoded UTF-8");
    }
    if (*segment == "." || *segment == ".." || segment->find_first_of("/\\") != std::string::npos ||
        std::any_of(segment->begin(), segment->end(), is_control)) {
      return refuse(400, Refused::syntax, "The path has a segment that is none");
    }
    segments.push_back(std::move(*segment));
  }
  return segments;
}

tl::expected<Fields, Refusal> query_of(std::string_view text) {
  Fields fields;
  for (const std::string_view pair : split(text, '&')) {
    if (pair.empty()) continue;
    const std::size_t equals = std::min(pair.find('='), pair.size());
    std::optional<std::string> name = percent_decoded(pair.substr(0, equals), true);
    std::optional<std::string> value = percent_decoded(pair.substr(std::min(equals + 1, pair.size())), true);
    if (!name || !value || !is_utf8(*name) || !is_utf8(*value) || name->find('\0') != std::string::npos ||
        value->find('\0') != std::string::npos) {
      return refuse(400, Refused::syntax, "The query is not percent-encoded UTF-8");
    }
    fields.push_back({std::move(*name), std::move(*value)});
  }
  return fields;
}

bool is_host_character(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || c == '-' || c == '.' || c == '_';
}

// The name or address in lower case, without a port; nothing when it is none.
std::optional<std::string> host_of(std::string_view text) {
  const std::string host = lower(text);
  std::size_t end = 0;
  if (host.starts_with('[')) {
    end = host.find(']');
    if (end == std::string::npos || end == 1 || host.find_first_not_of("0123456789abcdef:.", 1) != end) {
      return std::nullopt;
    }
    ++end;
  } else {
    end = std::min(host.find(':'), host.size());
    if (end == 0 ||
        !std::all_of(host.begin(), host.begin() + static_cast<std::ptrdiff_t>(end), is_host_character)) {
      return std::nullopt;
    }
  }
  const std::string_view port = std::string_view(host).substr(end);
  if (!port.empty() && (port[0] != ':' || port.size() > 6 ||
                        port.find_first_not_of("0123456789", 1) != std::string_view::npos)) {
    return std::nullopt;
  }
  return host.substr(0, end);
}

// The body's length or coding, and nothing that another reader could take otherwise.
tl::expected<void, Refusal> frame(const RawHead& raw, Head& head) {
  const Fields& headers = head.request.headers;
  const auto all = [&](std::string_view name) {
    std::vector<std::string_view> values;
    for (const Field& field : headers) {
      if (field.name == name) values.push_back(field.value);
    }
    return values;
  };
  const std::vector<std::string_view> lengths = all("content-length");
  const std::vector<std::string_view> codings = all("transfer-encoding");
  if (!codings.empty()) {
    if (!lengths.empty()) return refuse(400, Refused::framing, "The body's length is said in two ways");
    if (raw.version < 11) return refuse(400, Refused::framing, "HTTP/1.0 has no transfer codings");
    if (codings.size() != 1 || !same_word(codings[0], "chunked")) {
      return refuse(501, Refused::framing, "The one transfer coding known here is chunked");
    }
    head.framing = Framing::chunked;
    return {};
  }
  if (lengths.empty()) return {};
  if (lengths.size() > 1) return refuse(400, Refused::framing, "The body's length is said twice");
  const std::string_view digits = lengths[0];
  const bool plain = !digits.empty() && digits.find_first_not_of("0123456789") == std::string_view::npos;
  const auto [end, trouble] = std::from_chars(digits.data(), digits.data() + digits.size(), head.length);
  if (!plain || trouble != std::errc{} || end != digits.data() + digits.size()) {
    return refuse(400, Refused::framing, "The body's length is not a number");
  }
  if (head.length > 0) head.framing = Framing::length;
  return {};
}

// Takes "http://host" off the front of a target in absolute form; its host goes before the Host header's.
tl::expected<std::string, Refusal> absolute_host(std::string& target, bool secure) {
  const std::string_view scheme = secure ? "https://" : "http://";
  if (!same_word(std::string_view(target).substr(0, scheme.size()), scheme)) {
    return refuse(400, Refused::syntax, "The target is neither a path nor an address of this server");
  }
  const std::size_t end = std::min(target.find_first_of("/?", scheme.size()), target.size());
  std::string host = target.substr(scheme.size(), end - scheme.size());
  target.erase(0, end);
  if (!target.starts_with('/')) target.insert(0, "/");
  return host;
}

tl::expected<void, Refusal> place(RawHead& raw, const std::vector<std::string>& hosts, bool secure,
                                  Head& head) {
  std::optional<std::string> named;
  for (const Field& field : head.request.headers) {
    if (field.name != "host") continue;
    if (named) return refuse(400, Refused::host, "There are two Host headers");
    named = field.value;
  }
  if (!named) return refuse(400, Refused::host, "There is no Host header");

  if (raw.target == "*") {
    if (head.request.method != Method::options) return refuse(400, Refused::syntax, "The target has no path");
    head.whole_server = true;
  } else if (!raw.target.starts_with('/')) {
    if (!host_of(*named)) return refuse(400, Refused::host, "The Host header is not a host");
    tl::expected<std::string, Refusal> host = absolute_host(raw.target, secure);
    if (!host) return tl::unexpected<Refusal>(host.error());
    named = std::move(*host);
  }
  std::optional<std::string> host = host_of(*named);
  if (!host) return refuse(400, Refused::host, "The Host header is not a host");
  if (std::find(hosts.begin(), hosts.end(), *host) == hosts.end()) {
    return refuse(421, Refused::host, "This server does not go by that name");
  }
  head.request.host = std::move(*host);
  return {};
}

}  // namespace

tl::expected<std::optional<std::size_t>, Refusal> HeadScan::look(std::string_view bytes) {
  for (; seen_ < bytes.size(); ++seen_) {
    const char c = bytes[seen_];
    if (lines_ == 0 && seen_ - line_start_ >= limits_.line_bytes) {
      return refuse(414, Refused::long_line, "The request line is too long");
    }
    if (seen_ >= limits_.header_bytes) return refuse(431, Refused::big_headers, "The headers are too long");
    if (c == '\n') {
      if (seen_ == 0 || bytes[seen_ - 1] != '\r') {
        return refuse(400, Refused::syntax, "A line does not end in CR LF");
      }
      if (seen_ - line_start_ == 1) {
        if (lines_ > 0) return seen_ + 1;
        if (before_ > 0) return refuse(400, Refused::syntax, "There is no request line");
        before_ = 2;
      } else {
        ++lines_;
      }
      if (lines_ > limits_.header_count + 1)
        return refuse(431, Refused::big_headers, "There are too many headers");
      line_start_ = seen_ + 1;
    } else if (seen_ > 0 && bytes[seen_ - 1] == '\r') {
      return refuse(400, Refused::syntax, "A line does not end in CR LF");
    } else if (seen_ == line_start_ && lines_ > 0 && (c == ' ' || c == '\t')) {
      return refuse(400, Refused::syntax, "A header goes over two lines");
    } else if (c != '\r' && c != '\t' && is_control(c)) {
      return refuse(400, Refused::syntax, "There is a control character");
    }
  }
  return std::nullopt;
}

tl::expected<Head, Refusal> judge(RawHead raw, const std::vector<std::string>& hosts, bool secure) {
  Head head;
  head.keep_alive = raw.version >= 11;
  for (Field& field : raw.headers) {
    head.request.headers.push_back({lower(field.name), std::string(trimmed(field.value))});
  }
  if (tl::expected<void, Refusal> framed = frame(raw, head); !framed) return tl::unexpected(framed.error());

  const std::optional<Method> method = method_of(raw.method);
  if (!method) return refuse(501, Refused::method, "That method is not known here");
  head.request.method = *method;
  head.request.secure = secure;
  if (tl::expected<void, Refusal> placed = place(raw, hosts, secure, head); !placed) {
    return tl::unexpected(placed.error());
  }

  for (const Field& field : head.request.headers) {
    if (field.name == "connection") {
      for (const std::string_view option : split(field.value, ',')) {
        if (same_word(trimmed(option), "close")) head.keep_alive = false;
      }
    } else if (field.name == "expect" && raw.version >= 11) {
      if (!same_word(field.value, "100-continue")) {
        return refuse(417, Refused::expectation, "The one expectation known here is 100-continue");
      }
      head.wants_continue = head.framing != Framing::none;
    }
  }
  if (head.whole_server) return head;

  const std::size_t question = std::min(raw.target.find('?'), raw.target.size());
  if (raw.target.find('#') != std::string::npos)
    return refuse(400, Refused::syntax, "The target has a fragment");
  tl::expected<std::vector<std::string>, Refusal> segments =
      segments_of(std::string_view(raw.target).substr(0, question));
  if (!segments) return tl::unexpected(segments.error());
  head.request.segments = std::move(*segments);
  if (question < raw.target.size()) {
    tl::expected<Fields, Refusal> query = query_of(std::string_view(raw.target).substr(question + 1));
    if (!query) return tl::unexpected(query.error());
    head.request.query = std::move(*query);
  }
  return head;
}

}  // namespace hingeline::http

#pragma once
// From a request line and headers, already split, to a request that may be routed; everything that is refused
// for its form is refused here.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <vector>

#include "hingeline/http/message.h"
#include "hingeline/http/server.h"

namespace hingeline::http {

/// What the server says instead of serving.
struct Refusal {
  int status = 400;
  Refused why = Refused::syntax;
  const char* words = "";  ///< a sentence without full stop
};

/// Goes through a head's bytes as they come, before anything else looks at them: refuses what must not wait
/// for the end of the head or would be read otherwise by others.
class HeadScan {
 public:
  explicit HeadScan(const Limits& limits) : limits_(limits) {}
  /// Looks at the rest of `bytes`, which begins with the bytes given before. The number of bytes the head
  /// takes, with the empty lines at both its ends, when it ends in there.
  tl::expected<std::optional<std::size_t>, Refusal> look(std::string_view bytes);

  /// How many of them stand before the request line: one empty line is let pass.
  [[nodiscard]] std::size_t before() const { return before_; }

 private:
  const Limits& limits_;
  std::size_t before_ = 0;
  std::size_t seen_ = 0;
  std::size_t line_start_ = 0;
  std::size_t lines_ = 0;
};

/// How a body's end is known.
enum class Framing { none, length, chunked };

struct Head {
  Request request;  ///< without body, peer, route
  Framing framing = Framing::none;
  std::uint64_t length = 0;  ///< of the body, with Framing::length
  bool wants_continue = false;
  bool keep_alive = true;
  bool whole_server = false;  ///< OPTIONS *
};

/// As the parser splits it. Names in any case.
struct RawHead {
  int version = 11;  ///< 10 or 11
  std::string method;
  std::string target;
  Fields headers;
};

/// `hosts` in lower case.
tl::expected<Head, Refusal> judge(RawHead raw, const std::vector<std::string>& hosts, bool secure);

}  // namespace hingeline::http

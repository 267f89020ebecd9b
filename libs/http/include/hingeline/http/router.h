#pragma once
/// \file
/// Which handler takes a request: by method and by pattern of its path.

#include <cstddef>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "hingeline/http/message.h"

namespace hingeline::http {

/// Where one route differs from the server's limits.
struct RouteRules {
  std::optional<std::size_t> body_bytes;
  bool takes_long = false;  ///< for workers of their own, Settings::long_workers
};

struct Route {
  Method method = Method::get;
  std::string pattern;
  Handler handler;
  RouteRules rules;
};

/// What was found for one request.
struct Match {
  /// Null: no route has this path (`allow` is empty), or none of its routes has this method.
  const Route* route = nullptr;
  Fields parameters;
  /// The methods of the routes with this path, as the header Allow wants them: "GET, HEAD, OPTIONS".
  std::string allow;
};

class Router {
 public:
  /// A pattern is a path of segments: a word stands for itself, "{name}" for any one segment that is not
  /// empty, and "{name*}", at the end only, for one or more segments, with '/' between them. Where several
  /// patterns fit, at the first segment where they differ a word goes before "{name}", that before "{name*}".
  /// A pattern that is none of this or a method added twice to one is a mistake of the program:
  /// std::invalid_argument. HEAD is answered from GET and OPTIONS by the server, unless they are added.
  Router& add(Method method, std::string_view pattern, Handler handler, RouteRules rules = {});

  [[nodiscard]] Match find(Method method, std::span<const std::string> segments) const;

  /// All routes in the order they were added.
  [[nodiscard]] std::vector<const Route*> routes() const;

 private:
  struct Path {
    std::vector<std::string> parts;
    std::vector<std::unique_ptr<Route>> routes;
  };
  std::vector<Path> paths_;
  std::vector<const Route*> order_;
};

}  // namespace hingeline::http

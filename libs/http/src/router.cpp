#include "hingeline/http/router.h"

#include <algorithm>
#include <stdexcept>
#include <utility>

#include "text.h"

namespace hingeline::http {

namespace {

bool is_rest(std::string_view part) {
  return part.size() > 3 && part.starts_with('{') && part.ends_with("*}");
}
bool is_name(std::string_view part) {
  return part.size() > 2 && part.starts_with('{') && part.ends_with('}');
}

// The order in which patterns are tried, at one place.
int rank(std::string_view part) { return is_rest(part) ? 2 : is_name(part) ? 1 : 0; }

std::string_view name_in(std::string_view part) {
  return part.substr(1, part.size() - (is_rest(part) ? 3 : 2));
}

std::vector<std::string> parts_of(std::string_view pattern) {
  const std::string shown(pattern);
  if (!pattern.starts_with('/')) throw std::invalid_argument("a pattern begins with '/': " + shown);
  std::vector<std::string> parts;
  for (const std::string_view part : split(pattern.substr(1), '/')) {
    if (is_name(part) ? name_in(part).find_first_of("{}*") != std::string_view::npos
                      : part.find_first_of("{}*") != std::string_view::npos) {
      throw std::invalid_argument("a name stands alone between '/': " + shown);
    }
    if (!parts.empty() && is_rest(parts.back())) {
      throw std::invalid_argument("nothing comes after the rest of a path: " + shown);
    }
    parts.emplace_back(part);
  }
  return parts;
}

std::optional<Fields> fit(std::span<const std::string> parts, std::span<const std::string> segments) {
  Fields parameters;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const std::string& part = parts[i];
    if (i >= segments.size()) return std::nullopt;
    if (is_rest(part)) {
      std::string rest = segments[i];
      for (std::size_t j = i + 1; j < segments.size(); ++j) rest.append("/").append(segments[j]);
      if (rest.empty()) return std::nullopt;
      parameters.push_back({std::string(name_in(part)), std::move(rest)});
      return parameters;
    }
    if (is_name(part)) {
      if (segments[i].empty()) return std::nullopt;
      parameters.push_back({std::string(name_in(part)), segments[i]});
    } else if (part != segments[i]) {
      return std::nullopt;
    }
  }
  if (segments.size() > parts.size()) return std::nullopt;
  return parameters;
}

}  // namespace

Router& Router::add(Method method, std::string_view pattern, Handler handler, RouteRules rules) {
  std::vector<std::string> parts = parts_of(pattern);
  auto path = std::find_if(paths_.begin(), paths_.end(), [&](const Path& p) { return p.parts == parts; });
  if (path == paths_.end()) {
    const auto before = [](const std::vector<std::string>& a, const std::vector<std::string>& b) {
      return std::lexicographical_compare(a.begin(), a.end(), b.begin(), b.end(),
                                          [](const auto& x, const auto& y) { return rank(x) < rank(y); });
    };
    const auto place =
        std::find_if(paths_.begin(), paths_.end(), [&](const Path& p) { return before(parts, p.parts); });
    path = paths_.insert(place, Path{std::move(parts), {}});
  }
  if (std::any_of(path->routes.begin(), path->routes.end(),
                  [&](const auto& r) { return r->method == method; })) {
    throw std::invalid_argument(std::string("added twice: ") + word(method) + " " + std::string(pattern));
  }
  path->routes.push_back(
      std::make_unique<Route>(Route{method, std::string(pattern), std::move(handler), rules}));
  order_.push_back(path->routes.back().get());
  return *this;
}

Match Router::find(Method method, std::span<const std::string> segments) const {
  Match match;
  const auto path = std::find_if(paths_.begin(), paths_.end(), [&](const Path& p) {
    std::optional<Fields> parameters = fit(p.parts, segments);
    if (parameters) match.parameters = std::move(*parameters);
    return parameters.has_value();
  });
  if (path == paths_.end()) return match;

  const auto route_for = [&](Method wanted) -> const Route* {
    const auto found = std::find_if(path->routes.begin(), path->routes.end(),
                                    [&](const auto& route) { return route->method == wanted; });
    return found == path->routes.end() ? nullptr : found->get();
  };
  const bool gets = route_for(Method::get) != nullptr;
  for (const Method each : {Method::get, Method::head, Method::post, Method::put, Method::patch,
                            Method::remove, Method::options}) {
    if (each == Method::options || (each == Method::head && gets) || route_for(each) != nullptr) {
      match.allow.append(match.allow.empty() ? "" : ", ").append(word(each));
    }
  }
  match.route = route_for(method);
  if (match.route == nullptr && method == Method::head) match.route = route_for(Method::get);
  return match;
}

std::vector<const Route*> Router::routes() const { return order_; }

}  // namespace hingeline::http

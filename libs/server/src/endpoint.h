#pragma once
/// \file
/// What can be asked of the server, one row for each: the router, the rights and the published description
/// are all made from it.

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "hingeline/desk/desk.h"
#include "hingeline/http/router.h"

namespace hingeline::server {

/// Who asks what.
struct Asked {
  const http::Request& request;
  desk::Who who;
  [[nodiscard]] std::string part(std::string_view name) const { return std::string(request.parameter(name)); }
  [[nodiscard]] std::string field(std::string_view name) const {
    return std::string(request.asked(name).value_or(std::string_view{}));
  }
};

/// A query field.
struct Query {
  std::string name;
  std::string what;
  std::string schema = R"({"type":"string"})";
};

struct Endpoint {
  http::Method method = http::Method::get;
  std::string pattern;
  /// Without it the answer is 403. Of the open ones nobody is asked who they are.
  desk::Right right = desk::Right::look;
  bool open = false;
  std::string summary;
  std::vector<Query> query;
  std::string takes;  ///< schema of the body in the description; empty: none
  std::string takes_type = "application/json";
  std::string gives;  ///< schema of the answer
  std::string gives_type = "application/json";
  std::function<http::Response(const Asked&)> handler;
  std::size_t body_bytes = 0;  ///< 0: as the server's limits say
  bool takes_long = false;     ///< works something out, or writes out much
};

}  // namespace hingeline::server

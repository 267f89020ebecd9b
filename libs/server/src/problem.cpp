#include "problem.h"

#include <nlohmann/json.hpp>

namespace hingeline::server {
namespace {

using Json = nlohmann::ordered_json;

http::Response told(int status, const Json& body) {
  http::Response response =
      http::Response::json(status, body.dump(-1, ' ', false, Json::error_handler_t::replace));
  response.set("content-type", "application/problem+json");
  response.set("cache-control", "no-store");
  return response;
}

}  // namespace

int status_of(desk::Trouble::Kind kind) {
  using Kind = desk::Trouble::Kind;
  switch (kind) {
    case Kind::malformed:
      return 400;
    case Kind::not_valid:
    case Kind::newer:
      return 422;
    case Kind::not_found:
      return 404;
    case Kind::not_allowed:
      return 403;
    case Kind::overtaken:
      return 409;
    case Kind::unavailable:
      break;
  }
  return 503;
}

http::Response problem(const desk::Trouble& trouble) {
  const int status = status_of(trouble.kind);
  Json body = {{"type", std::string("urn:hingeline:") + word(trouble.kind)},
               {"title", word(trouble.kind)},
               {"status", status},
               {"detail", trouble.errors.front().what},
               {"errors", Json::array()}};
  for (const Error& e : trouble.errors) {
    Json one = {{"what", e.what}, {"expected", e.expected}};
    if (!e.place.file.empty()) one["in"] = e.place.file;
    if (!e.place.pointer.empty()) one["pointer"] = e.place.pointer;
    if (e.place.line > 0) one["line"] = e.place.line;
    body["errors"].push_back(std::move(one));
  }
  http::Response out = told(status, body);
  constexpr int kUnavailable = 503;
  if (status == kUnavailable) out.set("retry-after", "2");
  return out;
}

http::Response problem(int status, const std::string& code, const std::string& detail) {
  return told(status, {{"type", "urn:hingeline:" + code},
                       {"title", code},
                       {"status", status},
                       {"detail", detail},
                       {"errors", Json::array()}});
}

}  // namespace hingeline::server

#include "open_api.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace hingeline::server {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kSchemas =
#include "schemas.inc"
    ;

Json content(const std::string& schema, const std::string& type) {
  const Json shape =
      schema.empty() || type == "image/*" ? Json::object() : Json{{"$ref", "#/components/schemas/" + schema}};
  if (schema.empty()) return {{type, Json::object()}};
  return {{type, {{"schema", shape}}}};
}

std::string method_in_small(http::Method method) {
  std::string out = word(method);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](char c) { return static_cast<char>(c - 'A' + 'a'); });
  return out;
}

/// "getVisitsVisitLeadKey": a name for programs that make clients.
std::string operation_id(const Endpoint& e) {
  std::string out = method_in_small(e.method);
  bool capital = true;
  for (const char c : e.pattern) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (letter) out += capital && c >= 'a' ? static_cast<char>(c - 'a' + 'A') : c;
    capital = !letter;
  }
  return out;
}

Json described(const Endpoint& e) {
  Json out = {{"operationId", operation_id(e)}, {"summary", e.summary}};
  out["description"] = e.open ? std::string("Open to all who reach the server.")
                              : std::string("Takes the right: ") + word(e.right) + ".";
  Json parameters = Json::array();
  for (std::size_t at = e.pattern.find('{'); at != std::string::npos; at = e.pattern.find('{', at + 1)) {
    const std::string name = e.pattern.substr(at + 1, e.pattern.find('}', at) - at - 1);
    parameters.push_back(
        {{"name", name}, {"in", "path"}, {"required", true}, {"schema", {{"type", "string"}}}});
  }
  for (const Query& q : e.query)
    parameters.push_back(
        {{"name", q.name}, {"in", "query"}, {"description", q.what}, {"schema", Json::parse(q.schema)}});
  if (!parameters.empty()) out["parameters"] = parameters;
  if (!e.takes.empty()) {
    const bool picture = e.takes == "image/*";
    out["requestBody"] = {{"required", true},
                          {"content", picture ? content({}, "image/*") : content(e.takes, e.takes_type)}};
  }
  const Json refusal = {{"$ref", "#/components/responses/Refused"}};
  out["responses"] = {{"200", {{"description", "Done."}, {"content", content(e.gives, e.gives_type)}}},
                      {"default", refusal}};
  if (!e.open) {
    const bool changes = e.method != http::Method::get;
    Json needed = {{"session", Json::array()}};
    if (changes) needed["csrf"] = Json::array();
    out["security"] = Json::array({needed, Json::object()});
  } else {
    out["security"] = Json::array();
  }
  return out;
}

}  // namespace

std::string open_api(const std::vector<Endpoint>& endpoints, const std::string& version) {
  Json out = {{"openapi", "3.1.0"},
              {"info",
               {{"title", "Hingeline"},
                {"version", version},
                {"description",
                 "A shop's book over HTTP: slips written and read, instruments worked out, keys led. On the "
                 "loopback address nobody is asked for a name; on a network every request but the open ones "
                 "carries a session."},
                {"license", {{"name", "MIT"}, {"identifier", "MIT"}}}}},
              {"paths", Json::object()}};
  for (const Endpoint& e : endpoints) out["paths"][e.pattern][method_in_small(e.method)] = described(e);
  out["components"] = {
      {"schemas", Json::parse(kSchemas)},
      {"responses",
       {{"Refused",
         {{"description", "Not done; why stands in it."},
          {"content",
           {{"application/problem+json", {{"schema", {{"$ref", "#/components/schemas/Problem"}}}}}}}}}}},
      {"securitySchemes",
       {{"session", {{"type", "apiKey"}, {"in", "cookie"}, {"name", "hingeline-session"}}},
        {"csrf", {{"type", "apiKey"}, {"in", "header"}, {"name", "Hingeline-CSRF"}}}}}};
  return out.dump(2) + "\n";
}

}  // namespace hingeline::server

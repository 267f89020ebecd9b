#include "hingeline/http/message.h"

#include <algorithm>
#include <array>

#include "text.h"

namespace hingeline::http {

namespace {

constexpr std::array<std::pair<Method, const char*>, 7> kMethods{{{Method::get, "GET"},
                                                                  {Method::head, "HEAD"},
                                                                  {Method::post, "POST"},
                                                                  {Method::put, "PUT"},
                                                                  {Method::patch, "PATCH"},
                                                                  {Method::remove, "DELETE"},
                                                                  {Method::options, "OPTIONS"}}};

std::optional<std::string_view> value_of(const Fields& fields, std::string_view name) {
  const auto found =
      std::find_if(fields.begin(), fields.end(), [&](const Field& f) { return f.name == name; });
  if (found == fields.end()) return std::nullopt;
  return found->value;
}

Response with_type(int status, std::string body, const char* type) {
  Response response;
  response.status = status;
  response.headers.push_back({"content-type", type});
  response.body = std::move(body);
  return response;
}

}  // namespace

const char* word(Method method) {
  return std::find_if(kMethods.begin(), kMethods.end(), [&](const auto& m) { return m.first == method; })
      ->second;
}

std::optional<Method> method_of(std::string_view word) {
  const auto found =
      std::find_if(kMethods.begin(), kMethods.end(), [&](const auto& m) { return m.second == word; });
  if (found == kMethods.end()) return std::nullopt;
  return found->first;
}

std::string_view Request::header(std::string_view name) const { return value_of(headers, name).value_or(""); }

bool Request::has_header(std::string_view name) const { return value_of(headers, name).has_value(); }

std::optional<std::string_view> Request::asked(std::string_view name) const { return value_of(query, name); }

std::string_view Request::parameter(std::string_view name) const {
  return value_of(parameters, name).value_or("");
}

std::optional<std::string_view> Request::cookie(std::string_view name) const {
  for (const Field& field : headers) {
    if (field.name != "cookie") continue;
    for (std::string_view pair : split(field.value, ';')) {
      pair = trimmed(pair);
      const std::size_t equals = pair.find('=');
      if (equals == std::string_view::npos || pair.substr(0, equals) != name) continue;
      std::string_view value = pair.substr(equals + 1);
      if (value.size() >= 2 && value.front() == '"' && value.back() == '"') {
        value = value.substr(1, value.size() - 2);
      }
      return value;
    }
  }
  return std::nullopt;
}

Bytes::Bytes(std::string text) {
  auto kept = std::make_shared<const std::string>(std::move(text));
  view_ = *kept;
  owner_ = std::move(kept);
}

Response Response::empty(int status) {
  Response response;
  response.status = status;
  return response;
}

Response Response::text(int status, std::string body) {
  return with_type(status, std::move(body), "text/plain; charset=utf-8");
}

Response Response::json(int status, std::string body) {
  return with_type(status, std::move(body), "application/json");
}

Response Response::events(EventStream stream) {
  Response response;
  response.headers = {{"content-type", "text/event-stream"}, {"cache-control", "no-store"}};
  response.body = std::move(stream);
  return response;
}

Response& Response::set(std::string_view name, std::string value) {
  std::erase_if(headers, [&](const Field& field) { return same_word(field.name, name); });
  return add(std::string(name), std::move(value));
}

Response& Response::add(std::string name, std::string value) {
  headers.push_back({std::move(name), std::move(value)});
  return *this;
}

std::string_view Response::header(std::string_view name) const {
  const auto found =
      std::find_if(headers.begin(), headers.end(), [&](const Field& f) { return same_word(f.name, name); });
  return found == headers.end() ? std::string_view{} : std::string_view(found->value);
}

}  // namespace hingeline::http

#include "hingeline/http/asset.h"

#include <openssl/evp.h>

#include <algorithm>
#include <array>
#include <new>

#include "text.h"

namespace hingeline::http {

namespace {

std::string_view opaque(std::string_view tag) {
  if (tag.starts_with("W/")) tag.remove_prefix(2);
  return tag;
}

bool is_zero(std::string_view q) {
  q = trimmed(q);
  return q.starts_with('0') && q.find_first_not_of("0.") == std::string_view::npos;
}

// The q given to a coding in one element of Accept-Encoding is above 0.
bool lets_through(std::string_view parameters) {
  for (const std::string_view parameter : split(parameters, ';')) {
    const std::string_view trim = trimmed(parameter);
    if (trim.size() > 2 && (trim[0] == 'q' || trim[0] == 'Q') && trim[1] == '=')
      return !is_zero(trim.substr(2));
  }
  return true;
}

}  // namespace

std::string etag_of(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned length = 0;
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1) {
    throw std::bad_alloc();  // the one way it can fail
  }
  std::string tag = "\"";
  for (std::size_t i = 0; i < 16; ++i) {
    tag.push_back("0123456789abcdef"[digest[i] >> 4U]);
    tag.push_back("0123456789abcdef"[digest[i] & 15U]);
  }
  return tag + "\"";
}

bool client_has(const Request& request, std::string_view etag) {
  for (const Field& field : request.headers) {
    if (field.name != "if-none-match") continue;
    for (const std::string_view one : split(field.value, ',')) {
      const std::string_view tag = trimmed(one);
      if (tag == "*" || opaque(tag) == opaque(etag)) return true;
    }
  }
  return false;
}

Response with_etag(const Request& request, Response response, std::string_view etag) {
  response.set("etag", std::string(etag));
  if (response.status == 200 && (request.method == Method::get || request.method == Method::head) &&
      client_has(request, etag)) {
    response.status = 304;
    response.body = std::string{};
    std::erase_if(response.headers, [](const Field& field) { return same_word(field.name, "content-type"); });
  }
  return response;
}

bool takes_gzip(const Request& request) {
  bool any = false;
  for (const Field& field : request.headers) {
    if (field.name != "accept-encoding") continue;
    for (const std::string_view element : split(field.value, ',')) {
      const std::size_t end = std::min(element.find(';'), element.size());
      const std::string_view coding = trimmed(element.substr(0, end));
      const bool lets = lets_through(element.substr(end));
      if (same_word(coding, "gzip") || same_word(coding, "x-gzip")) return lets;
      if (coding == "*") any = lets;
    }
  }
  return any;
}

Response serve(const Request& request, const Asset& asset) {
  const bool zipped = !asset.gzip.empty() && takes_gzip(request);
  Response response;
  response.headers = {{"content-type", asset.type}, {"cache-control", asset.cache}};
  if (!asset.gzip.empty()) response.add("vary", "accept-encoding");
  std::string etag = asset.etag;
  if (zipped) {
    response.add("content-encoding", "gzip");
    etag.insert(etag.size() - 1, "-gzip");
  }
  response.body = zipped ? asset.gzip : asset.bytes;
  return with_etag(request, std::move(response), etag);
}

Fields guard_headers(const PageGuard& guard) {
  Fields headers{{"content-security-policy", guard.content_policy},
                 {"x-content-type-options", "nosniff"},
                 {"referrer-policy", "no-referrer"},
                 {"cross-origin-opener-policy", "same-origin"},
                 {"cross-origin-resource-policy", "same-origin"},
                 {"permissions-policy", guard.permissions}};
  if (guard.strict_transport > 0) {
    headers.push_back({"strict-transport-security", "max-age=" + std::to_string(guard.strict_transport)});
  }
  return headers;
}

}  // namespace hingeline::http

#pragma once
/// \file
/// Things that are the same for everybody: embedded files, their tags, and the headers that guard a page.

#include <string>
#include <string_view>

#include "hingeline/http/message.h"

namespace hingeline::http {

/// A strong entity tag with its quotes, from the bytes alone: the first 128 bits of their SHA-256.
std::string etag_of(std::string_view bytes);

/// Whether the client has that tag already: If-None-Match holds it, weak or strong, or is "*".
bool client_has(const Request& request, std::string_view etag);

/// Gives the response that ETag; turns it into an empty 304 when it is a 200 to GET or HEAD and the client
/// has it.
Response with_etag(const Request& request, Response response, std::string_view etag);

/// Whether Accept-Encoding lets gzip through (with a q above 0, by name or by "*").
bool takes_gzip(const Request& request);

struct Asset {
  Bytes bytes;
  Bytes gzip;         ///< the same, compressed beforehand; empty: only `bytes`
  std::string type;   ///< "text/css; charset=utf-8"
  std::string etag;   ///< of `bytes`, with quotes
  std::string cache;  ///< Cache-Control: "no-cache", "public, max-age=31536000, immutable"
};
/// The variant the client takes, or 304. The gzip variant has a tag of its own.
Response serve(const Request& request, const Asset& asset);

struct PageGuard {
  /// Only from here, no plug-ins, no frames around it, no inline script.
  std::string content_policy =
      "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
      "connect-src 'self'; manifest-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";
  std::string permissions = "camera=(self), microphone=(), geolocation=()";
  /// How many seconds a browser shall insist on TLS; 0: not said.
  long strict_transport = 0;
};
/// Content-Security-Policy, X-Content-Type-Options, Referrer-Policy, Cross-Origin-Opener-Policy,
/// Cross-Origin-Resource-Policy, Permissions-Policy and, when asked for, Strict-Transport-Security.
Fields guard_headers(const PageGuard& guard = {});

}  // namespace hingeline::http

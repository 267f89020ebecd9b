#pragma once
/// \file
/// What is not done, told as RFC 9457 has it.

#include "hingeline/desk/trouble.h"
#include "hingeline/http/message.h"

namespace hingeline::server {

/// application/problem+json: {"type", "title", "status", "detail", "errors": [{"what", "expected", "pointer",
/// "line"}]}.
http::Response problem(const desk::Trouble& trouble);
/// One without more to say than a sentence; `code` ends its type: "urn:hingeline:too-many".
http::Response problem(int status, const std::string& code, const std::string& detail);
int status_of(desk::Trouble::Kind kind);

}  // namespace hingeline::server

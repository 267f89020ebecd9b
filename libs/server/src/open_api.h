#pragma once
/// \file
/// The interface described as OpenAPI 3.1 has it, from the endpoints themselves.

#include <string>
#include <vector>

#include "endpoint.h"

namespace hingeline::server {

/// JSON, two spaces of indent, a newline at the end; alike for the same endpoints.
std::string open_api(const std::vector<Endpoint>& endpoints, const std::string& version);

}  // namespace hingeline::server

#pragma once
/// \file
/// The desk's use cases as endpoints.

#include "endpoint.h"

namespace hingeline::server {

/// `desk` outlives them.
std::vector<Endpoint> desk_endpoints(desk::Desk& desk, std::size_t photo_bytes);

}  // namespace hingeline::server

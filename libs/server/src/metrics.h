#pragma once
/// \file
/// Figures for Prometheus, in its text form 0.0.4.

#include <string>

#include "door.h"
#include "hingeline/http/server.h"
#include "hingeline/store/book.h"

namespace hingeline::server {

struct CopyFigures {
  std::uint64_t made = 0;
  std::uint64_t failed = 0;
  std::int64_t last = 0;  ///< seconds since 1970; 0: none since the start
};

std::string metrics_text(const http::Counters& http, const DoorCounts& door, const store::Counts* book,
                         const CopyFigures& copies);

}  // namespace hingeline::server

#pragma once
/// \file
/// New slips as the command line writes them: with an id of this moment.

#include <optional>
#include <string>

#include "hingeline/record/slip.h"

namespace hingeline {

/// A slip of now, signed by nobody, without a body.
record::Slip fresh_slip();
/// "owner", "bench", "counter", "look-only".
std::optional<record::Role> role_of(const std::string& typed);

}  // namespace hingeline

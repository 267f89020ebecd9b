#pragma once
/// \file
/// How keys move, as a person reads it.

#include <string>

#include "hingeline/service/action.h"
#include "terminal.h"

namespace hingeline {

/// One line per key, then the oils and which to take.
std::string action_table(const service::ActionResult& result, LengthUnit unit, const Terminal& terminal);
/// Everything about one key: each figure explained, and the spring sizes.
std::string action_sheet(const service::ActionResult& result, const service::KeyAction& key, LengthUnit unit,
                         const Terminal& terminal);

}  // namespace hingeline

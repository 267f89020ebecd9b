#pragma once
/// \file
/// Stacks of tubes as a person reads them.

#include <string>

#include "hingeline/service/stack.h"
#include "terminal.h"

namespace hingeline {

/// Everything about one stack: its tubes, its rod, the plan and the runners-up.
std::string stack_sheet(const service::StackResult& stack, LengthUnit unit, const Terminal& terminal);

}  // namespace hingeline

#pragma once
/// \file
/// Linked keys as a person reads them.

#include <string>

#include "hingeline/service/regulate.h"
#include "terminal.h"

namespace hingeline {

/// Openings, links, pairs, and what to do. `explained`: with every figure's formula and inputs, and what
/// happens from finger to pads.
std::string regulation_report(const service::Regulation& regulation, LengthUnit unit,
                              const Terminal& terminal, bool explained);

}  // namespace hingeline

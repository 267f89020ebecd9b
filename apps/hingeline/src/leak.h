#pragma once
/// \file
/// Leaks from the command line: the table of an instrument, the sheet of a key.

#include <string>

#include "hingeline/service/leak.h"
#include "terminal.h"

namespace hingeline {

std::string leak_report(const service::InstrumentLeak& leaks, LengthUnit unit, const Terminal& terminal);
std::string leak_sheet(const service::KeyLeak& key, const service::InstrumentLeak& leaks, LengthUnit unit,
                       const Terminal& terminal);

}  // namespace hingeline

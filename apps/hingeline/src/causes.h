#pragma once
/// \file
/// Why keys are loose or bind, as a person reads it.

#include <string>
#include <vector>

#include "hingeline/service/neighbours.h"
#include "terminal.h"

namespace hingeline {

/// Causes less likely than this are not said.
inline constexpr double kWorthSaying = 0.02;

/// "63 %".
std::string percent(double share);
/// The likeliest causes in one line, at most `most` of them.
std::string likeliest(const std::vector<belief::CauseShare>& causes, std::size_t most);
/// The whole list with what speaks for and against each; `evidence` in the order of `causes`.
std::string cause_list(const std::vector<belief::CauseShare>& causes,
                       const std::vector<std::vector<belief::Evidence>>& evidence, LengthUnit unit,
                       const Terminal& terminal);
/// One line per key and what is to be said of the body; with `only_key`, all causes of that key.
std::string causes_report(const service::InstrumentCauses& causes, LengthUnit unit, const Terminal& terminal,
                          const std::string& only_key);

}  // namespace hingeline

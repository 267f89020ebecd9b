#pragma once
/// \file
/// Results as a person reads them on a terminal or on paper.

#include <filesystem>
#include <string>

#include "hingeline/service/bench.h"
#include "terminal.h"

namespace hingeline {

/// One line per key.
std::string instrument_table(const service::InstrumentResult& result, LengthUnit unit,
                             const Terminal& terminal);
/// Everything known about one key.
std::string key_sheet(const service::KeyResult& key, LengthUnit unit, const Terminal& terminal);
/// Plans of one key with what each does, runners-up, refusals.
std::string plan_sheet(const service::KeyResult& key, LengthUnit unit, const Terminal& terminal);
/// The main job: every key with its verdict and what to do. `pictures` empty: none were drawn.
std::string fit_report(const service::InstrumentResult& result, LengthUnit unit, const Terminal& terminal,
                       const std::string& pictures);
std::string explanation_sheet(const service::KeyResult& key, const service::Explanation& explanation,
                              LengthUnit unit, const Terminal& terminal);
/// Cautions that every plan with metal work repeats.
std::string cautions(const Terminal& terminal);

}  // namespace hingeline

#pragma once
/// \file
/// How the keys fit where the instrument is played, as a person reads of it.

#include <string>

#include "hingeline/service/season.h"
#include "terminal.h"

namespace hingeline {

/// `only_key` empty: a table of every key, else that one with where its figures come from.
std::string season_report(const service::SeasonResult& result, LengthUnit unit, const Terminal& terminal,
                          const std::string& only_key);

}  // namespace hingeline

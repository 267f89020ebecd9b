#pragma once
/// \file
/// A bent body and leaning posts, as a person reads of them.

#include <string>

#include "hingeline/service/bow.h"
#include "terminal.h"

namespace hingeline {

/// `only_key` empty: every key, else that one with where its figures come from.
std::string bow_report(const service::BowResult& result, LengthUnit unit, const Terminal& terminal,
                       const std::string& only_key);

}  // namespace hingeline

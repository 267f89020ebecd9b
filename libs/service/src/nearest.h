#pragma once
/// \file
/// The name somebody probably meant.

#include <string>
#include <vector>

namespace hingeline::service {

/// The nearest of `names` by the number of letters to change (Levenshtein 1966); empty when none is
/// near: more than half of the letters, at least two, would have to change.
std::string nearest_name(const std::string& typed, const std::vector<std::string>& names);

/// "a, b, c".
std::string listed(const std::vector<std::string>& names);

}  // namespace hingeline::service

#pragma once
/// \file
/// Text inside XML.

#include <string>
#include <string_view>

namespace hingeline::drawing {

/// Marks escaped; what is no UTF-8, or no character that XML 1.0 allows, as U+FFFD.
std::string escaped(std::string_view text);

}  // namespace hingeline::drawing

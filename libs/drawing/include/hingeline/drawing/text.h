#pragma once
/// \file
/// How wide text comes out, and what to do when it is too wide.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace hingeline::drawing {

/// UTF-8 as code points; what is no UTF-8, no character at all, or none that XML 1.0 allows, as U+FFFD. Tabs
/// and line ends become blanks.
std::u32string characters_of(std::string_view utf8);
std::string utf8_of(std::u32string_view text);

/// Width on paper in mm, by the advances of DejaVu Sans without kerning: those of Latin letters exact to half
/// a thousandth of the size, other characters about as wide as they come out, or a little wider.
double width_of(std::string_view utf8, double size, bool bold = false);
/// The text, or as much of its beginning as fits into `limit` mm with an ellipsis.
std::string shortened(std::string_view utf8, double size, double limit, bool bold = false);
/// Broken at blanks into lines of `limit` mm, at most `most_lines` lines, the last one shortened. No lines
/// for blank text.
std::vector<std::string> wrapped(std::string_view utf8, double size, double limit, std::size_t most_lines,
                                 bool bold = false);
/// All of it, however many lines: broken at blanks, and inside a word where that alone is too wide. At least
/// one character to a line. No lines for blank text.
std::vector<std::string> folded(std::string_view utf8, double size, double limit, bool bold = false);

}  // namespace hingeline::drawing

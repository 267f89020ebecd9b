#pragma once
/// \file
/// UTF-8 as RFC 3629 has it: no overlong form, no surrogate, nothing above U+10FFFF.

#include <cstddef>
#include <string>
#include <string_view>

namespace hingeline {

struct Utf8Character {
  char32_t code = 0;
  std::size_t bytes = 0;  ///< that it takes; 0: no well-formed character begins there
};

/// The character that begins at that byte; `at` < text.size().
Utf8Character utf8_character(std::string_view text, std::size_t at);
/// Whether all of the text is well-formed.
bool is_utf8(std::string_view text);
/// `c` at most U+10FFFF and no surrogate.
void append_utf8(std::string& out, char32_t c);

}  // namespace hingeline

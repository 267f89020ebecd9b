#pragma once
/// \file
/// Typed text as characters: decoded, checked, and shown again in a message.

#include <cstddef>
#include <string>
#include <string_view>

#include "hingeline/base/error.h"

namespace hingeline::characters {

/// The Unicode characters of UTF-8 text. Refused, each with its column: more than `most` characters,
/// bytes that are not UTF-8 (overlong forms and surrogates included), control characters other than
/// the tab, and decimal digits of any script but 0 to 9.
Expected<std::u32string> decode(std::string_view utf8, std::size_t most);

/// An error at the character with this index: "`message` at character index + 1".
Error error_at(Fault fault, std::size_t index, std::string_view message, std::string expected = {});

/// The run of characters from `from` up to the next blank, at most 16 of them, in quotes. What cannot be
/// seen or would disturb the line it is shown in stands as \u{202e}; "nothing" at the end of the text.
std::string quoted(std::u32string_view text, std::size_t from);

constexpr bool is_blank(char32_t c) {
  return c == U' ' || c == U'\t' || c == U'\u00A0' || c == U'\u2007' || c == U'\u2009' || c == U'\u202F';
}
constexpr bool is_digit(char32_t c) { return c >= U'0' && c <= U'9'; }
constexpr bool is_ascii_letter(char32_t c) { return (c >= U'a' && c <= U'z') || (c >= U'A' && c <= U'Z'); }
constexpr char32_t lower(char32_t c) { return c >= U'A' && c <= U'Z' ? c - U'A' + U'a' : c; }
constexpr bool is_minus(char32_t c) { return c == U'-' || c == U'\u2212'; }
constexpr bool is_degree_mark(char32_t c) { return c == U'\u00B0' || c == U'\u00BA' || c == U'\u02DA'; }
/// ' and the curled and slanted marks typed for it: minutes of angle (feet, for a length).
constexpr bool is_single_mark(char32_t c) {
  return c == U'\'' || c == U'\u2032' || c == U'\u2018' || c == U'\u2019' || c == U'\u02B9';
}
/// " and the curled and slanted marks typed for it: inches, or seconds of angle.
constexpr bool is_double_mark(char32_t c) {
  return c == U'"' || c == U'\u2033' || c == U'\u201C' || c == U'\u201D' || c == U'\u02BA';
}
constexpr bool is_colon(char32_t c) { return c == U':' || c == U'\u2236'; }
constexpr bool is_slash(char32_t c) { return c == U'/' || c == U'\u2044'; }

}  // namespace hingeline::characters

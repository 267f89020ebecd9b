#pragma once
// Small things about the text of headers.

#include <string>
#include <string_view>
#include <vector>

namespace hingeline::http {

/// ASCII only, as HTTP's words are.
std::string lower(std::string_view text);
bool same_word(std::string_view a, std::string_view b);
/// Without blanks and tabs around it.
std::string_view trimmed(std::string_view text);
/// At each `at`; one part more than there are of them.
std::vector<std::string_view> split(std::string_view text, char at);
/// A name as HTTP allows it: not empty, letters, digits and some signs.
bool is_token(std::string_view text);
/// No control characters but tabs.
bool is_field_value(std::string_view text);

}  // namespace hingeline::http

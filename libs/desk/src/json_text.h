#pragma once
/// \file
/// What all JSON of the desk shares.

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "hingeline/desk/trouble.h"
#include "hingeline/store/book.h"

namespace hingeline::desk {

/// Keeps members in the order they are said.
using Json = nlohmann::ordered_json;

/// On one line. Text of the book is UTF-8; what is not is replaced.
std::string text_of(const Json& json);
/// Reads an object; Kind::malformed where it is none, says a member twice, or is nested too deep.
Answer<Json> object_of(std::string_view text);
/// A member's text; Kind::not_valid where it is of another kind. Absent: empty.
Answer<std::string> text_in(const Json& object, const char* member);
/// The same, and it has to be there.
Answer<std::string> needed_text(const Json& object, const char* member);
/// Kind::not_valid for members other than these.
Answer<void> only_members(const Json& object, std::initializer_list<std::string_view> members);

Json json_of(const record::Slip& slip);
Json json_of(const store::Thing& thing);
Json json_of(const store::Kept& kept);
Json json_of(const store::VisitLine& line);
Json json_of(const store::Written& written);

}  // namespace hingeline::desk

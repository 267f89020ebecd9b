#pragma once
/// \file
/// JSON text as a tree in which every value knows where it stands and every number keeps its digits.

#include <string>
#include <string_view>
#include <vector>

#include "hingeline/record/document.h"

namespace hingeline::record::json {

enum class Kind { null, boolean, number, string, array, object };
/// "nothing (null)", "true or false", "a number", "text", "a list", "an object".
const char* word(Kind kind);

struct Member;

struct Node {
  Kind kind = Kind::null;
  std::string text;             ///< of a string; digits of a number as typed; "true" or "false"
  std::vector<Node> items;      ///< of an array
  std::vector<Member> members;  ///< of an object, in the order of the text
  int line = 0;
  int column = 0;

  [[nodiscard]] const Node* find(std::string_view name) const;
};
struct Member {
  std::string name;
  int line = 0;
  int column = 0;
  Node value;
};

Node text_node(std::string text);
Node number_node(std::string digits);

/// Most values one document may hold, and most members of one object.
inline constexpr std::size_t kMostValues = 200000;
inline constexpr std::size_t kMostMembers = 256;

/// Parses the text. Adds what is wrong to `errors`; the tree is of use only when nothing was added.
/// Refused beyond RFC 8259: size over kMostBytes, nesting over kMostDepth, a byte order mark, a
/// name that stands twice in one object, control characters other than newline and tab. The place of
/// what is not JSON is the token's, its pointer that of the object or array it stands in.
Node parse(std::string_view text, const std::string& file, Errors& errors);

/// The tree as text, two spaces of indent, newline at the end. Lists of plain values stand on one
/// line.
std::string print(const Node& root);
/// The tree on one line, without a newline.
std::string print_line(const Node& root);

/// `pointer` with one more step (RFC 6901).
std::string step(const std::string& pointer, std::string_view name);
std::string step(const std::string& pointer, std::size_t index);

/// The text with control characters and bytes that are not UTF-8 made visible: <0A>.
std::string visible(std::string_view text);
/// At most so many bytes of the text, whole characters, with ... after them when some are left out.
std::string cut(std::string_view text, std::size_t most);
/// The text in double quotes, cut to a bearable length and made visible.
std::string in_quotes(std::string_view text);

}  // namespace hingeline::record::json

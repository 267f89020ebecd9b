#include "json.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "hingeline/base/utf8.h"

namespace hingeline::record::json {
namespace {

bool continues(char c) { return (static_cast<unsigned char>(c) & 0xC0u) == 0x80u; }

/// Walks forward through the text, counting lines and characters.
class PlaceCounter {
 public:
  explicit PlaceCounter(std::string_view text) : text_(text) {}
  void advance_to(std::size_t offset) {
    for (; at_ < offset && at_ < text_.size(); ++at_) {
      if (text_[at_] == '\n') {
        ++line_;
        column_ = 1;
      } else if (at_ + 1 >= text_.size() || !continues(text_[at_ + 1])) {
        ++column_;
      }
    }
  }
  [[nodiscard]] std::size_t at() const { return at_; }
  [[nodiscard]] int line() const { return line_; }
  [[nodiscard]] int column() const { return column_; }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
  int line_ = 1;
  int column_ = 1;
};

Error error_at(std::string_view text, const std::string& file, std::size_t offset, std::string what,
               std::string expected) {
  PlaceCounter counter(text);
  counter.advance_to(offset);
  return Error{Fault::syntax, std::move(what), std::move(expected),
               Place{file, "", counter.line(), counter.column()}};
}

/// Whether a control character stands there (C0, DEL, C1): it would garble whatever shows the text.
bool has_control_at(std::string_view text, std::size_t at) {
  const auto c = static_cast<unsigned char>(text[at]);
  if (c < 0x20 || c == 0x7F) return true;
  return c == 0xC2 && at + 1 < text.size() && static_cast<unsigned char>(text[at + 1]) < 0xA0;
}

/// Whether a mark stands there that breaks a line or turns the order of what follows (U+2028 to U+202E,
/// U+2066 to U+2069).
bool turns_text_at(std::string_view text, std::size_t at) {
  const std::string_view three = text.substr(at, 3);
  return (three >= "\u2028" && three <= "\u202E") || (three >= "\u2066" && three <= "\u2069");
}

/// Whether text holds a control character that is neither newline nor tab.
bool has_control(std::string_view text) {
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (text[at] != '\n' && text[at] != '\t' && has_control_at(text, at)) return true;
  }
  return false;
}

/// Builds the tree from the parser's events. The parser says what comes; where it stands is found by
/// following the text along with it.
class Builder final : public nlohmann::json_sax<nlohmann::json> {
 public:
  Builder(std::string_view text, const std::string& file, Errors& errors)
      : text_(text), file_(file), errors_(errors), counter_(text) {}

  Node take() { return std::move(root_); }

  bool null() override { return plain(Kind::null); }
  bool boolean(bool) override { return plain(Kind::boolean); }
  bool number_integer(number_integer_t) override { return plain(Kind::number); }
  bool number_unsigned(number_unsigned_t) override { return plain(Kind::number); }
  bool number_float(number_float_t, const string_t&) override { return plain(Kind::number); }
  bool binary(binary_t&) override { return false; }
  bool string(string_t& value) override {
    Node* node = place_value(Kind::string);
    if (node == nullptr) return false;
    skip_string();
    if (has_control(value)) {
      report(node->line, node->column, here(), "text with a control character in it",
             "plain characters, newline or tab");
    }
    node->text = value;
    return true;
  }
  bool start_object(std::size_t) override { return open(Kind::object); }
  bool start_array(std::size_t) override { return open(Kind::array); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }
  bool key(string_t& name) override {
    to_token();
    Node& object = *open_.back();
    const auto refuse = [&](std::string what, std::string expected) {
      report(counter_.line(), counter_.column(), step(container(), name), std::move(what),
             std::move(expected));
    };
    if (object.find(name) != nullptr) {
      refuse(fmt::format("{} stands twice in one object", in_quotes(name)), "each name once");
    }
    if (has_control(name)) refuse("a name with a control character in it", "plain characters");
    if (object.members.size() >= kMostMembers) {
      refuse(fmt::format("an object of more than {} members", kMostMembers),
             fmt::format("at most {}", kMostMembers));
      return false;
    }
    object.members.push_back(Member{name, counter_.line(), counter_.column(), Node{}});
    skip_string();
    return true;
  }
  bool parse_error(std::size_t position, const std::string&, const nlohmann::detail::exception& ex) override {
    constexpr int kNumberOverflow = 406;
    const std::size_t offset = position > 0 ? position - 1 : 0;
    const std::string pointer = container();
    if (ex.id == kNumberOverflow) {
      to_token();
      report(counter_.line(), counter_.column(), pointer, "number too large", "a number a bench can read");
      return false;
    }
    std::string_view said = ex.what();
    if (said.find("unexpected end of input") != std::string_view::npos || offset >= text_.size()) {
      const bool empty = text_.find_first_not_of(" \t\r\n") == std::string_view::npos;
      counter_.advance_to(text_.size());
      report(counter_.line(), counter_.column(), pointer,
             empty ? "the document is empty" : "the document ends too early",
             empty ? "an object in { }" : "the closing brackets of what was opened");
      return false;
    }
    if (const auto after = said.find(" - "); after != std::string_view::npos) said.remove_prefix(after + 3);
    if (const auto end = said.find("; last read"); end != std::string_view::npos) said = said.substr(0, end);
    std::string wanted = "JSON (RFC 8259)";
    constexpr std::string_view kExpected = "; expected ";
    if (const auto expected = said.find(kExpected); expected != std::string_view::npos) {
      wanted = std::string(said.substr(expected + kExpected.size()));
      said = said.substr(0, expected);
    }
    const std::size_t begin = wrong_token(offset);
    errors_.push_back(error_at(
        text_, file_, begin,
        fmt::format("this is not JSON: {} at {}", said, in_quotes(text_.substr(begin, offset + 1 - begin))),
        std::move(wanted)));
    errors_.back().place.pointer = pointer;
    return false;
  }

 private:
  void report(int line, int column, std::string pointer, std::string what, std::string expected) {
    if (errors_.size() > kMostErrors) return;
    errors_.push_back(Error{Fault::syntax, std::move(what), std::move(expected),
                            Place{file_, std::move(pointer), line, column}});
  }
  /// Pointer of the innermost object or array that is open.
  [[nodiscard]] std::string container() const {
    std::string out;
    for (std::size_t i = 0; i + 1 < open_.size(); ++i) out = inside(out, *open_[i]);
    return out;
  }
  /// Pointer of the value that was placed last.
  [[nodiscard]] std::string here() const { return open_.empty() ? "" : inside(container(), *open_.back()); }
  /// One step further, into what was last added to `parent`.
  static std::string inside(const std::string& pointer, const Node& parent) {
    return parent.kind == Kind::array ? step(pointer, parent.items.size() - 1)
                                      : step(pointer, parent.members.back().name);
  }
  /// Where the token begins that the parser stopped in at `offset`; inside text, the offset itself.
  [[nodiscard]] std::size_t wrong_token(std::size_t offset) const {
    std::size_t at = counter_.at();
    for (; at < offset; ++at) {
      const char c = text_[at];
      if (c == '"' && text_[offset] != '"') return offset;
      if (std::string_view(" \t\r\n,:[]{}").find(c) == std::string_view::npos) return at;
    }
    return offset;
  }
  void to_token() {
    std::size_t at = counter_.at();
    while (at < text_.size() && std::string_view(" \t\r\n,:").find(text_[at]) != std::string_view::npos) ++at;
    counter_.advance_to(at);
  }
  void skip_string() {
    std::size_t at = counter_.at() + 1;
    while (at < text_.size() && text_[at] != '"') at += text_[at] == '\\' ? 2u : 1u;
    counter_.advance_to(at + 1);
  }
  /// The next value's node, placed in what is open; null when there are too many.
  Node* place_value(Kind kind) {
    to_token();
    if (++values_ > kMostValues) {
      report(counter_.line(), counter_.column(), container(), fmt::format("more than {} values", kMostValues),
             fmt::format("at most {}", kMostValues));
      return nullptr;
    }
    Node* node = &root_;
    if (!open_.empty()) {
      Node& parent = *open_.back();
      node = parent.kind == Kind::array ? &parent.items.emplace_back() : &parent.members.back().value;
    }
    node->kind = kind;
    node->line = counter_.line();
    node->column = counter_.column();
    return node;
  }
  bool plain(Kind kind) {
    Node* node = place_value(kind);
    if (node == nullptr) return false;
    const std::size_t begin = counter_.at();
    const std::size_t end = std::min(text_.find_first_of(" \t\r\n,:]}", begin), text_.size());
    node->text = std::string(text_.substr(begin, end - begin));
    counter_.advance_to(end);
    return true;
  }
  bool open(Kind kind) {
    Node* node = place_value(kind);
    if (node == nullptr) return false;
    if (open_.size() >= static_cast<std::size_t>(kMostDepth)) {
      report(node->line, node->column, here(), fmt::format("nested deeper than {} levels", kMostDepth),
             fmt::format("at most {}", kMostDepth));
      return false;
    }
    open_.push_back(node);
    counter_.advance_to(counter_.at() + 1);
    return true;
  }
  bool close() {
    to_token();
    counter_.advance_to(counter_.at() + 1);
    open_.pop_back();
    return true;
  }

  std::string_view text_;
  const std::string& file_;
  Errors& errors_;
  PlaceCounter counter_;
  Node root_;
  std::vector<Node*> open_;  // stays valid: a list grows only while none of its items is open
  std::size_t values_ = 0;
};

void print_string(std::string& out, std::string_view text) {
  out += '"';
  for (const char c : text) {
    switch (c) {
      case '"':
        out += "\\\"";
        break;
      case '\\':
        out += "\\\\";
        break;
      case '\n':
        out += "\\n";
        break;
      case '\t':
        out += "\\t";
        break;
      default:
        if (static_cast<unsigned char>(c) < 0x20) {
          out += fmt::format("\\u{:04x}", static_cast<unsigned>(c));
        } else {
          out += c;
        }
    }
  }
  out += '"';
}

bool plain_list(const Node& node) {
  return std::all_of(node.items.begin(), node.items.end(), [](const Node& item) {
    return item.kind != Kind::object && (item.kind != Kind::array || plain_list(item)) &&
           item.text.size() < 40;
  });
}

void print_node(std::string& out, const Node& node, std::size_t indent, bool one_line) {
  const auto new_line = [&](std::size_t by) {
    if (one_line) return;
    out += '\n';
    out.append(by, ' ');
  };
  switch (node.kind) {
    case Kind::null:
      out += "null";
      return;
    case Kind::boolean:
    case Kind::number:
      out += node.text;
      return;
    case Kind::string:
      print_string(out, node.text);
      return;
    case Kind::array: {
      out += '[';
      // A list of pairs is broken between the pairs.
      const bool nested = std::any_of(node.items.begin(), node.items.end(),
                                      [](const Node& item) { return item.kind == Kind::array; });
      const bool flat = one_line || (plain_list(node) && !nested);
      for (std::size_t i = 0; i < node.items.size(); ++i) {
        if (i > 0) out += flat ? ", " : ",";
        if (!flat) new_line(indent + 2);
        print_node(out, node.items[i], indent + 2, flat);
      }
      if (!flat && !node.items.empty()) new_line(indent);
      out += ']';
      return;
    }
    case Kind::object:
      break;
  }
  out += '{';
  for (std::size_t i = 0; i < node.members.size(); ++i) {
    if (i > 0) out += one_line ? ", " : ",";
    new_line(indent + 2);
    print_string(out, node.members[i].name);
    out += ": ";
    print_node(out, node.members[i].value, indent + 2, one_line);
  }
  if (!node.members.empty()) new_line(indent);
  out += '}';
}

}  // namespace

const char* word(Kind kind) {
  switch (kind) {
    case Kind::null:
      return "null";
    case Kind::boolean:
      return "true or false";
    case Kind::number:
      return "a number";
    case Kind::string:
      return "text";
    case Kind::array:
      return "a list";
    case Kind::object:
      break;
  }
  return "an object";
}

const Node* Node::find(std::string_view name) const {
  for (const Member& member : members) {
    if (member.name == name) return &member.value;
  }
  return nullptr;
}

Node text_node(std::string text) {
  Node node;
  node.kind = Kind::string;
  node.text = std::move(text);
  return node;
}

Node number_node(std::string digits) {
  Node node;
  node.kind = Kind::number;
  node.text = std::move(digits);
  return node;
}

Node parse(std::string_view text, const std::string& file, Errors& errors) {
  if (text.size() > kMostBytes) {
    errors.push_back(Error{Fault::syntax, fmt::format("the document has {} bytes", text.size()),
                           fmt::format("at most {}", kMostBytes), Place{file, "", 1, 1}});
    return {};
  }
  if (text.substr(0, 3) == "\xEF\xBB\xBF") {
    errors.push_back(Error{Fault::syntax, "the document begins with a byte order mark",
                           "UTF-8 without a mark before it", Place{file, "", 1, 1}});
    return {};
  }
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t size = utf8_character(text, at).bytes;
    if (size == 0) {
      errors.push_back(error_at(
          text, file, at, fmt::format("byte 0x{:02X} is not UTF-8", static_cast<unsigned char>(text[at])),
          "UTF-8 text"));
      return {};
    }
    // A zero byte would end the parser's reading and hide what follows it.
    if (text[at] == '\0') {
      errors.push_back(error_at(text, file, at, "a zero byte", "UTF-8 text"));
      return {};
    }
    at += size;
  }
  Builder builder(text, file, errors);
  nlohmann::json::sax_parse(text.begin(), text.end(), &builder);
  return builder.take();
}

std::string print(const Node& root) {
  std::string out;
  print_node(out, root, 0, false);
  out += '\n';
  return out;
}

std::string print_line(const Node& root) {
  std::string out;
  print_node(out, root, 0, true);
  return out;
}

std::string step(const std::string& pointer, std::string_view name) {
  std::string out = pointer + '/';
  for (const char c : name) {
    if (c == '~') {
      out += "~0";
    } else if (c == '/') {
      out += "~1";
    } else {
      out += c;
    }
  }
  return out;
}

std::string step(const std::string& pointer, std::size_t index) {
  return fmt::format("{}/{}", pointer, index);
}

std::string visible(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t size = std::max<std::size_t>(utf8_character(text, at).bytes, 1);
    const std::string_view bytes = text.substr(at, size);
    if (turns_text_at(text, at)) {
      for (const char c : bytes) out += fmt::format("<{:02X}>", static_cast<unsigned char>(c));
    } else if (utf8_character(text, at).bytes == 0 || has_control_at(text, at)) {
      // Of a control character in two bytes the second says which it is.
      out += fmt::format("<{:02X}>", static_cast<unsigned char>(bytes.back()));
    } else {
      out += bytes;
    }
    at += size;
  }
  return out;
}

std::string cut(std::string_view text, std::size_t most) {
  if (text.size() <= most) return std::string(text);
  std::size_t end = most;
  while (end > 0 && continues(text[end])) --end;
  return std::string(text.substr(0, end)) + "...";
}

std::string in_quotes(std::string_view text) {
  constexpr std::size_t kMostShown = 60;
  return '"' + visible(cut(text, kMostShown)) + '"';
}

}  // namespace hingeline::record::json

#pragma once
/// \file
/// How text meets the person: width, colour, wrapping, tables.

#include <string>
#include <string_view>
#include <vector>

namespace hingeline {

/// What a word of the output is about; shown in colour on a terminal, never by colour alone.
enum class Tone { plain, good, attention, bad, strong, faint };

class Terminal {
 public:
  enum class Colour { automatic, always, never };
  /// Looks at standard output: colour only on a terminal that wants it (NO_COLOR, TERM), width from the
  /// terminal, 100 when there is none.
  static Terminal of_standard_output(Colour colour);
  Terminal(int width, bool colour) : width_(width), colour_(colour) {}

  [[nodiscard]] int width() const { return width_; }
  [[nodiscard]] std::string paint(std::string_view text, Tone tone) const;
  /// Wraps at the width; the first line starts with `first`, the others with as many blanks as
  /// `indent` says. Ends with a newline.
  [[nodiscard]] std::string paragraph(std::string_view first, std::string_view text, int indent) const;

 private:
  int width_;
  bool colour_;
};

/// Characters shown (UTF-8 code points).
int shown_width(std::string_view text);

/// A table with a heading; columns as wide as their widest cell, two blanks apart.
class Table {
 public:
  explicit Table(std::vector<std::string> heading) : heading_(std::move(heading)) {}
  struct Cell {
    Cell(std::string t, Tone n = Tone::plain)
        : text(std::move(t)), tone(n) {}                             // NOLINT(google-explicit-constructor)
    Cell(const char* t, Tone n = Tone::plain) : text(t), tone(n) {}  // NOLINT(google-explicit-constructor)
    std::string text;
    Tone tone;
  };
  void row(std::vector<Cell> cells) { rows_.push_back(std::move(cells)); }
  /// Where it is wider than the terminal, whole columns from `first_optional` on are left out, last first,
  /// and a line says which.
  [[nodiscard]] std::string text(const Terminal& terminal, std::size_t first_optional) const;

 private:
  std::vector<std::string> heading_;
  std::vector<std::vector<Cell>> rows_;
};

}  // namespace hingeline

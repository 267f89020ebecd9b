#include "terminal.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>

namespace hingeline {
namespace {

const char* variable(const char* name) {
  const char* value = std::getenv(name);  // NOLINT(concurrency-mt-unsafe): read before any thread starts
  return value == nullptr ? "" : value;
}

const char* escape(Tone tone) {
  switch (tone) {
    case Tone::good:
      return "\x1b[32m";
    case Tone::attention:
      return "\x1b[33m";
    case Tone::bad:
      return "\x1b[31m";
    case Tone::strong:
      return "\x1b[1m";
    case Tone::faint:
      return "\x1b[2m";
    case Tone::plain:
      break;
  }
  return "";
}

}  // namespace

int shown_width(std::string_view text) {
  return static_cast<int>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u; }));
}

Terminal Terminal::of_standard_output(Colour colour) {
  constexpr int kPaper = 100;
  constexpr int kNarrowest = 40;
  constexpr int kWidest = 160;
  const bool is_terminal = isatty(STDOUT_FILENO) == 1;
  int width = kPaper;
  winsize size{};
  if (is_terminal && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) {
    width = std::clamp<int>(size.ws_col, kNarrowest, kWidest);
  }
  const bool wanted =
      is_terminal && *variable("NO_COLOR") == '\0' && std::string_view(variable("TERM")) != "dumb";
  return {width, colour == Colour::always || (colour == Colour::automatic && wanted)};
}

std::string Terminal::paint(std::string_view text, Tone tone) const {
  if (!colour_ || tone == Tone::plain) return std::string(text);
  return std::string(escape(tone)) + std::string(text) + "\x1b[0m";
}

std::string Terminal::paragraph(std::string_view first, std::string_view text, int indent) const {
  std::string out(first);
  int at = shown_width(first);
  bool at_start = true;
  std::size_t from = 0;
  while (from <= text.size()) {
    const std::size_t to = std::min(text.find(' ', from), text.size());
    const std::string_view piece = text.substr(from, to - from);
    from = to + 1;
    if (piece.empty()) continue;
    const int width = shown_width(piece);
    if (!at_start && at + 1 + width > width_) {
      out += "\n" + std::string(static_cast<std::size_t>(indent), ' ');
      at = indent;
    } else if (!at_start) {
      out += ' ';
      ++at;
    }
    out += piece;
    at += width;
    at_start = false;
  }
  return out + "\n";
}

std::string Table::text(const Terminal& terminal, std::size_t first_optional) const {
  std::vector<int> widths;
  for (const std::string& h : heading_) widths.push_back(shown_width(h));
  for (const auto& r : rows_) {
    for (std::size_t k = 0; k < r.size() && k < widths.size(); ++k) {
      widths[k] = std::max(widths[k], shown_width(r[k].text));
    }
  }
  std::size_t columns = widths.size();
  const auto total = [&] {
    int sum = -2;
    for (std::size_t k = 0; k < columns; ++k) sum += widths[k] + 2;
    return sum;
  };
  while (columns > std::max<std::size_t>(first_optional, 1) && total() > terminal.width()) --columns;

  std::string out;
  const auto line = [&](auto cell) {
    std::string one;
    for (std::size_t k = 0; k < columns; ++k) {
      const Cell c = cell(k);
      one += terminal.paint(c.text, c.tone);
      if (k + 1 < columns)
        one += std::string(static_cast<std::size_t>(widths[k] - shown_width(c.text) + 2), ' ');
    }
    while (!one.empty() && one.back() == ' ') one.pop_back();
    out += one + "\n";
  };
  line([&](std::size_t k) { return Cell(heading_[k], Tone::faint); });
  for (const auto& r : rows_) line([&](std::size_t k) { return k < r.size() ? r[k] : Cell(""); });
  if (columns < widths.size()) {
    std::string left;
    for (std::size_t k = columns; k < widths.size(); ++k) left += (left.empty() ? "" : ", ") + heading_[k];
    out += terminal.paint("(too narrow for: " + left + ")", Tone::faint) + "\n";
  }
  return out;
}

}  // namespace hingeline

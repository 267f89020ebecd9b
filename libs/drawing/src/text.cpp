#include "text.h"

#include "hingeline/base/utf8.h"

#include <array>
#include <cstdint>
#include <utility>

namespace hingeline::drawing {
namespace {

constexpr char32_t kReplacement = U'\uFFFD';
constexpr char32_t kEllipsis = U'\u2026';

/// Advances of the printable ASCII characters in thousandths of the size; read from the hmtx table
/// of DejaVu Sans 2.37.
constexpr std::array<std::uint16_t, 95> kAdvances = {
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838};
constexpr double kOtherAdvance = 0.84;  // that of the font's signs
constexpr double kWideAdvance = 1.0;    // ideographs and the like
constexpr char32_t kFirstWide = 0x2E80;
constexpr double kBolder = 1.13;  // the bold face's advances, on average and a little more

double advance(char32_t c) {
  if (c >= U' ' && c <= U'~') return kAdvances[c - U' '] / 1000.0;
  return c >= kFirstWide ? kWideAdvance : kOtherAdvance;
}

double width(std::u32string_view text, double size, bool bold) {
  double sum = 0;
  for (const char32_t c : text) sum += advance(c);
  return sum * size * (bold ? kBolder : 1.0);
}

bool allowed(char32_t c) {
  return c >= 0x20 && !(c >= 0x7F && c <= 0x9F) && !(c >= 0xD800 && c <= 0xDFFF) && c != 0xFFFE &&
         c != 0xFFFF && c <= 0x10FFFF;
}

/// Length of the sequence a lead byte opens; 0: no lead byte.
std::size_t sequence_length(unsigned char lead) {
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead <= 0xDF) return 2;
  if (lead >= 0xE0 && lead <= 0xEF) return 3;
  if (lead >= 0xF0 && lead <= 0xF4) return 4;
  return 0;
}

std::u32string short_of(std::u32string text, double size, double limit, bool bold) {
  if (width(text, size, bold) <= limit) return text;
  text += kEllipsis;
  while (text.size() > 1 && width(text, size, bold) > limit) text.erase(text.size() - 2, 1);
  while (text.size() > 1 && text[text.size() - 2] == U' ') text.erase(text.size() - 2, 1);
  return text;
}

}  // namespace

std::u32string characters_of(std::string_view utf8) {
  std::u32string out;
  out.reserve(utf8.size());
  for (std::size_t i = 0; i < utf8.size();) {
    const auto lead = static_cast<unsigned char>(utf8[i]);
    const std::size_t length = sequence_length(lead);
    if (length == 1) {
      const bool blank = lead == '\t' || lead == '\n' || lead == '\r';
      out += blank ? U' ' : allowed(lead) ? static_cast<char32_t>(lead) : kReplacement;
      ++i;
      continue;
    }
    char32_t c = length == 2 ? lead & 0x1FU : length == 3 ? lead & 0x0FU : lead & 0x07U;
    std::size_t taken = 1;
    while (taken < length && i + taken < utf8.size()) {
      const auto next = static_cast<unsigned char>(utf8[i + taken]);
      if ((next & 0xC0U) != 0x80U) break;
      c = (c << 6U) | (next & 0x3FU);
      ++taken;
    }
    constexpr std::array<char32_t, 5> kSmallest = {0, 0, 0x80, 0x800, 0x10000};
    const bool whole = length > 1 && taken == length && c >= kSmallest[length];
    out += whole && allowed(c) ? c : kReplacement;
    i += taken;
  }
  return out;
}

std::string utf8_of(std::u32string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char32_t c : text) append_utf8(out, c);
  return out;
}

double width_of(std::string_view utf8, double size, bool bold) {
  return width(characters_of(utf8), size, bold);
}

std::string shortened(std::string_view utf8, double size, double limit, bool bold) {
  return utf8_of(short_of(characters_of(utf8), size, limit, bold));
}

std::vector<std::string> wrapped(std::string_view utf8, double size, double limit, std::size_t most_lines,
                                 bool bold) {
  std::vector<std::u32string> lines;
  std::u32string line;
  const std::u32string text = characters_of(utf8) + U' ';
  std::u32string word;
  for (const char32_t c : text) {
    if (c != U' ') {
      word += c;
      continue;
    }
    if (word.empty()) continue;
    std::u32string longer = line;
    if (!longer.empty()) longer += U' ';
    longer += word;
    if (line.empty() || width(longer, size, bold) <= limit) {
      line = std::move(longer);
    } else {
      lines.push_back(line);
      line = word;
    }
    word.clear();
  }
  if (!line.empty()) lines.push_back(line);
  if (lines.size() > most_lines) {
    for (std::size_t i = most_lines; i < lines.size() && most_lines > 0; ++i)
      lines[most_lines - 1] += U' ' + lines[i];
    lines.resize(most_lines);
  }
  std::vector<std::string> out;
  out.reserve(lines.size());
  for (std::u32string& l : lines) out.push_back(utf8_of(short_of(std::move(l), size, limit, bold)));
  return out;
}

}  // namespace hingeline::drawing

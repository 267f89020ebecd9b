#include "hingeline/drawing/text.h"

#include "hingeline/base/utf8.h"

#include <array>
#include <cstdint>
#include <utility>

namespace hingeline::drawing {
namespace {

constexpr char32_t kReplacement = U'\uFFFD';
constexpr char32_t kEllipsis = U'\u2026';

/// Advances in thousandths of the size, of U+0020 to U+007E and of U+00A0 to U+017F; read from the hmtx
/// tables of DejaVu Sans 2.37 and its bold face.
constexpr std::array<std::uint16_t, 95> kAdvances = {
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838};
constexpr std::array<std::uint16_t, 95> kBoldAdvances = {
    348, 456,  521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415,  380, 365, 696, 696,  696,
    696, 696,  696, 696, 696, 696,  696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830,  683,
    683, 821,  837, 372, 372, 775,  637, 995, 837, 850, 733, 850, 770, 720,  682, 812, 774, 1103, 771,
    724, 725,  457, 365, 457, 838,  500, 500, 675, 716, 593, 716, 678, 435,  716, 712, 343, 343,  665,
    343, 1042, 712, 687, 716, 716,  493, 595, 478, 712, 652, 924, 645, 652,  582, 712, 365, 712,  838};
constexpr std::array<std::uint16_t, 224> kLatinAdvances = {
    318, 401, 636, 636, 636, 636, 337, 500,  500,  1000, 471, 612, 838, 361, 1000, 500, 500, 838, 401,
    401, 500, 636, 636, 318, 500, 401, 471,  612,  969,  969, 969, 531, 684, 684,  684, 684, 684, 684,
    974, 698, 632, 632, 632, 632, 295, 295,  295,  295,  775, 748, 787, 787, 787,  787, 787, 838, 787,
    732, 732, 732, 732, 611, 605, 630, 613,  613,  613,  613, 613, 613, 982, 550,  615, 615, 615, 615,
    278, 278, 278, 278, 612, 634, 612, 612,  612,  612,  612, 838, 612, 634, 634,  634, 634, 592, 635,
    592, 684, 613, 684, 613, 684, 613, 698,  550,  698,  550, 698, 550, 698, 550,  770, 635, 775, 635,
    632, 615, 632, 615, 632, 615, 632, 615,  632,  615,  775, 635, 775, 635, 775,  635, 775, 635, 752,
    634, 916, 695, 295, 278, 295, 278, 295,  278,  295,  278, 295, 278, 590, 556,  295, 278, 656, 579,
    579, 557, 278, 557, 278, 557, 375, 557,  342,  562,  284, 748, 634, 748, 634,  748, 634, 813, 748,
    634, 787, 612, 787, 612, 787, 612, 1070, 1023, 695,  411, 695, 411, 695, 411,  635, 521, 635, 521,
    635, 521, 635, 521, 611, 392, 611, 392,  611,  392,  732, 634, 732, 634, 732,  634, 732, 634, 732,
    634, 732, 634, 989, 818, 611, 592, 611,  685,  525,  685, 525, 685, 525, 352};
constexpr std::array<std::uint16_t, 224> kBoldLatinAdvances = {
    348,  456, 696, 696,  636, 696, 365, 500,  500,  1000, 564,  646,  838, 415,  1000, 500, 500, 838, 438,
    438,  500, 736, 636,  380, 500, 438, 564,  646,  1035, 1035, 1035, 580, 774,  774,  774, 774, 774, 774,
    1085, 734, 683, 683,  683, 683, 372, 372,  372,  372,  838,  837,  850, 850,  850,  850, 850, 838, 850,
    812,  812, 812, 812,  724, 738, 719, 675,  675,  675,  675,  675,  675, 1048, 593,  678, 678, 678, 678,
    343,  343, 343, 343,  687, 712, 687, 687,  687,  687,  687,  838,  687, 712,  712,  712, 712, 652, 716,
    652,  774, 675, 774,  675, 774, 675, 734,  593,  734,  593,  734,  593, 734,  593,  830, 716, 838, 716,
    683,  678, 683, 678,  683, 678, 683, 678,  683,  678,  821,  716,  821, 716,  821,  716, 821, 716, 837,
    712,  974, 790, 372,  343, 372, 343, 372,  343,  372,  343,  372,  343, 744,  686,  372, 343, 775, 665,
    665,  637, 343, 637,  343, 637, 479, 637,  557,  642,  371,  837,  712, 837,  712,  837, 712, 983, 837,
    712,  850, 687, 850,  687, 850, 687, 1167, 1094, 770,  493,  770,  493, 770,  493,  720, 595, 720, 595,
    720,  595, 720, 595,  682, 478, 682, 478,  682,  478,  812,  712,  812, 712,  812,  712, 812, 712, 812,
    712,  812, 712, 1103, 924, 724, 652, 724,  725,  582,  725,  582,  725, 582,  435};
constexpr double kOtherAdvance = 0.84;  // that of the font's signs
constexpr double kWideAdvance = 1.0;    // ideographs and the like, the dash and the ellipsis
constexpr char32_t kFirstWide = 0x2E80;
constexpr char32_t kFirstLatin = 0xA0;
constexpr char32_t kEmDash = U'\u2014';
constexpr double kBolder = 1.13;  // the bold face's other advances, on average and a little more

double advance(char32_t c, bool bold) {
  if (c >= U' ' && c <= U'~') return (bold ? kBoldAdvances : kAdvances)[c - U' '] / 1000.0;
  if (c >= kFirstLatin && c - kFirstLatin < kLatinAdvances.size())
    return (bold ? kBoldLatinAdvances : kLatinAdvances)[c - kFirstLatin] / 1000.0;
  return (c >= kFirstWide || c == kEllipsis || c == kEmDash ? kWideAdvance : kOtherAdvance) *
         (bold ? kBolder : 1.0);
}

double width(std::u32string_view text, double size, bool bold) {
  double sum = 0;
  for (const char32_t c : text) sum += advance(c, bold);
  return sum * size;
}

bool allowed(char32_t c) {
  // Unicode's noncharacters, which Cairo refuses the whole text for.
  const bool none = (c >= 0xFDD0 && c <= 0xFDEF) || (c & 0xFFFEU) == 0xFFFE;
  return c >= 0x20 && !(c >= 0x7F && c <= 0x9F) && !(c >= 0xD800 && c <= 0xDFFF) && !none && c <= 0x10FFFF;
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

std::vector<std::string> folded(std::string_view utf8, double size, double limit, bool bold) {
  std::vector<std::string> out;
  std::u32string line;
  std::u32string word;
  const auto put = [&](const std::u32string& text) { out.push_back(utf8_of(text)); };
  const std::u32string text = characters_of(utf8) + U' ';
  for (const char32_t c : text) {
    if (c != U' ') {
      word += c;
      continue;
    }
    if (word.empty()) continue;
    const std::u32string longer = line.empty() ? word : line + U' ' + word;
    if (width(longer, size, bold) <= limit) {
      line = longer;
    } else {
      if (!line.empty()) put(line);
      line.clear();
      for (const char32_t one : word) {
        if (!line.empty() && width(line + one, size, bold) > limit) {
          put(line);
          line.clear();
        }
        line += one;
      }
    }
    word.clear();
  }
  if (!line.empty()) put(line);
  return out;
}

}  // namespace hingeline::drawing

#include "characters.h"

#include <fmt/format.h>

#include "hingeline/base/utf8.h"

#include <algorithm>
#include <array>
#include <iterator>

namespace hingeline::characters {
namespace {

/// The zeros of every run of ten decimal digits but our own (general category Nd, Unicode 14; the
/// mathematical digits are five runs).
constexpr std::array<char32_t, 65> kOtherZeros{
    0x660,   0x6F0,   0x7C0,   0x966,   0x9E6,   0xA66,   0xAE6,   0xB66,   0xBE6,   0xC66,   0xCE6,
    0xD66,   0xDE6,   0xE50,   0xED0,   0xF20,   0x1040,  0x1090,  0x17E0,  0x1810,  0x1946,  0x19D0,
    0x1A80,  0x1A90,  0x1B50,  0x1BB0,  0x1C40,  0x1C50,  0xA620,  0xA8D0,  0xA900,  0xA9D0,  0xA9F0,
    0xAA50,  0xABF0,  0xFF10,  0x104A0, 0x10D30, 0x11066, 0x110F0, 0x11136, 0x111D0, 0x112F0, 0x11450,
    0x114D0, 0x11650, 0x116C0, 0x11730, 0x118E0, 0x11950, 0x11C50, 0x11D50, 0x11DA0, 0x16A60, 0x16AC0,
    0x16B50, 0x1D7CE, 0x1D7D8, 0x1D7E2, 0x1D7EC, 0x1D7F6, 0x1E140, 0x1E2F0, 0x1E950, 0x1FBF0};

bool is_other_digit(char32_t c) {
  constexpr char32_t kRun = 10;
  const auto* after = std::upper_bound(kOtherZeros.begin(), kOtherZeros.end(), c);
  return after != kOtherZeros.begin() && c - *std::prev(after) < kRun;
}

/// ¼ ½ ¾ and the like, and raised or lowered figures.
bool is_small_figure(char32_t c) {
  return (c >= 0xBC && c <= 0xBE) || (c >= 0x2150 && c <= 0x215F) || c == 0xB2 || c == 0xB3 || c == 0xB9 ||
         c == 0x2070 || (c >= 0x2074 && c <= 0x2079) || (c >= 0x2080 && c <= 0x2089);
}

bool is_control(char32_t c) { return c < 0x20 ? c != U'\t' : (c >= 0x7F && c <= 0x9F); }

bool is_shown_as_itself(char32_t c) {
  return (c >= 0x20 && c <= 0x7E) || (c >= 0xA1 && c <= 0x24F && c != 0xAD) || (c >= 0x391 && c <= 0x3C9) ||
         (c >= 0x410 && c <= 0x44F) || (c >= 0x2010 && c <= 0x2027) || (c >= 0x2030 && c <= 0x205E) ||
         (c >= 0x20A0 && c <= 0x20BF) || (c >= 0x2100 && c <= 0x22FF);
}

}  // namespace

Expected<std::u32string> decode(std::string_view utf8, std::size_t most) {
  std::u32string out;
  for (std::size_t at = 0; at < utf8.size();) {
    const std::size_t index = out.size();
    if (index == most) {
      return tl::unexpected<Error>(
          error_at(Fault::syntax, index, fmt::format("more than {} characters were typed", most)));
    }
    const Utf8Character next = utf8_character(utf8, at);
    if (next.bytes == 0) {
      return tl::unexpected<Error>(error_at(
          Fault::syntax, index,
          fmt::format("the byte \"\\x{:02X}\" is not UTF-8 text", static_cast<unsigned char>(utf8[at]))));
    }
    out += next.code;
    if (is_control(next.code)) {
      return tl::unexpected<Error>(
          error_at(Fault::syntax, index, "a control character " + quoted(out, index)));
    }
    if (is_other_digit(next.code)) {
      return tl::unexpected<Error>(error_at(
          Fault::syntax, index, quoted(out, index) + " is a digit of another script", "digits 0-9 only"));
    }
    if (is_small_figure(next.code)) {
      return tl::unexpected<Error>(error_at(Fault::syntax, index,
                                            quoted(out, index) + " is a raised figure or a made-up fraction",
                                            "digits 0-9 only; one half is written 1/2"));
    }
    at += next.bytes;
  }
  return out;
}

Error error_at(Fault fault, std::size_t index, std::string_view message, std::string expected) {
  Error error;
  error.fault = fault;
  error.what = fmt::format("{} at character {}", message, index + 1);
  error.expected = std::move(expected);
  error.place.column = static_cast<int>(index + 1);
  return error;
}

std::string quoted(std::u32string_view text, std::size_t from) {
  constexpr std::size_t kMostShown = 16;
  if (from >= text.size()) return "nothing";
  std::string out = "\"";
  std::size_t shown = 0;
  for (std::size_t i = from; i < text.size(); ++i, ++shown) {
    const char32_t c = text[i];
    if (is_blank(c) && i > from) break;
    if (shown == kMostShown) {
      out += "...";
      break;
    }
    if (is_shown_as_itself(c)) {
      append_utf8(out, c);
    } else {
      out += fmt::format("\\u{{{:x}}}", static_cast<std::uint32_t>(c));
    }
  }
  return out + "\"";
}

}  // namespace hingeline::characters

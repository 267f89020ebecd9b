#include "hingeline/base/utf8.h"

namespace hingeline {

Utf8Character utf8_character(std::string_view text, std::size_t at) {
  const std::string_view bytes = text.substr(at);
  const auto byte = [&](std::size_t i) {
    return static_cast<char32_t>(static_cast<unsigned char>(bytes[i]));
  };
  const char32_t first = byte(0);
  if (first < 0x80) return {first, 1};
  std::size_t length = 0;
  char32_t character = 0;
  char32_t least = 0;
  if (first >= 0xC2 && first <= 0xDF) {
    length = 2;
    character = first & 0x1FU;
    least = 0x80;
  } else if (first >= 0xE0 && first <= 0xEF) {
    length = 3;
    character = first & 0x0FU;
    least = 0x800;
  } else if (first >= 0xF0 && first <= 0xF4) {
    length = 4;
    character = first & 0x07U;
    least = 0x10000;
  }
  if (length == 0 || bytes.size() < length) return {};
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return {};
    character = (character << 6U) | (byte(i) & 0x3FU);
  }
  const bool surrogate = character >= 0xD800 && character <= 0xDFFF;
  if (character < least || surrogate || character > 0x10FFFF) return {};
  return {character, length};
}

bool is_utf8(std::string_view text) {
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t bytes = utf8_character(text, at).bytes;
    if (bytes == 0) return false;
    at += bytes;
  }
  return true;
}

void append_utf8(std::string& out, char32_t c) {
  constexpr char32_t kLow6 = 0x3F;
  const auto put = [&](char32_t byte) { out += static_cast<char>(static_cast<unsigned char>(byte)); };
  if (c < 0x80) {
    put(c);
  } else if (c < 0x800) {
    put(0xC0U | (c >> 6U));
    put(0x80U | (c & kLow6));
  } else if (c < 0x10000) {
    put(0xE0U | (c >> 12U));
    put(0x80U | ((c >> 6U) & kLow6));
    put(0x80U | (c & kLow6));
  } else {
    put(0xF0U | (c >> 18U));
    put(0x80U | ((c >> 12U) & kLow6));
    put(0x80U | ((c >> 6U) & kLow6));
    put(0x80U | (c & kLow6));
  }
}

}  // namespace hingeline

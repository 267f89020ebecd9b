// UTF-8, every character and what is none.

#include "hingeline/base/utf8.h"

#include <gtest/gtest.h>

namespace hingeline {
namespace {

TEST(Utf8, EveryCharacterComesBack) {
  for (char32_t c = 0; c <= 0x10FFFF; ++c) {
    if (c >= 0xD800 && c <= 0xDFFF) continue;
    std::string text;
    append_utf8(text, c);
    const Utf8Character got = utf8_character(text, 0);
    ASSERT_EQ(got.code, c);
    ASSERT_EQ(got.bytes, text.size());
    // Cut short it is none.
    for (std::size_t most = 1; most < text.size(); ++most)
      ASSERT_EQ(utf8_character(std::string_view(text).substr(0, most), 0).bytes, 0U) << std::uint32_t{c};
  }
}

TEST(Utf8, TheExamplesOfTheStandard) {
  // RFC 3629, section 7: "A<not identical to><Alpha>.", and a character beyond the first plane.
  std::string text;
  for (const char32_t c : {0x41U, 0x2262U, 0x391U, 0x2EU, 0x233B4U}) append_utf8(text, c);
  EXPECT_EQ(text, "\x41\xE2\x89\xA2\xCE\x91\x2E\xF0\xA3\x8E\xB4");
  EXPECT_TRUE(is_utf8(text));
  EXPECT_TRUE(is_utf8(""));
}

TEST(Utf8, WhatIsNone) {
  // Overlong forms, surrogates, beyond U+10FFFF, tails without a head, heads without a tail.
  for (const char* wrong : {"\xC0\x80", "\xC1\xBF", "\xE0\x80\xAF", "\xE0\x9F\xBF", "\xF0\x8F\xBF\xBF",
                            "\xED\xA0\x80", "\xED\xBF\xBF", "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFF",
                            "\x80", "\xC3", "\xC3(", "\xE2\x82("}) {
    EXPECT_EQ(utf8_character(wrong, 0).bytes, 0U);
    EXPECT_FALSE(is_utf8(std::string("before") + wrong + "after"));
  }
}

}  // namespace
}  // namespace hingeline

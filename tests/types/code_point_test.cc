// SPDX-License-Identifier: Apache-2.0
#include "types/code_point.h"

#include <gtest/gtest.h>

#include <vector>

namespace drycrank {
namespace {

std::vector<char32_t> CodePoints(std::string_view text) {
  std::vector<char32_t> found;
  for (std::size_t pos = 0; pos < text.size();) found.push_back(NextCodePoint(text, pos));
  return found;
}

// RFC 3629, section 7: the examples.
TEST(CodePoint, ExamplesOfTheStandardAreRead) {
  EXPECT_EQ(CodePoints("\x41\xE2\x89\xA2\xCE\x91\x2E"),
            (std::vector<char32_t>{0x41, 0x2262, 0x391, 0x2E}));
  EXPECT_EQ(CodePoints("\xE6\x97\xA5\xE6\x9C\xAC\xE8\xAA\x9E"),
            (std::vector<char32_t>{0x65E5, 0x672C, 0x8A9E}));
  EXPECT_EQ(CodePoints("\xEF\xBB\xBF\xF0\xA3\x8E\xB4"), (std::vector<char32_t>{0xFEFF, 0x233B4}));
}

TEST(CodePoint, WhatIsWrittenIsReadAgain) {
  for (const char32_t c : {0x0u, 0x7Fu, 0x80u, 0x7FFu, 0x800u, 0xFFFDu, 0x10000u, 0x10FFFFu}) {
    std::string text;
    AppendCodePoint(c, text);
    EXPECT_EQ(CodePoints(text), std::vector<char32_t>{c});
  }
}

TEST(CodePoint, ABadByteIsPassedAlone) {
  std::size_t pos = 0;
  EXPECT_EQ(NextCodePoint("\xE2\x82z", pos), kReplacement);
  EXPECT_EQ(pos, 1u);
  pos = 0;
  EXPECT_EQ(NextCodePoint("\uFFFD", pos), kReplacement);
  EXPECT_EQ(pos, 3u);
}

// U+202E: what follows reads from right to left. U+200F, a mark of Hebrew and Arabic texts, orders nothing.
TEST(CodePoint, WhatTurnsALineRoundOrEndsItIsControl) {
  for (const char32_t c : {0x2028u, 0x2029u, 0x202Au, 0x202Eu, 0x2066u, 0x2069u}) {
    EXPECT_TRUE(IsControl(c)) << static_cast<unsigned>(c);
  }
  for (const char32_t c : {0x2027u, 0x202Fu, 0x2065u, 0x206Au, 0x200Fu, 0x5D0u}) {
    EXPECT_FALSE(IsControl(c)) << static_cast<unsigned>(c);
  }
}

// Two names that differ in one of these look the same. U+200C and U+200D join letters of scripts that need it.
TEST(CodePoint, WhatNobodySeesIsControl) {
  for (const char32_t c : {0x200Bu, 0x2060u, 0x2064u, 0xFEFFu, 0xE0001u, 0xE007Fu}) {
    EXPECT_TRUE(IsControl(c)) << static_cast<unsigned>(c);
  }
  for (const char32_t c : {0x200Au, 0x200Cu, 0x200Du, 0xFEFEu, 0xE0080u}) {
    EXPECT_FALSE(IsControl(c)) << static_cast<unsigned>(c);
  }
}

}  // namespace
}  // namespace drycrank

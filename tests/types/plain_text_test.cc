// SPDX-License-Identifier: Apache-2.0
#include "types/plain_text.h"

#include <gtest/gtest.h>

#include "types/diagnostic.h"

namespace drycrank {
namespace {

// ECMA-48: ESC [ begins a control sequence, and U+009B stands for both; BEL, BS and DEL are single ones.
TEST(PlainText, NoControlSequenceIsLeft) {
  EXPECT_EQ(OneLine("a\x1b[31mred"), "a\xEF\xBF\xBD[31mred");
  EXPECT_EQ(OneLine("\xC2\x9B"
                    "2J"),
            "\xEF\xBF\xBD"
            "2J");
  EXPECT_EQ(OneLine("\a\b\x7f"), "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  EXPECT_TRUE(HasControl("\xC2\x9B"));
  EXPECT_TRUE(HasControl("\xFF"));
  EXPECT_FALSE(HasControl("90 °C, 2.2 kΩ\n\t"));
}

TEST(PlainText, ALineBreakIsASpace) {
  EXPECT_EQ(OneLine("open\r\n12,end"), "open  12,end");
  EXPECT_EQ(OneLine("90 °C"), "90 °C");
}

// RFC 4180, clause 2: rule 6 (a field with a comma is in quotes), rule 7 (a quote is written twice).
TEST(PlainText, CsvFieldsAreQuotedAsTheStandardSays) {
  EXPECT_EQ(CsvQuoted("plain words"), "plain words");
  EXPECT_EQ(CsvQuoted("a, b"), "\"a, b\"");
  EXPECT_EQ(CsvQuoted("the \"long\" one"), "\"the \"\"long\"\" one\"");
  EXPECT_EQ(CsvQuoted("x\n0,end"), "\"x 0,end\"");
}

TEST(PlainText, WhatWasQuotedIsReadBack) {
  for (const char* text : {"", "a", ",", "\"", "\"\"", "a, \"b\"", "\",\"", "ends with \""}) {
    EXPECT_EQ(CsvUnquoted(CsvQuoted(text)), text);
  }
  EXPECT_EQ(CsvUnquoted("\"one\" and \"two\""), "\"one\" and \"two\"");  // of older records
}

TEST(PlainText, ADiagnosticIsOneLine) {
  EXPECT_EQ(Format({{"a\nb.yaml", 1, 2}, "what \x1b[2J", "why\nnot"}),
            "a b.yaml:1:2: what \xEF\xBF\xBD[2J; why not");
}

}  // namespace
}  // namespace drycrank

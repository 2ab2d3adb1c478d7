// SPDX-License-Identifier: Apache-2.0
#include "types/markup.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <utility>

#include "tests/support/scratch_folder.h"
#include "types/code_point.h"

namespace drycrank {
namespace {

// XML 1.0 (fifth edition), section 2.4: the five characters with a meaning in markup.
TEST(Escape, WhatMarkupWouldRead) {
  EXPECT_EQ(Escape("a<b>&\"c'"), "a&lt;b&gt;&amp;&quot;c&#39;");
  EXPECT_EQ(Escape("90 °C ± 2 Ω"), "90 °C ± 2 Ω");
}

// XML 1.0, section 2.2: no control characters but tab, line feed, carriage return.
TEST(Escape, ReplacesWhatXmlForbids) {
  EXPECT_EQ(Escape("a\x01z"), "a\uFFFDz");
  EXPECT_EQ(Escape(std::string_view("a\0z", 3)), "a\uFFFDz");
  EXPECT_EQ(Escape("a\uFFFEz\uFFFF"), "a\uFFFDz\uFFFD");
  EXPECT_EQ(Escape("a\tz\r\n"), "a\tz\r\n");
}

// RFC 3629, section 3: overlong forms, surrogates and cut sequences are not UTF-8.
TEST(Escape, ReplacesWhatIsNotUtf8) {
  EXPECT_EQ(Escape("\xC0\xAF"), "\uFFFD\uFFFD");
  EXPECT_EQ(Escape("\xED\xA0\x80"), "\uFFFD\uFFFD\uFFFD");
  EXPECT_EQ(Escape("x\xE2\x82"), "x\uFFFD\uFFFD");
  EXPECT_EQ(Escape("\xF0\x9F\x94\xA7"), "\U0001F527");
}

TEST(Markup, EveryElementIsClosedInItsOwn) {
  const Markup cells = Element("td", {{"class", "num"}}, "3 < 4") + Element("td", "");
  EXPECT_EQ(Element("table", Element("tr", cells)).text(),
            "<table><tr><td class=\"num\">3 &lt; 4</td><td></td></tr></table>");
  EXPECT_EQ(EmptyElement("br", {}).text(), "<br/>");
}

TEST(Markup, ATextIsEscapedOnceAndMarkupIsNot) {
  const std::string name = "R&D <1>";
  EXPECT_EQ(Element("p", name + ": " + Element("b", name)).text(),
            "<p>R&amp;D &lt;1&gt;: <b>R&amp;D &lt;1&gt;</b></p>");
  EXPECT_EQ(Markup::Raw("<br/>").text(), "<br/>");
}

TEST(Markup, AnAttributesValueCannotEndIt) {
  EXPECT_EQ(EmptyElement("img", {{"alt", "a\"><script x='"}}).text(),
            "<img alt=\"a&quot;&gt;&lt;script x=&#39;\"/>");
}

TEST(Markup, AttributesAreNumbersOrLeftOut) {
  EXPECT_EQ(EmptyElement("a", {{"x", 10}, {"y", -0.25}, {"z", 1e7 / 3}}).text(),
            "<a x=\"10\" y=\"-0.25\" z=\"3.33333e+06\"/>");
  EXPECT_EQ(EmptyElement("a", {IfAny("class", ""), IfAny("id", "e1"), {"alt", ""}}).text(),
            "<a id=\"e1\" alt=\"\"/>");
}

TEST(Markup, JoinStandsBetween) {
  EXPECT_EQ(Join({Element("b", "1"), "2"}, " & ").text(), "<b>1</b> &amp; 2");
  EXPECT_EQ(Join(std::vector<Markup>{}, ", ").text(), "");
}

// all_characters.py reads the file with a parser that is not ours.
bool PythonReads(const std::string& xml) {
  const ScratchFolder scratch;
  std::ofstream(scratch.Path("a.xml"), std::ios::binary) << xml;
  const std::string command =
      "python3 '" DRYCRANK_TESTS_DIR "/types/all_characters.py' '" + scratch.Path("a.xml") + "'";
  return std::system(command.c_str()) == 0;
}

// All at the borders of what XML allows, and of one, two, three and four bytes; surrogates too.
std::string AllKindsOfCharacters() {
  constexpr std::pair<char32_t, char32_t> kRanges[] = {
      {0, 0x2FFF}, {0xD700, 0x10FFF}, {0x10FF00, 0x10FFFF}};
  std::string text;
  for (const auto& [first, last] : kRanges) {
    for (char32_t c = first; c <= last; ++c) AppendCodePoint(c, text);
  }
  return text;
}

TEST(Markup, NoCharacterBreaksTheDocument) {
  const std::string all = AllKindsOfCharacters();
  EXPECT_TRUE(PythonReads(Element("e", {{"a", all}}, all).text()));
  EXPECT_FALSE(PythonReads("<e a=\"\">" + all + "</e>"));
  EXPECT_FALSE(PythonReads(Element("e", {{"a", all}}, all.substr(1)).text()));
}

}  // namespace
}  // namespace drycrank

// SPDX-License-Identifier: Apache-2.0
#include "picture/sheet.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "picture/paint.h"

namespace drycrank::picture {
namespace {

PageField Field(const char* name, const char* text, const char* state, const char* lamp = "") {
  PageField field{name, name, "red", {1, text, "degC", state, lamp}};
  return field;
}

Page OfFields(std::vector<PageField> fields) { return {"bench", 1, 2, std::move(fields)}; }

Box Whole(const FieldPlace& place) {
  return {place.text.left, place.text.top, place.text.width + place.unit.width, place.text.height};
}
bool Overlap(const Box& a, const Box& b) {
  return a.left < b.left + b.width && b.left < a.left + a.width && a.top < b.top + b.height &&
         b.top < a.top + a.height;
}

TEST(Sheet, FieldsStandOnItAndNoTwoInOnePlace) {
  std::vector<PageField> fields(9, Field("coolant", "113", "ok"));
  const Sheet sheet = LayOut(OfFields(fields));
  ASSERT_EQ(sheet.places.size(), 9U);
  for (std::size_t i = 0; i < 9; ++i) {
    const Box box = Whole(sheet.places[i]);
    EXPECT_GE(box.left, 0);
    EXPECT_LE(box.left + box.width, sheet.width_px);
    EXPECT_LE(box.top + box.height, sheet.height_px);
    for (std::size_t j = 0; j < i; ++j) EXPECT_FALSE(Overlap(box, Whole(sheet.places[j])));
  }
}

// However long a text is, its ink stays within its place.
TEST(Sheet, ALongTextIsMadeToFit) {
  const Sheet sheet = LayOut(OfFields({Field("sync", "searching for position", "ok")}));
  for (const Ink& ink : sheet.inks) {
    for (const Path& path : ink.paths) {
      for (const PagePoint& point : path) {
        EXPECT_GE(point.x, 0);
        EXPECT_LE(point.x, sheet.width_px);
      }
    }
  }
}

std::size_t InksOf(const char* state, const char* lamp) {
  return LayOut(OfFields({Field("coolant", "113", state, lamp)})).inks.size();
}

// A warning is told by a sign and a word, a lamp that is lit by its rays and its name: more ink than
// the colour alone would take.
TEST(Sheet, AWarningIsMoreThanAColour) {
  EXPECT_EQ(InksOf("warning", ""), InksOf("ok", "") + 4);  // wash, triangle, sign, word
  EXPECT_EQ(InksOf("stale", ""), InksOf("ok", "") + 1);    // word
  EXPECT_EQ(InksOf("ok", "red"), InksOf("ok", "") + 2);    // rays, name
}

// Ten segments of 100 to 8000 rpm, three lit; it warns above 6400: the ninth and tenth, which begin at
// 6420 and 7210, and the eighth, which ends at 6420.
TEST(Sheet, ABarHasAFilledBoxForEachSegmentThatIsLit) {
  PageField field = Field("speed", "3 of 10", "ok");
  field.bar = BarLook{{100, 8000, 10}, 6400, {}};
  const Sheet sheet = LayOut(OfFields({field}));
  const Box& place = sheet.places[0].text;
  int filled = 0, framed = 0, tall = 0;
  for (const Ink& ink : sheet.inks) {
    const bool is_box = ink.paths.size() == 1 && ink.paths[0].size() == 5;
    if (!is_box || ink.paths[0][0].y < place.top) continue;
    (ink.width_px == 0 ? filled : framed)++;
    tall += ink.paths[0][2].y - ink.paths[0][0].y > 17 ? 1 : 0;
    for (const PagePoint& p : ink.paths[0]) {
      EXPECT_GE(p.x, place.left);
      EXPECT_LE(p.x, place.left + place.width);
      EXPECT_LE(p.y, place.top + place.height);
    }
  }
  EXPECT_EQ(filled, 3);
  EXPECT_EQ(framed, 7);
  EXPECT_EQ(tall, 3);
}

TEST(Sheet, AValueThatIsGoneHasABrokenFrame) {
  const auto dashed = [](const char* state) {
    const Sheet sheet = LayOut(OfFields({Field("coolant", "---", state)}));
    return std::ranges::any_of(sheet.inks, &Ink::dashed);
  };
  EXPECT_TRUE(dashed("stale"));
  EXPECT_FALSE(dashed("ok"));
}

TEST(Paint, OneSheetGivesTheSameBytes) {
  ASSERT_TRUE(CanPaint()) << kHowToPaint;
  const Sheet sheet = LayOut(OfFields({Field("coolant", "113", "warning", "red")}));
  const std::string png = PngOf(sheet), svg = SvgOf(sheet);
  EXPECT_EQ(png.substr(1, 3), "PNG");
  EXPECT_EQ(png, PngOf(sheet));
  EXPECT_EQ(svg, SvgOf(sheet));
}

}  // namespace
}  // namespace drycrank::picture

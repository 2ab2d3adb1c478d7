// SPDX-License-Identifier: Apache-2.0
//
// Where on pictures of a display its readouts stand, marked once by a person (YAML):
//
//   kind: marks
//   format: 1
//   pages:
//     1:
//       size: [390, 614]                   # of the page, in any unit: pixels of a drawing, mm of a ruler
//       corners: [[0, 0], [779, 0], [779, 1227], [0, 1227]]
//                                          # the page's corners in the pictures, in pixels: upper left, then clockwise
//       dark: page1_question6.png          # a picture of the page with no lamp lit
//       readouts:                          # left, top, width, height from the page's upper left corner, in its unit
//         coolant: {text: [18, 69, 129, 46], lamp: [168, 57, 10, 10]}
//   pictures:                              # those that were taken from elsewhere have corners of their own
//     page1_question3.png: {corners: [[4, 9], [771, 2], [779, 1220], [1, 1227]]}
#ifndef DRYCRANK_PICTURE_MARKS_H_
#define DRYCRANK_PICTURE_MARKS_H_

#include <array>
#include <map>
#include <optional>
#include <string>

#include "picture/sheet.h"
#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::picture {

using Corners = std::array<PagePoint, 4>;

struct MarkedField {
  Box text;
  std::optional<Box> lamp;
};

struct MarkedPage {
  double width = 0, height = 0;
  std::optional<Corners> corners;
  std::string dark;
  std::map<std::string, MarkedField> readouts;
};

struct Marks {
  std::map<int, MarkedPage> pages;
  std::map<std::string, Corners> pictures;
};

struct [[nodiscard]] ReadMarks {
  std::optional<Marks> marks;
  Diagnostics problems;
};
// Each page and readout of the bench that is there is checked against it: what has a lamp needs its mark.
ReadMarks LoadMarks(const std::string& path, const profile::Bench& bench);

inline constexpr char kMarksTitle[] =
    "# drycrank: marks of drawn pages";  // first line of a file that we wrote
// Marks of pages that were drawn, whose pictures have `scale` pixels for each one of the sheet.
struct DrawnPage {
  int number = 1;
  std::string dark;
  Sheet sheet;
};
std::string MarksText(const std::vector<DrawnPage>& pages, double scale);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_MARKS_H_

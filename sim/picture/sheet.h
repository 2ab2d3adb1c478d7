// SPDX-License-Identifier: Apache-2.0
//
// A page laid out as ink on paper: which lines and areas, in which colour, in pixels from the upper left
// corner, to be painted by whatever can (paint.h). Two columns of fields, 390 pixels wide:
//
//   Stand-in display             page 1 of 3
//   ┌───────────────┐  ┌───────────────┐
//   │ Coolant     ○ │  │ Oil pressure ✹│    name, lamp: a ring is dark, a filled disk with rays is lit
//   │ 95 °C         │  │ 8 psi         │    text and unit
//   │               │  │ ▲ warning     │    state: sign and word beside the colour; "gone": a broken frame
//   └───────────────┘  └───────────────┘
// A bar stands in the text's place: a filled box for each segment that is lit, a frame for each that is
// not, taller where its value warns; below them its ends.
#ifndef DRYCRANK_PICTURE_SHEET_H_
#define DRYCRANK_PICTURE_SHEET_H_

#include <string>
#include <vector>

#include "picture/lettering.h"
#include "picture/page.h"

namespace drycrank::picture {

struct Colour {
  double red = 0, green = 0, blue = 0;  // [0, 1]
};
// Of a lamp of that name: what "red", "amber", "green", "blue", "white" say, else yellow.
Colour LampColour(const std::string& lamp);

struct Ink {
  std::vector<Path> paths;
  Colour colour;
  double width_px = 0;  // of the pen; 0: the area within the paths
  bool dashed = false;
};

struct Box {
  double left = 0, top = 0, width = 0, height = 0;
};
struct FieldPlace {
  std::string readout;
  Box text;  // where its text may stand
  Box unit;
  Box lamp;  // width 0: it has none
};

struct Sheet {
  double width_px = 0, height_px = 0;
  Colour paper;
  std::vector<Ink> inks;  // in the order of painting
  std::vector<FieldPlace> places;
};
Sheet LayOut(const Page& page);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_SHEET_H_

// SPDX-License-Identifier: Apache-2.0
//
// Letters and digits of our own, as strokes of a round pen, in the manner of the lettering of technical
// drawings: straight lines and arcs, one width throughout. A font file was rejected: which one a computer
// has is not known, and a picture shall be the same on each.
//
//        ___
//       /   \      capitals and digits  10 units high
//       \___/      small letters         7
//       /   \      below the line        3
//       \___/      baseline              0, upwards positive
#ifndef DRYCRANK_PICTURE_LETTERING_H_
#define DRYCRANK_PICTURE_LETTERING_H_

#include <string_view>
#include <vector>

namespace drycrank::picture {

struct PagePoint {
  double x = 0, y = 0;
};
using Path = std::vector<PagePoint>;  // a dot is a path of two equal points

// A text with its baseline's begin at (0, 0), downwards positive, capitals `height` high. A character that
// has no strokes here is an empty box.
struct Lettered {
  std::vector<Path> strokes;
  double width = 0;
};
Lettered Letter(std::string_view text, double height);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_LETTERING_H_

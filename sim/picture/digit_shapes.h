// SPDX-License-Identifier: Apache-2.0
//
// Digits beside each other. All pictures of a sweep come from one display, which draws each digit
// in the same way each time: so what was read as a 5 must look like another 5 that stands somewhere
// else. A 0 that light from the glass has opened does not, whatever was read. No font need be known
// for it. The other one must stand at another place: dirt on the glass lies at the same place in
// all pictures.
//
// Two are alike when nowhere a piece as wide as a stroke is missing in one of them: their strengths
// of ink, on a grid of kShapeRows over the digit's height, smoothed over 3 cells, differ nowhere by
// more than kAlike, once they lie on each other best. A digit that has no other of its name must
// differ from each of another name by kOther of its ink: of the pairs of digits in eight letterings
// at hand the nearest (3 and 8, bold) differ by 0.23, most by 0.3 to 0.6; two spots as wide as a
// stroke by 0.1.
#ifndef DRYCRANK_PICTURE_DIGIT_SHAPES_H_
#define DRYCRANK_PICTURE_DIGIT_SHAPES_H_

#include <string>
#include <vector>

#include "picture/blobs.h"

namespace drycrank::picture {

inline constexpr int kShapeRows = 24, kShapeColumns = 30;
using Shape = std::vector<float>;  // row by row, ground 0, ink 1

// `strength`: of each pixel of the field how much of ink it is.
Shape ShapeOf(const Grey& strength, const Blob& blob);
struct Differs {
  double of_a_stroke = 0;  // [0, 1]: how much of it, where the two differ most
  double of_all = 0;       // how much of the ink of the one that has more
};
Differs Difference(const Shape& a, const Shape& b);

struct PlacedDigit {
  char name = ' ';
  std::string field;  // where it stands
  double middle = 0;  // from the field's left, in heights of the digit
  Shape shape;
};
// Of each whether another of its name looks the same at another place; where there is none, whether
// it is unlike all others, but for `must_have_other`: then that is not enough.
std::vector<bool> AreBorneOut(const std::vector<PlacedDigit>& digits, bool must_have_other);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_DIGIT_SHAPES_H_

// SPDX-License-Identifier: Apache-2.0
//
// Whether a number's digits stand as digits do. A point takes room, also one that cannot be seen
// any more, because a camera's noise reduction took it for noise. From middle to middle two digits
// with nothing between them are 1.0 to 1.35 of a digit's width W apart; a point adds 0.4 W or more:
//
//   | 8 | 7 | 5 |     8-7 1.14 W        fonts at hand          8-7      8.7
//   | 8 |.| 7 | 5 |   8-7 1.56 W        DejaVu Sans            1.26     1.89
//                                       Liberation Sans Narrow 1.17     1.75
//                                       Liberation Serif       1.11     1.67
//                                       our own lettering      1.14     1.57
//
// So a number whose digits stand further apart without a point is doubtful, and one whose point has
// no room too.
#ifndef DRYCRANK_PICTURE_SPACING_H_
#define DRYCRANK_PICTURE_SPACING_H_

#include <string>
#include <vector>

namespace drycrank::picture {

// One sign of a number: a digit, '-' or '.'. Any unit.
struct StandingSign {
  char name = ' ';
  double left = 0, right = 0, height = 0;
};
using StandingNumber = std::vector<StandingSign>;

// The width of a digit as a share of its height, the widest that is no 1; 0: there is none.
double DigitWidth(const std::vector<StandingNumber>& of_one_lettering);

// `must_have_point`: it is required to be shown with one. Empty: they stand as they should.
std::string WhySpacing(const StandingNumber& number, double digit_width, bool must_have_point);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_SPACING_H_

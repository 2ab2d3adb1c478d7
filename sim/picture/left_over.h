// SPDX-License-Identifier: Apache-2.0
//
// What a field shows besides the ink that was found in it. A reading is as good as what was not
// seen: a point that melted into its digit, a digit under glare. So, whatever is read:
//
//   - a point of the least size that displays have, kPoint of the text's height H, must still be seen.
//     Blurred by a Gaussian of deviation s a disk of diameter d keeps 1 - exp(-d^2 / (8 s^2)) of its strength in
//     its middle; s comes from the edges of the strokes, whose steepest slope is 1 / (sqrt(2 pi) s);
//   - the ink that was found, blurred by that s, must be all that is dark: what is left is faint ink, and
//     where ink is missing something covers it;
//   - where a point has room, the mean over its size must be that of the ground;
//   - the ground must be evenly bright, and not burnt out: under glare there may be anything;
//   - nothing may be there that is neither ground nor ink (spots.h).
#ifndef DRYCRANK_PICTURE_LEFT_OVER_H_
#define DRYCRANK_PICTURE_LEFT_OVER_H_

#include <string>

#include "picture/blobs.h"
#include "picture/raster.h"

namespace drycrank::picture {

// Deviation of the blur across upright edges (x) and level ones (y), pixels; where there are none
// of a kind, as of the other; 0: there are no edges.
struct EdgeBlur {
  double x_px = 0, y_px = 0;
};
EdgeBlur BlurOf(const InkField& field);

// Of each pixel how much of ink it is: ground 0, the darkest 1.
Grey StrengthOf(const InkField& field);

// `raster`: what `field` was found in. Why more may stand there; empty: nothing else does.
std::string WhatIsLeft(const Raster& raster, const InkField& field);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_LEFT_OVER_H_

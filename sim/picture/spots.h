// SPDX-License-Identifier: Apache-2.0
//
// Spots in a field: pixels that are neither ground nor ink, nor a mixture of the two as an edge is.
// A light that shines back from the glass may open a 0 so that it reads 5, and is as bright as the
// ground, or nearly; its colour is rarely that of the ground too. With the ground's colour g (light
// that varies slowly: a polynomial of the second degree for each channel, fitted to the ground) and
// the ink's k, a pixel c lies at
//   s = (c - g)·(k - g) / |k - g|^2,  held within what ground and ink may be,
// and what remains, |c - g - s (k - g)| / |k - g|, is its strangeness.
#ifndef DRYCRANK_PICTURE_SPOTS_H_
#define DRYCRANK_PICTURE_SPOTS_H_

#include <string>

#include "picture/blobs.h"
#include "picture/raster.h"

namespace drycrank::picture {

// `raster`: what `field` was found in, with text of that height. Empty: there is no spot of `few`
// pixels or more.
std::string WhySpots(const Raster& raster, const InkField& field, int few);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_SPOTS_H_

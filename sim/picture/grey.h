// SPDX-License-Identifier: Apache-2.0
//
// What is done to grey pictures, whatever they show.
#ifndef DRYCRANK_PICTURE_GREY_H_
#define DRYCRANK_PICTURE_GREY_H_

#include <vector>

#include "picture/raster.h"

namespace drycrank::picture {

// The value at `share` of all, [0, 1], in ascending order; 0 of none.
double Quantile(std::vector<float> values, double share);
// Of each pixel the mean of those within `reach` each way; beyond the edge the edge goes on.
Grey Smooth(const Grey& in, int reach);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_GREY_H_

// SPDX-License-Identifier: Apache-2.0
//
// Whether what was read of a field is borne out by the ink that stands there.
#ifndef DRYCRANK_PICTURE_BELIEVE_H_
#define DRYCRANK_PICTURE_BELIEVE_H_

#include <string>
#include <vector>

#include "picture/blobs.h"
#include "picture/read_text.h"

namespace drycrank::picture {

// One reading of a field: its characters without spaces, each with its confidence.
struct Spelled {
  std::string text;
  double confidence = 0;  // of the least certain one, [0, 1]
};

// A minus, digits and one point at most: "-8.1".
bool IsNumber(const std::string& text);
// A field of dashes alone needs no reading. Empty text: it is something else, or doubtful.
FieldReading DashesIn(const InkField& field, const TextWish& wish);
// `all`: readings of one field. Those that the ink does not bear out count for nothing; two that it
// does, each with confidence, must agree, and none that it does may differ.
FieldReading Believe(const InkField& field, const std::vector<Spelled>& all, const TextWish& wish);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_BELIEVE_H_

// SPDX-License-Identifier: Apache-2.0
//
// Numbers that were read, each beside all others of the same display: do the digits stand as digits
// do (spacing.h), and does each look like another of its name (digit_shapes.h).
#ifndef DRYCRANK_PICTURE_BESIDE_H_
#define DRYCRANK_PICTURE_BESIDE_H_

#include <string>
#include <vector>

#include "picture/read_text.h"

namespace drycrank::picture {

struct SeenNumber {
  std::string readout;
  bool must_have_point = false;  // it is required to be shown with one
  std::string text;
  std::vector<SeenSign> signs;
};
// Of each why it is doubtful; empty: it is not. `looked_at`: fields in all, those that could not be
// read too. In kManyFields and more each digit stands often: one that nothing else bears out is
// doubtful, as where the upper half of one value and the lower half of the next are in one picture.
inline constexpr std::size_t kManyFields = 20;
std::vector<std::string> WhyNotBeside(const std::vector<SeenNumber>& numbers,
                                      std::size_t looked_at);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_BESIDE_H_

// SPDX-License-Identifier: Apache-2.0
//
// Two results of a display as pages beside each other: each page on which something changed, as it was
// and as it is, drawn from the facts alone. A readout that changed stands there at a value where the two
// differ, and is marked; all others at the middle one of the values that were sent.
#ifndef DRYCRANK_PICTURE_SIDE_BY_SIDE_H_
#define DRYCRANK_PICTURE_SIDE_BY_SIDE_H_

#include <string>
#include <vector>

#include "picture/page.h"
#include "sweep/compare_shown.h"

namespace drycrank::picture {

struct PagePair {
  int number = 1;
  Page was, now;                  // without fields: the page is not there
  std::vector<std::string> sent;  // "coolant at 110", of those that changed
};
std::vector<PagePair> SideBySide(const sweep::WhatItShowed& was, const sweep::WhatItShowed& now,
                                 const sweep::Comparison& comparison);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_SIDE_BY_SIDE_H_

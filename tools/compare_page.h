// SPDX-License-Identifier: Apache-2.0
//
// Two results of a display as a page: what changed, sentence by sentence, and the pages of the display
// on which it did, as they were and as they are, side by side.
#ifndef DRYCRANK_TOOLS_COMPARE_PAGE_H_
#define DRYCRANK_TOOLS_COMPARE_PAGE_H_

#include <string>

#include "sweep/compare_shown.h"

namespace drycrank::tools {

std::string ComparisonPage(const sweep::WhatItShowed& was, const sweep::WhatItShowed& now,
                           const sweep::Comparison& comparison);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_COMPARE_PAGE_H_

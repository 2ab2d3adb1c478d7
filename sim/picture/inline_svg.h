// SPDX-License-Identifier: Apache-2.0
//
// A sheet as SVG within a page, by its strokes alone: no library is needed for it.
#ifndef DRYCRANK_PICTURE_INLINE_SVG_H_
#define DRYCRANK_PICTURE_INLINE_SVG_H_

#include <string>

#include "picture/sheet.h"
#include "types/markup.h"

namespace drycrank::picture {

// `words`: what is to be seen, for who does not see it.
Markup InlineSvg(const Sheet& sheet, const std::string& words);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_INLINE_SVG_H_

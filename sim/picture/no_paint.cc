// SPDX-License-Identifier: Apache-2.0
#include "picture/paint.h"

namespace drycrank::picture {

bool CanPaint() { return false; }
std::string PngOf(const Sheet&) { return {}; }
std::string SvgOf(const Sheet&) { return {}; }

}  // namespace drycrank::picture

// SPDX-License-Identifier: Apache-2.0
//
// A sheet as a picture file, by Cairo. The same sheet gives the same bytes, as far as the version of
// Cairo is the same. Built without Cairo nothing is painted (no_paint.cc).
#ifndef DRYCRANK_PICTURE_PAINT_H_
#define DRYCRANK_PICTURE_PAINT_H_

#include <string>

#include "picture/sheet.h"

namespace drycrank::picture {

bool CanPaint();
inline constexpr double kPngScale = 2;  // pixels of a PNG for each one of the sheet
// REQUIRES: CanPaint().
std::string PngOf(const Sheet& sheet);
std::string SvgOf(const Sheet& sheet);

inline constexpr char kHowToPaint[] =
    "this drycrank was built without Cairo and cannot draw; on Debian: tools/setup pictures, then "
    "build it again";
// How our pictures are known: a PNG holds the first, an SVG the second.
inline constexpr char kPngNote[] = "drawn by drycrank", kSvgNote[] = "<!-- drawn by drycrank -->";

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_PAINT_H_

// SPDX-License-Identifier: Apache-2.0
//
// A field of a page as ink and ground, whatever the light: brightness that varies slowly over the
// field (shade, glare) is divided out, then half way between the ground and the darkest pixels
// parts the two. Each piece of ink that hangs together is a blob, with the number of holes in it: a
// second witness of what is read, which knows no letters (0 has one hole, 8 two, a point none and
// lies low).
#ifndef DRYCRANK_PICTURE_BLOBS_H_
#define DRYCRANK_PICTURE_BLOBS_H_

#include <string>
#include <vector>

#include "picture/raster.h"

namespace drycrank::picture {

struct Blob {
  int left = 0, top = 0, right = 0, bottom = 0;  // pixels, right and bottom included
  int area = 0;
  int holes = 0;
  double top_share = 0,
         bottom_share = 0;  // how wide its uppermost and lowest fifths are, of its width

  // How far its foot, the lowest fifth, reaches out beyond what stands above it, and beyond its
  // middle; pixels.
  int foot_left = 0, foot_right = 0, step_left = 0, step_right = 0;

  int width() const { return right - left + 1; }
  int height() const { return bottom - top + 1; }
};

enum class Sign { kCharacter, kPoint, kDash };

struct InkField {
  Grey even;                // ink dark (0) on ground (255), evenly lit
  std::vector<bool> ink;    // of each pixel
  std::vector<Blob> blobs;  // from left to right
  std::vector<Sign> signs;  // of the blobs
  double contrast = 0;      // of ground and ink, as a share of the ground [0, 1]
  double noise = 0;         // deviation within the ground, as a share of the contrast
  double burnt = 0;         // share of the field that is as bright as the picture can be
  bool is_blank = false;    // ground alone
  std::string doubt;        // why this cannot be read; empty: it can
};
// `field`: as high as the text and its surroundings; ink may be darker or brighter than the ground.
InkField FindInk(const Raster& field);

// Holes that a character of that shape has; -1: depends on who drew it.
int HolesOf(char character);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_BLOBS_H_

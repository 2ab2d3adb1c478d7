// SPDX-License-Identifier: Apache-2.0
//
// A frame of a camera as a picture file that can be read (read_text.h):
//   Motion JPEG   as it is; many cameras leave out the Huffman tables, which are the typical ones of
//                 ITU-T T.81 (1992), annex K.3: they are put in where there are none
//   YUYV 4:2:2    Y0 Cb Y1 Cr for two pixels, ITU-R BT.601 with 16 as black and 235 as white; a PPM
#ifndef DRYCRANK_PICTURE_CAMERA_FRAME_H_
#define DRYCRANK_PICTURE_CAMERA_FRAME_H_

#include <string>
#include <string_view>

#include "types/frame_of_camera.h"

namespace drycrank::picture {

struct PictureFile {
  std::string bytes;
  std::string ending;   // "jpg", "ppm"
  std::string problem;  // else empty
};
PictureFile PictureOf(const CameraFrame& frame);

// Of the first bytes of a JPEG file: what its Exif says, 1 to 8; 1 where it says nothing.
int ExifOrientation(std::string_view jpeg);

}  // namespace drycrank::picture

#endif  // DRYCRANK_PICTURE_CAMERA_FRAME_H_

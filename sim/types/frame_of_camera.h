// SPDX-License-Identifier: Apache-2.0
//
// One frame as a camera gave it.
#ifndef DRYCRANK_TYPES_FRAME_OF_CAMERA_H_
#define DRYCRANK_TYPES_FRAME_OF_CAMERA_H_

#include <string>

namespace drycrank {

struct CameraFrame {
  enum class Kind { kJpeg, kYuyv } kind = Kind::kJpeg;
  int width = 0, height = 0;
  int bytes_per_line = 0;  // of YUYV
  std::string bytes;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_FRAME_OF_CAMERA_H_

// SPDX-License-Identifier: Apache-2.0
//
// One frame of a camera by Video4Linux 2 (linux/videodev2.h): opened, told the largest Motion JPEG or
// else YUYV that it has up to 1920 by 1080, a few frames waited for until its light is right, closed.
// Nothing else of it is touched. What becomes of the frame: picture/camera_frame.h.
#ifndef DRYCRANK_IO_CAMERA_H_
#define DRYCRANK_IO_CAMERA_H_

#include <optional>
#include <string>

#include "types/frame_of_camera.h"

namespace drycrank::io {

struct [[nodiscard]] TakenFrame {
  std::optional<CameraFrame> frame;
  std::string problem;  // with its remedy
};
TakenFrame TakeFrame(const std::string& device);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_CAMERA_H_

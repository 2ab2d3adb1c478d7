// SPDX-License-Identifier: Apache-2.0
//
// There is no camera where tests run: what is said of none. A frame is looked at in
// tests/picture/camera_frame_test.cc.
#include "io/camera.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace drycrank::io {
namespace {

using testing::HasSubstr;

TEST(Camera, ADeviceThatIsNotThereIsNamed) {
  const TakenFrame taken = TakeFrame("/dev/no_such_camera");
  EXPECT_FALSE(taken.frame);
  EXPECT_THAT(taken.problem, HasSubstr("/dev/no_such_camera: open: No such file or directory"));
  EXPECT_THAT(taken.problem, HasSubstr("ls /dev/video*"));
}

TEST(Camera, WhatIsNoCameraIsRefused) {
  const TakenFrame taken = TakeFrame("/dev/null");
  EXPECT_FALSE(taken.frame);
  EXPECT_THAT(taken.problem, HasSubstr("/dev/null: it is no camera"));
}

}  // namespace
}  // namespace drycrank::io

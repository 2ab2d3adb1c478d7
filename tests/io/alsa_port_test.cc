// SPDX-License-Identifier: Apache-2.0
//
// ALSA's own plugins that need no card: null, and file, whose bytes are read back.
#include "io/alsa_port.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <vector>

#include "io/alsa_setup.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

using testing::HasSubstr;

TEST(AlsaPort, ADeviceThatIsNotThereIsSaid) {
  AlsaPort port("hw:77");
  EXPECT_THAT(port.Open(48'000, 2, 4800), HasSubstr("sound card 'hw:77': open: "));
  EXPECT_EQ(port.Start(), "sound card 'hw:77' is not open");
}

TEST(AlsaPort, ACardThatIsGoneWasPulledOut) {
  EXPECT_THAT(AlsaProblem("hw:1", "write", -ENODEV), HasSubstr("hw:1': write: No such device; it has been pulled out"));
  EXPECT_EQ(AlsaProblem("hw:1", "write", -EIO), "sound card 'hw:1': write: Input/output error");
}

TEST(AlsaPort, EightChannelsOf192KilohertzAreTaken) {
  AlsaPort port("null");
  ASSERT_EQ(port.Open(192'000, 8, 9600), "");
  EXPECT_EQ(port.bits(), 32);
  ASSERT_EQ(port.Start(), "");
  EXPECT_GE(port.Look().room, 9600 / 2);
  EXPECT_EQ(port.Write(std::vector<float>(8 * 384, 0.25F)), "");
  EXPECT_FALSE(port.Look().has_run_dry);
}

// 2^31 - 1 is 1; half of it, rounded, 2^30.
TEST(AlsaPort, FramesAreWrittenChannelByChannel) {
  const ScratchFolder scratch;
  const std::string path = scratch.Path("heard.raw");
  {
    AlsaPort port("file:FILE=" + path + ",FORMAT=raw");
    ASSERT_EQ(port.Open(48'000, 2, 4800), "");
    ASSERT_EQ(port.bits(), 32);
    ASSERT_EQ(port.Start(), "");
    ASSERT_EQ(port.Write(std::vector<float>{1, -1, 0.5, 0, -0.5, 7}), "");
  }
  std::ifstream file(path, std::ios::binary);
  const std::vector<char> bytes{std::istreambuf_iterator<char>(file), {}};
  std::vector<std::int32_t> heard(bytes.size() / 4);
  std::memcpy(heard.data(), bytes.data(), heard.size() * 4);
  EXPECT_EQ(heard, (std::vector<std::int32_t>{2147483647, -2147483647, 1073741824, 0, -1073741824,
                                              2147483647}));
}

}  // namespace
}  // namespace drycrank::io

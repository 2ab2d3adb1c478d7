// SPDX-License-Identifier: Apache-2.0
//
// Against the kernel's own pseudo-terminal and socket at the other end.
#include "io/serial_port.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <array>
#include <numeric>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

using testing::HasSubstr;

std::array<std::uint8_t, 256> AllBytes() {
  std::array<std::uint8_t, 256> bytes;
  std::iota(bytes.begin(), bytes.end(), std::uint8_t{0});
  return bytes;
}

// Every byte as it is: no line ends, no flow control, no echo.
void ExpectBothWays(SerialPort& port, int other_end) {
  const auto sent = AllBytes();
  std::array<std::uint8_t, 256> got{};
  ASSERT_TRUE(port.Write(sent));
  for (std::size_t count = 0; count < got.size();) {
    const ssize_t more = read(other_end, got.data() + count, got.size() - count);
    ASSERT_GT(more, 0);
    count += static_cast<std::size_t>(more);
  }
  EXPECT_EQ(got, sent);
  got = {};
  ASSERT_EQ(write(other_end, sent.data(), sent.size()), 256);
  for (std::size_t count = 0; count < got.size();) {
    const int more = port.Read(std::span(got).subspan(count), kNsPerS);
    ASSERT_GT(more, 0);
    count += static_cast<std::size_t>(more);
  }
  EXPECT_EQ(got, sent);
  EXPECT_EQ(port.Read(got, 0), 0);
}

TEST(SerialPort, ATerminalCarriesEveryByte) {
  const int other_end = posix_openpt(O_RDWR | O_NOCTTY);
  ASSERT_GE(other_end, 0);
  ASSERT_EQ(grantpt(other_end) + unlockpt(other_end), 0);
  SerialPort port(ptsname(other_end), 115200);
  ASSERT_EQ(port.Open(), "");
  ExpectBothWays(port, other_end);
  close(other_end);
  std::array<std::uint8_t, 8> bytes;
  EXPECT_EQ(port.Read(bytes, kNsPerS), -1) << "the line is gone";
}

TEST(SerialPort, ASocketCarriesEveryByte) {
  const ScratchFolder scratch;
  const std::string path = scratch.Path("line");
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  ASSERT_LT(path.size(), sizeof(address.sun_path));
  path.copy(address.sun_path, path.size());
  const int listener = socket(AF_UNIX, SOCK_STREAM, 0);
  ASSERT_EQ(bind(listener, reinterpret_cast<const sockaddr*>(&address), sizeof(address)), 0);
  ASSERT_EQ(listen(listener, 1), 0);
  SerialPort port(path, 115200);
  ASSERT_EQ(port.Open(), "");
  const int other_end = accept(listener, nullptr, nullptr);
  ExpectBothWays(port, other_end);
  close(other_end);
  std::array<std::uint8_t, 8> bytes;
  EXPECT_EQ(port.Read(bytes, kNsPerS), -1);
  EXPECT_FALSE(port.Write(bytes)) << "and no signal";
  close(listener);
}

TEST(SerialPort, WhatIsNoLineIsSaidSo) {
  const ScratchFolder scratch;
  EXPECT_THAT(SerialPort(scratch.Path("none"), 9600).Open(), HasSubstr("is the device plugged in"));
  EXPECT_THAT(SerialPort(scratch.Path(""), 9600).Open(), HasSubstr("neither a serial port nor"));
  EXPECT_THAT(SerialPort("/dev/null", 9600).Open(), HasSubstr("no serial port"));
}

}  // namespace
}  // namespace drycrank::io

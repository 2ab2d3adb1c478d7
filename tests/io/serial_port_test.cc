// SPDX-License-Identifier: Apache-2.0
//
// Against the kernel's own pseudo-terminal and socket at the other end.
#include "io/serial_port.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <stdlib.h>
#include <sys/file.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <memory>
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

struct PseudoTerminal {
  const int other_end = posix_openpt(O_RDWR | O_NOCTTY);
  const bool is_there = grantpt(other_end) == 0 && unlockpt(other_end) == 0;
  const std::string path = ptsname(other_end);
  ~PseudoTerminal() { close(other_end); }
};

// By another path too: the device counts. The first has what is sent all the same.
TEST(SerialPort, ASecondOwnerIsRefusedAndTouchesNothing) {
  const PseudoTerminal terminal;
  const ScratchFolder scratch;
  ASSERT_EQ(symlink(terminal.path.c_str(), scratch.Path("alias").c_str()), 0);
  auto first = std::make_unique<SerialPort>(terminal.path, 115200);
  ASSERT_EQ(first->Open(), "");
  const pid_t other = fork();
  if (other == 0) {
    const std::string said = SerialPort(scratch.Path("alias"), 9600).Open();
    _exit(said.find(fmt::format("in use by process {} (", getppid())) != std::string::npos ? 0 : 1);
  }
  int status = -1;
  waitpid(other, &status, 0);
  EXPECT_EQ(status, 0) << "refused, with the number of who has it";
  EXPECT_THAT(SerialPort(terminal.path, 9600).Open(), HasSubstr("that of two outputs"));
  termios settings;
  ASSERT_EQ(tcgetattr(terminal.other_end, &settings), 0);
  EXPECT_EQ(cfgetospeed(&settings), speed_t{B115200});
  first.reset();
  EXPECT_EQ(SerialPort(terminal.path, 9600).Open(), "") << "it ends with its owner";
}

// As a terminal program does that keeps others out (flock(2)).
TEST(SerialPort, APortThatAnotherProgramHasLockedIsNotTaken) {
  const PseudoTerminal terminal;
  const int other = open(terminal.path.c_str(), O_RDWR | O_NOCTTY);
  ASSERT_EQ(flock(other, LOCK_EX | LOCK_NB), 0);
  EXPECT_THAT(SerialPort(terminal.path, 9600).Open(), HasSubstr("in use by another program"));
  close(other);
  EXPECT_EQ(SerialPort(terminal.path, 9600).Open(), "");
}

// A board whose reset hangs on DTR would start anew at the next opening (termios(3): HUPCL lowers it).
TEST(SerialPort, ItDoesNotHangUpAtItsEnd) {
  const PseudoTerminal terminal;
  termios settings;
  ASSERT_EQ(tcgetattr(terminal.other_end, &settings), 0);
  settings.c_cflag |= HUPCL;
  ASSERT_EQ(tcsetattr(terminal.other_end, TCSANOW, &settings), 0);
  SerialPort port(terminal.path, 115200);
  ASSERT_EQ(port.Open(), "");
  ASSERT_EQ(tcgetattr(terminal.other_end, &settings), 0);
  EXPECT_EQ(settings.c_cflag & HUPCL, 0u);
}

TEST(SerialPort, ASecondOwnerOfASocketIsRefused) {
  const ScratchFolder scratch;
  const std::string path = scratch.Path("line");
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  path.copy(address.sun_path, path.size());
  const int listener = socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK, 0);
  ASSERT_EQ(bind(listener, reinterpret_cast<const sockaddr*>(&address), sizeof(address)), 0);
  ASSERT_EQ(listen(listener, 4), 0);
  SerialPort first(path, 115200), second(path, 115200);
  ASSERT_EQ(first.Open(), "");
  EXPECT_THAT(second.Open(), HasSubstr("that of two outputs"));
  EXPECT_GE(accept(listener, nullptr, nullptr), 0);
  EXPECT_LT(accept(listener, nullptr, nullptr), 0) << "the second did not even connect";
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

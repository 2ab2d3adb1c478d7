// SPDX-License-Identifier: Apache-2.0
#include "io/serial_port.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <termios.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <ctime>

#include "io/baud.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

constexpr int kWriteWaitMs = 50;  // a line that takes nothing for so long is gone

std::string Failed(const char* step, const std::string& path, const char* remedy) {
  return fmt::format("{} {}: {}; {}", step, path, std::strerror(errno), remedy);
}

std::string InUse(const std::string& path) {
  return fmt::format("{0} is in use by another program; end that one first (fuser {0} names it)",
                     path);
}

}  // namespace

std::string SerialPort::Open() {
  struct stat what;
  if (stat(path_.c_str(), &what) != 0) {
    return Failed("look at", path_, "is the device plugged in, and is it this path?");
  }
  if (!S_ISSOCK(what.st_mode) && !S_ISCHR(what.st_mode)) {
    return fmt::format("{}: neither a serial port nor a socket; write the path of one", path_);
  }
  if (std::string problem = claim_.Take(path_); !problem.empty()) return problem;
  return S_ISSOCK(what.st_mode) ? Connect() : OpenTerminal();
}

std::string SerialPort::OpenTerminal() {
  line_ = Socket(open(path_.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC));
  if (!line_.is_open()) {
    if (errno == EBUSY) return InUse(path_);
    return Failed("open", path_, "may you? The group that owns the port, mostly dialout, may");
  }
  // Before it is set up otherwise: some programs lock so, and others have it to themselves so.
  if (flock(line_.get(), LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) return InUse(path_);
  termios settings;
  if (tcgetattr(line_.get(), &settings) != 0) return Failed("read", path_, "it is no serial port");
  const std::optional<speed_t> speed = SpeedOf(baud_);
  if (!speed) {
    return fmt::format("{}: no serial port has {} baud; 115200 is usual", path_, baud_);
  }
  cfmakeraw(&settings);
  settings.c_cflag |= CLOCAL | CREAD;
  settings.c_cflag &= ~static_cast<tcflag_t>(CSTOPB | CRTSCTS | HUPCL);
  cfsetspeed(&settings, *speed);
  if (tcsetattr(line_.get(), TCSANOW, &settings) != 0)
    return Failed("set up", path_, "another baud?");
  if (ioctl(line_.get(), TIOCEXCL) != 0) return Failed("take", path_, "is it a serial port?");
  tcflush(line_.get(), TCIOFLUSH);
  return "";
}

std::string SerialPort::Connect() {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (path_.size() >= sizeof(address.sun_path)) {
    return fmt::format("{}: too long for a socket; at most {} characters", path_,
                       sizeof(address.sun_path) - 1);
  }
  std::memcpy(address.sun_path, path_.c_str(), path_.size());
  line_ = Socket(socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0));
  if (connect(line_.get(), reinterpret_cast<const sockaddr*>(&address), sizeof(address)) != 0) {
    return Failed("connect to", path_, "does the other end listen?");
  }
  fcntl(line_.get(), F_SETFL, O_NONBLOCK);
  return "";
}

int SerialPort::Read(std::span<std::uint8_t> bytes, TimeNs wait_ns) {
  pollfd ready{line_.get(), POLLIN, 0};
  const timespec wait{wait_ns / kNsPerS, wait_ns % kNsPerS};
  const int count = ppoll(&ready, 1, &wait, nullptr);
  if (count == 0 || (count < 0 && errno == EINTR)) return 0;
  if (count < 0) return -1;
  const ssize_t got = read(line_.get(), bytes.data(), bytes.size());
  if (got > 0) return static_cast<int>(got);
  return got < 0 && (errno == EAGAIN || errno == EINTR) ? 0 : -1;
}

bool SerialPort::Write(std::span<const std::uint8_t> bytes) {
  while (!bytes.empty()) {
    // A socket whose other end has gone would send a signal.
    ssize_t sent = send(line_.get(), bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent < 0 && errno == ENOTSOCK) sent = write(line_.get(), bytes.data(), bytes.size());
    if (sent > 0) {
      bytes = bytes.subspan(AsSize(sent));
      continue;
    }
    if (sent < 0 && errno != EAGAIN && errno != EINTR) return false;
    pollfd ready{line_.get(), POLLOUT, 0};
    if (poll(&ready, 1, kWriteWaitMs) == 0) return false;
  }
  return true;
}

TimeNs SerialPort::Now() {
  timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return now.tv_sec * kNsPerS + now.tv_nsec;
}

}  // namespace drycrank::io

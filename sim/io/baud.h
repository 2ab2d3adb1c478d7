// SPDX-License-Identifier: Apache-2.0
//
// Speeds of serial lines, as the terminal driver numbers them.
#ifndef DRYCRANK_IO_BAUD_H_
#define DRYCRANK_IO_BAUD_H_

#include <termios.h>

#include <optional>
#include <utility>

namespace drycrank::io {

// Nothing: no serial port has it.
inline std::optional<speed_t> SpeedOf(int baud) {
  constexpr std::pair<int, speed_t> kSpeeds[] = {
      {9600, B9600},       {19200, B19200},     {38400, B38400},    {57600, B57600},
      {115200, B115200},   {230400, B230400},   {460800, B460800},  {500000, B500000},
      {921600, B921600},   {1000000, B1000000}, {2000000, B2000000}, {4000000, B4000000}};
  for (const auto& [rate, speed] : kSpeeds) {
    if (rate == baud) return speed;
  }
  return std::nullopt;
}

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_BAUD_H_

// SPDX-License-Identifier: Apache-2.0
//
// A line to a device, byte by byte, both ways: a serial port or a local socket (io/serial_port.h). Its
// in-memory twin for the trigger core is the core itself, compiled for this computer
// (tests/output/core_link_test.cc).
#ifndef DRYCRANK_OUTPUT_BYTE_PORT_H_
#define DRYCRANK_OUTPUT_BYTE_PORT_H_

#include <cstdint>
#include <span>
#include <string>

#include "types/time.h"

namespace drycrank::output {

class BytePort {
 public:
  virtual ~BytePort() = default;
  virtual std::string Name() const = 0;  // "/dev/ttyACM0"
  // Empty, or the step that failed and what helps.
  virtual std::string Open() = 0;
  // How many came, waiting for the first so long; -1: the line is gone.
  virtual int Read(std::span<std::uint8_t> bytes, TimeNs wait_ns) = 0;
  // Whether all went; false: the line is gone, or takes nothing more.
  virtual bool Write(std::span<const std::uint8_t> bytes) = 0;
  // Of its own clock, which never goes back.
  virtual TimeNs Now() = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_BYTE_PORT_H_

// SPDX-License-Identifier: Apache-2.0
//
// A serial port (raw, 8N1) or a local stream socket, as output/byte_port.h, and for us alone. Opening a
// port raises its line DTR, which starts many boards anew; so that the next opening does not, DTR stays
// where it is at the end (termios(3), HUPCL).
#ifndef DRYCRANK_IO_SERIAL_PORT_H_
#define DRYCRANK_IO_SERIAL_PORT_H_

#include <span>
#include <string>
#include <utility>

#include "io/line_claim.h"
#include "io/socket.h"
#include "output/byte_port.h"

namespace drycrank::io {

class SerialPort : public output::BytePort {
 public:
  // An absolute path. Of a socket the baud rate does not matter.
  SerialPort(std::string path, int baud) : path_(std::move(path)), baud_(baud) {}

  std::string Name() const override { return path_; }
  std::string Open() override;
  int Read(std::span<std::uint8_t> bytes, TimeNs wait_ns) override;
  bool Write(std::span<const std::uint8_t> bytes) override;
  TimeNs Now() override;

 private:
  std::string OpenTerminal();
  std::string Connect();

  std::string path_;
  int baud_;
  LineClaim claim_;
  Socket line_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_SERIAL_PORT_H_

// SPDX-License-Identifier: Apache-2.0
//
// One owner per line: two programs that talk with one device take its answers from each other, and while
// one of them lives the device does not notice that the other is gone. The claim is a name among the
// kernel's own (unix(7), abstract), made of the device's or the socket's number: whatever path leads to
// it, no file stays behind, and the name ends with the process, however that ends.
#ifndef DRYCRANK_IO_LINE_CLAIM_H_
#define DRYCRANK_IO_LINE_CLAIM_H_

#include <string>

#include "io/socket.h"

namespace drycrank::io {

class LineClaim {
 public:
  // A terminal or socket that is there; nothing of it is opened. Empty on success, else whose it is:
  // "/dev/ttyACM0 is in use by process 4711 (drycrank); ...".
  [[nodiscard]] std::string Take(const std::string& path);
  void Release() { name_.Close(); }

 private:
  Socket name_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_LINE_CLAIM_H_

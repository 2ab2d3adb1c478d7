// SPDX-License-Identifier: Apache-2.0
//
// Lines from standard input, the bus kept alive meanwhile.
#ifndef DRYCRANK_TOOLS_KEYBOARD_H_
#define DRYCRANK_TOOLS_KEYBOARD_H_

#include <optional>
#include <string>

#include "tools/echo_screen.h"

namespace drycrank::tools {

class Keyboard {
 public:
  explicit Keyboard(EchoScreen& screen) : screen_(screen) {}

  // Nothing: the end of input, or stopped.
  std::optional<std::string> Line();

 private:
  EchoScreen& screen_;
  std::string buffer_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_KEYBOARD_H_

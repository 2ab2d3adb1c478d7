// SPDX-License-Identifier: Apache-2.0
//
// Lines of text to an instrument on TCP, and its answers. Each call is done within its patience.
#ifndef DRYCRANK_IO_TEXT_LINE_H_
#define DRYCRANK_IO_TEXT_LINE_H_

#include <chrono>
#include <string>
#include <string_view>

#include "io/socket.h"

namespace drycrank::io {

class TextLine {
 public:
  // Empty, or why not and what helps.
  std::string Connect(const std::string& host, int port, std::chrono::milliseconds patience);
  bool is_open() const { return socket_.is_open(); }
  void Close() { socket_.Close(); }

  // Empty, or why not; then it is closed. `line` without its end.
  std::string Say(std::string_view line);
  // The next line without its end, or why there is none.
  struct [[nodiscard]] Answer {
    std::string line, error;
  };
  Answer Ask(std::string_view line);

 private:
  std::string Fail(const std::string& why);
  Answer ReadLine();

  Socket socket_;
  std::string where_;
  std::chrono::milliseconds patience_{0};
  std::string read_;  // and not yet given
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_TEXT_LINE_H_

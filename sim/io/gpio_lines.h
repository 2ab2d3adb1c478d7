// SPDX-License-Identifier: Apache-2.0
//
// Lines of a GPIO chip, by the kernel's character device (linux/gpio.h, its second interface): switches
// and relays as outputs, a stop button as an input. Whoever has requested a line owns it alone; with
// the descriptor it is free again, at the level it had (of an output: on the chips that were tried).
#ifndef DRYCRANK_IO_GPIO_LINES_H_
#define DRYCRANK_IO_GPIO_LINES_H_

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "io/socket.h"

namespace drycrank::io {

struct GpioChip {
  std::string path, name, label;
  int lines = 0;
};
// All that are there, in the order of their paths.
std::vector<GpioChip> GpioChips(const std::string& folder = "/dev");

// A chip by its path, or by the label that it keeps when the numbers change. One of the two is empty.
struct [[nodiscard]] FoundChip {
  GpioChip chip;
  std::string error;
};
FoundChip FindGpioChip(const std::string& path_or_label, const std::string& folder = "/dev");

class GpioLines {
 public:
  static constexpr int kMaxLines = 64;  // of one request

  // Lines as outputs, from the first moment on at `levels`, a bit each in the order of `lines`.
  // As inputs: with a pull-up where the chip has one, or as they are. errno_value: 0, or why not.
  struct [[nodiscard]] Opened;
  static Opened Outputs(int chip, const std::vector<int>& lines, std::uint64_t levels);
  static Opened Inputs(int chip, const std::vector<int>& lines);

  // Those of `mask`, at once as far as the chip can. 0, or errno.
  [[nodiscard]] int Set(std::uint64_t levels, std::uint64_t mask);
  // Nothing: they could not be read, and errno says why.
  std::optional<std::uint64_t> Read() const;

 private:
  static Opened Request(int chip, const std::vector<int>& lines, std::uint64_t flags,
                        std::uint64_t levels);

  Socket request_;
  std::uint64_t all_ = 0;  // a bit for each line
};
struct GpioLines::Opened {
  GpioLines lines;
  int errno_value = 0;
};

// Why a request was refused, with what helps. `line` as the chip counts.
std::string WhyNoLine(int errno_value, const std::string& chip, int line);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_GPIO_LINES_H_

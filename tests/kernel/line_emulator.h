// SPDX-License-Identifier: Apache-2.0
//
// Eight GPIO lines in a kernel that has none: a USB bridge played through /dev/uhid. It answers the
// requests that the kernel's hid-cp2112 driver makes (feature reports 2 configuration, 3 get, 4 set,
// 5 version, 6 bus), and knows what was set. A process of its own: a test may be killed beside it.
#ifndef DRYCRANK_TESTS_KERNEL_LINE_EMULATOR_H_
#define DRYCRANK_TESTS_KERNEL_LINE_EMULATOR_H_

#include <atomic>
#include <cstdint>

namespace drycrank {

class LineEmulator {
 public:
  LineEmulator();
  ~LineEmulator();
  LineEmulator(const LineEmulator&) = delete;
  LineEmulator& operator=(const LineEmulator&) = delete;

  struct Lines {
    std::atomic<std::uint8_t> levels = 0;   // a bit each, as last set
    std::atomic<std::uint8_t> outputs = 0;  // those that are outputs
    std::atomic<std::uint8_t> outside = 0;  // what somebody else puts on the inputs
  };
  Lines& lines() { return *lines_; }

 private:
  Lines* lines_;  // shared with the process
  int process_ = -1;
};

}  // namespace drycrank

#endif  // DRYCRANK_TESTS_KERNEL_LINE_EMULATOR_H_

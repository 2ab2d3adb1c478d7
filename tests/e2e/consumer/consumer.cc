// SPDX-License-Identifier: Apache-2.0
//
// A divider by the library: 5 V over 2.2 kohm and 1 kohm are 5 * 1 / 3.2 = 1.5625 V. And the same as a
// frame's text: 1562 mV, low byte first, are 1A 06.
#include <cstdio>

#include "bus/frame_text.h"
#include "harness/network.h"

int main() {
  drycrank::harness::Network network("ground");
  const int supply = network.Node("supply"), pin = network.Node("pin");
  network.Drive(supply, 0, 5, 1e-3);
  network.Join(supply, pin, 2200);
  network.Join(pin, 0, 1000);
  const double volts = drycrank::harness::NodalSolver(network).Voltages()[pin];

  drycrank::bus::Frame frame;
  frame.id = 0x123;
  frame.length = 2;
  const auto millivolts = static_cast<unsigned>(1000 * volts);
  frame.data[0] = static_cast<std::uint8_t>(millivolts);
  frame.data[1] = static_cast<std::uint8_t>(millivolts >> 8);
  fmt::memory_buffer text;
  drycrank::bus::AppendFrameText(frame, text);
  std::printf("%.4f V %.*s\n", volts, static_cast<int>(text.size()), text.data());
  return 0;
}

// SPDX-License-Identifier: Apache-2.0
//
// The five functions of core/board.h on that machine. It has no pins: what a pin would show is counted,
// and each change is told on the line as a frame 0x180 + channel (level, then the time in ns, 7 bytes).
#include "core/board.h"
#include "core/core_node.h"
#include "tools/core/mps2.h"

namespace drycrank::core {

int64_t BoardNow() { return NowNs(); }
int BoardRead() { return Get(); }
void BoardWrite(uint8_t byte) { Put(static_cast<char>(byte)); }

void BoardSet(int32_t channel, bool level, int64_t at) {
  CoreFrame frame;
  frame.id = static_cast<uint16_t>(0x180 + channel);
  frame.length = 8;
  frame.data[0] = level;
  for (int i = 0; i < 7; ++i) frame.data[1 + i] = static_cast<uint8_t>(at >> 8 * i & 0xFF);
  uint8_t bytes[kMostLine];
  const int32_t count = Line(frame, bytes);
  for (int32_t i = 0; i < count; ++i) BoardWrite(bytes[i]);
}

void BoardSafe(uint32_t levels) {
  CoreFrame frame;
  frame.id = 0x17F;
  frame.length = 1;
  frame.data[0] = static_cast<uint8_t>(levels);
  uint8_t bytes[kMostLine];
  const int32_t count = Line(frame, bytes);
  for (int32_t i = 0; i < count; ++i) BoardWrite(bytes[i]);
}

}  // namespace drycrank::core

int main() {
  static drycrank::core::CoreNode node(5);
  for (;;) node.Run();
}

// SPDX-License-Identifier: Apache-2.0
//
// CAN frames over a serial line, so that one dictionary serves both:
//
//   END  id low  id high  0 to 8 bytes  crc high  crc low  END       escaped as RFC 1055 says
//   END 0xC0 · ESC 0xDB · END in it: DB DC · ESC in it: DB DD
//   CRC-16, polynomial 0x1021, from 0xFFFF, over identifier and bytes
//
// What does not fit, in length, escape or CRC, is counted and forgotten up to the next END.
#ifndef DRYCRANK_CORE_FRAME_LINE_H_
#define DRYCRANK_CORE_FRAME_LINE_H_

#include <stdint.h>

namespace drycrank::core {

struct CoreFrame {
  uint16_t id = 0;  // 11 bits
  uint8_t length = 0;
  uint8_t data[8] = {};
};

uint16_t Crc16(const uint8_t* bytes, int32_t count);

// As it stands on the line. REQUIRES: room for kMostLine bytes; returns how many.
inline constexpr int32_t kMostLine = 2 + 2 * 12;
int32_t Line(const CoreFrame& frame, uint8_t* bytes);

class FrameReader {
 public:
  // True when this byte ends a whole frame.
  bool Take(uint8_t byte, CoreFrame& frame);
  uint32_t refused() const { return refused_; }

 private:
  bool End(CoreFrame& frame);
  void Keep(uint8_t byte);

  uint8_t bytes_[12] = {};
  int32_t count_ = 0;
  bool escaped_ = false, wrong_ = false;
  uint32_t refused_ = 0;
};

}  // namespace drycrank::core

#endif  // DRYCRANK_CORE_FRAME_LINE_H_

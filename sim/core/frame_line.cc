// SPDX-License-Identifier: Apache-2.0
#include "core/frame_line.h"

namespace drycrank::core {
namespace {

constexpr uint8_t kEnd = 0xC0, kEscape = 0xDB, kEscapedEnd = 0xDC, kEscapedEscape = 0xDD;

int32_t Escaped(uint8_t byte, uint8_t* out) {
  if (byte != kEnd && byte != kEscape) {
    out[0] = byte;
    return 1;
  }
  out[0] = kEscape;
  out[1] = byte == kEnd ? kEscapedEnd : kEscapedEscape;
  return 2;
}

}  // namespace

uint16_t Crc16(const uint8_t* bytes, int32_t count) {
  uint32_t crc = 0xFFFF;
  for (int32_t i = 0; i < count; ++i) {
    crc ^= static_cast<uint32_t>(bytes[i]) << 8;
    for (int bit = 0; bit < 8; ++bit) crc = crc & 0x8000 ? crc << 1 ^ 0x1021 : crc << 1;
  }
  return static_cast<uint16_t>(crc & 0xFFFF);
}

int32_t Line(const CoreFrame& frame, uint8_t* bytes) {
  uint8_t plain[12] = {static_cast<uint8_t>(frame.id & 0xFF), static_cast<uint8_t>(frame.id >> 8)};
  for (int32_t i = 0; i < frame.length; ++i) plain[2 + i] = frame.data[i];
  const int32_t body = 2 + frame.length;
  const uint16_t crc = Crc16(plain, body);
  plain[body] = static_cast<uint8_t>(crc >> 8);
  plain[body + 1] = static_cast<uint8_t>(crc & 0xFF);
  int32_t count = 0;
  bytes[count++] = kEnd;
  for (int32_t i = 0; i < body + 2; ++i) count += Escaped(plain[i], bytes + count);
  bytes[count++] = kEnd;
  return count;
}

bool FrameReader::Take(uint8_t byte, CoreFrame& frame) {
  if (byte == kEnd) return End(frame);
  if (escaped_) {
    escaped_ = false;
    wrong_ = wrong_ || (byte != kEscapedEnd && byte != kEscapedEscape);
    Keep(byte == kEscapedEnd ? kEnd : kEscape);
  } else if (byte == kEscape) {
    escaped_ = true;
  } else {
    Keep(byte);
  }
  return false;
}

void FrameReader::Keep(uint8_t byte) {
  if (count_ < static_cast<int32_t>(sizeof bytes_)) {
    bytes_[count_++] = byte;
  } else {
    wrong_ = true;
  }
}

// Two ENDs beside each other are no frame, and no harm.
bool FrameReader::End(CoreFrame& frame) {
  const int32_t count = count_;
  const bool wrong = wrong_ || escaped_;
  count_ = 0;
  wrong_ = escaped_ = false;
  if (count == 0 && !wrong) return false;
  const bool whole = !wrong && count >= 4 &&
                     Crc16(bytes_, count - 2) == (bytes_[count - 2] << 8 | bytes_[count - 1]);
  if (!whole) {
    ++refused_;
    return false;
  }
  frame.id = static_cast<uint16_t>(bytes_[0] | bytes_[1] << 8);
  frame.length = static_cast<uint8_t>(count - 4);
  for (int32_t i = 0; i < frame.length; ++i) frame.data[i] = bytes_[2 + i];
  return true;
}

}  // namespace drycrank::core

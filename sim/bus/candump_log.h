// SPDX-License-Identifier: Apache-2.0
//
// The log of can-utils, one frame per line, as candump -l writes it and canplayer plays it:
//
//   (0000000012.345678) can0 123#0102
//    seconds, 6 digits   interface  frame, see frame_text.h
//
// Read besides: other numbers of decimals (at most 9), several blanks, a trailing R or T (received,
// sent), and lines that tell of lost frames, which are passed over. Written: the plain form above,
// which all tools read; the direction and what is below a microsecond are lost.
// Source: can-utils lib.h and candump.c, https://github.com/linux-can/can-utils
#ifndef DRYCRANK_BUS_CANDUMP_LOG_H_
#define DRYCRANK_BUS_CANDUMP_LOG_H_

#include <fmt/format.h>

#include <span>
#include <string_view>

#include "bus/recording.h"

namespace drycrank::bus {

// One line with its end. A time before 0 is written as 0.
void AppendLogLine(const RecordedFrame& frame, std::string_view interface, fmt::memory_buffer& out);

bool LooksLikeCandumpLog(std::span<const std::uint8_t> head);

class CandumpLogDecoder : public RecordingDecoder {
 public:
  static constexpr std::size_t kMaxLine = 4096;

  Step Next(ByteWindow& window, RecordedFrame& out, Damage& damage) override;
  const InterfaceNames& interfaces() const override { return interfaces_; }

 private:
  Step Line(std::string_view line, RecordedFrame& out, Damage& damage);

  InterfaceNames interfaces_;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_CANDUMP_LOG_H_

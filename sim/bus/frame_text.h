// SPDX-License-Identifier: Apache-2.0
//
// A frame as text, in the notation of can-utils: "123#0102", "12345678#", "123#R", "321##5AB..."
// (flags digit: 1 bit rate switch, 2 error state, 4 FD), error reports with 0x20000000 in the id.
// Read besides: dots between bytes, the raw length code of newer tools ("..._E", passed over).
#ifndef DRYCRANK_BUS_FRAME_TEXT_H_
#define DRYCRANK_BUS_FRAME_TEXT_H_

#include <fmt/format.h>

#include <optional>
#include <string_view>

#include "bus/frame.h"

namespace drycrank::bus {

void AppendFrameText(const Frame& frame, fmt::memory_buffer& out);
// The same into a frame that is there: a recording has millions. False: it is not a frame in this
// notation, and `frame` holds whatever was read of it.
bool ReadFrameText(std::string_view text, Frame& frame);
// Nothing if it is not a frame in this notation.
std::optional<Frame> ParseFrameText(std::string_view text);

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_FRAME_TEXT_H_

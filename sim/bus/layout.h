// SPDX-License-Identifier: Apache-2.0
//
// Physical values into frames and back, by a message's layout.
#ifndef DRYCRANK_BUS_LAYOUT_H_
#define DRYCRANK_BUS_LAYOUT_H_

#include <cstdint>
#include <optional>
#include <span>

#include "bus/frame.h"
#include "profile/bench.h"

namespace drycrank::bus {

// Bits of one signal. `data` shorter than the layout: bits outside read 0 and are not written.
std::uint64_t ExtractBits(const profile::Signal& signal, std::span<const std::uint8_t> data);
void InsertBits(const profile::Signal& signal, std::uint64_t bits, std::span<std::uint8_t> data);

// Raw (sign-extended; float: bit pattern) and physical value.
std::int64_t RawValue(const profile::Signal& signal, std::span<const std::uint8_t> data);
double PhysicalValue(const profile::Signal& signal, std::span<const std::uint8_t> data);
// Nearest representable raw value of `physical` held within the signal's min..max and its raw range
// (never wrapped). A value that is not a number: the signal's code for "not available"; NaN in a
// float, else all bits 0.
std::uint64_t BitsFor(const profile::Signal& signal, double physical);

// The value of signal `index` in this frame of the message; nothing if it is multiplexed and not in
// this frame, if the frame is too short to hold it, carries no data at all (remote, error), or says
// "not available": by its code, or as a float that is no number.
std::optional<double> Decode(const profile::Message& message, int index, const Frame& frame);
// Whether the signal is in this frame and says "not available".
bool SaysNotAvailable(const profile::Message& message, int index, const Frame& frame);
inline bool CanSayNotAvailable(const profile::Signal& signal) {
  return signal.is_float || signal.not_available;
}
// The same for whoever judges: nothing, too, when the frame says by another signal (valid_when) that
// this one was not measured.
std::optional<double> Measured(const profile::Message& message, int index, const Frame& frame);

// A frame of the message with `physical[i]` in signal i, then counter and checksum. Multiplexed:
// only the signals selected by the selector's own value are written. A signal that is there instead of
// others is not written. All other bits are those of `unused` in each byte.
// REQUIRES: one value per signal; message.length_bytes <= 64.
Frame Encode(const profile::Message& message, std::span<const double> physical,
             std::uint64_t counter, std::uint8_t unused = 0);

// Counter and checksum of a frame of the message whose other bits are as they should be.
void Seal(const profile::Message& message, std::uint64_t counter, Frame& frame);

// Rolling counter of the frame (0 without one), and whether its checksum is right (true without a
// checksum, false when the frame is too short to hold it). The checksum covers all bytes of the
// frame but its own, in order.
std::uint64_t CounterOf(const profile::Message& message, const Frame& frame);
bool ChecksumIsRight(const profile::Message& message, const Frame& frame);

// Does this frame carry this message (identifier and kind of identifier)? Remote frames and error
// reports carry none.
bool Matches(const profile::Message& message, const Frame& frame);

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_LAYOUT_H_

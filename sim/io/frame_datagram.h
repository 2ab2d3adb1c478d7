// SPDX-License-Identifier: Apache-2.0
//
// One frame as one datagram, as the `udp_multicast` interface of python-can 4.1 reads and writes
// it: a msgpack map (msgpack specification, github.com/msgpack/msgpack/blob/master/spec.md) of 11
// pairs:
//
//   timestamp float64          is_remote_frame bool     data bin
//   arbitration_id uint        is_error_frame bool      is_fd bool
//   is_extended_id bool        channel nil/str/int      bitrate_switch bool
//                              dlc uint (bytes)         error_state_indicator bool
//
// Its reader dies of any key it does not know, so we write these and no others. Our reader takes
// any order, any width of integer, missing keys (python-can's defaults) and unknown keys; what is
// no frame that a bus could carry is malformed.
#ifndef DRYCRANK_IO_FRAME_DATAGRAM_H_
#define DRYCRANK_IO_FRAME_DATAGRAM_H_

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "bus/frame.h"

namespace drycrank::io {

struct EncodedFrame {
  std::array<std::uint8_t, 256> buffer;
  std::size_t size = 0;

  std::span<const std::uint8_t> bytes() const { return {buffer.data(), size}; }
};

// REQUIRES: IsValid(frame).
EncodedFrame EncodeDatagram(const bus::Frame& frame);

// Nothing if malformed. Safe for any bytes; time and stack are bounded by their number. An error
// report (frame.error) is given as it is.
std::optional<bus::Frame> DecodeDatagram(std::span<const std::uint8_t> datagram);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_FRAME_DATAGRAM_H_

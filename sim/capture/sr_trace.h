// SPDX-License-Identifier: Apache-2.0
//
// A sigrok session (.sr): a zip with `version` ("2"), `metadata` (sections of KEY=VALUE) and raw samples:
//
//   logic-1-1, logic-1-2, ...     `unitsize` bytes a sample, bit n-1 is the probe `proben`
//   analog-1-N-1, ...             32-bit float, little endian, of the channel `analogN`
//
// The layout is from memory of sigrok's published description of the format. The zip is read as a
// stream, all channels side by side. What unpacks to more than kMostUnpacked is refused.
#ifndef DRYCRANK_CAPTURE_SR_TRACE_H_
#define DRYCRANK_CAPTURE_SR_TRACE_H_

#include <cstdint>
#include <string>

#include "capture/trace.h"

namespace drycrank::capture {

inline constexpr std::uint64_t kMostUnpacked = 64ULL << 30;

OpenedTrace OpenSr(const std::string& path);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_SR_TRACE_H_

// SPDX-License-Identifier: Apache-2.0
//
// Value change dump, IEEE 1364 clause 18: wires of one bit, vectors (as a number) and reals. A row stands
// at each time at which something changes, with what all channels are at from then on.
#ifndef DRYCRANK_CAPTURE_VCD_TRACE_H_
#define DRYCRANK_CAPTURE_VCD_TRACE_H_

#include <string>

#include "capture/trace.h"

namespace drycrank::capture {

OpenedTrace OpenVcd(const std::string& path);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_VCD_TRACE_H_

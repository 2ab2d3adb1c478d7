// SPDX-License-Identifier: Apache-2.0
//
// motion.csv of a record: how the crank moved, one line for each segment (engine/motion.h has the
// equations), so that an edge or an output has its degree on reading:
//
//   t_ns,turns,deg,kind,rpm,to_rpm,duration_s,amplitude_rpm,period_s,ripple,per_turn
//
// turns and deg: where the crank is at its begin, from cylinder 1's firing top dead centre at the start
// of the run. Numbers are written so that reading gives the same bits.
#ifndef DRYCRANK_RECORD_MOTION_FILE_H_
#define DRYCRANK_RECORD_MOTION_FILE_H_

#include <fmt/format.h>

#include <optional>
#include <string_view>

#include "types/crank_motion.h"

namespace drycrank::record {

inline constexpr std::string_view kMotionHeader =
    "t_ns,turns,deg,kind,rpm,to_rpm,duration_s,amplitude_rpm,period_s,ripple,per_turn";

void AppendMotion(const CrankMotion& motion, fmt::memory_buffer& out);  // without the line's end
// Nothing: no such line.
std::optional<CrankMotion> ParseMotion(std::string_view line);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_MOTION_FILE_H_

// SPDX-License-Identifier: Apache-2.0
//
// WAV: RIFF/WAVE of one rate, PCM of 8, 16, 24 or 32 bits or IEEE float of 32 or 64, and RF64 of more
// than 4 GB (EBU Tech 3306). Integers become -1 to 1 of full scale. A recorder that was cut off leaves 0
// or the largest number as length: then the file's end is the end.
#ifndef DRYCRANK_CAPTURE_WAV_TRACE_H_
#define DRYCRANK_CAPTURE_WAV_TRACE_H_

#include <string>

#include "capture/trace.h"

namespace drycrank::capture {

// A pipe has no length that could be known: where it ends, the samples end.
enum class WavFrom { kFile, kPipeToo };
OpenedTrace OpenWav(const std::string& path, WavFrom from = WavFrom::kFile);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_WAV_TRACE_H_

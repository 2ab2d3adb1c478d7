// SPDX-License-Identifier: Apache-2.0
//
// A run's signals as files that general tools open:
//   edges.vcd       IEEE 1364 value change dump, 1 ns: trigger inputs as the input circuits see
//                   them, coil and injector outputs
//   waveforms.wav   voltages at the trigger inputs, one channel each, 32-bit float,
//                   volts / full_scale_v; band-limited, each edge at its own time between the
//                   samples (output/sampled_wave.h), so that a step overshoots by a tenth
//   waveforms.flac  where asked for: the same in whole numbers of 24 bits
//   signals.csv     seconds, every stimulus, the voltage at every controller input, each 10 ms
#ifndef DRYCRANK_RECORD_RENDER_H_
#define DRYCRANK_RECORD_RENDER_H_

#include <string>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::record {

struct RenderOptions {
  std::uint64_t seed = 1;
  int sample_rate_hz = 48'000;  // 8,000..192,000
  // Written as 1.0; louder is clipped and counted. 0: the least of 1, 2, 5, 10, 20, 50, ... that
  // nothing is louder than.
  double full_scale_v = 0;
  bool flac = false;  // waveforms.flac beside it: the same samples in 24 bits, by FLAC (RFC 9639) without loss
};

struct [[nodiscard]] RenderResult {
  std::string problem;  // empty on success
  std::uint64_t edges = 0, samples = 0, clipped = 0, rows = 0;
  double full_scale_v = 0;  // that of the file
};

RenderResult Render(const profile::Bench& bench, const profile::Scenario& scenario,
                    const RenderOptions& options, const std::string& folder);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_RENDER_H_

// SPDX-License-Identifier: Apache-2.0
//
// A sound card as an output needs it: frames go in, and it says how many of them it has not played yet.
// io/alsa_port.h is one; tests have their own.
#ifndef DRYCRANK_OUTPUT_PCM_PORT_H_
#define DRYCRANK_OUTPUT_PCM_PORT_H_

#include <cstdint>
#include <span>
#include <string>

namespace drycrank::output {

class PcmPort {
 public:
  struct State {
    bool has_run_dry = false;  // since it was started: nothing is played until Start
    std::int64_t room = 0;     // frames that may be written now
    std::int64_t waiting = 0;  // frames that were written and are not heard yet
  };

  virtual ~PcmPort() = default;
  // Exactly this rate and number of channels, a buffer of about so many frames. Empty, or the step that
  // failed and what helps.
  virtual std::string Open(int rate_hz, int channels, int buffer_frames) = 0;
  // From here on what is written is heard, from frame 0.
  virtual std::string Start() = 0;
  virtual State Look() = 0;
  // Frame by frame, all channels, -1..1. REQUIRES: no more frames than there is room for. Empty, or why
  // it is gone.
  virtual std::string Write(std::span<const float> samples) = 0;
  // Nothing more is heard, at once.
  virtual void Stop() = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_PCM_PORT_H_

// SPDX-License-Identifier: Apache-2.0
//
// Set-points by a seed, and the edges that the core makes of them: the same program for the PC and for
// the microcontroller. Every 0.2 to 1.2 s another speed, climb, advance, wheel or fault.
#ifndef DRYCRANK_TESTS_CORE_EDGE_SCRIPT_H_
#define DRYCRANK_TESTS_CORE_EDGE_SCRIPT_H_

#include "core/pulse_source.h"

namespace drycrank::core {

class ScriptSink {
 public:
  virtual void OnPulse(const Pulse& pulse) = 0;
  // What was set, of channel -1 the motion: speed and climb.
  virtual void OnSet(int64_t now, int32_t channel, const ChannelSetting& setting, int32_t speed,
                     int32_t climb) = 0;

 protected:
  ~ScriptSink() = default;
};

// Until there were so many edges.
void RunScript(uint32_t seed, int32_t edges, ScriptSink& sink);

}  // namespace drycrank::core

#endif  // DRYCRANK_TESTS_CORE_EDGE_SCRIPT_H_

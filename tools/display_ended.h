// SPDX-License-Identifier: Apache-2.0
//
// A sweep that ended before all was asked: why, and of which readouts something is missing.
#ifndef DRYCRANK_TOOLS_DISPLAY_ENDED_H_
#define DRYCRANK_TOOLS_DISPLAY_ENDED_H_

#include <string>
#include <vector>

#include "sweep/sweep.h"
#include "tools/echo_screen.h"

namespace drycrank::tools {

struct HowItEnded {
  std::string why;       // of a readout: "gone at 6.0 s"; empty: it did not end too soon
  std::string sentence;  // for the terminal; empty: nothing more to say
};
HowItEnded EndOf(const sweep::Swept& swept, const EchoScreen& screen);

// `why`: of those that were not reached. `screen`: nullptr where it was no echo's.
std::vector<sweep::Ended> EndedIn(const sweep::Swept& swept, const std::string& why,
                                  const EchoScreen* screen = nullptr);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DISPLAY_ENDED_H_

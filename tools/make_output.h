// SPDX-License-Identifier: Apache-2.0
//
// An output device of a bench as what drives it: with its port, and with a guard where it holds what it
// was told. Nothing is reached yet but a CAN bus, which is joined and hears.
#ifndef DRYCRANK_TOOLS_MAKE_OUTPUT_H_
#define DRYCRANK_TOOLS_MAKE_OUTPUT_H_

#include <memory>
#include <string>

#include "output/output.h"
#include "profile/bench.h"
#include "profile/output_device.h"
#include "profile/scenario_file.h"

namespace drycrank::tools {

// One of the two is empty.
struct [[nodiscard]] MadeOutput {
  std::unique_ptr<output::Output> output;
  std::string problem = {};
};
MadeOutput MakeOutput(const profile::Bench& bench, const profile::Scenario& scenario,
                      const profile::OutputDevice& device);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_MAKE_OUTPUT_H_

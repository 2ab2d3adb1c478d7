// SPDX-License-Identifier: Apache-2.0
//
// What a scenario asks of the bench's outputs (output/ability.h), before anything moves: of each channel
// the values that its device would give over all steps, and what drives and faults need beside them.
#ifndef DRYCRANK_RUN_OUTPUT_WISHES_H_
#define DRYCRANK_RUN_OUTPUT_WISHES_H_

#include <utility>
#include <vector>

#include "output/ability.h"
#include "profile/bench.h"
#include "profile/output_device.h"
#include "profile/scenario_file.h"
#include "types/diagnostic.h"

namespace drycrank::run {

// One for each channel of the device, in their order.
std::vector<output::Wish> WishesOf(const profile::Bench& bench, const profile::Scenario& scenario,
                                   const profile::OutputDevice& device);

// Between which values a stimulus is driven, its initial value too.
std::pair<double, double> DrivenBetween(const profile::Bench& bench,
                                        const profile::Scenario& scenario, int stimulus);

// What the bench's outputs do not give of it, each with its place; a fault of the harness too, which
// lies behind them. Empty: it can be driven.
Diagnostics OutputProblems(const profile::Bench& bench, const profile::Scenario& scenario);

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_OUTPUT_WISHES_H_

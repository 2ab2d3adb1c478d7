// SPDX-License-Identifier: Apache-2.0
//
// What a display says on the bus of one readout (messages with sender "display", `carries`
// NAME.shown, .state, .unit, .page, .lamp), as what was shown. What it does not say stays empty.
#ifndef DRYCRANK_SWEEP_ECHO_H_
#define DRYCRANK_SWEEP_ECHO_H_

#include <functional>
#include <optional>
#include <string>

#include "profile/bench.h"
#include "sweep/what_it_showed.h"

namespace drycrank::sweep {

struct Echo {
  std::optional<profile::SignalRef> shown, state, unit, page, lamp;
};
Echo EchoOf(const profile::Bench& bench, const std::string& readout);
inline bool IsTold(const Echo& echo) { return echo.shown || echo.state; }
// What must be shown of the readout and no message tells: "its page and lamp". Empty: all is told.
std::string PartsNotTold(const Echo& echo, const profile::Readout& readout);
// What `echo` has and `still` has no more: "its lamp". Empty: nothing is left.
std::string PartsGone(const Echo& echo, const Echo& still);

// Physical value of one of the display's signals as last received; nothing: never.
using EchoedValue = std::function<std::optional<double>(const profile::SignalRef&)>;
// Nothing: the state has not come yet, or the number that belongs to it.
std::optional<Shown> ShownOf(const profile::Bench& bench, const Echo& echo,
                             const EchoedValue& value);

// Seconds are told to a tenth, downwards: an echo comes a period late at most.
inline constexpr double kEchoGrainS = 0.1;

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_ECHO_H_

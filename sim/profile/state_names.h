// SPDX-License-Identifier: Apache-2.0
//
// Words of the states that the stand-ins put on the bus, by their raw value. A signal that brings
// words of its own (`values`) keeps those; these are for one that only says what it carries.
//
//   sync_state      0 stopped, 1 searching, 2 position known, 3 synchronised
//   sync_reason     0 none, 1 no teeth, ... 9 no cam told
//   CHANNEL.fault   0 none, 1 signal low, 2 signal high, 3 no signal
//   GAUGE.state     0 ok, 1 warning, 2 stale
//   NODE.CHANNEL.channel_state  0 off, 1 on, 2 tripped, 3 open
#ifndef DRYCRANK_PROFILE_STATE_NAMES_H_
#define DRYCRANK_PROFILE_STATE_NAMES_H_

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

#include "profile/message.h"

namespace drycrank::profile {

using StateNames = std::map<std::int64_t, std::string>;

// Empty: no state.
const StateNames& StateNamesOf(std::string_view carries);
// The signal's own words, else those of the state it carries.
const StateNames& NamesOfValues(const Signal& signal);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_STATE_NAMES_H_

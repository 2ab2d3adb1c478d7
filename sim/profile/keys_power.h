// SPDX-License-Identifier: Apache-2.0
//
// Keys of the nodes that distribute power (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_POWER_H_
#define DRYCRANK_PROFILE_KEYS_POWER_H_

#include "profile/key.h"
#include "profile/power_node.h"

namespace drycrank::profile {

inline constexpr Field<PowerNode> kPowerNodeKeys[] = {
    {"reset_by",
     {},
     NameOf("a stimulus"),
     "The key that resets it: pressed, by any value but 0, it lets tripped channels come on again, and "
     "their trips are counted anew.",
     {},
     "nothing"},
    {"channels", {}, Section("power_channel").Named(), "Its channels.",
     "channels: {pump: {load: pump_current, rated_a: 10, trip_delay_ms: 200}}"},
};

inline constexpr Field<PowerChannel> kPowerChannelKeys[] = {
    {"load",
     {},
     NameOf("a stimulus"),
     "The stimulus that says what its load draws where it has power, in A.",
     "load: pump_current"},
    {"switched_by",
     {},
     NameOf("a stimulus"),
     "The stimulus that switches it on, by any value but 0.",
     {},
     "it is always on"},
    {"rated_a", To<&PowerChannel::rated_a>, Number("A", 0, 1e4),
     "It trips when its current is higher.", "rated_a: 10"},
    {"trip_delay_ms", To<&PowerChannel::trip_delay_ms>, Number("ms", 0, 6e5),
     "How long the current must be higher before it trips. It looks each millisecond."},
    {"retries", To<&PowerChannel::retries>, Whole(0, 1000),
     "How often it comes on again by itself. 0: it stays tripped until it is reset."},
    {"retry_after_ms", To<&PowerChannel::retry_after_ms>, Number("ms", 1, 3.6e6),
     "How long it stays tripped before it comes on again by itself."},
    {"open_below_a", To<&PowerChannel::open_below_a>, Number("A", 0, 1e4),
     "On, and with less current, it says that it is open. 0: it does not look."},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_POWER_H_

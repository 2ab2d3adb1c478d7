// SPDX-License-Identifier: Apache-2.0
//
// Keys of the outputs by which signals leave the computer, by kind (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_OUTPUTS_H_
#define DRYCRANK_PROFILE_KEYS_OUTPUTS_H_

#include <string_view>
#include <tuple>

#include "profile/output_device.h"
#include "profile/key.h"
#include "profile/kinds.h"

namespace drycrank::profile {

inline constexpr Field<OutputDevice> kOutputDeviceKeys[] = {
    {"kind", {}, OneOf(kWordsOf<DeviceKind>), "What kind of device it is.", "kind: core"},
};

inline constexpr Field<out::Core> kCoreKeys[] = {
    {"line", To<&out::Core::line>, kText,
     "The serial port it is on, by its absolute path, better by a name that stays: those below "
     "/dev/serial/by-id do. Or a local socket, as of an emulated core.",
     "line: /dev/ttyACM0"},
    {"baud", To<&out::Core::baud>, Whole(9600, 4'000'000), "Bits a second of a serial port."},
    {"node", To<&out::Core::node>, Whole(1, 127), "The core's own node number."},
    {"own_node", To<&out::Core::own_node>, Whole(1, 127), "The number of this computer on the line."},
    {"missed_ms", To<&out::Core::missed_ms>, Number("ms", 100, 60'000),
     "When the core has heard nothing of this computer for so long, it brings its pins to their safe "
     "level by itself."},
    {"channels", {}, Section("core_channel").Named(),
     "Its channels, each under the name of the trigger in whose place it stands.",
     "channels: {crank: {pin: 0}}"},
};
inline constexpr Field<out::Core::Channel> kCoreChannelKeys[] = {
    {"pin", To<&out::Core::Channel::pin>, Whole(0, 3), "The core's channel, 0 to 3.", "pin: 0"},
    {"safe_level", To<&out::Core::Channel::safe_level>, Whole(0, 1),
     "Level of the pin while nothing drives it: at 1 the transistor behind it conducts."},
};

// What a kind of output is, its keys, those of a channel and their section. One without them does not
// compile (device_sections.cc, load_drives.cc).
template <class Kind>
struct OfOutput;
template <>
struct OfOutput<out::Core> {
  static constexpr std::string_view kMeaning =
      "The trigger core: a microcontroller on a serial line that makes edges of wheels.";
  static constexpr auto& kKeys = kCoreKeys;
  static constexpr auto& kChannelKeys = kCoreChannelKeys;
  static constexpr std::string_view kChannelSection = "core_channel";
  static constexpr std::string_view kChannelWhere = "a channel of a trigger core";
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_OUTPUTS_H_

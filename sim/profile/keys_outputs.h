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

inline constexpr Field<out::Sound> kSoundKeys[] = {
    {"device", To<&out::Sound::device>, kText,
     "The card as ALSA names it; `aplay -L` lists those that there are. `plughw:` instead of `hw:` converts "
     "the form of its numbers; none is resampled.",
     "device: \"hw:CARD=Device\""},
    {"rate_hz", To<&out::Sound::rate_hz>, Whole(8'000, 192'000),
     "Samples a second; the card must have this rate. 192000 for an engine that turns fast."},
    {"outputs", To<&out::Sound::outputs>, Whole(1, 32),
     "How many outputs the card has; those that no channel names are silent."},
    {"latency_ms", To<&out::Sound::latency_ms>, Number("ms", 20, 1000),
     "By so much later than in the run it is heard. Half of it is the card's buffer, the other half is "
     "what the run may be late."},
    {"channels", {}, Section("sound_channel").Named(),
     "Its channels, each under the name of the trigger in whose place it stands.",
     "channels: {crank: {output: 1, full_scale_v: 1.41, corner_hz: 2}}"},
};
inline constexpr Field<out::Sound::Channel> kSoundChannelKeys[] = {
    {"output", To<&out::Sound::Channel::output>, Whole(1, 32),
     "The card's output, from 1 on, as the sound system counts them.", "output: 1"},
    {"full_scale_v", To<&out::Sound::Channel::full_scale_v>, Number("V", 0.01, 1000),
     "Peak of a sine of full scale, measured behind what stands between card and controller, with the "
     "mixer as it stays.",
     "full_scale_v: 1.41"},
    {"most_v", To<&out::Sound::Channel::most_v>, Number("V", 0, 1000),
     "A coil's lobe that is higher keeps its form and is so high; 0: full_scale_v. A Hall sensor's "
     "transistor is plus so much while it conducts and minus so much while not; 0: three quarters of "
     "full_scale_v."},
    {"corner_hz", To<&out::Sound::Channel::corner_hz>, Number("Hz", 0, 100),
     "Where the capacitor of this output has taken a sine to 0.707, measured; 0 where there is none. "
     "What it turns and takes of a coil's wave is put in before; a Hall sensor needs 0.",
     "corner_hz: 2"},
    {"inverted", To<&out::Sound::Channel::inverted>, kTruth, "The output, or what is behind it, inverts."},
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

template <>
struct OfOutput<out::Sound> {
  static constexpr std::string_view kMeaning =
      "A sound card: crank and cam as coils give them, or behind a comparator. hw-notes/sound-card.md.";
  static constexpr auto& kKeys = kSoundKeys;
  static constexpr auto& kChannelKeys = kSoundChannelKeys;
  static constexpr std::string_view kChannelSection = "sound_channel";
  static constexpr std::string_view kChannelWhere = "a channel of a sound card";
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_OUTPUTS_H_

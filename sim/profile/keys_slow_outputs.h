// SPDX-License-Identifier: Apache-2.0
//
// Keys of the outputs that move slowly (slow_outputs.h, key.h).
#ifndef DRYCRANK_PROFILE_KEYS_SLOW_OUTPUTS_H_
#define DRYCRANK_PROFILE_KEYS_SLOW_OUTPUTS_H_

#include "profile/keys_outputs.h"

namespace drycrank::profile {

template <>
struct EnumWords<out::Contact> {
  static constexpr Word<out::Contact> kAll[] = {{"open", out::Contact::kOpen},
                                                {"closed", out::Contact::kClosed}};
};

inline constexpr std::int64_t kMostLine = 4095;
inline constexpr double kMostOutputV = 60, kMostOutputOhm = 1e6;
inline constexpr const char* kIioDevice =
    "The device, by the name that its driver gives it, or by its folder below /sys/bus/iio/devices.";

inline constexpr Field<out::Gpio> kGpioKeys[] = {
    {"chip", To<&out::Gpio::chip>, kText,
     "The chip, by its path, or by the label that it keeps when the numbers change; `gpiodetect` lists both.",
     "chip: /dev/gpiochip0"},
    {"stop_line", To<&out::Gpio::stop_line>, Whole(0, kMostLine),
     "Line of a stop switch. It is at rest while it reads high; pressed, unplugged and broken are low, and "
     "nothing is driven.",
     {}, "none"},
    {"channels", {}, Section("gpio_channel").Named(),
     "Its lines, each under the name of the switch in whose place it stands.",
     "channels: {oil_pressure: {line: 3}}"},
};
inline constexpr Field<out::Gpio::Channel> kGpioChannelKeys[] = {
    {"line", To<&out::Gpio::Channel::line>, Whole(0, kMostLine), "The line, as the chip counts.", "line: 3"},
    {"active_low", To<&out::Gpio::Channel::active_low>, kTruth,
     "What is behind the line is closed, or conducts, while the line is low."},
    {"safe", To<&out::Gpio::Channel::safe>, OneOf<out::Contact>(),
     "What it is while nobody drives it, also after a crash: its guard sees to it."},
};

inline constexpr Field<out::Dac> kDacKeys[] = {
    {"channels", {}, Section("dac_channel").Named(),
     "Its channels, each under the name of the sensor in whose place it stands. They may be of several "
     "devices.",
     "channels: {boost: {device: dac0, channel: voltage0}}"},
};
inline constexpr Field<out::Dac::Channel> kDacChannelKeys[] = {
    {"device", To<&out::Dac::Channel::device>, kText, kIioDevice, "device: dac0"},
    {"channel", To<&out::Dac::Channel::channel>, kText, "Its channel, as the kernel calls it.",
     "channel: voltage0"},
    {"at_lowest_v", To<&out::Dac::Channel::at_lowest_v>, Number("V", -kMostOutputV, kMostOutputV),
     "Measured where the sensor's plug is, with the controller connected: volts at the lowest count. With "
     "at_highest_v and highest_count it goes before what the driver states.",
     {}, "what the driver states"},
    {"at_highest_v", To<&out::Dac::Channel::at_highest_v>, Number("V", -kMostOutputV, kMostOutputV),
     "The same at the highest count.", {}, "what the driver states"},
    {"lowest_count", To<&out::Dac::Channel::lowest_count>, Whole(-8'388'608, 16'777'215),
     "The count at which at_lowest_v was measured."},
    {"highest_count", To<&out::Dac::Channel::highest_count>, Whole(-8'388'607, 16'777'216),
     "The count at which at_highest_v was measured.", {}, "what the driver states"},
    {"gain", To<&out::Dac::Channel::gain>, Number("", 0.01, 100),
     "Of an amplifier behind it. What was measured has it in already."},
    {"supply_v", To<&out::Dac::Channel::supply_v>, Number("V", 1, kMostOutputV),
     "In the place of a ratiometric sensor: the controller's own supply of it, measured. A share of the supply "
     "is one of this."},
    {"safe_v", To<&out::Dac::Channel::safe_v>, Number("V", -kMostOutputV, kMostOutputV),
     "What it gives while nobody drives it, also after a crash: its guard sees to it.",
     {}, "what it gives nearest to 0 V"},
};

inline constexpr Field<out::Potentiometer> kPotentiometerKeys[] = {
    {"channels", {}, Section("potentiometer_channel").Named(),
     "Its channels, each under the name of the sensor in whose place it stands. They may be of several "
     "devices.",
     "channels: {coolant: {device: pot0, channel: resistance0}}"},
};
inline constexpr Field<out::Potentiometer::Channel> kPotentiometerChannelKeys[] = {
    {"device", To<&out::Potentiometer::Channel::device>, kText, kIioDevice, "device: pot0"},
    {"channel", To<&out::Potentiometer::Channel::channel>, kText, "Its channel, as the kernel calls it.",
     "channel: resistance0"},
    {"at_lowest_ohm", To<&out::Potentiometer::Channel::at_lowest_ohm>, Number("ohm", 0, kMostOutputOhm),
     "Measured at its two terminals: ohm at the lowest count. With at_highest_ohm and highest_count it goes "
     "before what the driver states.",
     {}, "what the driver states"},
    {"at_highest_ohm", To<&out::Potentiometer::Channel::at_highest_ohm>, Number("ohm", 0, kMostOutputOhm),
     "The same at the highest count.", {}, "what the driver states"},
    {"lowest_count", To<&out::Potentiometer::Channel::lowest_count>, Whole(0, 65'535),
     "The count at which at_lowest_ohm was measured."},
    {"highest_count", To<&out::Potentiometer::Channel::highest_count>, Whole(1, 65'536),
     "The count at which at_highest_ohm was measured.", {}, "what the driver states"},
    {"safe_ohm", To<&out::Potentiometer::Channel::safe_ohm>, Number("ohm", 0, kMostOutputOhm),
     "What it has while nobody drives it, also after a crash: its guard sees to it.",
     {}, "the highest that it has"},
};

inline constexpr Field<out::PowerSupply> kPowerSupplyKeys[] = {
    {"host", To<&out::PowerSupply::host>, kText, "Its address or name on the network.",
     "host: 192.168.1.20"},
    {"port", To<&out::PowerSupply::port>, Whole(1, 65'535), "Its port for SCPI."},
    {"channels", {}, Section("supply_channel").Named(),
     "Its one output, under the name of the supply in whose place it stands; its volts stand there.",
     "channels: {battery: {limit_a: 1}}"},
};
inline constexpr Field<out::PowerSupply::Channel> kPowerSupplyChannelKeys[] = {
    {"limit_a", To<&out::PowerSupply::Channel::limit_a>, Number("A", 0.01, 100),
     "Its current limit, the fuse that reacts fast: just above what the controller draws without loads.",
     "limit_a: 1"},
};

inline constexpr Field<out::CanNode> kCanNodeKeys[] = {
    {"bus", To<&out::CanNode::bus>, kText,
     "The CAN bus that it is on, as on the command line. A bus of its own, not the vehicle's.",
     "bus: socketcan:can1"},
    {"node", To<&out::CanNode::node>, Whole(1, 127), "Its node number."},
    {"own_node", To<&out::CanNode::own_node>, Whole(1, 127),
     "The number of this computer, whose sign of life the node supervises."},
    {"channels", {}, Section("canopen_channel").Named(),
     "Its outputs, each under the name of the sensor in whose place it stands. One with 'fault' has a name of its own.",
     "channels: {oil_pressure: {output: 0}}"},
};
inline constexpr Field<out::CanNode::Channel> kCanNodeChannelKeys[] = {
    {"fault", {}, kText,
     "It is a relay that puts this fault into the real harness while a scenario's fault is in force: open CLT.1, "
     "series_resistance CLT.1 1 kohm, short_together CKP.1 CKP.2 47 ohm, short_to_ground CLT.1 100 ohm, "
     "short_to_supply CLT.1 fuse 1 A. At rest there is no fault. hw-notes/fault-relays.md.",
     {}, "none"},
    {"output", To<&out::CanNode::Channel::output>, Whole(0, 63),
     "A switching output, from 0 on. Either this or analogue.", {}, "none"},
    {"analogue", To<&out::CanNode::Channel::analogue>, Whole(0, 3), "An analogue output, from 0 on.",
     {}, "none"},
    {"safe", To<&out::CanNode::Channel::safe>, OneOf<out::Contact>(),
     "A switching output while nobody drives it: the node sees to it itself."},
    {"at_lowest_v", To<&out::CanNode::Channel::at_lowest_v>, Number("V", -kMostOutputV, kMostOutputV),
     "Of an analogue output: volts at its terminal at the lowest count, from its data sheet or measured."},
    {"at_highest_v", To<&out::CanNode::Channel::at_highest_v>, Number("V", -kMostOutputV, kMostOutputV),
     "The same at the highest count. An analogue output needs it.", {}, "none"},
    {"lowest_count", To<&out::CanNode::Channel::lowest_count>, Whole(-32'768, 32'766),
     "The count of at_lowest_v."},
    {"highest_count", To<&out::CanNode::Channel::highest_count>, Whole(-32'767, 32'767),
     "The count of at_highest_v."},
    {"supply_v", To<&out::CanNode::Channel::supply_v>, Number("V", 1, kMostOutputV),
     "In the place of a ratiometric sensor: the controller's own supply of it, measured."},
    {"safe_v", To<&out::CanNode::Channel::safe_v>, Number("V", -kMostOutputV, kMostOutputV),
     "An analogue output while nobody drives it: the node sees to it itself."},
};

template <>
struct OfOutput<out::Gpio> {
  static constexpr std::string_view kMeaning =
      "Switches and relays on the lines of a GPIO chip. hw-notes/slow-outputs.md.";
  static constexpr auto& kKeys = kGpioKeys;
  static constexpr auto& kChannelKeys = kGpioChannelKeys;
  static constexpr std::string_view kChannelSection = "gpio_channel";
  static constexpr std::string_view kChannelWhere = "a line of a GPIO chip";
};
template <>
struct OfOutput<out::Dac> {
  static constexpr std::string_view kMeaning =
      "DACs that the kernel drives: voltages, and shares of a supply. hw-notes/slow-outputs.md.";
  static constexpr auto& kKeys = kDacKeys;
  static constexpr auto& kChannelKeys = kDacChannelKeys;
  static constexpr std::string_view kChannelSection = "dac_channel";
  static constexpr std::string_view kChannelWhere = "a channel of a DAC";
};
template <>
struct OfOutput<out::Potentiometer> {
  static constexpr std::string_view kMeaning =
      "Digital potentiometers that the kernel drives: resistances. hw-notes/slow-outputs.md.";
  static constexpr auto& kKeys = kPotentiometerKeys;
  static constexpr auto& kChannelKeys = kPotentiometerChannelKeys;
  static constexpr std::string_view kChannelSection = "potentiometer_channel";
  static constexpr std::string_view kChannelWhere = "a channel of a digital potentiometer";
};
template <>
struct OfOutput<out::PowerSupply> {
  static constexpr std::string_view kMeaning =
      "A programmable supply that understands SCPI on TCP. hw-notes/slow-outputs.md.";
  static constexpr auto& kKeys = kPowerSupplyKeys;
  static constexpr auto& kChannelKeys = kPowerSupplyChannelKeys;
  static constexpr std::string_view kChannelSection = "supply_channel";
  static constexpr std::string_view kChannelWhere = "the output of a programmable supply";
};
template <>
struct OfOutput<out::CanNode> {
  static constexpr std::string_view kMeaning =
      "An I/O node by CiA 401 on a CAN bus: switches and voltages. hw-notes/slow-outputs.md.";
  static constexpr auto& kKeys = kCanNodeKeys;
  static constexpr auto& kChannelKeys = kCanNodeChannelKeys;
  static constexpr std::string_view kChannelSection = "canopen_channel";
  static constexpr std::string_view kChannelWhere = "an output of an I/O node";
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_SLOW_OUTPUTS_H_

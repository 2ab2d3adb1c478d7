// SPDX-License-Identifier: Apache-2.0
//
// Keys of buses, their messages and signals, and of the display (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_BUS_H_
#define DRYCRANK_PROFILE_KEYS_BUS_H_

#include "profile/bench.h"
#include "profile/key.h"

namespace drycrank::profile {

template <>
struct EnumWords<ByteOrder> {
  static constexpr Word<ByteOrder> kAll[] = {{"little", ByteOrder::kLittle},
                                             {"big", ByteOrder::kBig}};
};
template <>
struct EnumWords<Multiplex> {
  static constexpr Word<Multiplex> kAll[] = {{"none", Multiplex::kNone},
                                             {"selector", Multiplex::kSelector},
                                             {"selected", Multiplex::kSelected}};
};
template <>
struct EnumWords<Keeps> {
  static constexpr Word<Keeps> kAll[] = {
      {"nothing", Keeps::kNothing}, {"highest", Keeps::kHighest}, {"lowest", Keeps::kLowest}};
};
template <>
struct EnumWords<SegmentLights> {
  static constexpr Word<SegmentLights> kAll[] = {{"filled", SegmentLights::kFilled},
                                                 {"half", SegmentLights::kHalf},
                                                 {"begun", SegmentLights::kBegun}};
};
template <>
struct EnumWords<ChecksumKind> {
  static constexpr Word<ChecksumKind> kAll[] = {{"crc8_sae_j1850", ChecksumKind::kCrc8SaeJ1850},
                                                {"crc8_autosar", ChecksumKind::kCrc8Autosar}};
};
inline constexpr std::string_view kSenderWords[] = {"simulator", "controller", "display"};
inline constexpr std::string_view kLengths[] = {"0", "1",  "2",  "3",  "4",  "5",  "6",  "7",
                                                "8", "12", "16", "20", "24", "32", "48", "64"};
inline constexpr Value kFrameLength = {
    .kind = ValueKind::kWhole, .low = 0, .high = 64, .words = kLengths};

inline constexpr Field<Bus> kBusKeys[] = {
    {"bitrate_bps", To<&Bus::bitrate_bps>, Number("bit/s", 10e3, 1e6),
     "Bit rate. One node with another makes errors and acknowledges nothing."},
    {"data_bitrate_bps", To<&Bus::data_bitrate_bps>, Number("bit/s", 10e3, 8e6),
     "Bit rate of the data phase of CAN FD frames with bit_rate_switch."},
    {"messages",
     {},
     Section("message").Named(),
     "Messages by name; a name is unique over all buses."},
    {"nodes",
     {},
     Section("bus_node").Named(),
     "Where devices sit on the pair, with their termination. Who hears whom in a run follows from "
     "the wires between them; without nodes everybody hears everybody."},
};

inline constexpr Field<BusNode> kBusNodeKeys[] = {
    {"high", To<&BusNode::high>, kTerminal, "Its CAN_H (ISO 11898-2).", "high: CLT.1"},
    {"low", To<&BusNode::low>, kTerminal, "Its CAN_L.", "low: CLT.1"},
    {"termination_ohm",
     To<&BusNode::termination_ohm>,
     Number("ohm", 1, 1e6),
     "Resistor between the two: 120 ohm at both ends of the bus and nowhere else (ISO 11898-2).",
     {},
     "none"},
};

inline constexpr Field<Message> kMessageKeys[] = {
    {"id",
     {},
     Whole(0, kMaxId29),
     "Identifier: to 0x7FF, or to 0x1FFFFFFF with extended.",
     "id: 0x120"},
    {"extended", To<&Message::extended>, kTruth, "An identifier of 29 bits instead of 11."},
    {"fd", To<&Message::fd>, kTruth, "A CAN FD frame: up to 64 bytes."},
    {"bit_rate_switch", To<&Message::bit_rate_switch>, kTruth,
     "Of a CAN FD frame: its data goes out at data_bitrate_bps."},
    {"length_bytes", To<&Message::length_bytes>, kFrameLength,
     "Bytes of the frame; more than 8 with fd only."},
    {"sender",
     {},
     OneOf(kSenderWords),
     "Who sends it: the simulator (a module that is not on the bench), the controller, the "
     "display.",
     {},
     "simulator"},
    {"period_ms", To<&Message::period_ms>, Number("ms", 0, 3.6e6),
     "Time from one frame to the next, 1 ms or more. 0: sent when one of its values changes."},
    {"phase_ms",
     To<&Message::phase_ms>,
     Number("ms", 0, 3.6e6),
     "When the first one goes out, less than the period.",
     {},
     "spread, so that they do not queue"},
    {"signals", {}, Section("signal").Named(), "What lies in its bytes."},
    {"counter",
     {},
     NameOf("a signal of it"),
     "The signal that counts up by one from frame to frame and shows that the sender lives.",
     {},
     "none"},
    {"checksum", {}, Section("checksum"), "The signal that guards the other bytes.", {}, "none"},
};

inline constexpr Field<Message> kChecksumKeys[] = {
    {"signal",
     {},
     NameOf("a signal of the message"),
     "Where it lies: one whole byte.",
     "signal: crc"},
    {"kind", To<&Message::checksum>, OneOf<ChecksumKind>(),
     "How it is computed over all other bytes: CRC8 of SAE J1850, or of AUTOSAR (polynomial 0x2F).",
     "kind: crc8_sae_j1850"},
};

inline constexpr Field<Signal> kSignalKeys[] = {
    {"start_bit", To<&Signal::start_bit>, Whole(0, 511),
     "Where it lies, byte · 8 + bit: its lowest bit with byte_order little, its highest with big.",
     "start_bit: 0"},
    {"length_bits", To<&Signal::length_bits>, Whole(1, 64), "How many bits it has.",
     "length_bits: 8"},
    {"byte_order", To<&Signal::byte_order>, OneOf<ByteOrder>(),
     "little: the low byte first; big: the high byte first. Wrong, and a gauge jumps wildly."},
    {"is_signed", To<&Signal::is_signed>, kTruth,
     "Can it be negative? Read as unsigned, -1 becomes the highest value."},
    {"is_float", To<&Signal::is_float>, kTruth, "A floating point number of 32 or 64 bits."},
    {"scale", To<&Signal::scale>, Number(),
     "What one raw step is worth: value = raw · scale + offset."},
    {"unit", To<&Signal::unit>, kUnit, "Unit of its value.", {}, "a plain number"},
    {"offset", To<&Signal::offset>, Difference("of the signal"), "Value at raw 0."},
    {"min",
     To<&Signal::min>,
     Number("of the signal"),
     "The lowest value that is sent; a lower one is held here.",
     {},
     "all that the bits can say"},
    {"max",
     To<&Signal::max>,
     Number("of the signal"),
     "The highest value that is sent; a higher one is held here.",
     {},
     "all that the bits can say"},
    {"multiplex", To<&Signal::multiplex>, OneOf<Multiplex>(),
     "Messages can have several layouts: the selector says which it is, a selected signal is there "
     "in one of them."},
    {"multiplex_value",
     To<&Signal::multiplex_value>,
     Whole(0, INT64_MAX),
     "Of a selected signal: it is there when the selector has this raw value.",
     {},
     "always there"},
    {"values",
     {},
     kText.Named(Value::Shape::kNumbered),
     "Names of raw values: {0: off, 1: on}.",
     {},
     "none"},
    {"carries", To<&Signal::carries>, kText,
     "What the sender puts here. simulator: a stimulus. controller: a value of its own "
     "(engine_speed, sync_state, a channel, a channel.fault). display: GAUGE.shown, GAUGE.state, "
     "GAUGE.unit, GAUGE.page, GAUGE.lamp. Left out, it stays 0; a counter or checksum fills "
     "itself."},
    {"not_available",
     {},
     Whole(INT64_MIN, INT64_MAX),
     "The raw value by which the sender says that it has not measured this (SAE J1939-71: all bits "
     "set). Such a value is none: it meets nothing.",
     {},
     "it has no such code"},
    {"valid_when",
     {},
     Section("valid_when"),
     "The signal of the same message that says whether this was measured at all.",
     {},
     "always valid"},
    {"instead_of",
     {},
     NameOf("a signal of the message").List(),
     "Another way to read the bits of these signals, when it is not known which of the two is "
     "meant. "
     "No run sends it; drycrank display sweep tries each.",
     {},
     "its bits are its own"},
};

inline constexpr Field<Untied> kValidWhenKeys[] = {
    {"signal", {}, NameOf("a signal of the message"), "Which one says it.", "signal: sync"},
    {"equals",
     {},
     kText,
     "What it says then: a number, or one of the names of its values. With any other, the value is "
     "none: it meets nothing and acquits no wire.",
     "equals: synchronised"},
};

inline constexpr Field<Switching> kSwitchingKeys[] = {
    {"dark_ms", To<&Switching::dark_ms>, Number("ms", 0, 6e4),
     "After power came, nothing is shown for so long."},
    {"lamp_test_ms", To<&Switching::lamp_test_ms>, Number("ms", 0, 6e4),
     "After that, every lamp is lit for so long, so that a dead one is seen."},
    {"key",
     {},
     kSignal,
     "The signal that is 0 with the key off.",
     {},
     "none: it goes off with its supply"},
    {"off_after_ms", To<&Switching::off_after_ms>, Number("ms", 0, 3.6e6),
     "With the key off for so long, nothing is shown any more."},
};

inline constexpr Field<Display> kDisplayKeys[] = {
    {"layouts",
     {},
     Section("message").Named(),
     "Messages as the display decodes them, where that differs from the bus: a wrong byte order or "
     "scale set in it shows here.",
     {},
     "as on the bus"},
    {"gauges", {}, Section("gauge").Named(), "What it shows."},
    {"switching",
     {},
     Section("switching"),
     "How it goes on and off, as it has been set.",
     {},
     "at once"},
};

inline constexpr Value kNamesOfShown = kText.Named(Value::Shape::kNumbered);

inline constexpr Field<Bar> kBarKeys[] = {
    {"low", To<&Bar::low>, Number("of the gauge"), "Up to this value no segment is lit.",
     "low: 0"},
    {"high", To<&Bar::high>, Number("of the gauge"), "From this value on all segments are lit.",
     "high: 8000"},
    {"segments", To<&Bar::segments>, Whole(1, 1000), "How many segments it has.", "segments: 20"},
    {"lights", To<&Bar::lights>, OneOf<SegmentLights>(),
     "When the value lights a segment: it has filled it, is half through it, or has begun it."},
};

inline constexpr Field<Gauge> kGaugeKeys[] = {
    {"label", To<&Gauge::label>, kText, "What reports call it.", {}, "its name"},
    {"signal", {}, kSignal, "What it shows.", "signal: engine_temps.coolant"},
    {"unit", To<&Gauge::unit>, kUnit, "Unit it shows.", {}, "the signal's"},
    {"decimals", To<&Gauge::decimals>, Whole(0, 6), "Digits behind the point."},
    {"warn_above",
     To<&Gauge::warn_above>,
     Number("of the gauge"),
     "It warns when its value is higher.",
     {},
     "no warning"},
    {"warn_below",
     To<&Gauge::warn_below>,
     Number("of the gauge"),
     "It warns when its value is lower.",
     {},
     "no warning"},
    {"hysteresis", To<&Gauge::hysteresis>, Difference("of the gauge", 0, 1e9),
     "How far the value must come back before the warning ends."},
    {"hysteresis_below",
     To<&Gauge::hysteresis_below>,
     Difference("of the gauge", 0, 1e9),
     "The same for warn_below alone, where the display has one for each.",
     {},
     "as hysteresis"},
    {"stale_ms", To<&Gauge::stale_ms>, Number("ms", 1, 3.6e6),
     "After so long without its message the gauge must show that its value is old. Longer than the "
     "message's period, or it flickers; too long, and a dead bus looks like a steady engine.",
     {},
     "1000; with a readout of its name, what that must have"},
    {"page", To<&Gauge::page>, Whole(1, 99), "The page of the display on which it stands."},
    {"min",
     To<&Gauge::min>,
     Number("of the gauge"),
     "The lowest value it shows; a lower one is shown as this.",
     {},
     "whatever comes"},
    {"max",
     To<&Gauge::max>,
     Number("of the gauge"),
     "The highest value it shows; a higher one is shown as this.",
     {},
     "whatever comes"},
    {"values", {}, kNamesOfShown, "Words shown for values: {-1: R, 0: N}.", {}, "none"},
    {"lamp", To<&Gauge::lamp>, kText, "The lamp that is lit while it warns.", {}, "none"},
    {"dashes", To<&Gauge::dashes>, kText, "What it shows when its value is gone."},
    {"not_available",
     To<&Gauge::not_available>,
     kText,
     "What it shows when its message says that there is no value: a float that is no number, or "
     "the signal's not_available.",
     {},
     "as dashes"},
    {"lamp_blinks_hz",
     To<&Gauge::lamp_blinks_hz>,
     Number("Hz", 0, 25),
     "How often its lamp blinks while it warns.",
     {},
     "0: it is steady"},
    {"lamp_latches", To<&Gauge::lamp_latches>, kTruth,
     "Its lamp stays lit after the warning, until acknowledged or switched off."},
    {"acknowledged_by",
     {},
     kSignal,
     "The signal by which the driver's key acknowledges, with any value but 0: a lamp that "
     "blinks becomes "
     "steady, one that latches goes dark, and what is kept begins anew.",
     {},
     "nothing"},
    {"keeps", To<&Gauge::keeps>, OneOf<Keeps>(),
     "It shows the highest, or lowest, value since switched on or acknowledged."},
    {"bar", {}, Section("bar"), "It shows its value as a bar, and no number.", {}, "a number"},
    {"proves",
     {},
     NameOf("a circuit").List(),
     "A note for people: circuits that this gauge depends on. What is proven, expectations say."},
};

inline constexpr Field<Readout> kReadoutKeys[] = {
    {"label", To<&Readout::label>, kText, "What reports call it.", {}, "its name"},
    {"signal",
     {},
     kSignal,
     "The signal whose value must be shown.",
     "signal: engine_temps.coolant"},
    {"unit", To<&Readout::unit>, kUnit, "Unit in which it must be shown.", {}, "the signal's"},
    {"decimals", To<&Readout::decimals>, Whole(0, 6), "Digits behind the point."},
    {"page", To<&Readout::page>, Whole(1, 99), "The page of the display on which it must stand."},
    {"min",
     To<&Readout::min>,
     Number("of the readout"),
     "The lowest value that must be shown; a lower one is shown as this.",
     {},
     "all that the signal can say"},
    {"max",
     To<&Readout::max>,
     Number("of the readout"),
     "The highest value that must be shown; a higher one is shown as this.",
     {},
     "all that the signal can say"},
    {"values", {}, kNamesOfShown, "Words that must stand for values: {-1: R, 0: N}.", {}, "none"},
    {"warn_above",
     To<&Readout::warn_above>,
     Number("of the readout"),
     "It must warn when the value is higher.",
     {},
     "no warning"},
    {"warn_above_ends",
     To<&Readout::warn_above_ends>,
     Number("of the readout"),
     "Back at this value or lower, that warning must end.",
     {},
     "at warn_above"},
    {"warn_below",
     To<&Readout::warn_below>,
     Number("of the readout"),
     "It must warn when the value is lower.",
     {},
     "no warning"},
    {"warn_below_ends",
     To<&Readout::warn_below_ends>,
     Number("of the readout"),
     "Back at this value or higher, that warning must end.",
     {},
     "at warn_below"},
    {"lamp",
     To<&Readout::lamp>,
     kText,
     "The lamp that must be lit while it warns, by its colour or its name.",
     {},
     "none"},
    {"priority", To<&Readout::priority>, Whole(1, 99),
     "Of two that warn by one lamp, the higher one is to be seen."},
    {"dashes", To<&Readout::dashes>, kText, "What must stand there when the value is gone."},
    {"dashes_after_ms",
     To<&Readout::dashes_after_ms>,
     Number("ms", 1, 3.6e6),
     "After so long without its message the value must be gone from the display. Left out: five "
     "periods of the message, at least 250 ms; ours, no source.",
     {},
     "five periods of the message, at least 250 ms"},
    {"not_available",
     To<&Readout::not_available>,
     kText,
     "What must stand there when the message says that it has no value: a float that is no "
     "number, or the signal's not_available.",
     {},
     "as dashes"},
    {"lamp_blinks_hz",
     To<&Readout::lamp_blinks_hz>,
     Number("Hz", 0, 25),
     "How often the lamp must blink while it warns.",
     {},
     "0: it is steady"},
    {"lamp_latches", To<&Readout::lamp_latches>, kTruth,
     "The lamp must stay lit after the warning, until acknowledged or switched off."},
    {"acknowledged_by",
     {},
     kSignal,
     "The signal by which the driver's key acknowledges, with any value but 0: a lamp that "
     "blinks becomes "
     "steady, one that latches goes dark, and what is kept begins anew.",
     {},
     "nothing"},
    {"keeps", To<&Readout::keeps>, OneOf<Keeps>(),
     "The highest, or lowest, value since switched on or acknowledged must stand there."},
    {"bar",
     {},
     Section("bar"),
     "It must be shown as a bar, and not as a number. Both: two readouts of one signal.",
     {},
     "a number"},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_BUS_H_

// SPDX-License-Identifier: Apache-2.0
//
// Keys of faults, by kind (key.h, and the table in fault.h). Functions read them (load_fault.cc).
#ifndef DRYCRANK_PROFILE_KEYS_FAULT_H_
#define DRYCRANK_PROFILE_KEYS_FAULT_H_

#include "profile/keys_controller.h"
#include "profile/keys_expectation.h"
#include "types/limits.h"

namespace drycrank::profile {

inline constexpr Row kOhmRow = {"ohm", {}, Number("ohm", 0, 1e9), "Resistance of the contact.",
                                {},    "0"};
inline constexpr Row kWithRow = {"with", {}, kTerminal, "The other terminal.", "with: CLT.2"};

inline constexpr Row kShortKeys[] = {kOhmRow};
inline constexpr Row kTogetherKeys[] = {kWithRow, kOhmRow};
inline constexpr Row kSeriesKeys[] = {
    {"ohm", {}, Number("ohm", 1e-3, 1e9), "The extra resistance.", "ohm: 1 kohm"}};
inline constexpr Row kLeakageKeys[] = {
    {"with", {}, kTerminal, "The other terminal.", {}, "minus of the first supply"},
    {"ohm", {}, Number("ohm", 1, 1e9), "Resistance of the path.", "ohm: 1 kohm"}};
inline constexpr Row kTerminalsKeys[] = {kWithRow};
inline constexpr Row kConnectorsKeys[] = {
    {"with", {}, kPlug, "The other connector, of the same family.", "with: IAT"}};
inline constexpr Row kOffsetKeys[] = {
    {"volts", {}, Number("V", -60, 60), "What the contact loses.", "volts: 200 mV"}};
inline constexpr Row kSupplyOffKeys[] = {
    {"volts", {}, Number("V", -60, 60), "By how much it gives more.", "volts: -800 mV"}};
inline constexpr Row kWheelOffsetKeys[] = {{"deg",
                                            {},
                                            Number("deg", -720, 720),
                                            "By how much it comes late, in degrees of the crank.",
                                            "deg: 12"}};
inline constexpr Row kToothMissingKeys[] = {
    {"tooth", {}, Whole(1, kMaxTeeth), "Which, from 1 on.", "tooth: 1"}};
inline constexpr Row kExtraToothKeys[] = {
    {"begin_deg",
     {},
     Number("deg", 0, 360),
     "Where it begins, in degrees of its own shaft.",
     "begin_deg: 40"},
    {"end_deg",
     {},
     Number("deg", 0, 360),
     "Where it ends, clear of the wheel's own teeth.",
     "end_deg: 42"}};
inline constexpr Row kRunoutKeys[] = {
    {"deg",
     {},
     Number("deg", 0, 10),
     "By how much its edges come late and early over one turn, in degrees of its own shaft.",
     "deg: 0.5"},
    {"at_deg",
     {},
     Number("deg", 0, 360),
     "Where on the wheel it comes from early to late.",
     {},
     "0"},
    {"swing",
     {},
     Number("", 0, 0.95),
     "How much a coil's voltage swings over one turn, as a share: least at at_deg, where the wheel "
     "is farthest away.",
     {},
     "0"}};
inline constexpr Row kStrengthKeys[] = {
    {"factor",
     {},
     Number("", 0, 10),
     "The coil's voltage times this: 0.3 is an air gap that is much too wide.",
     "factor: 0.3"}};
inline constexpr Row kNoiseKeys[] = {
    {"rate_hz",
     {},
     Number("Hz", 0.01, 20000),
     "How many disturbances a second on average; they come by chance, the same with the same seed.",
     "rate_hz: 50"},
    {"width_us", {}, Number("us", 0.1, 10000), "How long each of them lasts.", {}, "50"},
    {"volts",
     {},
     Number("V", 0.001, 200),
     "Of a coil: what each of them adds to its voltage, plus or minus by chance. A switching "
     "output "
     "is the other way round for so long.",
     {},
     "2 V"}};
inline constexpr Row kCamStuckKeys[] = {{"deg",
                                         {},
                                         Number("deg", -180, 180),
                                         "Where it stays, in degrees of the crank earlier.",
                                         "deg: 0"}};
inline constexpr Row kCamSlowKeys[] = {{"deg_per_s",
                                        {},
                                        Number("", 0.1, 10000),
                                        "How fast it moves at most, in degrees of the crank.",
                                        "deg_per_s: 20"}};
inline constexpr Row kSensorOffsetKeys[] = {{"value",
                                             {},
                                             Difference("of the stimulus", -1e9, 1e9),
                                             "By how much it reads too high.",
                                             "value: 10 K"}};
inline constexpr Row kSensorStuckKeys[] = {{"value",
                                            {},
                                            Number("of the stimulus", -1e9, 1e9),
                                            "What it takes the quantity for, whatever it is.",
                                            "value: 20 degC"}};
inline constexpr Row kLateKeys[] = {{"factor",
                                     {},
                                     Number("", 0.01, 1000),
                                     "The period times this: 2 is half as often.",
                                     "factor: 2"}};
inline constexpr Row kEarlyKeys[] = {
    {"early_ms", {}, Number("ms", 0.001, 3.6e6), "How much before its time.", "early_ms: 4 ms"},
    {"every", {}, Whole(2, 1000000), "Each so many-th frame.", {}, "10"}};
inline constexpr Row kIdentifierKeys[] = {
    {"id", {}, Whole(0, kMaxId29), "The identifier it is sent under.", "id: 0x121"}};
inline constexpr Row kLengthKeys[] = {{"length_bytes",
                                       {},
                                       kFrameLength,
                                       "Bytes it has: cut, or filled up with 0.",
                                       "length_bytes: 6"}};
inline constexpr Row kJumpKeys[] = {
    {"by", {}, Whole(1, 65535), "Counts that are left out.", {}, "2"},
    {"every", {}, Whole(1, 1000000), "Before each so many-th frame.", {}, "10"}};
inline constexpr Row kBabblingKeys[] = {
    {"id",
     {},
     Whole(0, kMaxId29),
     "The stranger's identifier; the lower, the more it blocks.",
     "id: 0x001"},
    {"period_ms",
     {},
     Number("ms", 0.05, 60000),
     "Time from one of its frames to the next.",
     "period_ms: 1 ms"},
    {"extended", {}, kTruth, "An identifier of 29 bits.", {}, "false"},
    {"length_bytes", {}, Whole(0, 8), "Bytes of each frame.", {}, "8"}};
inline constexpr Row kErrorKeys[] = {{"period_ms",
                                      {},
                                      Number("ms", 0.05, 60000),
                                      "Time from one error to the next.",
                                      "period_ms: 50 ms"}};
inline constexpr Row kLayoutKeys[] = {
    {"byte_order", {}, OneOf<ByteOrder>(), "Byte order it takes.", {}, "the right one"},
    {"scale", {}, Number(), "Scale it takes.", {}, "the right one"},
    {"offset", {}, Difference("of the signal"), "Offset it takes.", {}, "the right one"},
    {"start_bit", {}, Whole(0, 511), "Place it takes.", {}, "the right one"}};
inline constexpr Row kCalibrationKeys[] = {
    {"gain", {}, Number("", -1000, 1000), "Each value of its table times this ...", {}, "1"},
    {"value", {}, Difference("of the channel", -1e9, 1e9), "... and this added.", {}, "0"}};

template <>
struct EnumWords<fault::ToldToAct> {
  static constexpr Word<fault::ToldToAct> kAll[] = {{"never", fault::ToldToAct::kNever},
                                                    {"other_way", fault::ToldToAct::kOtherWay}};
};

inline constexpr Row kToldKeys[] = {
    {"firing_order", {}, kCylinders, "At `decoder`: the firing order it has been told.", {},
     "the right one"},
    {"advance_deg", {}, Number("deg", -90, 180), "At `decoder`: the ignition advance.", {},
     "the right one"},
    {"trailing_deg", {}, Number("deg", -60, 60), "At `decoder`: how far behind the trailing coils "
     "fire.", {}, "the right one"},
    {"offset_deg", {}, Number("deg", -720, 720), "At a trigger channel: where tooth 1 begins.", {},
     "the right one"},
    {"edge", {}, OneOf<ActiveEdge>(), "At a trigger channel: the edge that counts.", {},
     "the right one"},
    {"wheel", {}, kText, "At a trigger channel: places and how many of the last are without tooth, "
     "36-1.", {}, "the right one"},
    {"limit", {}, Number("of the protection"), "At a protection: its limit.", {}, "the right one"},
    {"delay_ms", {}, Number("ms", 0, 60000), "At a protection: its delay.", {}, "the right one"},
    {"acts", {}, OneOf<fault::ToldToAct>(), "At a protection: not at all, or on the good side of its "
     "limit.", {}, "as it should"}};

template <>
struct EnumWords<fault::RelayPosition> {
  static constexpr Word<fault::RelayPosition> kAll[] = {{"off", fault::RelayPosition::kOff},
                                                        {"on", fault::RelayPosition::kOn}};
};

inline constexpr Row kRelayStaysKeys[] = {
    {"stays", {}, OneOf<fault::RelayPosition>(),
     "off: it does not pull in; on: it is stuck, or its contact has welded.", "stays: off"}};

inline constexpr Row kTerminationKeys[] = {
    {"ohm", {}, Number("ohm", 0, 1e6), "What sits there; 0: nothing.", "ohm: 0"}};

inline constexpr KindKeys kFaultKinds[] = {
    {"open",
     "A contact (at a terminal) or a wire (at a circuit) is interrupted, a fuse (by its name) is "
     "blown."},
    {"short_to_ground", "A terminal or splice touches the first supply's minus.", kShortKeys},
    {"short_to_supply", "A terminal or splice touches the first supply's plus.", kShortKeys},
    {"short_together", "Two terminals touch.", kTogetherKeys},
    {"series_resistance", "A corroded contact (at a terminal) or a bad crimp (at a circuit).",
     kSeriesKeys},
    {"leakage", "Moisture between a terminal and another.", kLeakageKeys},
    {"terminals_swapped", "The wires of two terminals are in each other's place.", kTerminalsKeys},
    {"connectors_swapped", "Two plugs of one family are in each other's place.", kConnectorsKeys},
    {"ground_offset", "A terminal's contact loses voltage, as a ground does under load.",
     kOffsetKeys},
    {"supply_off",
     "A supply, or a 5 V output at its terminal, gives more, or less, than the bench says.",
     kSupplyOffKeys},
    {"not_plugged", "A plug is not in its place: all its contacts are open."},
    {"relay_stays", "A relay does not pull in, or does not let go.", kRelayStaysKeys},
    {"termination",
     "A termination of a bus is missing, has another value, or is one too many: at BUS.NODE.",
     kTerminationKeys},
    {"not_fitted", "A sensor or trigger is missing, its plug hangs free."},
    {"wheel_offset", "A trigger's wheel is mounted late.", kWheelOffsetKeys},
    {"tooth_missing", "A tooth of a trigger's wheel is gone.", kToothMissingKeys},
    {"extra_tooth", "A burr or swarf on a trigger's wheel makes a tooth more.", kExtraToothKeys},
    {"wheel_runout", "A trigger's wheel sits off its centre.", kRunoutKeys},
    {"pickup_inverted",
     "A coil's leads are swapped at the sensor, or a Hall sensor's level is the "
     "other way round."},
    {"pickup_strength", "A coil's air gap is too wide or too narrow.", kStrengthKeys},
    {"electrical_noise",
     "Disturbances from outside, as of ignition, make edges that are no teeth's.", kNoiseKeys},
    {"cam_stuck", "A cam stays at one advance, whatever it is told.", kCamStuckKeys},
    {"cam_slow", "A cam moves too slowly.", kCamSlowKeys},
    {"sensor_offset", "A sensor reads too high.", kSensorOffsetKeys},
    {"sensor_stuck", "A sensor reads one value whatever it measures.", kSensorStuckKeys},
    {"message_missing", "A message is left out by its sender."},
    {"message_late", "A message comes less often.", kLateKeys},
    {"message_early", "Some frames of a message come before their time.", kEarlyKeys},
    {"message_doubled", "Each frame of a message is sent twice."},
    {"identifier_wrong", "A message is sent under another identifier.", kIdentifierKeys},
    {"length_wrong", "A message has another length.", kLengthKeys},
    {"bytes_swapped", "A signal is sent in the other byte order."},
    {"value_frozen", "A message or signal keeps the value it had when this began."},
    {"counter_stuck", "A message's counter does not count."},
    {"counter_jumps", "A message's counter leaves out counts.", kJumpKeys},
    {"checksum_wrong", "A message's checksum is inverted."},
    {"node_gone", "A sender (simulator, controller, display) sends and hears nothing."},
    {"babbling_node", "A stranger on a bus sends without end.", kBabblingKeys},
    {"error_frames", "Errors are reported on a bus.", kErrorKeys},
    {"bus_off", "A sender goes bus-off after 32 errors, or a bus carries nothing."},
    {"layout", "The display decodes a signal wrong.", kLayoutKeys},
    {"calibration", "An analog channel of the controller has a wrong table.", kCalibrationKeys},
    {"told",
     "The controller has been told another firing order, advance, offset, edge or wheel, or "
     "another protection.",
     kToldKeys},
};
inline constexpr auto kFaultWords = KindWords(kFaultKinds);

inline constexpr Row kFaultKeys[] = {
    {"kind", {}, OneOf(kFaultWords), "What is wrong.", "kind: open"},
    {"at", {}, kText, "Where: what it names depends on the kind.", "at: CLT.1"},
    {"name", {}, kText, "Its name, in reports.", {}, "kind and place"},
    {"from_s", {}, Number("s", 0, kMaxRunS), "Begins then.", {}, "the begin of the run"},
    {"to_s",
     {},
     Number("s", 0, kMaxRunS),
     "Ends then, later than from_s.",
     {},
     "the end of the run"},
    {"every_s",
     {},
     Number("s", 0.002, kMaxRunS),
     "It comes and goes: it is back so long after it came, from its begin on.",
     {},
     "it stays"},
    {"for_s",
     {},
     Number("s", 0.001, kMaxRunS),
     "How long it is there each time; shorter than every_s.",
     {},
     "needed with every_s"},
};
// Where there are steps.
inline constexpr Row kFaultStepKeys[] = {
    {"during",
     {},
     NameOf("a step").List(1),
     "There in these steps, instead of from_s and to_s.",
     {},
     "the whole run"},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_FAULT_H_

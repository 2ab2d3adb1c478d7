// SPDX-License-Identifier: Apache-2.0
//
// Keys of trigger wheels and their pickups (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_TRIGGERS_H_
#define DRYCRANK_PROFILE_KEYS_TRIGGERS_H_

#include "profile/key.h"
#include "profile/kinds.h"
#include "profile/triggers.h"
#include "types/limits.h"

namespace drycrank::profile {

template <>
struct EnumWords<Shaft> {
  static constexpr Word<Shaft> kAll[] = {
      {"crank", Shaft::kCrank}, {"cam", Shaft::kCam}, {"rotor", Shaft::kRotor}};
};

inline constexpr Field<Trigger> kTriggerKeys[] = {
    {"wheel", {}, Section("wheel"), "Its teeth.", "wheel: {teeth: 60, missing: [59, 60]}"},
    {"pickup",
     {},
     Section("pickup"),
     "The sensor in front of it.",
     "pickup: {kind: hall, supply: CMP.1, ground: CMP.2, signal: CMP.3}"},
    {"label", To<&Trigger::label>, kText, "What reports call it.", {}, "its name"},
    {"shaft", To<&Trigger::shaft>, OneOf<Shaft>(),
     "Where the wheel sits. A cam turns once in two turns of the crank; a rotor, of a rotary engine, "
     "once in three turns of its eccentric shaft, which is called crank here."},
    {"offset_deg", To<&Trigger::offset_deg>, Number("deg", 0, kRotorTurnDeg),
     "Where the wheel sits: degrees of the crank after cylinder 1's top dead centre (after "
     "compression) at which the wheel's own 0 passes the pickup. Wrong, and the ignition is wrong "
     "by as much."},
    {"fitted", To<&Trigger::fitted>, kTruth,
     "false: on paper only, not on the bench; its plug hangs free."},
    {"advance",
     {},
     NameOf("a stimulus"),
     "Of a cam that can be turned: the stimulus, in deg of crank, by which its edges come earlier.",
     {},
     "fixed"},
};

inline constexpr Value kMissingTeeth = Whole(1, kMaxTeeth).List();

inline constexpr Field<Wheel> kWheelKeys[] = {
    {"name", To<&Wheel::name>, kText, "What reports call the pattern: \"60-2\"."},
    {"tooth_edges_deg",
     {},
     PairOf("deg", 0, 720).List(1),
     "Begin and end of each tooth in degrees of the wheel, rising: [[0, 20], [70, 130]]. For "
     "patterns that are no even row. Either this or teeth.",
     {},
     "teeth"},
    {"teeth",
     {},
     Whole(1, kMaxTeeth),
     "How many teeth there would be with none missing: 60 for a 60-2 wheel.",
     {},
     "tooth_edges_deg"},
};

// How a wheel of even teeth is written.
struct Places {
  double tooth_fraction = 0.5;
};
inline constexpr Field<Places> kPlacesKeys[] = {
    {"tooth_fraction", To<&Places::tooth_fraction>, Number("", 0.05, 0.95),
     "How much of a pitch is metal, the rest is gap. Common practice, no source."},
    {"missing",
     {},
     Whole(0, kMaxTeeth - 1).Or(kMissingTeeth),
     "Teeth that are not there: how many at the end of the row (2), or which, from 1 on ([59, "
     "60]).",
     {},
     "none"},
};

inline constexpr Field<Untied> kPickupKeys[] = {
    {"kind",
     {},
     OneOf(kWordsOf<Pickup>),
     "Powered Hall sensor with three wires, or a coil with two.",
     "kind: hall"},
};

inline constexpr Field<VariableReluctancePickup> kCoilKeys[] = {
    {"plus", To<&VariableReluctancePickup::plus>, kTerminal,
     "The lead that goes positive while a tooth approaches. The two leads swapped, and the edge "
     "lies elsewhere on each tooth: the angle is off, or the gap is not found.",
     "plus: CLT.1"},
    {"minus", To<&VariableReluctancePickup::minus>, kTerminal, "The other lead.", "minus: CLT.1"},
    {"coil_ohm", To<&VariableReluctancePickup::coil_ohm>, Number("ohm", 1, 1e5),
     "What a meter reads between the two leads. Common practice, no source."},
    {"peak_v", To<&VariableReluctancePickup::peak_v>, Number("V", 0.001, 200),
     "Peak voltage that the open coil gives at peak_at_rpm; twice as much at twice the speed."},
    {"peak_at_rpm", To<&VariableReluctancePickup::peak_at_rpm>, Number("rpm", 1, 20000),
     "Speed of the crank at which it gives peak_v. Cranking speed is where too little voltage "
     "shows "
     "first."},
    {"noise_v", To<&VariableReluctancePickup::noise_v>, Number("V", 0, 10),
     "How much the peaks differ from tooth to tooth (standard deviation)."},
};

// Of each sensor with a Hall output: pickups, speed sensors, fuel composition.
inline constexpr Field<HallPickup> kHallKeys[] = {
    {"supply", To<&HallPickup::supply>, kTerminal, "The sensor's supply pin.", "supply: CLT.1"},
    {"ground", To<&HallPickup::ground>, kTerminal, "The sensor's ground pin.", "ground: CLT.1"},
    {"signal", To<&HallPickup::signal>, kTerminal,
     "The output: a transistor to ground. Without a pull-up at the controller nothing is seen.",
     "signal: CLT.1"},
    {"on_ohm", To<&HallPickup::on_ohm>, Number("ohm", 0.01, 1e5),
     "Resistance of the output while it pulls to ground. Common practice, no source."},
    {"off_ohm", To<&HallPickup::off_ohm>, Number("ohm", 1e3, 1e12),
     "Resistance of the output while it is open. Common practice, no source."},
    {"supply_ohm", To<&HallPickup::supply_ohm>, Number("ohm", 1, 1e9),
     "Its own current, as a resistance from supply to ground. Common practice, no source."},
    {"min_supply_v", To<&HallPickup::min_supply_v>, Number("V", 0, 60),
     "With less between supply and ground the output stays open. Common practice, no source."},
    {"diode_v", To<&HallPickup::diode_v>, Number("V", 0.1, 5),
     "Voltage of the diode from ground to signal: what remains when the leads are swapped. Common "
     "practice, no source."},
};

inline constexpr Field<HallPickup> kToothKeys[] = {
    {"low_at_tooth", To<&HallPickup::low_at_tooth>, kTruth,
     "Is the output low while metal is in front? With the opposite of what the controller expects, "
     "each edge is the other end of its tooth."},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_TRIGGERS_H_

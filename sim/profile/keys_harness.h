// SPDX-License-Identifier: Apache-2.0
//
// Keys of the harness: connectors, wires, supplies, loads (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_HARNESS_H_
#define DRYCRANK_PROFILE_KEYS_HARNESS_H_

#include "profile/bench.h"
#include "profile/key.h"
#include "types/limits.h"

namespace drycrank::profile {

inline constexpr Value kPinNames = kPlug.List(1);

inline constexpr Field<Connector> kConnectorKeys[] = {
    {"pins",
     {},
     Whole(1, kMaxPins).Or(kPinNames),
     "How many pins it has, numbered from 1, or what they are called: [A, B, C]. A terminal is "
     "written CONNECTOR.PIN.",
     "pins: 2"},
    {"label", To<&Connector::label>, kText, "What reports and drawings call it.", {}, "its name"},
    {"family", To<&Connector::family>, kText,
     "Connectors of one family fit into each other's place, so that they can be swapped by "
     "mistake; a diagnosis then tries that."},
    {"rows", To<&Connector::rows>, Whole(1, 20),
     "Rows of pins on its face, mating side in front: which pins are neighbours, and so can "
     "touch."},
    {"in_line", To<&Connector::in_line>, kTruth,
     "true: it joins two pieces of harness, as a bulkhead plug does. A pin may then have two "
     "wires, one on either side."},
};

inline constexpr Field<Wire> kWireKeys[] = {
    {"circuit", To<&Wire::circuit>, NameOf("the circuit"),
     "The circuit it belongs to. Several wires of one circuit share the name.",
     "circuit: coolant_signal"},
    {"from", {}, kText, "One end: a terminal (CLT.1) or a splice.", "from: CLT.1"},
    {"to", {}, kText, "The other end: a terminal or a splice.", "to: CLT.1"},
    {"length_m", To<&Wire::length_m>, Number("m", 0.001, 200),
     "Its length; with the gauge it gives the resistance."},
    {"gauge",
     {},
     kText,
     "Its conductor: 0.13 to 120 mm2 (IEC 60228) or 28 to 4/0 AWG (ASTM B258); sizes between those "
     "of "
     "the tables are computed. Too thin a ground wire moves every reading that shares it.",
     {},
     "0.5 mm2"},
    {"mohm_per_m",
     To<&Wire::mohm_per_m>,
     Number("mohm", 0.01, 100000),
     "Its resistance per metre where that was measured or stands in a data sheet, in place of the "
     "gauge's.",
     {},
     "by its gauge"},
    {"colour", To<&Wire::colour>, kText, "Its colour, for the sentence that sends you to it."},
    {"fitted", To<&Wire::fitted>, kTruth, "false: on paper only, not in the harness."},
    {"twist",
     To<&Wire::twist>,
     kText,
     "Wires that are twisted together share this word: the two of a CAN pair, of a coil.",
     {},
     "not twisted"},
};

inline constexpr Field<Supply> kSupplyKeys[] = {
    {"plus", To<&Supply::plus>, kTerminal, "Its plus pole.", "plus: CLT.1"},
    {"minus", To<&Supply::minus>, kTerminal,
     "Its minus pole. That of the first supply is what all voltages are measured against.",
     "minus: CLT.1"},
    {"voltage_v", To<&Supply::voltage_v>, Number("V", 0, 60), "Voltage without load."},
    {"tolerance_v", To<&Supply::tolerance_v>, Number("V", 0.01, 10),
     "By how much that voltage may be off before a diagnosis calls it a fault."},
    {"series_ohm", To<&Supply::series_ohm>, Number("ohm", 1e-4, 1e6),
     "Resistance inside: how much the voltage falls under load. Common practice, no source."},
};

inline constexpr Field<Wire> kFuseKeys[] = {
    {"from", {}, kText, "The side of the supply: a pin of the fuse box, or a splice (a bus bar).",
     "from: FB.1"},
    {"to", {}, kText, "The other side: a pin of the fuse box, or a splice.", "to: FB.2"},
    {"rating_a", To<&Wire::fuse_a>, Number("A", 0.1, 500), "Its rating.", "rating_a: 10"},
    {"mohm",
     {},
     Number("mohm", 0.01, 100000),
     "Its resistance when cold.",
     {},
     "75 mV at its rating: common practice, no source"},
    {"colour", To<&Wire::colour>, kText, "Its colour."},
    {"fitted", To<&Wire::fitted>, kTruth, "false: its place is empty."},
};

template <>
struct EnumWords<Suppression> {
  static constexpr Word<Suppression> kAll[] = {{"none", Suppression::kNone},
                                               {"diode", Suppression::kDiode},
                                               {"resistor", Suppression::kResistor}};
};

inline constexpr Field<Relay> kRelayKeys[] = {
    {"coil_plus", To<&Relay::coil_plus>, kTerminal,
     "Coil pin on the supply's side, often called 86: where its diode, if it has one, has its "
     "cathode.",
     "coil_plus: K1.86"},
    {"coil_minus", To<&Relay::coil_minus>, kTerminal, "The other coil pin, often called 85.",
     "coil_minus: K1.85"},
    {"common", To<&Relay::common>, kTerminal, "The contact's common pin, often called 30.",
     "common: K1.30"},
    {"normally_open", To<&Relay::normally_open>, kTerminal,
     "Joined to the common pin while the coil is pulled in, often called 87.",
     "normally_open: K1.87"},
    {"normally_closed", To<&Relay::normally_closed>, kTerminal,
     "Joined to the common pin while it is not, often called 87a.", {}, "none"},
    {"coil_ohm", To<&Relay::coil_ohm>, Number("ohm", 1, 1e5),
     "Resistance of the coil. Common practice, no source."},
    {"pulls_in_v", To<&Relay::pulls_in_v>, Number("V", 0.5, 60),
     "Voltage at the coil from which on it pulls in. Common practice, no source: 60 % of 12 V."},
    {"contact_ohm", To<&Relay::contact_ohm>, Number("ohm", 1e-3, 100),
     "Resistance of the closed contact. Common practice, no source."},
    {"suppression", To<&Relay::suppression>, OneOf<Suppression>(),
     "What stands across the coil. With a diode the coil must not be turned round: it would be a "
     "short."},
    {"suppression_ohm", To<&Relay::suppression_ohm>, Number("ohm", 10, 1e5),
     "Of a resistor across the coil. Common practice, no source."},
};

inline constexpr Field<Diode> kDiodeKeys[] = {
    {"anode", To<&Diode::anode>, kTerminal, "The current flows from here ...", "anode: D1.A"},
    {"cathode", To<&Diode::cathode>, kTerminal, "... to here, the side with the ring.",
     "cathode: D1.K"},
    {"forward_v", To<&Diode::forward_v>, Number("V", 0.1, 5),
     "What it takes to conduct. Common practice, no source."},
};

inline constexpr Field<Load> kLoadKeys[] = {
    {"plus", To<&Load::plus>, kTerminal, "One terminal.", "plus: CLT.1"},
    {"minus", To<&Load::minus>, kTerminal, "The other terminal.", "minus: CLT.1"},
    {"ohm", To<&Load::ohm>, Number("ohm", 0.01, 1e8),
     "What a meter reads across it: a relay coil about 80, a high-resistance injector 12 or more. "
     "Common "
     "practice, no source."},
    {"inrush_a", To<&Load::inrush_a>, Number("A", 0.01, 2000),
     "What it takes when switched on or stuck: a motor that stalls, a lamp that is cold. `schedule "
     "check` asks whether its fuse stands that.",
     {}, "not stated"},
    {"inrush_ms", To<&Load::inrush_ms>, Number("ms", 1, 600000), "How long inrush_a lasts.", {},
     "it does not end by itself"},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_HARNESS_H_

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

inline constexpr Field<Load> kLoadKeys[] = {
    {"plus", To<&Load::plus>, kTerminal, "One terminal.", "plus: CLT.1"},
    {"minus", To<&Load::minus>, kTerminal, "The other terminal.", "minus: CLT.1"},
    {"ohm", To<&Load::ohm>, Number("ohm", 0.01, 1e8),
     "What a meter reads across it: a relay coil about 80, a high-resistance injector 12 or more. "
     "Common "
     "practice, no source."},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_HARNESS_H_

// SPDX-License-Identifier: Apache-2.0
//
// A device (sensor or pickup) as one branch of the network between two of its pins. Whatever it is,
// its law has one form, with i the current from `plus` through the device to `minus`:
//
//   v(plus, minus) = ohm * i + fraction * v(supply, ground) + emf
//
//   resistor, switch    ohm = the value                         plus, minus
//   coil, thermocouple  emf = the value                         plus, minus
//   voltage output      emf = the value                         signal, ground
//   fraction output     fraction = the value                    signal, ground
//   transistor output   ohm = on_ohm or off_ohm                 signal, ground
//   relay contact       ohm = ohm or off_ohm, whatever the value;  its pins
//                       supply and ground are the coil's pins
//   diode               off_ohm, or diode_v and 1 ohm              anode, cathode
//   limited source      ohm, emf, while it gives up to limit_a    plus, minus
//                       (v = diode_v there); beyond, limit_a and v / 10 Mohm less
//
//        supply o---+
//                   |             An output needs min_supply_v between supply and ground; with less
//               [supply_ohm]      it is off: a transistor at off_ohm, the others 1 Mohm to their
//                   |             ground. The transistor has a reverse diode, straight in pieces:
//        signal o---|---+---+     beyond diode_v it is 1 ohm (common practice, no source: a real
//                   |   |   |     one follows an exponential).
//                   |   /   A
//                   |   |   |     supply_ohm is part of the fixed network.
//        ground o---+---+---+
#ifndef DRYCRANK_HARNESS_BRANCH_H_
#define DRYCRANK_HARNESS_BRANCH_H_

namespace drycrank::harness {

inline constexpr double kDiodeOhm = 1;
inline constexpr double kOffOhm = 1e6;
// Of a source at its limit: 0.1 uA more per volt that it falls.
inline constexpr double kLimitOhm = 1e7;

enum class BranchKind {
  kNotFitted,
  kResistor,
  kEmf,
  kVoltage,
  kFraction,
  kTransistor,
  kContact,
  kDiode,
  kLimited
};

struct Branch {
  BranchKind kind = BranchKind::kNotFitted;
  int plus = 0, minus = 0;     // nodes
  int supply = 0, ground = 0;  // nodes; the same where the device has no supply
  double ohm = 1;              // of coil, loop or output; of the transistor when on
  double off_ohm = kOffOhm;
  double min_supply_v = 0;
  double diode_v = 0;  // of a limited source: below it, it is at its limit
  double limit_a = 0;
  bool rests_closed = false;  // of a contact: closed while the coil is not pulled in
};

struct Law {
  double ohm = 1;
  double fraction = 0;
  double emf = 0;

  friend bool operator==(const Law&, const Law&) = default;
};

// What the voltages decide; of outputs and parts alone.
struct State {
  bool supplied = true;  // of a contact: its coil is pulled in, either way round
  bool diode = false;  // conducting; of a limited source: at its limit

  friend bool operator==(const State&, const State&) = default;
};

bool HasStates(const Branch& branch);
// Whether one of them hangs on the voltage between plus and minus.
bool HasDiode(const Branch& branch);
// By how much the supply may move before that state changes: volts, 0 or more.
double SupplyMargin(const Branch& branch, double supply_v);

// `value` as harness.h says for the kind of device.
Law LawOf(const Branch& branch, double value, const State& state);

// The state that goes with `branch_v` between plus and minus (where HasDiode) and
// `supply_v` between supply and ground.
State StateAt(const Branch& branch, const State& now, double branch_v, double supply_v);

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_BRANCH_H_

// SPDX-License-Identifier: Apache-2.0
//
// What a meter shows on a bench with faults: the harness network with the meter in it.
//
//   volts     key on. 10 Mohm between the probes (common practice, no source); v(plus, minus)
//   ohms      key off: supplies taken off, no source gives anything, outputs at rest.
//             v(plus, minus) per ampere through the probes; from 2 Mohm on it shows "open"
//   amperes   key on. 50 mohm (common practice, no source) led in between a terminal and all wires
//             that end there; counted positive from the terminal into the wires
//
// Nodes as in harness.h: "CLT.1~" the wire's end, "CLT.1" the device's own pin, a splice. A plug that
// is pulled has all its contacts open. A place is a cavity of a plug, as its number says: with two
// terminals swapped the probe meets the other's wire there. A plug is called by its label on the
// harness, wherever it is put on.
//
// Readings are compared on a scale where the errors are about the same everywhere:
//
//   volts   y = v                              sigma: 20 mV and 1 % of the meter; the supply's own
//                                              deviation, and 3 % of each sensor, by what they move
//   ohms    y = ln(1 ohm + R)                  0.3 ohm of the probes, 8 %; 30 % of each sensor, which
//                                              is as warm as the room
//   amperes y = ln(5 mA + |i|)                 10 %: loads and sensors are not measured ones
//
// All of these are common practice, no source. Where the engine turns, what switches may be on or
// off: the middle of both, and their distance / sqrt 12 as error.
#ifndef DRYCRANK_DIAGNOSE_METER_H_
#define DRYCRANK_DIAGNOSE_METER_H_

#include <span>
#include <string>
#include <vector>

#include "diagnose/reading.h"
#include "harness/harness.h"
#include "harness/topology.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

enum class Meter { kVolts, kOhms, kAmperes };

// Where the probes are and how the bench stands.
struct Probing {
  Meter meter = Meter::kVolts;
  std::string plus;
  std::string minus;                // empty: the battery's minus; amperes: unused
  std::vector<std::string> pulled;  // connectors
  Situation situation;

  friend bool operator==(const Probing& a, const Probing& b) {
    return a.meter == b.meter && a.plus == b.plus && a.minus == b.minus && a.pulled == b.pulled &&
           a.situation.name == b.situation.name;
  }
};

inline constexpr double kOpenOhm = 2e6;  // and more: the meter shows that the way is open
inline constexpr double kMeterInputOhm = 10e6, kShuntOhm = 0.05;

// A reading on its scale, and how wide a healthy one spreads there.
struct Spread {
  double y = 0;
  double sigma = 1;
};
double OnScale(Meter meter, double value);
double FromScale(Meter meter, double y);
// The whole length of the scale: what a probe on a wrong pin may show.
double ScaleLength(Meter meter);

// "0.72 V", "2.50 kΩ", "open (more than 2 MΩ)", "0.42 A"
std::string InWords(Meter meter, double value);

// The node that a probe meets at "CLT.1~" under these faults.
std::string NodeAt(const std::string& probe, std::span<const profile::Fault> faults);

// A network with the meter in it. The reading is what DialOf makes of the volts between its nodes.
struct Metered {
  harness::Topology topology;
  harness::DeviceValues values;
  harness::NodePair across;
};
double DialOf(Meter meter, double across_v);

class MeterModel {
 public:
  // The bench must outlive it.
  explicit MeterModel(const profile::Bench& bench);

  // REQUIRES: every name of `probing` is on the bench.
  Metered Connect(const Probing& probing, std::span<const profile::Fault> faults) const;
  Spread Expect(const Probing& probing, std::span<const profile::Fault> faults) const;

 private:
  struct Moved {
    bool raised = false;  // the supplies, by their tolerance
    double sensors = 1;   // factor
    bool switched_on = false;
  };
  Metered Connect(const Probing& probing, std::span<const profile::Fault> faults,
                  const Moved& moved) const;
  double Read(const Probing& probing, std::span<const profile::Fault> faults,
              const Moved& moved) const;
  void Move(const Situation& situation, const Moved& moved, harness::DeviceValues& values) const;
  bool Switches(const Situation& situation, std::size_t device) const;
  bool AnySwitches(const Situation& situation) const;

  const profile::Bench& bench_;
  profile::Bench key_off_;  // supplies taken off, no source gives anything
  profile::Bench raised_;   // every supply higher by its tolerance
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_METER_H_

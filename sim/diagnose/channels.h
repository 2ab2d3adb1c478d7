// SPDX-License-Identifier: Apache-2.0
//
// The controller's values in a steady situation, from volts: what its analogue and frequency
// channels settle to.
#ifndef DRYCRANK_DIAGNOSE_CHANNELS_H_
#define DRYCRANK_DIAGNOSE_CHANNELS_H_

#include <span>
#include <string>
#include <vector>

#include "diagnose/electrical.h"
#include "diagnose/position.h"

namespace drycrank::diagnose {

// One per name of standin::ControllerValueNames. Empty: the controller has no supply and is silent.
// kAnything: a value that does not come to rest, because a switching source reaches its input.
using ControllerValues = std::vector<double>;

class ChannelModel {
 public:
  explicit ChannelModel(const profile::Bench& bench);

  ControllerValues Settle(const Electrical& electrical, const ElectricalModel& model,
                          const Position& position, const Situation& situation,
                          std::span<const profile::Fault> faults) const;

 private:
  struct Settled {
    double value = 0;
    double fault = 0;  // standin::ChannelFault
  };
  Settled Analog(std::size_t channel, const Electrical& electrical, const ElectricalModel& model,
                 const Situation& situation, std::span<const profile::Fault> faults) const;
  Settled AtVolts(const profile::AnalogChannel& config, double volts,
                  std::span<const profile::Fault> faults) const;
  Settled Frequency(std::size_t channel, const Electrical& electrical, const ElectricalModel& model,
                    const Situation& situation) const;
  Pulses SeenBy(std::size_t channel, const Electrical& electrical, const ElectricalModel& model,
                const Situation& situation) const;
  Pulses PulsesOf(const Source& source, const ElectricalModel& model,
                  const Situation& situation) const;

  const profile::Bench& bench_;
  std::vector<std::string> names_;
  std::vector<int> analog_inputs_, frequency_inputs_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_CHANNELS_H_

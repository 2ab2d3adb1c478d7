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
// kAnything: a value that does not come to rest, because a switching source reaches its input or
// the decoder finds and loses its position.
using ControllerValues = std::vector<double>;

// A settled situation, for others to be compared with.
struct Settled {
  const Electrical* electrical = nullptr;
  const ControllerValues* values = nullptr;
};

class ChannelModel {
 public:
  explicit ChannelModel(const profile::Bench& bench);

  // Channels whose inputs are as in `like` have its values; one without values: none is.
  ControllerValues Settle(const Electrical& electrical, const ElectricalModel& model,
                          const Position& position, const Situation& situation,
                          std::span<const profile::Fault> faults, const Settled& like = {}) const;

 private:
  struct Channel {
    double value = 0;
    double fault = 0;  // standin::ChannelFault
  };
  Channel Analog(std::size_t channel, double reference_scale, const Electrical& electrical,
                 const ElectricalModel& model, const Situation& situation,
                 std::span<const profile::Fault> faults) const;
  Channel AtVolts(const profile::AnalogChannel& config, double volts,
                  std::span<const profile::Fault> faults) const;
  Channel Frequency(std::size_t channel, const Electrical& electrical, const ElectricalModel& model,
                    const Situation& situation) const;
  Pulses SeenBy(std::size_t channel, const Electrical& electrical, const ElectricalModel& model,
                const Situation& situation) const;
  Pulses PulsesOf(const Source& source, const ElectricalModel& model,
                  const Situation& situation) const;

  const profile::Bench& bench_;
  std::vector<std::string> names_;
  std::size_t first_channel_ = 0;  // value of the first analogue channel; its fault is the next
  std::vector<int> analog_inputs_, frequency_inputs_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_CHANNELS_H_

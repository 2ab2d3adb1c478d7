// SPDX-License-Identifier: Apache-2.0
//
// The controller's values in a held situation, from volts: what its analogue and frequency channels
// settle to, computed where the input holds still, played (watch.h) where something switches.
#ifndef DRYCRANK_DIAGNOSE_CHANNELS_H_
#define DRYCRANK_DIAGNOSE_CHANNELS_H_

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "diagnose/electrical.h"
#include "diagnose/watch.h"

namespace drycrank::diagnose {

// A settled situation, for others to be compared with.
struct Settled {
  const Electrical* electrical = nullptr;
  const ControllerValues* values = nullptr;  // empty: the controller is silent
  bool same_wheels = false;                  // no fault changes what the wheels themselves give
  // Of the controller's values, those that are asked for; null: all. For the others nothing is
  // played: as in `values` where only playing tells them, and then flagged in `left_out`.
  const std::vector<bool>* wanted = nullptr;
  std::vector<bool>* left_out = nullptr;
  bool wanted_alone = false;  // the channels that are not asked for are not looked at either

  bool IsWanted(std::size_t value) const { return wanted == nullptr || (*wanted)[value]; }
  // Of a channel's value and its fault.
  bool LeavesOut(std::size_t value) const {
    return wanted_alone && !IsWanted(value) && !IsWanted(value + 1);
  }
};

class ChannelModel {
 public:
  explicit ChannelModel(const profile::Bench& bench);

  // Empty: the controller has no supply and is silent. What is as in `like` has its values; one
  // without values: nothing is. `model` has solved the situation last; `electrical` is its answer.
  ControllerValues Settle(const Electrical& electrical, ElectricalModel& model,
                          const Situation& situation, const Settled& like = {});

 private:
  struct Channel {
    Prediction value = {}, fault = {};
  };
  // Nothing: something switches at its input, and only playing tells.
  std::optional<Channel> Analog(std::size_t channel, double reference_scale,
                                const Electrical& electrical, const ElectricalModel& model,
                                const Situation& situation) const;
  std::optional<Channel> Frequency(std::size_t channel, const Electrical& electrical,
                                   const ElectricalModel& model, const Situation& situation) const;
  Channel AtVolts(const profile::AnalogChannel& config, double volts, plant::Faults faults) const;
  bool Switches(const Reach& reach, const ElectricalModel& model, const Situation& situation) const;
  bool Stirs(const Reach& reach, int input, const Electrical& electrical) const;
  void SetPosition(ControllerValues& values, const ControllerValues& from) const;
  void Disturb(double rate_hz, ControllerValues& values) const;
  void TakePlayed(ControllerValues& values, const ControllerValues& seen,
                  std::span<const std::size_t> channels) const;
  bool WantsPosition(const Settled& like) const;

  const profile::Bench& bench_;
  Watch watch_;
  std::vector<std::string> names_;
  std::size_t first_channel_ = 0;  // value of the first analogue channel; its fault is the next
  std::size_t supply_ = 0;         // value of the supply voltage
  std::vector<int> analog_inputs_, frequency_inputs_, trigger_inputs_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_CHANNELS_H_

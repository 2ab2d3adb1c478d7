// SPDX-License-Identifier: Apache-2.0
//
// A stand-in for a node that distributes power (profile/power_node.h): it looks at its channels each
// millisecond, at what their loads draw and which of them are switched on. What it then is, is what
// its messages carry:
//   NODE.CHANNEL.current        A; 0 while the channel is off or tripped
//   NODE.CHANNEL.channel_state  0 off, 1 on, 2 tripped, 3 open
//   NODE.CHANNEL.trips          how often it has tripped since it was reset
#ifndef DRYCRANK_STANDIN_POWER_CHANNELS_H_
#define DRYCRANK_STANDIN_POWER_CHANNELS_H_

#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "profile/power_node.h"
#include "types/time.h"

namespace drycrank::standin {

inline constexpr TimeNs kPowerStepNs = kNsPerMs;

// One channel, as it was set.
class PowerChannel {
 public:
  explicit PowerChannel(const profile::PowerChannel& set) : set_(&set) {}

  // `load_a`: what its load draws where it has power. `reset`: the key has just been pressed.
  void Look(TimeNs t_ns, double load_a, bool switched_on, bool reset);

  double current_a() const { return current_a_; }
  profile::ChannelState state() const { return state_; }
  int trips() const { return trips_; }

 private:
  bool MayRetry(TimeNs t_ns) const;
  void LookAtCurrent(TimeNs t_ns);

  const profile::PowerChannel* set_;
  double current_a_ = 0;
  profile::ChannelState state_ = profile::ChannelState::kOff;
  bool tripped_ = false;
  int trips_ = 0;
  TimeNs above_since_ns_ = -1, tripped_ns_ = 0;  // negative: not above
};

// All nodes of a bench.
class PowerNodes {
 public:
  // What a terminal or a key has at that time: a stimulus of the bench.
  using StimulusAt = std::function<double(int stimulus, TimeNs t_ns)>;
  // The bench must outlive it.
  PowerNodes(const profile::Bench& bench, StimulusAt stimulus_at);

  // Looks at all instants before t_ns: what is driven changes at t_ns.
  void LookBefore(TimeNs t_ns);
  int ValueIndex(std::string_view carries) const;  // -1: none of theirs
  // Looks up to t_ns.
  double Value(int index, TimeNs t_ns);

 private:
  struct Node {
    const profile::PowerNode* set;
    std::vector<PowerChannel> channels;
    bool pressed = false;
  };
  void Look(Node& node, TimeNs t_ns);

  StimulusAt stimulus_at_;
  std::vector<Node> nodes_;
  std::vector<std::string> names_;
  std::vector<const PowerChannel*> owners_;  // of each name
  TimeNs next_ns_ = 0;
};

// "NODE.CHANNEL.current" ...
std::vector<std::string> PowerValueNames(const profile::Bench& bench);
// What they are as soon as they look at stimuli that have these values: nothing has tripped yet.
std::vector<double> PowerValuesAtOnce(const profile::Bench& bench, std::span<const double> stimuli);

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_POWER_CHANNELS_H_

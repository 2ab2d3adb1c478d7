// SPDX-License-Identifier: Apache-2.0
#include "standin/power_channels.h"

#include <algorithm>
#include <utility>

#include "types/decimal.h"
#include "types/nth.h"

namespace drycrank::standin {

using profile::ChannelState;
using profile::kChannelValues;

bool PowerChannel::MayRetry(TimeNs t_ns) const {
  return trips_ <= set_->retries && t_ns - tripped_ns_ >= FromMs(set_->retry_after_ms);
}

// A delay begins anew whenever the current is back within what the channel is rated for.
void PowerChannel::LookAtCurrent(TimeNs t_ns) {
  if (!IsAbove(current_a_, set_->rated_a)) {
    above_since_ns_ = -1;
    return;
  }
  if (above_since_ns_ < 0) above_since_ns_ = t_ns;
  if (t_ns - above_since_ns_ < FromMs(set_->trip_delay_ms)) return;
  tripped_ = true;
  tripped_ns_ = t_ns;
  ++trips_;
  above_since_ns_ = -1;
  current_a_ = 0;
}

void PowerChannel::Look(TimeNs t_ns, double load_a, bool switched_on, bool reset) {
  if (reset) trips_ = 0;
  if (tripped_ && (reset || MayRetry(t_ns))) tripped_ = false;
  current_a_ = switched_on && !tripped_ ? std::max(0.0, load_a) : 0;
  LookAtCurrent(t_ns);
  const bool is_open = switched_on && current_a_ < set_->open_below_a;
  state_ = tripped_       ? ChannelState::kTripped
           : !switched_on ? ChannelState::kOff
           : is_open      ? ChannelState::kOpen
                          : ChannelState::kOn;
}

PowerNodes::PowerNodes(const profile::Bench& bench, StimulusAt stimulus_at)
    : stimulus_at_(std::move(stimulus_at)), names_(PowerValueNames(bench)) {
  for (const profile::PowerNode& set : bench.power_nodes) {
    Node& node = nodes_.emplace_back(Node{&set, {}});
    for (const profile::PowerChannel& channel : set.channels) node.channels.emplace_back(channel);
  }
  for (const Node& node : nodes_) {
    for (const PowerChannel& channel : node.channels) {
      owners_.insert(owners_.end(), kChannelValues.size(), &channel);
    }
  }
}

void PowerNodes::Look(Node& node, TimeNs t_ns) {
  const bool pressed = node.set->reset_by >= 0 && stimulus_at_(node.set->reset_by, t_ns) != 0;
  const bool reset = pressed && !std::exchange(node.pressed, pressed);
  for (std::size_t i = 0; i < node.channels.size(); ++i) {
    const profile::PowerChannel& set = node.set->channels[i];
    const bool on = set.switched_by < 0 || stimulus_at_(set.switched_by, t_ns) != 0;
    node.channels[i].Look(t_ns, stimulus_at_(set.load, t_ns), on, reset);
  }
  node.pressed = pressed;
}

void PowerNodes::LookBefore(TimeNs t_ns) {
  if (nodes_.empty()) return;
  for (; next_ns_ < t_ns; next_ns_ += kPowerStepNs) {
    for (Node& node : nodes_) Look(node, next_ns_);
  }
}

int PowerNodes::ValueIndex(std::string_view carries) const {
  const auto found = std::ranges::find(names_, carries);
  return found == names_.end() ? -1 : static_cast<int>(found - names_.begin());
}

double PowerNodes::Value(int index, TimeNs t_ns) {
  LookBefore(t_ns + 1);
  const PowerChannel& channel = *Nth(owners_, index);
  switch (AsSize(index) % kChannelValues.size()) {
    case 0:
      return channel.current_a();
    case 1:
      return static_cast<double>(channel.state());
    default:
      return channel.trips();
  }
}

std::vector<std::string> PowerValueNames(const profile::Bench& bench) {
  std::vector<std::string> names;
  for (const profile::PowerNode& node : bench.power_nodes) {
    for (const profile::PowerChannel& channel : node.channels) {
      for (const std::string_view value : kChannelValues) {
        names.push_back(node.name + "." + channel.name + "." + std::string(value));
      }
    }
  }
  return names;
}

std::vector<double> PowerValuesAtOnce(const profile::Bench& bench,
                                      std::span<const double> stimuli) {
  PowerNodes nodes(bench, [stimuli](int stimulus, TimeNs /*t_ns*/) {
    return stimuli[AsSize(stimulus)];
  });
  std::vector<double> values;
  for (const std::string& name : PowerValueNames(bench)) {
    values.push_back(nodes.Value(nodes.ValueIndex(name), 0));
  }
  return values;
}

}  // namespace drycrank::standin

// SPDX-License-Identifier: Apache-2.0
#include "study/driven_circuits.h"

#include <algorithm>
#include <set>
#include <variant>

#include "profile/output_device.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using profile::Bench;

std::set<int> DrivenTriggers(const Bench& bench) {
  std::set<int> driven;
  for (const profile::OutputDevice& device : bench.drives) {
    for (const profile::OutputChannel* channel : profile::ChannelsOf(device)) {
      if (channel->of == profile::OutputChannel::Of::kTrigger) driven.insert(channel->index);
    }
  }
  return driven;
}

std::set<std::string> SignalLeads(const Bench& bench, const std::set<int>& triggers) {
  std::set<std::string> leads;
  for (const int trigger : triggers) {
    const profile::Pickup& pickup = Nth(bench.triggers, trigger).pickup;
    if (const auto* hall = std::get_if<profile::HallPickup>(&pickup)) leads.insert(hall->signal);
    if (const auto* coil = std::get_if<profile::VariableReluctancePickup>(&pickup)) {
      leads.insert({coil->plus, coil->minus});
    }
  }
  return leads;
}

}  // namespace

std::vector<int> DrivenCircuits(const Bench& bench) {
  const std::set<int> triggers = DrivenTriggers(bench);
  const std::set<std::string> leads = SignalLeads(bench, triggers);
  const std::vector<std::string> names = CircuitNames(bench);
  std::set<int> driven, others;
  for (const Break& broken : BreaksOf(bench)) {
    const bool at_lead = std::ranges::any_of(broken.wires, [&](int w) {
      return leads.contains(Nth(bench.wires, w).from) || leads.contains(Nth(bench.wires, w).to);
    });
    const bool is_own = std::ranges::all_of(DevicesAt(bench, broken),
                                            [&](int device) { return triggers.contains(device); });
    if (at_lead) driven.insert(broken.circuits.begin(), broken.circuits.end());
    if (!is_own) others.insert(broken.circuits.begin(), broken.circuits.end());
  }
  std::vector<int> circuits;
  std::ranges::set_difference(driven, others, std::back_inserter(circuits));
  return circuits;
}

std::vector<Break> DrivenBreaks(const Bench& bench) {
  const std::vector<int> driven = DrivenCircuits(bench);
  std::vector<Break> breaks = BreaksOf(bench);
  std::erase_if(breaks, [&](const Break& broken) {
    return !std::ranges::all_of(broken.circuits,
                                [&](int c) { return std::ranges::count(driven, c) > 0; });
  });
  return breaks;
}

}  // namespace drycrank::study

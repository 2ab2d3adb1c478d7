// SPDX-License-Identifier: Apache-2.0
#include "schedule/power_nets.h"

#include <fmt/format.h>

namespace drycrank::schedule {

PowerNets::PowerNets(const Check& check) : nets_(check.nets) {
  Collect(*check.in.bench);
  const auto insert = [&](std::set<int>& nets, const std::string& end) {
    if (const int net = nets_.Of(end); net >= 0) nets.insert(net);
  };
  for (const SourceAt& source : sources_) insert(supplies_, source.terminal);
  for (const std::string& end : ground_ends_) insert(grounds_, end);
  grounded_ = grounds_;
  supplied_ = supplies_;
  GoThroughParts(*check.in.bench);
}

void PowerNets::GoThroughParts(const profile::Bench& bench) {
  const auto pass = [&](std::set<int>& nets, const std::string& from, const std::string& to) {
    const int there = nets_.Of(to);
    return there >= 0 && nets.contains(nets_.Of(from)) && nets.insert(there).second;
  };
  for (bool more = true; more;) {
    more = false;
    for (const profile::Relay& relay : bench.relays) {
      for (std::set<int>* nets : {&grounded_, &supplied_}) {
        more |= pass(*nets, relay.common, relay.normally_closed);
        more |= pass(*nets, relay.normally_closed, relay.common);
      }
    }
    for (const profile::Diode& diode : bench.diodes) {
      more |= pass(supplied_, diode.anode, diode.cathode);
      more |= pass(grounded_, diode.cathode, diode.anode);
    }
  }
}

void PowerNets::Collect(const profile::Bench& bench) {
  for (const profile::Supply& supply : bench.supplies) {
    sources_.push_back({"supply " + supply.name, supply.plus, supply.voltage_v, false});
    ground_ends_.push_back(supply.minus);
  }
  if (!bench.controller) return;
  for (const profile::ReferenceOutput& output : bench.controller->references) {
    sources_.push_back({fmt::format("the {:g} V output {}", output.voltage_v, output.terminal),
                        output.terminal, output.voltage_v, true});
  }
  ground_ends_.push_back(bench.controller->ground);
  const auto& more = bench.controller->sensor_grounds;
  ground_ends_.insert(ground_ends_.end(), more.begin(), more.end());
}

}  // namespace drycrank::schedule

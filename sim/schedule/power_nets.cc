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

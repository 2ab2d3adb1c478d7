// SPDX-License-Identifier: Apache-2.0
//
// Nodes that distribute power.
#include <fmt/format.h>

#include "profile/keys_power.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

int ReadStimulusOf(BenchContext& c, Reader& r, const char* key) {
  const auto ref = r.GetRef(key);
  return ref ? Resolve(c.problems, *ref, NamesOf(c.bench.stimuli), "stimulus") : -1;
}

PowerChannel LoadChannel(BenchContext& c, const std::string& name, const Place& place,
                         const Node& node) {
  PowerChannel channel;
  channel.name = name;
  channel.place = place;
  Reader r(c.problems, node, fmt::format("channel '{}'", name), place);
  TakeAll(r, kPowerChannelKeys, channel);
  channel.load = ReadStimulusOf(c, r, "load");
  channel.switched_by = ReadStimulusOf(c, r, "switched_by");
  if (channel.load >= 0) {
    CheckUnits(c.problems, r.PlaceOf("load"), fmt::format("the load of {}", r.title()),
               Nth(c.bench.stimuli, channel.load).unit, "A");
  }
  if (channel.rated_a > 0 && channel.open_below_a >= channel.rated_a) {
    r.Complain("open_below_a", "no current at which it is on",
               "write open_below_a lower than rated_a");
  }
  return channel;
}

}  // namespace

void LoadPowerNodes(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'power_nodes'",
            [&](const std::string& name, const Place& place, const Node& data) {
              PowerNode power{name, -1, {}, place};
              Reader r(c.problems, data, fmt::format("power node '{}'", name), place);
              TakeAll(r, kPowerNodeKeys, power);
              power.reset_by = ReadStimulusOf(c, r, "reset_by");
              EachNamed(c.problems, r.Find("channels"), fmt::format("channels of {}", r.title()),
                        [&](const std::string& channel, const Place& at, const Node& channel_data) {
                          power.channels.push_back(LoadChannel(c, channel, at, channel_data));
                        });
              c.bench.power_nodes.push_back(std::move(power));
            });
}

}  // namespace drycrank::profile

// SPDX-License-Identifier: Apache-2.0
//
// Outputs by which signals leave the computer. A device of the bench is driven by one channel, a pin
// drives one device.
#include <fmt/format.h>

#include <algorithm>

#include "profile/driven_twice.h"
#include "profile/fault_relay.h"
#include "profile/keys_slow_outputs.h"
#include "profile/load_bench.h"
#include "profile/load_slow_outputs.h"
#include "profile/load_sound.h"
#include "profile/sensors.h"
#include "profile/table_reader.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

using Of = OutputChannel::Of;

// In whose place it stands; index -1 when that is nobody, which is said.
OutputChannel Place(BenchContext& c, const std::string& name, const drycrank::Place& place) {
  std::vector<std::string> known = NamesOf(c.bench.triggers);
  const std::size_t sensors_from = known.size();
  std::ranges::copy(NamesOf(c.bench.sensors), std::back_inserter(known));
  const std::size_t supplies_from = known.size();
  std::ranges::copy(NamesOf(c.bench.supplies), std::back_inserter(known));
  const int at = Resolve(c.problems, {name, place}, known, "trigger, sensor or supply");
  if (at < 0) return {Of::kTrigger, -1, name, place};
  if (std::ranges::count(known, name) > 1) {
    c.problems.Add(place, fmt::format("two devices are called '{}'", name),
                   "give the supply another name");
  }
  const auto i = AsSize(at);
  if (i >= supplies_from) return {Of::kSupply, static_cast<int>(i - supplies_from), name, place};
  if (i >= sensors_from) return {Of::kSensor, static_cast<int>(i - sensors_from), name, place};
  return {Of::kTrigger, at, name, place};
}

// Its name is nobody else's, or it would look as if it stood in the place of that.
void CheckRelayName(BenchContext& c, const std::string& name, const drycrank::Place& place) {
  for (const auto& [word, names] : {std::pair{"trigger", NamesOf(c.bench.triggers)},
                                    std::pair{"sensor", NamesOf(c.bench.sensors)},
                                    std::pair{"supply", NamesOf(c.bench.supplies)}}) {
    if (std::ranges::count(names, name) == 0) continue;
    c.problems.Add(place, fmt::format("a relay with a fault is called '{}', as a {} is", name, word),
                   "give it a name of its own");
  }
}

// Its terminals are there. Whether it counts.
bool CheckFaultRelay(BenchContext& c, const OutputChannel& relay) {
  std::string why;
  const std::optional<RelayFault> fault = ParseRelayFault(relay.name, why);
  if (!fault) {
    c.problems.Add(relay.place, why,
                   "write 'fault' as open CLT.1, series_resistance CLT.1 1 kohm, short_together "
                   "CKP.1 CKP.2 47 ohm, "
                   "short_to_ground CLT.1 100 ohm or short_to_supply CLT.1 fuse 1 A");
    return false;
  }
  const bool to_rail =
      fault->kind == fault::ShortToGround::kWord || fault->kind == fault::ShortToSupply::kWord;
  const bool is_splice = to_rail && std::ranges::count(c.bench.splices, fault->at) > 0;
  const bool at = is_splice || CheckTerminal(c.problems, c.bench, {fault->at, relay.place});
  return (fault->with.empty() || CheckTerminal(c.problems, c.bench, {fault->with, relay.place})) &&
         at;
}

// No other relay puts the same in. Of all outputs so far, and of its own.
template <class Channels>
void CheckPutInOnce(BenchContext& c, const OutputChannel& relay, const Channels& own) {
  std::vector<const OutputChannel*> others = FaultRelays(c.bench);
  for (const OutputChannel& channel : own) others.push_back(&channel);
  for (const OutputChannel* other : others) {
    if (!PutsInTheSame(relay, *other)) continue;
    c.problems.Add(relay.place, fmt::format("'{}' is put in by another relay already", relay.name),
                   "leave it to one relay");
    return;
  }
}

// Of all outputs so far.
void CheckDrivenOnce(BenchContext& c, const OutputChannel& channel) {
  for (const OutputDevice& other : c.bench.drives) {
    for (const OutputChannel* of : ChannelsOf(other)) {
      if (of->of != channel.of || of->index != channel.index) continue;
      c.problems.Add(channel.place,
                     fmt::format("{} is driven by '{}' already", InWords(channel), other.name),
                     "leave it to one output");
      return;
    }
  }
}

template <class Kind>
void LoadChannels(BenchContext& c, Reader& outer, Kind& kind) {
  const Node* all = outer.Find("channels");
  if (all != nullptr && all->kind == yaml::NodeKind::kMap && all->entries.empty()) {
    outer.Complain("channels", "no channel", "name what it stands in the place of");
  }
  EachNamed(c.problems, all, fmt::format("channels of {}", outer.title()),
            [&](const std::string& name, const drycrank::Place& place, const Node& data) {
              typename Kind::Channel channel;
              constexpr bool kHasRelays = std::is_same_v<Kind, out::CanNode>;
              Reader r(c.problems, data, fmt::format("channel '{}'", name), place);
              const std::optional<Ref> fault = kHasRelays ? r.GetRef("fault") : std::nullopt;
              static_cast<OutputChannel&>(channel) =
                  fault ? OutputChannel{Of::kTrigger, -1, fault->text, place}
                        : Place(c, name, place);
              TakeAll(r, OfOutput<Kind>::kChannelKeys, channel);
              if (fault ? !CheckFaultRelay(c, channel) : channel.index < 0) return;
              if (fault) CheckRelayName(c, name, place);
              if (fault) CheckPutInOnce(c, channel, kind.channels);
              if (!fault) CheckDrivenOnce(c, channel);
              kind.channels.push_back(std::move(channel));
            });
}

void CheckOutput(BenchContext&, Reader& r, const out::Core& core) {
  if (r.Has("line") && (core.line.empty() || core.line.front() != '/')) {
    r.Complain("line", "no absolute path", "write it from / on, as line: /dev/ttyACM0");
  }
  if (core.node == core.own_node) {
    r.Complain("node", fmt::format("node {} for itself and for the core", core.node),
               "write two different numbers for node and own_node");
  }
  for (std::size_t i = 0; i < core.channels.size(); ++i) {
    for (std::size_t before = 0; before < i; ++before) {
      const int pin = core.channels[i].pin;  // -1: it is missing, which has been said
      if (pin < 0 || core.channels[before].pin != pin) continue;
      r.problems().Add(core.channels[i].place,
                       fmt::format("pin {} is that of '{}'", pin, core.channels[before].name),
                       "give each channel a pin of its own");
    }
  }
}

void CheckOutput(BenchContext& c, Reader&, out::Sound& sound) { CheckSound(c, sound); }

}  // namespace

void LoadDrives(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'drives'",
            [&](const std::string& name, const drycrank::Place& place, const Node& data) {
              OutputDevice output{name, {}, place};
              Reader r(c.problems, data, fmt::format("output '{}'", name), place);
              TakeAll(r, kOutputDeviceKeys, output);
              const int kind = r.WordIndex("kind", WordsOf<DeviceKind>());
              if (kind < 0) return r.PassOverOtherKeys();
              output.kind = KindAt<DeviceKind>(kind);
              std::visit(
                  [&]<class Kind>(Kind& of) {
                    TakeAll(r, OfOutput<Kind>::kKeys, of);
                    LoadChannels(c, r, of);
                    CheckOutput(c, r, of);
                  },
                  output.kind);
              c.bench.drives.push_back(std::move(output));
            });
  for (Diagnostic& twice : DrivenTwice(c.bench.drives)) {
    c.problems.Add(twice.place, twice.what, twice.remedy);
  }
}

}  // namespace drycrank::profile

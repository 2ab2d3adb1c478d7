// SPDX-License-Identifier: Apache-2.0
//
// `replay` of a scenario. The recording itself is read when it is played.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <filesystem>

#include "profile/keys_scenario.h"
#include "profile/load_scenario.h"
#include "profile/table_reader.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

void ReadFile(ScenarioContext& c, Reader& r, Replay& replay) {
  const auto ref = r.GetRef("file");
  if (!ref) return;
  replay.file = yaml::PathBeside(ref->place.file, ref->text);
  std::error_code error;
  if (std::filesystem::is_regular_file(replay.file, error)) return;
  c.problems.Add(ref->place, fmt::format("there is no file '{}'", replay.file),
                 "name a recording, relative to this file");
}

void ReadBus(ScenarioContext& c, Reader& r, Replay& replay) {
  const auto names = NamesOf(c.bench.buses);
  const auto ref = r.GetRef("bus");
  if (ref) {
    replay.bus = Resolve(c.problems, *ref, names, "bus");
  } else if (names.size() > 1) {
    r.Require("bus", fmt::format("bus: {}", names.front()));
  } else if (names.empty()) {
    replay.bus = -1;
    c.problems.AddReference(r.place(), "the bench has no bus to play it on", "add one");
  }
}

// A message of the bus by name, or an identifier: 0x120; above 0x7FF it is of 29 bits.
std::optional<FrameId> ToFrameId(ScenarioContext& c, const Bus& bus, const Ref& ref) {
  if (const int message = IndexOf(bus.messages, ref.text); message >= 0) {
    const Message& named = Nth(bus.messages, message);
    return FrameId{named.id, named.extended};
  }
  if (IsName(ref.text)) {
    Resolve(c.problems, ref, NamesOf(bus.messages),
            fmt::format("message on bus '{}' named", bus.name));
    return std::nullopt;
  }
  const bool hex = ref.text.starts_with("0x");
  const char* const begin = ref.text.data() + (hex ? 2 : 0);
  const char* const end = ref.text.data() + ref.text.size();
  std::uint32_t id = 0;
  const auto [last, error] = std::from_chars(begin, end, id, hex ? 16 : 10);
  if (error == std::errc() && last == end && id <= 0x1FFFFFFF) return FrameId{id, id > 0x7FF};
  c.problems.Add(ref.place, fmt::format("'{}' is not an identifier", ref.text),
                 "write a message's name, or a number from 0 to 0x1FFFFFFF");
  return std::nullopt;
}

std::vector<FrameId> ReadIds(ScenarioContext& c, Reader& r, std::string_view key, const Bus& bus) {
  std::vector<FrameId> ids;
  for (const Ref& ref : r.GetRefs(key)) {
    if (const auto id = ToFrameId(c, bus, ref)) ids.push_back(*id);
  }
  return ids;
}

void AddValue(ScenarioContext& c, const Message& message, const Ref& signal_ref,
              const Ref& stimulus_ref, Override& out) {
  const int signal = Resolve(c.problems, signal_ref, NamesOf(message.signals),
                             fmt::format("signal of message '{}' named", message.name));
  const int stimulus = Resolve(c.problems, stimulus_ref, NamesOf(c.bench.stimuli), "stimulus");
  if (signal < 0 || stimulus < 0) return;
  const Signal& shown = Nth(message.signals, signal);
  CheckUnits(c.problems, stimulus_ref.place, fmt::format("signal '{}'", shown.name),
             Nth(c.bench.stimuli, stimulus).unit, shown.unit);
  if (signal == message.counter_signal || signal == message.checksum_signal) {
    c.problems.Add(signal_ref.place,
                   fmt::format("signal '{}' is the counter or checksum", shown.name),
                   "leave it out: it is made anew by itself");
  }
  out.values.push_back({signal, stimulus});
}

// {MESSAGE: {SIGNAL: STIMULUS}}; no signals: all that carry a stimulus by name.
void ReadOverrides(ScenarioContext& c, Reader& r, const Bus& bus, Replay& replay) {
  EachNamed(c.problems, r.Find("override"), "'override'",
            [&](const std::string& name, const Place& place, const Node& node) {
              const int message = Resolve(c.problems, {name, place}, NamesOf(bus.messages),
                                          fmt::format("message on bus '{}' named", bus.name));
              if (message < 0) return;
              const Message& named = Nth(bus.messages, message);
              Override out;
              out.message = message;
              const std::size_t before = c.problems.size();
              EachNamed(c.problems, &node, fmt::format("'{}'", name),
                        [&](const std::string& signal, const Place& at, const Node& value) {
                          const auto stimulus =
                              ReadRef(c.problems, value, fmt::format("'{}'", signal));
                          if (stimulus) AddValue(c, named, {signal, at}, *stimulus, out);
                        });
              for (std::size_t i = 0; node.entries.empty() && i < named.signals.size(); ++i) {
                const int stimulus = IndexOf(c.bench.stimuli, named.signals[i].carries);
                if (stimulus >= 0) out.values.push_back({static_cast<int>(i), stimulus});
              }
              if (out.values.empty() && c.problems.size() == before) {
                c.problems.Add(place, fmt::format("no signal of '{}' carries a stimulus", name),
                               "name them: {coolant: coolant_temperature}");
              }
              if (!Plays(replay, {named.id, named.extended}, named.sender)) {
                c.problems.Add(place, fmt::format("frames of '{}' are not played", name),
                               "see 'instead_of', 'only' and 'without'");
              }
              replay.overrides.push_back(std::move(out));
            });
}

void ReadSenders(Reader& r, Replay& replay) {
  if (!r.Has("instead_of")) return;
  replay.instead_of.clear();
  for (const Ref& ref : r.GetRefs("instead_of")) {
    const int sender = Resolve(r.problems(), ref, SenderNames(), "sender");
    if (sender >= 0) replay.instead_of.push_back(static_cast<Sender>(sender));
  }
}

}  // namespace

void LoadReplay(ScenarioContext& c, const Node& node) {
  Replay replay;
  replay.place = node.Where();
  Reader r(c.problems, node, "replay");
  TakeAll(r, kReplayKeys, replay);
  ReadFile(c, r, replay);
  ReadBus(c, r, replay);
  if (replay.to_s && *replay.to_s <= replay.from_s) {
    r.Complain("to_s", fmt::format("it ends at {:g} s, not after its begin", *replay.to_s),
               "write to_s later than from_s");
  }
  ReadSenders(r, replay);
  const Bus none;
  const Bus& bus = replay.bus < 0 ? none : Nth(c.bench.buses, replay.bus);
  replay.only = ReadIds(c, r, "only", bus);
  replay.without = ReadIds(c, r, "without", bus);
  ReadOverrides(c, r, bus, replay);
  c.scenario.replays.push_back(std::move(replay));
}

}  // namespace drycrank::profile

// SPDX-License-Identifier: Apache-2.0
#include "capture/channel_map.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <set>

#include "check/edge_places.h"
#include "profile/triggers.h"
#include "types/format_number.h"
#include "types/limits.h"
#include "types/nth.h"
#include "types/plain_text.h"
#include "yaml/include.h"
#include "yaml/nearest.h"
#include "yaml/reader.h"

namespace drycrank::capture {
namespace {

using yaml::Reader;

enum class Is {
  kCrank,
  kCam,
  kCoil,
  kTrailingCoil,
  kInjector,
  kCoilCurrent,
  kInjectorCurrent,
  kLevel
};

void TakeRole(profile::OutputKind kind, MappedChannel& channel) {
  if (kind == profile::OutputKind::kIgnition) channel.role = Role::kCoil;
  if (kind == profile::OutputKind::kTrailingIgnition) channel.role = Role::kTrailingCoil;
  if (kind == profile::OutputKind::kInjector) channel.role = Role::kInjector;
}

// "coil_3" where the bench has no output of that name: 3 of its cylinders.
int CylinderIn(const std::string& name, std::string_view kind, const profile::Bench& bench) {
  int cylinder = 0;
  if (!name.starts_with(kind)) return 0;
  const std::string_view digits = std::string_view(name).substr(kind.size());
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), cylinder);
  const bool is_whole = error == std::errc() && end == digits.data() + digits.size();
  return is_whole && std::ranges::count(bench.engine.firing_order, cylinder) > 0 ? cylinder : 0;
}

// False: the bench knows nothing of that name.
bool KnowByName(const profile::Bench& bench, MappedChannel& channel) {
  channel.trigger = profile::IndexOf(bench.triggers, channel.name);
  if (channel.trigger >= 0) channel.role = Role::kTrigger;
  if (channel.trigger < 0 && bench.controller) {
    const auto& inputs = bench.controller->triggers;
    const int input = profile::IndexOf(inputs, channel.name);
    channel.output = profile::IndexOf(bench.controller->outputs, channel.name);
    if (input >= 0) channel.trigger = check::TriggerAt(bench, Nth(inputs, input));
    if (channel.trigger >= 0) channel.role = Role::kTrigger;
  }
  if (channel.output >= 0) {
    const profile::ControllerOutput& output = Nth(bench.controller->outputs, channel.output);
    TakeRole(output.kind, channel);
    channel.cylinder = output.cylinder;
    if (output.kind == profile::OutputKind::kLowSide) channel.on = OnLevel::kLow;
  }
  if (channel.trigger >= 0 || channel.output >= 0) return true;
  for (const auto& [kind, role] :
       {std::pair("coil_", Role::kCoil), std::pair("trailing_coil_", Role::kTrailingCoil),
        std::pair("injector_", Role::kInjector)}) {
    const int cylinder = CylinderIn(channel.name, kind, bench);
    if (cylinder == 0) continue;
    channel.role = role;
    channel.cylinder = cylinder;
    return true;
  }
  return false;
}

// The first trigger on that shaft; -1.
int FirstOn(const profile::Bench& bench, profile::Shaft shaft) {
  for (std::size_t i = 0; i < bench.triggers.size(); ++i) {
    if (bench.triggers[i].shaft == shaft) return static_cast<int>(i);
  }
  return -1;
}

void TakeIs(Is is, const profile::Bench& bench, MappedChannel& channel) {
  channel.role = Role::kLevel;
  channel.is_current = is == Is::kCoilCurrent || is == Is::kInjectorCurrent;
  if (is == Is::kCoil || is == Is::kCoilCurrent) channel.role = Role::kCoil;
  if (is == Is::kTrailingCoil) channel.role = Role::kTrailingCoil;
  if (is == Is::kInjector || is == Is::kInjectorCurrent) channel.role = Role::kInjector;
  if (is != Is::kCrank && is != Is::kCam) return;
  channel.role = Role::kTrigger;
  if (channel.trigger < 0)
    channel.trigger =
        FirstOn(bench, is == Is::kCrank ? profile::Shaft::kCrank : profile::Shaft::kCam);
}

std::string Known(const profile::Bench& bench) {
  std::vector<std::string> names = yaml::NamesOf(bench.triggers);
  if (bench.controller) {
    for (const auto& output : bench.controller->outputs) names.push_back(output.name);
  }
  if (!bench.engine.firing_order.empty()) {
    names.push_back(fmt::format("coil_{}", bench.engine.firing_order[0]));
    names.push_back(fmt::format("injector_{}", bench.engine.firing_order[0]));
  }
  return fmt::format("{}", fmt::join(names, ", "));
}

void ReadColumn(Reader& r, MappedChannel& channel) {
  const auto column = r.GetRef("column");
  if (column) channel.column = column->text;
}

void ReadLevels(Reader& r, MappedChannel& channel) {
  bool crossing = false;
  r.Get("scale", &channel.scale, {"", -1e9, 1e9});
  r.Get("shift", &channel.shift, {"", -1e9, 1e9});
  r.Get("threshold", &channel.threshold, {"", -1e9, 1e9});
  if (r.Get("zero_crossing", &crossing)) channel.zero_crossing = crossing;
  r.Get("inverted", &channel.inverted);
  r.GetWord("on", &channel.on, {{"high", OnLevel::kHigh}, {"low", OnLevel::kLow}});
  if (channel.scale == 0) r.Complain("scale", "a scale of 0", "volts per unit of the file");
  if (channel.threshold && crossing)
    r.Complain("threshold", "a threshold and zero_crossing", "write one of the two");
}

MappedChannel ReadChannel(Reader& r, const std::string& name, const profile::Bench& bench) {
  MappedChannel channel;
  channel.name = name;
  channel.place = r.place();
  ReadColumn(r, channel);
  const bool is_known = KnowByName(bench, channel);
  Is is = Is::kLevel;
  const bool said = r.GetWord("is", &is,
                              {{"crank", Is::kCrank},
                               {"cam", Is::kCam},
                               {"coil", Is::kCoil},
                               {"trailing_coil", Is::kTrailingCoil},
                               {"injector", Is::kInjector},
                               {"coil_current", Is::kCoilCurrent},
                               {"injector_current", Is::kInjectorCurrent},
                               {"level", Is::kLevel}});
  if (said) TakeIs(is, bench, channel);
  if (!is_known && !said) {
    r.problems().Add(r.place(), fmt::format("the bench has no trigger or output '{}'", name),
                     fmt::format("add 'is: crank', cam, coil, trailing_coil, injector, "
                                 "coil_current, injector_current or level; known: {}",
                                 Known(bench)));
  }
  if (channel.role == Role::kTrigger && channel.trigger < 0)
    r.Complain("is", "no such trigger on the bench", "describe its wheel in the bench file");
  r.Get("cylinder", &channel.cylinder, 1, static_cast<int>(kMaxCylinders));
  const bool per_cylinder = channel.role != Role::kTrigger && channel.role != Role::kLevel;
  if (per_cylinder && std::ranges::count(bench.engine.firing_order, channel.cylinder) == 0) {
    r.Complain("cylinder",
               channel.cylinder == 0
                   ? "no cylinder"
                   : fmt::format("cylinder {}, which the engine has not", channel.cylinder),
               fmt::format("one of {}", fmt::join(bench.engine.firing_order, ", ")));
  }
  r.Get("belt_teeth", &channel.belt_teeth, 8, 400);
  ReadLevels(r, channel);
  return channel;
}

void ReadHead(Reader& r, ChannelMap& map) {
  int format = 1;
  std::string kind;
  r.BeTop();
  r.Require("kind", "kind: capture");
  if (r.GetText("kind", &kind) && kind != "capture")
    r.Complain("kind", fmt::format("the kind '{}'", kind), "kind: capture");
  if (r.Get("format", &format, 1, 1 << 20)) {
    const std::string newer = WhyNotRead(format, kCaptureMapFormat);
    if (!newer.empty()) r.Complain("format", newer, "write 1, or use a newer program");
  }
  r.Get("sample_rate_hz", &map.hints.rate_hz, {"Hz", 1, 1e10});
  r.GetText("time_column", &map.hints.time_column);
}

// The trace's channel that is meant; none: -1.
int ColumnOf(const TraceInfo& info, const std::string& column) {
  for (std::size_t i = 0; i < info.channels.size(); ++i) {
    if (info.channels[i].name == column) return static_cast<int>(i);
  }
  int number = 0;
  const auto [end, error] = std::from_chars(column.data(), column.data() + column.size(), number);
  const bool is_number = error == std::errc() && end == column.data() + column.size();
  return is_number && number >= 1 && number <= static_cast<int>(info.channels.size()) ? number - 1
                                                                                      : -1;
}

std::string ColumnsInWords(const TraceInfo& info) {
  std::vector<std::string> names;
  for (const TraceChannel& channel : info.channels) names.push_back(OneLine(channel.name));
  if (names.size() > 16) names.resize(16);
  return fmt::format("{}{}", fmt::join(names, ", "),
                     info.channels.size() > names.size() ? ", ..." : "");
}

void MakeFromNames(const TraceInfo& info, const profile::Bench& bench, ChannelMap& map) {
  for (const TraceChannel& column : info.channels) {
    MappedChannel channel;
    channel.name = channel.column = column.name;
    if (const auto dot = channel.name.find_last_of('.'); dot != std::string::npos)
      channel.name.erase(0, dot + 1);
    if (KnowByName(bench, channel)) map.channels.push_back(channel);
  }
  const int crank = FirstOn(bench, profile::Shaft::kCrank);
  if (map.channels.empty() && info.channels.size() == 1 && crank >= 0) {
    MappedChannel channel;
    channel.name = Nth(bench.triggers, crank).name;
    channel.column = info.channels[0].name;
    channel.role = Role::kTrigger;
    channel.trigger = crank;
    map.channels.push_back(channel);
  }
}

}  // namespace

ChannelMap ReadMap(const std::string& path, const profile::Bench& bench) {
  ChannelMap map;
  map.is_written = true;
  yaml::Problems problems;
  yaml::Files files(problems);
  const auto root = files.ReadProfile(path, {path, 0, 0});
  if (root) {
    Reader r(problems, *root, "the map");
    ReadHead(r, map);
    r.Require("channels", "channels: {crank: {column: 1}}");
    yaml::EachNamed(problems, r.Find("channels"), "'channels'",
                    [&](const std::string& name, const Place& place, const yaml::Node& node) {
                      Reader channel(problems, node, fmt::format("channel '{}'", name), place);
                      if (channel.is_map())
                        map.channels.push_back(ReadChannel(channel, name, bench));
                    });
  }
  map.problems = problems.Sorted(files.names());
  return map;
}

Diagnostics Bind(const std::string& file, const TraceInfo& info, const profile::Bench& bench,
                 ChannelMap& map, std::vector<std::string>& unused) {
  Diagnostics problems;
  if (!map.is_written) MakeFromNames(info, bench, map);
  std::set<int> taken;
  for (MappedChannel& channel : map.channels) {
    const int column = ColumnOf(info, channel.column.empty() ? channel.name : channel.column);
    if (column < 0) {
      problems.push_back(
          {channel.place,
           fmt::format("{} has no column '{}'", file,
                       OneLine(channel.column.empty() ? channel.name : channel.column)),
           "its columns: " + ColumnsInWords(info)});
    } else if (!taken.insert(column).second) {
      problems.push_back(
          {channel.place,
           fmt::format("column '{}' is used twice", OneLine(Nth(info.channels, column).name)),
           "one column, one channel"});
    }
    channel.index = AsSize(std::max(column, 0));
  }
  if (map.channels.empty()) {
    problems.push_back({{file, 0, 0},
                        fmt::format("no column is called as a trigger or output of the bench ({})",
                                    ColumnsInWords(info)),
                        fmt::format("say what they are with --map; known: {}", Known(bench))});
  }
  for (std::size_t i = 0; i < info.channels.size(); ++i) {
    if (!taken.contains(static_cast<int>(i))) unused.push_back(OneLine(info.channels[i].name));
  }
  return problems;
}

}  // namespace drycrank::capture

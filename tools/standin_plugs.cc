// SPDX-License-Identifier: Apache-2.0
#include "tools/standin_plugs.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstring>
#include <optional>

#include "profile/load.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

using profile::Bench;

constexpr int kMostChannels = 32;
constexpr std::size_t kLongestLine = 1000;

template <class Value>
std::optional<Value> Number(std::string_view text) {
  Value value{};
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = error == std::errc() && end == text.data() + text.size();
  return whole ? std::optional(value) : std::nullopt;
}

bool IsCoil(const profile::Trigger& trigger) {
  return std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
}

std::string NamesOf(const Bench& bench) {
  std::string names;
  for (const profile::Trigger& trigger : bench.triggers) {
    names += (names.empty() ? "" : ", ") + trigger.name;
  }
  return names;
}

std::string AddPlug(const Bench& bench, const std::string& word, std::vector<run::Plug>& plugs) {
  const std::size_t is = word.find('='), colon = word.find(':');
  const std::string name = word.substr(0, is);
  const int trigger = profile::IndexOf(bench.triggers, name);
  if (is == std::string::npos || trigger < 0) {
    return fmt::format("--plug {}: wants TRIGGER=CHANNEL:VOLTS, and the bench has {}", word,
                       NamesOf(bench));
  }
  const auto channel = Number<int>(
      std::string_view(word).substr(is + 1, colon == std::string::npos ? colon : colon - is - 1));
  if (!channel || *channel < 1 || *channel > kMostChannels) {
    return fmt::format("--plug {}: channels are 1 to {}", word, kMostChannels);
  }
  const bool is_coil = IsCoil(Nth(bench.triggers, trigger));
  const auto volts = colon == std::string::npos
                         ? std::nullopt
                         : Number<double>(std::string_view(word).substr(colon + 1));
  if (is_coil != volts.has_value() || (volts && !(*volts > 0 && *volts <= 1000))) {
    return fmt::format("--plug {}: {}", word,
                       is_coil ? "of a coil, say its volts at full scale, as " + name + "=1:12"
                               : "a Hall sensor's output is on or off; say its channel alone");
  }
  if (std::ranges::count(plugs, trigger, &run::Plug::trigger) > 0) {
    return fmt::format("--plug {}: {} has a channel already", word, name);
  }
  plugs.push_back({trigger, *channel - 1, volts.value_or(1)});
  return "";
}

bool IsOfHarness(const profile::Fault& fault) {
  bool is = fault.Is<profile::fault::NotFitted>();
  profile::VisitInto<profile::Into::kHarness>(fault, [&](const auto&) { is = true; });
  return is;
}

std::string AddFault(const Bench& bench, const std::string& text,
                     std::vector<profile::Fault>& faults) {
  profile::ParsedFault parsed = profile::ParseFault(bench, text);
  if (!parsed.fault) return Format(parsed.problems.front());
  const profile::Fault& fault = *parsed.fault;
  if (!IsOfHarness(fault)) {
    return fmt::format(
        "--fault {}: it is none of the wires; put it into the run that drives the outputs", text);
  }
  if (!fault.during.empty() || fault.from_s || fault.to_s || fault.every_s) {
    return fmt::format("--fault {}: it is there all the time; leave out when", text);
  }
  faults.push_back(std::move(*parsed.fault));
  return "";
}

}  // namespace

ReadPlugs PlugsOf(const Bench& bench, const PlugWords& words) {
  ReadPlugs read;
  for (const std::string& word : words.plugs) {
    if (read.problem = AddPlug(bench, word, read.plugs); !read.problem.empty()) return read;
  }
  if (read.plugs.empty()) {
    read.problem = "--levels and --fault go with --plug: say which channel stands at which plug";
  }
  for (const std::string& text : words.faults) {
    if (read.problem.empty()) read.problem = AddFault(bench, text, read.faults);
  }
  return read;
}

int ChannelsNeeded(const std::vector<run::Plug>& plugs) {
  int most = 1;
  for (const run::Plug& plug : plugs) most = std::max(most, plug.channel + 1);
  return most;
}

std::vector<std::string> InWords(const Bench& bench, const ReadPlugs& read) {
  std::vector<std::string> words;
  for (const run::Plug& plug : read.plugs) {
    const profile::Trigger& trigger = Nth(bench.triggers, plug.trigger);
    words.push_back(IsCoil(trigger) ? fmt::format("channel {} stands at {}: {:g} V at full scale",
                                                  plug.channel + 1, trigger.name, plug.full_scale_v)
                                    : fmt::format("channel {} stands at {}: on while it is above 0",
                                                  plug.channel + 1, trigger.name));
  }
  if (!read.faults.empty()) {
    words.push_back(fmt::format("faults in its wires: {}", read.faults.size()));
  }
  return words;
}

LevelLines::~LevelLines() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

std::string LevelLines::Open(const std::string& path) {
  path_ = path;
  descriptor_ = ::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  return descriptor_ >= 0 ? "" : fmt::format("--levels {}: {}", path, std::strerror(errno));
}

std::string LevelLines::Take(run::HeardWires& wires) {
  char bytes[4096];
  for (ssize_t count = 0; (count = ::read(descriptor_, bytes, sizeof bytes)) > 0;) {
    part_.append(bytes, AsSize(count));
  }
  for (std::size_t end = 0; (end = part_.find('\n')) != std::string::npos;) {
    const std::string line = part_.substr(0, end);
    part_.erase(0, end + 1);
    ++line_;
    const std::size_t space = line.find(' ');
    const auto value = space == std::string::npos
                           ? std::nullopt
                           : Number<double>(std::string_view(line).substr(space + 1));
    if (!value || !std::isfinite(*value)) {
      return fmt::format("--levels {}:{}: '{}' is no line as coolant 10000", path_, line_, line);
    }
    if (std::string why = wires.Set(line.substr(0, space), *value); !why.empty()) {
      return fmt::format("--levels {}:{}: {}", path_, line_, why);
    }
  }
  return part_.size() <= kLongestLine ? ""
                                      : fmt::format("--levels {}: a line without an end", path_);
}

}  // namespace drycrank::tools

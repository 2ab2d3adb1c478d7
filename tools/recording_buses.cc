// SPDX-License-Identifier: Apache-2.0
#include "tools/recording_buses.h"

#include <fmt/format.h>

#include <algorithm>

#include "types/nth.h"

namespace drycrank::tools {

RecordingBuses::RecordingBuses(const profile::Bench& bench, const std::vector<std::string>& words)
    : bench_(bench), given_(bench.buses.size()) {
  for (const std::string& word : words) {
    const auto equals = word.find('=');
    const int bus =
        equals == std::string::npos ? -1 : profile::IndexOf(bench.buses, word.substr(0, equals));
    if (bus >= 0 && equals + 1 < word.size()) {
      Nth(given_, bus) = word.substr(equals + 1);
      continue;
    }
    problem_ = fmt::format("--bus {}: no bus of the bench and interface; write {}=can0", word,
                           bench.buses.empty() ? "BUS" : bench.buses[0].name);
  }
  if (bench.buses.empty()) problem_ = "the bench has no bus, so it has no messages to read";
}

int RecordingBuses::BusNamed(const std::string& interface) const {
  const auto said = std::find(given_.begin(), given_.end(), interface);
  if (said != given_.end()) return static_cast<int>(said - given_.begin());
  const int same = profile::IndexOf(bench_.buses, interface);
  if (same >= 0 && Nth(given_, same).empty()) return same;
  return bench_.buses.size() == 1 && given_[0].empty() ? 0 : -1;
}

void RecordingBuses::Learn(const std::vector<std::string>& names) {
  for (std::size_t i = known_.size(); i < names.size(); ++i) {
    known_.push_back(BusNamed(names[i]));
    if (known_.back() < 0) left_out_.push_back(names[i]);
  }
}

std::string RecordingBuses::Remedy(const std::string& interface) const {
  return fmt::format("if it is one, say so: --bus {}={}", bench_.buses[0].name, interface);
}

void PrintDamage(const std::string& path, const bus::RecordingReader& reader) {
  for (const bus::Damage& damage : reader.damage()) {
    fmt::print(stderr, "{}: damaged at byte {}: {}\n", path, damage.offset, damage.what);
  }
  if (reader.unread() > 0) {
    fmt::print(stderr, "{}: passed over: {} of kinds that are not known or not read\n", path,
               reader.unread() == 1 ? "1 block" : fmt::format("{} blocks", reader.unread()));
  }
  if (reader.damaged() > reader.damage().size()) {
    fmt::print(stderr, "{}: damaged in {} places\n", path, reader.damaged());
  }
}

}  // namespace drycrank::tools

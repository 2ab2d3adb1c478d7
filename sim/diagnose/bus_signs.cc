// SPDX-License-Identifier: Apache-2.0
#include "diagnose/bus_signs.h"

#include <fmt/format.h>

#include <algorithm>

namespace drycrank::diagnose {
namespace {

using plant::Party;

std::vector<plant::Hearing> HearingWith(const profile::Bench& bench,
                                        std::span<const profile::Fault> faults) {
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : faults) pointers.push_back(&fault);
  return plant::HearingOf(bench, pointers);
}

bool Sends(const profile::Bus& bus, profile::Sender sender) {
  return std::ranges::count(bus.messages, sender, &profile::Message::sender) > 0;
}

}  // namespace

std::vector<std::string> ErrorStatesWith(const profile::Bench& bench,
                                         std::span<const profile::Fault> faults) {
  std::vector<std::string> all;
  const std::vector<plant::Hearing> hearing = HearingWith(bench, faults);
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto add = [&](Party party, profile::Sender sender) {
      const plant::ErrorState state = hearing[b].StateOf(party);
      if (state == plant::ErrorState::kActive || !Sends(bench.buses[b], sender)) return;
      all.push_back(fmt::format("{} on bus {}: {}", profile::Name(sender), bench.buses[b].name,
                                plant::InWords(state)));
    };
    add(Party::kController, profile::Sender::kController);
    add(Party::kDisplay, profile::Sender::kDisplay);
  }
  return all;
}

const char* Name(DisplayLook look) {
  switch (look) {
    case DisplayLook::kValues:
      return "values";
    case DisplayLook::kDashes:
      return "dashes";
    case DisplayLook::kDark:
      break;
  }
  return "dark";
}

DisplayLook LookBy(const profile::Bench& bench, std::span<const plant::Hearing> healthy,
                   std::span<const plant::Hearing> hearing) {
  DisplayLook look = DisplayLook::kValues;
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    if (profile::IndexOf(bench.buses[b].nodes, "display") < 0) continue;
    if (!hearing[b].IsPowered(Party::kDisplay)) return DisplayLook::kDark;
    if (healthy[b].Hears(Party::kController, Party::kDisplay) &&
        !hearing[b].Hears(Party::kController, Party::kDisplay)) {
      look = DisplayLook::kDashes;
    }
  }
  return look;
}

DisplayLook LookWith(const profile::Bench& bench, std::span<const profile::Fault> faults) {
  return LookBy(bench, HearingWith(bench, {}), HearingWith(bench, faults));
}

}  // namespace drycrank::diagnose

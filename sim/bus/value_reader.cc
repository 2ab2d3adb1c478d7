// SPDX-License-Identifier: Apache-2.0
#include "bus/value_reader.h"

namespace drycrank::bus {

ValueReader::ValueReader(const std::vector<profile::Bus>& buses) : by_bus_(buses.size()) {
  for (std::size_t b = 0; b < buses.size(); ++b) {
    OfBus& here = by_bus_[b];
    here.plain.fill(kNone);
    for (const profile::Message& message : buses[b].messages) {
      std::uint32_t& first = message.extended
                                 ? here.extended.try_emplace(message.id, kNone).first->second
                                 : here.plain[message.id & 0x7FF];
      entries_.push_back({&message, first});
      first = static_cast<std::uint32_t>(entries_.size() - 1);
    }
  }
}

std::uint32_t ValueReader::FirstOf(int bus, const Frame& frame) const {
  if (frame.error) return kNone;
  const OfBus& here = Nth(by_bus_, bus);
  if (!frame.extended) return here.plain[frame.id & 0x7FF];
  const auto at = here.extended.find(frame.id);
  return at == here.extended.end() ? kNone : at->second;
}

}  // namespace drycrank::bus

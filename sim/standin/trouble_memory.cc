// SPDX-License-Identifier: Apache-2.0
#include "standin/trouble_memory.h"

#include <algorithm>

namespace drycrank::standin {
namespace {

constexpr std::uint8_t kMaxCount = 126;  // 127 says "not known"

}  // namespace

TroubleMemory::TroubleMemory(const std::vector<profile::TroubleCode>& codes,
                             const OwnValues& values) {
  for (const profile::TroubleCode& code : codes) {
    entries_.push_back({&code, values.index_of(code.channel + ".fault")});
  }
}

bool TroubleMemory::Look(const OwnValues& values) {
  bool changed = false;
  for (Entry& entry : entries_) {
    const bool active = values.at(entry.fault_value) == static_cast<double>(entry.code->when);
    if (active && (!entry.active || !entry.stored)) {
      entry.stored = true;
      entry.count = std::min<std::uint8_t>(kMaxCount, static_cast<std::uint8_t>(entry.count + 1));
    }
    changed = changed || active != entry.active;
    entry.active = active;
  }
  return changed;
}

void TroubleMemory::Clear() {
  for (Entry& entry : entries_) {
    entry.stored = false;
    entry.count = 0;
  }
}

}  // namespace drycrank::standin

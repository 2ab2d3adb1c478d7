// SPDX-License-Identifier: Apache-2.0
//
// The trouble codes of a controller, from the range faults of its own channels. A code is stored
// when its fault begins, stays when the fault goes, and is gone when cleared; a fault that still
// stands then stores it anew at the next look.
#ifndef DRYCRANK_STANDIN_TROUBLE_MEMORY_H_
#define DRYCRANK_STANDIN_TROUBLE_MEMORY_H_

#include <cstdint>
#include <functional>
#include <string_view>
#include <vector>

#include "profile/on_board.h"

namespace drycrank::standin {

// Of the controller: index of a value by name, and its value (standin/controller.h).
struct OwnValues {
  std::function<int(std::string_view name)> index_of;
  std::function<double(int index)> at;
};

class TroubleMemory {
 public:
  struct Entry {
    const profile::TroubleCode* code = nullptr;
    int fault_value = -1;  // index of CHANNEL.fault
    bool active = false, stored = false;
    std::uint8_t count = 0;  // how often it began, up to 126
  };

  // `codes` must outlive it.
  TroubleMemory(const std::vector<profile::TroubleCode>& codes, const OwnValues& values);

  // Looks at the faults. True: a code became active or inactive.
  bool Look(const OwnValues& values);
  void Clear();
  const std::vector<Entry>& entries() const { return entries_; }

 private:
  std::vector<Entry> entries_;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_TROUBLE_MEMORY_H_

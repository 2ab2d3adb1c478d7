// SPDX-License-Identifier: Apache-2.0
//
// What an output is given, on its way from the run's thread to the output's own: a ring of fixed size,
// without a lock. The run never waits for the other end; what finds no room is counted, and that is a
// failure of the output.
#ifndef DRYCRANK_OUTPUT_HANDOVER_H_
#define DRYCRANK_OUTPUT_HANDOVER_H_

#include <atomic>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "output/output.h"

namespace drycrank::output {

class Handover {
 public:
  explicit Handover(std::size_t most = 4096) : slots_(most) {}

  // One thread.
  void Put(const Given& given) {
    const std::uint64_t put = put_.load(std::memory_order_relaxed);
    if (put - taken_.load(std::memory_order_acquire) == slots_.size()) {
      lost_.fetch_add(1, std::memory_order_relaxed);
      return;
    }
    slots_[put % slots_.size()] = given;
    put_.store(put + 1, std::memory_order_release);
  }

  // The other one. nullptr: there is none.
  const Given* Front() const { return Waiting(0); }
  // The next but so many. nullptr: there are not so many.
  const Given* Waiting(std::uint64_t behind) const {
    const std::uint64_t at = taken_.load(std::memory_order_relaxed) + behind;
    if (put_.load(std::memory_order_acquire) <= at) return nullptr;
    return &slots_[at % slots_.size()];
  }
  // REQUIRES: Front() != nullptr.
  void Pop() { taken_.fetch_add(1, std::memory_order_release); }

  std::uint64_t lost() const { return lost_.load(std::memory_order_relaxed); }

 private:
  std::vector<Given> slots_;
  std::atomic<std::uint64_t> put_ = 0, taken_ = 0, lost_ = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_HANDOVER_H_

// SPDX-License-Identifier: Apache-2.0
//
// A queue of fixed capacity: all memory is taken at construction, and a full queue refuses instead
// of growing.
#ifndef DRYCRANK_BUS_RING_H_
#define DRYCRANK_BUS_RING_H_

#include <cstddef>
#include <optional>
#include <vector>

namespace drycrank::bus {

template <class T>
class Ring {
 public:
  // REQUIRES: capacity > 0.
  explicit Ring(std::size_t capacity) : items_(capacity) {}

  bool empty() const { return count_ == 0; }
  std::size_t size() const { return count_; }

  // False: full, `item` was not taken.
  bool Push(const T& item) {
    if (count_ == items_.size()) return false;
    items_[(first_ + count_) % items_.size()] = item;
    ++count_;
    return true;
  }
  std::optional<T> Pop() {
    if (count_ == 0) return std::nullopt;
    const T& item = items_[first_];
    first_ = (first_ + 1) % items_.size();
    --count_;
    return item;
  }
  // REQUIRES: !empty().
  const T& Back() const { return items_[(first_ + count_ - 1) % items_.size()]; }

 private:
  std::vector<T> items_;
  std::size_t first_ = 0;
  std::size_t count_ = 0;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_RING_H_

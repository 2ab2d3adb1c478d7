// SPDX-License-Identifier: Apache-2.0
//
// Frames to the values that they carry, by the layouts of a bench's buses. What is not measured
// (layout.h, Measured) is no value and is left out, as is a frame of an identifier that no message has.
#ifndef DRYCRANK_BUS_VALUE_READER_H_
#define DRYCRANK_BUS_VALUE_READER_H_

#include <array>
#include <cstdint>
#include <unordered_map>
#include <vector>

#include "bus/frame.h"
#include "bus/layout.h"
#include "profile/message.h"
#include "types/nth.h"

namespace drycrank::bus {

class ValueReader {
 public:
  // The buses must outlive it.
  explicit ValueReader(const std::vector<profile::Bus>& buses);

  // Calls visit(message, signal, value) for each value of the frame on bus `bus`. False: no message
  // has its identifier. REQUIRES: 0 <= bus < number of buses.
  template <class Visit>
  bool Read(int bus, const Frame& frame, Visit visit) const {
    const std::uint32_t first = FirstOf(bus, frame);
    for (std::uint32_t at = first; at != kNone; at = entries_[at].next) {
      const profile::Message& message = *entries_[at].message;
      if (!Matches(message, frame)) continue;
      for (std::size_t i = 0; i < message.signals.size(); ++i) {
        const auto value = Measured(message, static_cast<int>(i), frame);
        if (value) visit(message, message.signals[i], *value);
      }
    }
    return first != kNone;
  }

 private:
  static constexpr std::uint32_t kNone = ~std::uint32_t{0};
  struct Entry {
    const profile::Message* message;
    std::uint32_t next;  // of the same identifier on the same bus
  };
  // By identifier: those of 11 bits in a table, the long ones in a map.
  struct OfBus {
    std::array<std::uint32_t, 2048> plain;
    std::unordered_map<std::uint32_t, std::uint32_t> extended;
  };
  std::uint32_t FirstOf(int bus, const Frame& frame) const;

  std::vector<Entry> entries_;
  std::vector<OfBus> by_bus_;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_VALUE_READER_H_

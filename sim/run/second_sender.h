// SPDX-License-Identifier: Apache-2.0
//
// A message that we send and that comes from outside as well: two nodes have its identifier, a real
// controller beside its stand-in or the program started twice. On a wire that ends in bit errors and bus-off
// (ISO 11898-1: arbitration needs identifiers that differ); on a virtual bus nobody notices, and what is
// judged of it is of both. Noted when it comes first, then at most every kNoteEveryNs.
#ifndef DRYCRANK_RUN_SECOND_SENDER_H_
#define DRYCRANK_RUN_SECOND_SENDER_H_

#include <cstdint>
#include <string>
#include <vector>

#include "bus/frame.h"
#include "profile/bench.h"

namespace drycrank::run {

class SecondSender {
 public:
  static constexpr TimeNs kNoteEveryNs = 10 * kNsPerS;

  // `ours`: whose messages this process sends.
  SecondSender(const profile::Bench& bench, const std::vector<profile::Sender>& ours);
  // A frame from outside. The note that is due; empty: none. Without a note it allocates nothing.
  std::string On(const bus::TimedFrame& frame);

 private:
  struct Ours {
    int bus = 0;
    std::uint32_t id = 0;
    bool extended = false;
    std::string bus_name, message;
    std::uint64_t since_note = 0;
    TimeNs next_note_ns = 0;
  };
  std::vector<Ours> ours_;  // in the order of bus and identifier
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_SECOND_SENDER_H_

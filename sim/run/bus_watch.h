// SPDX-License-Identifier: Apache-2.0
//
// What the events of one bus mean for a run: whether what is seen on it can be judged, and which
// of them are worth a note. While the interface is down, not armed, the controller off the bus, or what
// we send does not get out, nothing seen there proves or refutes anything. Frames lost on reception
// are a stretch of no length.
//
// An event is noted when it comes first, and then at most every kNoteEveryNs: a bus without
// acknowledge reports thousands in a second, for as long as it runs.
#ifndef DRYCRANK_RUN_BUS_WATCH_H_
#define DRYCRANK_RUN_BUS_WATCH_H_

#include <array>
#include <cstdint>

#include "bus/can_bus.h"
#include "types/time.h"

namespace drycrank::run {

class BusWatch {
 public:
  static constexpr TimeNs kNoteEveryNs = 10 * kNsPerS;

  enum class Change { kNone, kLost, kRegained, kBlink };
  Change On(bus::BusEvent event);
  bool lost() const { return down_ || off_ || mute_ || unarmed_; }
  // Why it cannot be observed: "interface down". After kLost and kBlink.
  const char* why() const { return why_; }

  // How often the event came since it was last noted, itself included; 0: not worth a note now.
  std::uint64_t TakeForNote(bus::BusEvent event, TimeNs t_ns);

 private:
  bool down_ = false, off_ = false, mute_ = false, unarmed_ = false;
  const char* why_ = "";
  struct Count {
    std::uint64_t since_note = 0;
    TimeNs next_note_ns = 0;
  };
  std::array<Count, bus::kBusEventKinds> counts_{};
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_BUS_WATCH_H_

// SPDX-License-Identifier: Apache-2.0
#include "run/bus_watch.h"

#include <utility>

#include "types/nth.h"

namespace drycrank::run {

BusWatch::Change BusWatch::On(bus::BusEvent event) {
  using bus::BusEvent;
  const bool was_lost = lost();
  const char* why = "";
  switch (event) {
    case BusEvent::kUp:
      down_ = off_ = mute_ = false;
      break;
    case BusEvent::kDown:
      down_ = true;
      why = "interface down";
      break;
    case BusEvent::kBusOff:
      off_ = true;
      why = "bus off";
      break;
    case BusEvent::kSendQueueFull:
      mute_ = true;
      why = "send queue full, frames not sent";
      break;
    case BusEvent::kUnconfirmed:
      mute_ = true;
      why = "frames sent without confirmation";
      break;
    case BusEvent::kListenOnly:
      mute_ = true;
      why = "listen-only, frames not sent";
      break;
    case BusEvent::kNotArmed:
      unarmed_ = true;
      why = "not armed, frames not sent";
      break;
    case BusEvent::kArmed:
      unarmed_ = false;
      break;
    case BusEvent::kSending:
      mute_ = false;
      break;
    case BusEvent::kOverrun:
      if (was_lost) return Change::kNone;
      why_ = "received frames were lost";
      return Change::kBlink;
    default:
      break;
  }
  if (lost() == was_lost) return Change::kNone;
  if (lost()) why_ = why;
  return lost() ? Change::kLost : Change::kRegained;
}

std::uint64_t BusWatch::TakeForNote(bus::BusEvent event, TimeNs t_ns) {
  Count& count = Nth(counts_, event);
  ++count.since_note;
  if (t_ns < count.next_note_ns) return 0;
  count.next_note_ns = t_ns + kNoteEveryNs;
  return std::exchange(count.since_note, 0);
}

}  // namespace drycrank::run

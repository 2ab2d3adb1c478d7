// SPDX-License-Identifier: Apache-2.0
//
// Faults on the buses that are not one message's timing: what a sender makes of its message
// (AsSent), and what comes from nobody the bench knows (BusFaults): a babbling node, error reports,
// a node or a whole interface that is bus-off.
//
// A sender goes bus-off when its transmit error counter passes 255; each failed transmission adds 8
// (ISO 11898-1, fault confinement), so 32 of them in a row. Others on the bus see these as errors,
// then the sender no more. It comes back when the fault ends.
#ifndef DRYCRANK_RUN_BUS_FAULT_H_
#define DRYCRANK_RUN_BUS_FAULT_H_

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "bus/frame.h"
#include "profile/bench.h"
#include "profile/fault.h"
#include "types/nth.h"

namespace drycrank::run {

// The message as its faulty sender has it: another identifier, length or byte order. Nothing when
// no fault of the list changes that. What is encoded by it has the counter and checksum of its own.
std::optional<profile::Message> AsSent(const profile::Message& message,
                                       std::span<const profile::Fault* const> faults);

// Does the fault keep everything of `sender` off the buses?
bool IsAbsent(const profile::Fault& fault, profile::Sender sender);

// What error reports and a babbling node take of a bus at the least, without stuff bits (ISO 11898-1): an
// error frame has 17 bits (flag 6, delimiter 8, intermission 3), a data frame 47, an extended one 67, and 8 for
// each byte. 0: of another kind, or on another bus.
double BitsPerSecond(const profile::Fault& fault, const profile::Bus& bus);

class BusFaults {
 public:
  explicit BusFaults(const profile::Bench& bench) : bench_(bench), off_(bench.buses.size()) {}

  // The faults in force from t_ns on.
  void SetFaults(std::span<const profile::Fault* const> faults, TimeNs t_ns);

  TimeNs NextDue() const;  // kNever when there is none
  // The next strange frame or error report due at or before t_ns; what was missed is left out, not
  // sent in a burst.
  bool TakeDue(TimeNs t_ns, bus::TimedFrame& out);

  // Our interface of the bus is bus-off: nothing is sent there or heard from there.
  bool IsOff(int bus) const { return Nth(off_, bus); }
  bool IsAbsent(profile::Sender sender) const;

 private:
  struct Source {
    const profile::Fault* fault = nullptr;
    int bus = 0;
    bus::Frame frame;
    TimeNs next_ns = 0, period_ns = 1;
    int left = -1;  // so many still to come; -1: without end
  };
  void Begin(const profile::Fault& fault, TimeNs t_ns);
  void AddErrors(const profile::Fault& fault, int bus, TimeNs t_ns, TimeNs period_ns, int count);

  const profile::Bench& bench_;
  std::vector<Source> sources_;
  std::vector<const profile::Fault*> in_force_;
  std::vector<bool> off_;  // per bus
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_BUS_FAULT_H_

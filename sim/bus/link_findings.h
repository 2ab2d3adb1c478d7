// SPDX-License-Identifier: Apache-2.0
//
// Why nothing arrives: facts of this computer, its interfaces and its buses to findings, each with
// its cause, the command that mends it, and a page of hw-notes/doctor/. A function of the facts
// alone. What the counters cannot tell (a missing resistor, a broken wire) is said to be so, and
// the page says what to measure.
#ifndef DRYCRANK_BUS_LINK_FINDINGS_H_
#define DRYCRANK_BUS_LINK_FINDINGS_H_

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "bus/driven.h"
#include "bus/link_facts.h"

namespace drycrank::bus {

struct HostFacts {
  bool has_can = true;  // its kernel gives CAN sockets
  std::vector<std::string> can_interfaces;
  bool may_raise_buffers = false;  // past the limit below
  std::int64_t receive_buffer_max_bytes = 0;
  int realtime_priority_max = 0;
  std::int64_t locked_memory_max_bytes = 0;  // -1: no limit
};

struct MulticastFacts {
  std::string group;
  int port = 0;
  std::string route_interface;  // where the kernel sends other programs' frames; empty: nowhere
  bool port_taken = false;      // by a program that does not share it
};

// What was found by listening, and by sending where that was allowed.
struct ProbeFacts {
  double listened_s = 0;
  std::uint64_t received = 0, error_reports = 0;
  bool no_acknowledge = false;  // an error report said so
  std::uint64_t sent = 0, confirmed = 0, refused = 0;
  std::string problem;  // it could not be opened
};

// One bus that is looked at. What the bench wants is 0 where it is not known.
struct BusFacts {
  std::string bus;        // its name in the bench; else the interface
  std::string interface;  // "can0"; of a multicast bus: empty
  double wanted_bitrate_bps = 0, wanted_data_bitrate_bps = 0;
  bool wants_fd = false;
  int messages_sent_by_us = 0;
  std::optional<LinkFacts> link;  // of an interface that is there
  std::vector<Driven> drives;     // hardware that gets what is sent there
  std::optional<MulticastFacts> multicast;
  std::optional<ProbeFacts> probe;
};

struct Finding {
  std::string_view cause;  // one of kCauses; hw-notes/doctor/CAUSE.md
  bool trouble = true;     // false: works, but not as well as it could
  std::string where;       // "vehicle (can0)", "this computer"
  std::string what;        // one sentence or two
  std::string command;     // that mends it; empty: see the page
};

inline constexpr std::array<std::string_view, 24> kCauses = {"no-can-in-kernel",
                                                             "no-interface",
                                                             "not-a-can-interface",
                                                             "interface-down",
                                                             "bus-off",
                                                             "no-acknowledge",
                                                             "error-passive",
                                                             "wrong-bit-rate",
                                                             "bus-errors",
                                                             "termination",
                                                             "listen-only",
                                                             "leads-to-hardware",
                                                             "loopback",
                                                             "one-shot",
                                                             "classical-for-fd",
                                                             "dropping-queue",
                                                             "short-send-queue",
                                                             "small-receive-buffer",
                                                             "no-realtime-rights",
                                                             "no-automatic-restart",
                                                             "frames-lost",
                                                             "multicast-route",
                                                             "multicast-port",
                                                             "silent-bus"};

std::string PageOf(const Finding& finding);

// Troubles first, each group in the order of the list above.
std::vector<Finding> FindTrouble(const HostFacts& host, const std::vector<BusFacts>& buses);

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_LINK_FINDINGS_H_

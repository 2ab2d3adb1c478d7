// SPDX-License-Identifier: Apache-2.0
//
// What can be known of a CAN interface without sending or receiving: plain values, read by
// io/link_reader.h, judged by bus/link_findings.h. Error counts, states and the 96/128/256 limits:
// ISO 11898-1, fault confinement.
#ifndef DRYCRANK_BUS_LINK_FACTS_H_
#define DRYCRANK_BUS_LINK_FACTS_H_

#include <cstdint>
#include <optional>
#include <string>

namespace drycrank::bus {

enum class ControllerState { kActive, kWarning, kPassive, kBusOff, kStopped, kSleeping };

struct ErrorCounts {
  int transmit = 0, receive = 0;
};

struct ControllerFacts {
  std::uint32_t bitrate_bps = 0;       // 0: not set
  std::uint32_t data_bitrate_bps = 0;  // FD
  ControllerState state = ControllerState::kActive;
  std::uint32_t restart_ms = 0;  // after bus-off; 0: not by itself
  bool loopback = false, listen_only = false, one_shot = false, fd = false;
  std::optional<ErrorCounts> errors;   // as they are now
  std::optional<int> termination_ohm;  // a resistor that software switches; 0: off
  // Since the interface was made.
  std::uint32_t bus_errors = 0, bus_offs = 0, arbitration_lost = 0, restarts = 0;
};

struct LinkFacts {
  int index = 0;  // the kernel's number of it; one that is made anew has another
  std::string name;
  std::string kind;  // "can", "vcan", "vxcan"; empty: none
  bool is_can = false, up = false;
  bool running = false;         // has a carrier: up and not bus-off
  int peer_index = 0;           // other end of a vxcan; 0: none
  bool peer_elsewhere = false;  // it is in another network namespace
  int mtu = 0;                  // 16 classical, 72 FD
  int send_queue_frames = 0;
  std::string qdisc;  // queueing discipline: "pfifo_fast"
  bool hardware_stamps = false;
  std::uint64_t received = 0, sent = 0;
  std::uint64_t receive_dropped = 0, receive_overruns = 0, send_dropped = 0;
  std::optional<ControllerFacts> controller;

  bool IsVirtual() const { return kind == "vcan" || kind == "vxcan"; }
  bool CarriesFd() const { return mtu == 72; }
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_LINK_FACTS_H_

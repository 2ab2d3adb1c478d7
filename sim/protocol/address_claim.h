// SPDX-License-Identifier: Apache-2.0
//
// SAE J1939-81: getting an address. The claim is sent at the start; unless someone contests it
// within 250 ms it is ours. A contest is decided by NAME, the lower one wins: who wins repeats its
// claim, who loses takes the next free address of 128..247 if its NAME says that it may, or else
// says "cannot claim" from the null address 254 and sends nothing more.
//
//   claim ──► kWaiting ──250 ms──► kClaimed ──lower NAME──► kWaiting (another) or kCannotClaim
#ifndef DRYCRANK_PROTOCOL_ADDRESS_CLAIM_H_
#define DRYCRANK_PROTOCOL_ADDRESS_CLAIM_H_

#include <bitset>
#include <cstdint>

#include "bus/frame.h"
#include "protocol/j1939.h"
#include "types/time.h"

namespace drycrank::protocol {

class AddressClaim {
 public:
  enum class State { kNotStarted, kWaiting, kClaimed, kCannotClaim };

  // REQUIRES: address <= 253.
  AddressClaim(std::uint64_t name, std::uint8_t address) : name_(name), address_(address) {}

  void Start(TimeNs t_ns);
  void OnFrame(TimeNs t_ns, const bus::Frame& frame);
  TimeNs NextDue() const;
  bool TakeDue(TimeNs t_ns, bus::Frame& out);

  State state() const { return state_; }
  // The address to send from; kNullAddress without one.
  std::uint8_t address() const { return state_ == State::kClaimed ? address_ : kNullAddress; }

 private:
  void OnClaim(TimeNs t_ns, std::uint64_t name, std::uint8_t address);
  void Lose(TimeNs t_ns);

  std::uint64_t name_;
  std::uint8_t address_;
  State state_ = State::kNotStarted;
  TimeNs send_ns_ = kNever, decided_ns_ = kNever;
  std::bitset<256> taken_;  // addresses that others have claimed
};

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_ADDRESS_CLAIM_H_

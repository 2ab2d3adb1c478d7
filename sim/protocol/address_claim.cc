// SPDX-License-Identifier: Apache-2.0
#include "protocol/address_claim.h"

#include <algorithm>
#include <array>

#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr TimeNs kContestNs = 250 * kNsPerMs;
constexpr TimeNs kMaxCannotClaimDelayMs = 153;
constexpr int kFirstFree = 128, kLastFree = 247;

std::uint64_t NameIn(const bus::Frame& frame) {
  std::uint64_t name = 0;
  for (std::size_t i = 8; i-- > 0;) name = name << 8 | frame.data[i];
  return name;
}

}  // namespace

void AddressClaim::Start(TimeNs t_ns) {
  state_ = State::kWaiting;
  send_ns_ = t_ns;
  decided_ns_ = kNever;
}

void AddressClaim::OnFrame(TimeNs t_ns, const bus::Frame& frame) {
  const auto id = J1939IdOf(frame);
  if (!id || state_ == State::kNotStarted) return;
  if (id->pgn == kPgnAddressClaimed && frame.length == 8) {
    OnClaim(t_ns, NameIn(frame), id->source);
  } else if (RequestedPgn(frame) == kPgnAddressClaimed &&
             (id->destination == kGlobalAddress || id->destination == address())) {
    send_ns_ = std::min(send_ns_, t_ns);
  }
}

void AddressClaim::OnClaim(TimeNs t_ns, std::uint64_t name, std::uint8_t address) {
  if (address >= kNullAddress || name == name_) return;
  taken_.set(address);
  if (address != address_ || state_ == State::kCannotClaim) return;
  if (name > name_) {
    send_ns_ = t_ns;  // ours has precedence: say so again
    taken_.reset(address);
  } else {
    Lose(t_ns);
  }
}

void AddressClaim::Lose(TimeNs t_ns) {
  decided_ns_ = kNever;
  if (UnpackName(name_).arbitrary_address) {
    for (int other = kFirstFree; other <= kLastFree; ++other) {
      if (Nth(taken_, other)) continue;
      address_ = static_cast<std::uint8_t>(other);
      return Start(t_ns);
    }
  }
  state_ = State::kCannotClaim;
  // A delay of its own, so that two losers do not speak at once: 0..153 ms by the standard.
  send_ns_ = t_ns + static_cast<TimeNs>(name_ % (kMaxCannotClaimDelayMs + 1)) * kNsPerMs;
}

TimeNs AddressClaim::NextDue() const { return std::min(send_ns_, decided_ns_); }

bool AddressClaim::TakeDue(TimeNs t_ns, bus::Frame& out) {
  if (decided_ns_ <= t_ns) {
    decided_ns_ = kNever;
    state_ = State::kClaimed;
  }
  if (send_ns_ > t_ns) return false;
  send_ns_ = kNever;
  if (state_ == State::kWaiting && decided_ns_ == kNever) decided_ns_ = t_ns + kContestNs;
  std::array<std::uint8_t, 8> data{};
  for (std::size_t i = 0; i < 8; ++i) data[i] = static_cast<std::uint8_t>(name_ >> (8 * i) & 0xFF);
  const std::uint8_t source = state_ == State::kCannotClaim ? kNullAddress : address_;
  out = J1939Frame({6, kPgnAddressClaimed, kGlobalAddress, source}, data);
  return true;
}

}  // namespace drycrank::protocol

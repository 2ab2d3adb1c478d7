// SPDX-License-Identifier: Apache-2.0
#include "standin/j1939_unit.h"

#include <algorithm>
#include <utility>

namespace drycrank::standin {
namespace {

using protocol::AddressClaim;

constexpr TimeNs kLookNs = 10 * kNsPerMs;
// A code that comes and goes is told of once a second at most (SAE J1939-73, DM1).
constexpr TimeNs kLeastDm1GapNs = kNsPerS;
constexpr std::uint8_t kNotAcknowledged = 1;
constexpr std::size_t kFrameBytes = 8;

void Light(protocol::Lamps& lamps, profile::Lamp lamp) {
  switch (lamp) {
    case profile::Lamp::kProtect:
      lamps.protect = 1;
      return;
    case profile::Lamp::kAmber:
      lamps.amber = 1;
      return;
    case profile::Lamp::kRedStop:
      lamps.red_stop = 1;
      return;
    case profile::Lamp::kMalfunction:
      lamps.malfunction = 1;
      return;
  }
}

}  // namespace

J1939Unit::J1939Unit(const profile::J1939Node& config, OwnValues values)
    : config_(config),
      values_(std::move(values)),
      memory_(config.trouble_codes, values_),
      claim_(protocol::Pack(config.name), static_cast<std::uint8_t>(config.address)) {
  troubles_.reserve(config.trouble_codes.size());
  claim_.Start(0);
}

void J1939Unit::OnFrame(const bus::TimedFrame& frame) {
  if (frame.bus != config_.bus) return;
  const auto id = protocol::J1939IdOf(frame.frame);
  if (!id) return;
  claim_.OnFrame(frame.t_ns, frame.frame);
  sender_.OnFrame(frame.t_ns, frame.frame);
  const auto pgn = protocol::RequestedPgn(frame.frame);
  if (pgn && claim_.state() == AddressClaim::State::kClaimed) OnRequest(frame.t_ns, *id, *pgn);
}

void J1939Unit::OnRequest(TimeNs t_ns, const protocol::J1939Id& id, std::uint32_t pgn) {
  const bool to_us = id.destination == claim_.address();
  if (!to_us && id.destination != protocol::kGlobalAddress) return;
  if (pgn == protocol::kPgnDm1) {
    dm1_ns_ = t_ns;
  } else if (pgn == protocol::kPgnDm2) {
    dm2_ns_ = t_ns;
  } else if (pgn != protocol::kPgnAddressClaimed && to_us) {
    // A request to all for what one has not is not answered.
    refusal_ = protocol::AcknowledgeFrame(kNotAcknowledged, pgn, id.source, claim_.address());
  }
}

void J1939Unit::Look(TimeNs t_ns) {
  look_ns_ = (t_ns / kLookNs + 1) * kLookNs;
  if (memory_.Look(values_)) {
    const TimeNs allowed_ns = last_dm1_ns_ < 0 ? t_ns : last_dm1_ns_ + kLeastDm1GapNs;
    dm1_ns_ = std::min(dm1_ns_, std::max(t_ns, allowed_ns));
  }
}

bool J1939Unit::SendTroubles(TimeNs t_ns, std::uint32_t pgn, bool active, bus::Frame& out) {
  protocol::Lamps lamps;
  troubles_.clear();
  for (const TroubleMemory::Entry& entry : memory_.entries()) {
    if (entry.active) Light(lamps, entry.code->lamp);
    if (active ? !entry.active : !entry.stored || entry.active) continue;
    troubles_.push_back(
        {entry.code->code >> 5, static_cast<std::uint8_t>(entry.code->code & 31), entry.count});
  }
  const std::size_t length = protocol::PackTroubles(lamps, troubles_, message_);
  const protocol::J1939Id id{6, pgn, protocol::kGlobalAddress, claim_.address()};
  const std::span bytes(message_.data(), length);
  if (length > kFrameBytes) return sender_.Send(t_ns, id, bytes) && sender_.TakeDue(t_ns, out);
  out = protocol::J1939Frame(id, bytes);
  return true;
}

bool J1939Unit::TakeOwn(TimeNs t_ns, bus::Frame& out) {
  if (claim_.state() != AddressClaim::State::kClaimed) return false;
  if (last_dm1_ns_ < 0 && dm1_ns_ == kNever) dm1_ns_ = t_ns;  // the first after the claim
  if (refusal_) {
    out = *refusal_;
    refusal_.reset();
    return true;
  }
  if (sender_.sending()) return false;  // one message at a time
  if (dm1_ns_ <= t_ns) {
    last_dm1_ns_ = t_ns;
    dm1_ns_ = t_ns + FromMs(config_.dm1_period_ms);
    return SendTroubles(t_ns, protocol::kPgnDm1, true, out);
  }
  if (dm2_ns_ <= t_ns) {
    dm2_ns_ = kNever;
    return SendTroubles(t_ns, protocol::kPgnDm2, false, out);
  }
  return false;
}

TimeNs J1939Unit::NextDue() const {
  const TimeNs link_ns = std::min({look_ns_, claim_.NextDue(), sender_.NextDue()});
  if (claim_.state() != AddressClaim::State::kClaimed) return link_ns;
  if (refusal_) return 0;
  return sender_.sending() ? link_ns : std::min({link_ns, dm1_ns_, dm2_ns_});
}

bool J1939Unit::TakeDue(TimeNs t_ns, bus::TimedFrame& out) {
  out.t_ns = t_ns;
  out.bus = config_.bus;
  out.sent = true;
  if (look_ns_ <= t_ns) Look(t_ns);
  return claim_.TakeDue(t_ns, out.frame) || sender_.TakeDue(t_ns, out.frame) ||
         TakeOwn(t_ns, out.frame);
}

}  // namespace drycrank::standin

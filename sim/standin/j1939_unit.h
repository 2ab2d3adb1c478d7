// SPDX-License-Identifier: Apache-2.0
//
// The stand-in controller as a node of SAE J1939: claims its address, says its active trouble codes
// (DM1) every dm1_period_ms and when one comes or goes, answers requests for DM1, DM2 and its
// claim. More than one code takes the transport protocol. Without an address it says nothing but
// that. The controller's cyclic messages have their own fixed identifiers and go on.
#ifndef DRYCRANK_STANDIN_J1939_UNIT_H_
#define DRYCRANK_STANDIN_J1939_UNIT_H_

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "bus/talker.h"
#include "profile/on_board.h"
#include "protocol/address_claim.h"
#include "protocol/j1939_transport.h"
#include "protocol/trouble.h"
#include "standin/trouble_memory.h"

namespace drycrank::standin {

class J1939Unit : public bus::Talker {
 public:
  // `config` must outlive it, and what `values` asks too.
  J1939Unit(const profile::J1939Node& config, OwnValues values);

  void OnFrame(const bus::TimedFrame& frame) override;
  TimeNs NextDue() const override;
  bool TakeDue(TimeNs t_ns, bus::TimedFrame& out) override;

  const protocol::AddressClaim& claim() const { return claim_; }

 private:
  void OnRequest(TimeNs t_ns, const protocol::J1939Id& id, std::uint32_t pgn);
  bool TakeOwn(TimeNs t_ns, bus::Frame& out);
  bool SendTroubles(TimeNs t_ns, std::uint32_t pgn, bool active, bus::Frame& out);
  void Look(TimeNs t_ns);

  const profile::J1939Node& config_;
  OwnValues values_;
  TroubleMemory memory_;
  protocol::AddressClaim claim_;
  protocol::J1939Sender sender_;
  std::vector<protocol::SpnTrouble> troubles_;  // scratch
  std::array<std::uint8_t, protocol::kMaxJ1939Bytes> message_{};
  TimeNs look_ns_ = 0;
  TimeNs dm1_ns_ = kNever, dm2_ns_ = kNever;
  TimeNs last_dm1_ns_ = -1;
  std::optional<bus::Frame> refusal_;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_J1939_UNIT_H_

// SPDX-License-Identifier: Apache-2.0
//
// The stand-in controller's answers to a tester: OBD and UDS over ISO-TP, from the controller's own
// values and its own range faults. A request is answered answer_ms after it was whole; when that is
// more than 25 ms, "answer pending" goes first, as ISO 15765-4 wants within 50 ms. One request at a
// time: what comes meanwhile is passed over and counted.
#ifndef DRYCRANK_STANDIN_DIAGNOSTIC_SERVER_H_
#define DRYCRANK_STANDIN_DIAGNOSTIC_SERVER_H_

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "bus/talker.h"
#include "profile/bench.h"
#include "protocol/answer_source.h"
#include "protocol/isotp.h"
#include "standin/trouble_memory.h"

namespace drycrank::standin {

class DiagnosticServer : public bus::Talker, private protocol::AnswerSource {
 public:
  // REQUIRES: controller.diagnostics. `controller` must outlive it, and what `values` asks too.
  DiagnosticServer(const profile::Controller& controller, OwnValues values);

  void OnFrame(const bus::TimedFrame& frame) override;
  TimeNs NextDue() const override;
  bool TakeDue(TimeNs t_ns, bus::TimedFrame& out) override;

  std::uint64_t passed_over() const { return passed_over_; }

 private:
  bool HasPid(int pid) const override;
  double PidValue(int pid) const override;
  std::span<const protocol::StoredTrouble> Troubles() const override { return troubles_; }
  std::string_view VehicleId() const override { return config_.vehicle_id; }
  void ClearTroubles() override;

  void TakeRequest(TimeNs t_ns, bool functional);
  void Answer(TimeNs t_ns);
  void Look();

  struct Parameter {
    int value = -1;  // index of the controller's value; -1: none
    double factor = 1, offset = 0;
  };
  const profile::OnBoardDiagnostics& config_;
  OwnValues values_;
  std::array<Parameter, 256> parameters_;
  TroubleMemory memory_;
  std::vector<protocol::StoredTrouble> troubles_;
  protocol::IsoTp link_;

  std::array<std::uint8_t, protocol::kMaxIsoTpBytes> request_{}, answer_{};
  std::size_t request_length_ = 0;
  bool functional_ = false;
  TimeNs answer_ns_ = kNever, pending_ns_ = kNever, look_ns_ = 0;
  std::uint64_t passed_over_ = 0;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_DIAGNOSTIC_SERVER_H_

// SPDX-License-Identifier: Apache-2.0
//
// The outputs of a CANopen I/O node (protocol/io_master.h) in the place of sensors: switches, and
// voltages of its analogue outputs. It needs no guard: the node was told what is safe before it was
// started, and is so by itself when our heartbeat stays away, after 150 ms.
#ifndef DRYCRANK_IO_CAN_NODE_OUTPUT_H_
#define DRYCRANK_IO_CAN_NODE_OUTPUT_H_

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "output/held_abilities.h"
#include "output/output.h"
#include "output/steps.h"
#include "protocol/io_master.h"
#include "types/clock.h"

namespace drycrank::io {

struct CanNodeChannel {
  int output = 0;  // as the node counts, from 0, each kind by itself
  // An analogue one: V at its terminal of a count, as measured or in the node's data sheet.
  std::optional<output::Steps> volts = std::nullopt;
  double supply_v = 5;  // a share is one of this
  bool safe_closed = false;
  double safe_v = 0;
};

class CanNodeOutput : public output::Output {
 public:
  // Clock and bus are its own: its calls come from a thread of its own. REQUIRES: outputs of at most 64
  // switches and 4 voltages.
  CanNodeOutput(std::unique_ptr<Clock> clock, std::unique_ptr<bus::CanBus> bus, int node,
                int own_node, std::vector<CanNodeChannel> channels);

  std::string Description() const override;
  std::span<const output::Ability> abilities() const override {
    return output::kCanNodeAbilities;
  }
  std::string Open() override;
  // Arms its bus too, and waits until the node is operational.
  std::string Arm() override;
  void Give(const output::Given& given) override;
  std::optional<output::Steps> StepsOf(int channel) const override;
  void Beat(TimeNs now_ns) override;
  void Disarm() override;
  std::string failure() const override { return failure_; }

 private:
  void Carry();
  void Look();

  std::unique_ptr<Clock> clock_;
  std::unique_ptr<bus::CanBus> bus_;
  int node_;
  std::vector<CanNodeChannel> channels_;
  protocol::IoMaster master_;
  bool armed_ = false;
  std::string failure_, told_;  // told by the node in its error messages
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_CAN_NODE_OUTPUT_H_

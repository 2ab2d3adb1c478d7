// SPDX-License-Identifier: Apache-2.0
//
// An output that holds its last state, with a guard of its own: armed only when the guard holds what
// makes it safe, and driven only as long as the guard hears the beats.
#ifndef DRYCRANK_IO_GUARDED_OUTPUT_H_
#define DRYCRANK_IO_GUARDED_OUTPUT_H_

#include <memory>
#include <optional>
#include <string>

#include "io/guard.h"
#include "output/holding_output.h"

namespace drycrank::io {

class GuardedOutput : public output::Output {
 public:
  explicit GuardedOutput(std::unique_ptr<output::HoldingOutput> held,
                         std::string program = Guard::Program(),
                         std::chrono::milliseconds limit = Guard::kLimit);
  ~GuardedOutput() override;

  std::string Description() const override { return held_->Description(); }
  std::span<const output::Ability> abilities() const override { return held_->abilities(); }
  std::string Open() override;
  std::string Arm() override;
  TimeNs WantsAheadNs() const override { return held_->WantsAheadNs(); }
  void Give(const output::Given& given) override;
  void Beat(TimeNs now_ns) override;
  void Disarm() override;
  std::string failure() const override;
  std::string Report() const override { return held_->Report(); }
  std::optional<output::Steps> StepsOf(int channel) const override {
    return held_->StepsOf(channel);
  }

 private:
  std::unique_ptr<output::HoldingOutput> held_;
  std::string program_;
  std::chrono::milliseconds limit_;
  std::unique_ptr<Guard> guard_;
  bool armed_ = false;
  std::string failure_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_GUARDED_OUTPUT_H_

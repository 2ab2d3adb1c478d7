// SPDX-License-Identifier: Apache-2.0
//
// A programmable supply in the place of a battery, by SCPI on TCP (protocol/scpi.h). Armed it is told its
// current limit first, then its volts, then to switch on; each is asked back. Disarmed it is off, and it is asked whether
// it is: one that says anything else failed, and its guard tries too. It holds what it
// was told, so it needs a guard.
#ifndef DRYCRANK_IO_SUPPLY_OUTPUT_H_
#define DRYCRANK_IO_SUPPLY_OUTPUT_H_

#include <chrono>
#include <string>
#include <vector>

#include "io/text_line.h"
#include "output/held_abilities.h"
#include "output/holding_output.h"

namespace drycrank::io {

struct SupplyAddress {
  std::string host;
  int port = 5025;  // of raw SCPI, by common practice, no source
};

class SupplyOutput : public output::HoldingOutput {
 public:
  static constexpr std::chrono::milliseconds kPatience{400};
  // An instrument takes its time: its guard has patience for a whole Arm. A kill is noticed at once all the same.
  static constexpr std::chrono::milliseconds kGuardLimit{2000};
  static constexpr TimeNs kLookNs = 500 * kNsPerMs;  // between two looks at its current

  // `first_v`: what it gives when it is armed, until it is given another.
  SupplyOutput(SupplyAddress address, double first_v, double limit_a,
               std::chrono::milliseconds patience = kPatience);

  std::string Description() const override;
  std::span<const output::Ability> abilities() const override {
    return output::kSupplyAbilities;
  }
  std::vector<output::SafeSetting> SafeSettings() const override;
  // Asks who it is, and that its output is off.
  std::string Open() override;
  std::string Arm() override;
  void Give(const output::Given& given) override;
  void Beat(TimeNs now_ns) override;
  void Disarm() override;
  std::string failure() const override { return failure_; }
  std::string Report() const override { return Measured(); }

  // "13.79 V, 0.42 A (most 0.61 A)"; empty: not measured yet.
  std::string Measured() const;

 private:
  std::string Order(const std::string& command);
  std::string SwitchOff();
  std::string LookAtCurrent();
  void Fail(std::string why);

  SupplyAddress address_;
  double volts_, limit_a_;
  std::chrono::milliseconds patience_;
  TextLine line_;
  std::string identity_;
  bool armed_ = false, measured_ = false;
  double measured_v_ = 0, measured_a_ = 0, most_a_ = 0;
  TimeNs looked_ns_ = 0;
  std::string failure_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_SUPPLY_OUTPUT_H_

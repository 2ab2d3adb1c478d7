// SPDX-License-Identifier: Apache-2.0
//
// Switches and relays on the lines of a GPIO chip. A line says whether a switch is closed, or whether a
// sensor's transistor conducts; what stands between line and harness is a relay, an optocoupler or
// an open drain, for a line itself is one of 3.3 V (hw-notes/slow-outputs.md).
//
// Open looks at the lines and takes none; Arm takes them, at what is safe. They are released with Disarm.
#ifndef DRYCRANK_IO_LINE_OUTPUT_H_
#define DRYCRANK_IO_LINE_OUTPUT_H_

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "io/gpio_lines.h"
#include "output/held_abilities.h"
#include "output/holding_output.h"

namespace drycrank::io {

struct LineChannel {
  int line = 0;
  bool active_low = false;  // closed, or conducting, when the line is low
  bool safe_closed = false;
};

class LineOutput : public output::HoldingOutput {
 public:
  // `stop_line`: an input; while it is not as at rest (high), nothing is driven.
  LineOutput(std::string chip, std::vector<LineChannel> channels,
             std::optional<int> stop_line = std::nullopt);

  std::string Description() const override;
  std::span<const output::Ability> abilities() const override {
    return output::kLineAbilities;
  }
  std::vector<output::SafeSetting> SafeSettings() const override;
  std::string Open() override;
  std::string Arm() override;
  void Give(const output::Given& given) override;
  void Beat(TimeNs now_ns) override;
  void Disarm() override;
  std::string failure() const override { return failure_; }

 private:
  std::uint64_t SafeLevels() const;
  std::string TakeStopLine();
  void Fail(int errno_value, int line);

  std::string wanted_chip_;
  std::vector<LineChannel> channels_;
  std::optional<int> stop_line_;
  GpioChip chip_;
  Socket device_;
  std::optional<GpioLines> lines_, stop_;
  std::string failure_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_LINE_OUTPUT_H_

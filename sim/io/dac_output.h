// SPDX-License-Identifier: Apache-2.0
//
// DACs and digital potentiometers of the kernel in the place of sensors (io/iio_output.h): a voltage, a
// share of the controller's supply, or a resistance. Open measures nothing and writes nothing; Arm puts
// each channel to what is safe and wakes it up.
#ifndef DRYCRANK_IO_DAC_OUTPUT_H_
#define DRYCRANK_IO_DAC_OUTPUT_H_

#include <optional>
#include <string>
#include <vector>

#include "io/iio_output.h"
#include "output/held_abilities.h"
#include "output/holding_output.h"

namespace drycrank::io {

struct DacChannel {
  std::string device;   // folder, name or label
  std::string channel;  // "voltage0"
  // What it gives at its terminals at the lowest and the highest count, where it was measured.
  std::optional<output::Steps> measured = std::nullopt;
  double gain = 1;        // of an amplifier behind it
  double supply_v = 5;    // a share is one of this; what the controller really gives is measured
  // V or ohm at the terminals; nothing: of a DAC what is nearest to 0, of a potentiometer the highest.
  std::optional<double> safe_value = std::nullopt;
};

class DacOutput : public output::HoldingOutput {
 public:
  enum class Kind { kDac, kPotentiometer };
  DacOutput(Kind kind, std::vector<DacChannel> channels, std::string devices = kIioDevices);

  std::string Description() const override;
  std::span<const output::Ability> abilities() const override;
  std::vector<output::SafeSetting> SafeSettings() const override;
  std::string Open() override;
  std::string Arm() override;
  void Give(const output::Given& given) override;
  void Beat(TimeNs /*now_ns*/) override {}
  void Disarm() override;
  std::string failure() const override { return failure_; }

  std::optional<output::Steps> StepsOf(int channel) const override;

 private:
  std::string OpenChannel(const DacChannel& channel);
  output::Steps StepsAt(int channel) const;
  // Of what is open.
  double SafeValue(std::size_t channel) const;
  std::string WhyNotSafe(int channel) const;
  void Put(std::size_t channel, double value);

  Kind kind_;
  std::vector<DacChannel> channels_;
  std::string devices_;
  std::vector<IioOutput> outputs_;
  bool armed_ = false;
  std::string failure_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_DAC_OUTPUT_H_

// SPDX-License-Identifier: Apache-2.0
//
// One channel of a DAC or a digital potentiometer that the kernel's industrial I/O drives, by its files
// (Documentation/ABI/testing/sysfs-bus-iio):
//
//   /sys/bus/iio/devices/iio:device0/name                   what it is called
//                                    out_voltage0_raw        the count
//                                    out_voltage0_scale      mV a count; mA of a current, ohm of a resistance
//                                    out_voltage_scale         or of all channels
//                                    ..._offset              counts that are added before
//                                    ..._raw_available       "[least step most]"
//                                    ..._powerdown           1: off, whatever the count
//
// A driver that states no scale has to be measured: then value and count at both ends come from outside.
#ifndef DRYCRANK_IO_IIO_OUTPUT_H_
#define DRYCRANK_IO_IIO_OUTPUT_H_

#include <optional>
#include <string>
#include <vector>

#include "io/socket.h"
#include "output/safe_setting.h"
#include "output/steps.h"

namespace drycrank::io {

inline constexpr const char* kIioDevices = "/sys/bus/iio/devices";

// The folder of a device: given itself, or found by name or label. One of the two is empty.
struct [[nodiscard]] FoundDevice {
  std::string folder, error;
};
FoundDevice FindIioDevice(const std::string& folder_or_name,
                          const std::string& devices = kIioDevices);
// "voltage0", "resistance1": what it can give.
std::vector<std::string> IioChannels(const std::string& folder);

class IioOutput {
 public:
  // `measured`: instead of what the kernel states, in V, A or ohm. Writes nothing yet.
  struct [[nodiscard]] Opened;
  static Opened Open(const std::string& folder, const std::string& channel,
                     std::optional<output::Steps> measured);

  const output::Steps& steps() const { return steps_; }
  // What puts it there without us.
  output::SafeSetting At(double value) const;
  // The nearest count; allocates nothing. 0, or errno. It waits for the driver.
  [[nodiscard]] int Put(double value);
  // Out of its power-down, if it has one, at a count that was put before.
  [[nodiscard]] int PowerUp();

 private:
  std::string raw_path_, power_down_path_;
  output::Steps steps_;
  Socket raw_;
};
struct IioOutput::Opened {
  IioOutput output;
  std::string error;  // empty, or why not and what helps
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_IIO_OUTPUT_H_

// SPDX-License-Identifier: Apache-2.0
#include "tools/utc_minute.h"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <chrono>

#include "io/real_clock.h"

namespace drycrank::tools {

std::string UtcMinute() {
  io::RealClock clock;
  clock.Start();
  const std::chrono::sys_time<std::chrono::nanoseconds> now{
      std::chrono::nanoseconds(clock.OriginNs())};
  return fmt::format("{:%Y-%m-%d %H:%M} UTC",
                     std::chrono::time_point_cast<std::chrono::seconds>(now));
}

}  // namespace drycrank::tools

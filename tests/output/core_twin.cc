// SPDX-License-Identifier: Apache-2.0
#include "tests/output/core_twin.h"

#include <algorithm>

#include "core/board.h"

namespace drycrank {
namespace {
output::CoreTwin* g_twin = nullptr;
}

namespace core {
int64_t BoardNow() { return g_twin->now; }
void BoardSet(int32_t channel, bool level, int64_t at) {
  g_twin->pins.push_back({at, channel, level});
}
void BoardSafe(uint32_t levels) {
  std::erase_if(g_twin->pins, [](const Pulse& pulse) { return pulse.t > g_twin->now; });
  g_twin->safe.push_back(levels);
}
int BoardRead() {
  if (g_twin->to_core.empty()) return -1;
  const int byte = g_twin->to_core.front();
  g_twin->to_core.pop_front();
  return byte;
}
void BoardWrite(uint8_t byte) { g_twin->to_pc.push_back(byte); }
}  // namespace core

namespace output {

CoreTwin::CoreTwin() {
  g_twin = this;
  node_.Run();
}
CoreTwin::~CoreTwin() { g_twin = nullptr; }

void CoreTwin::Pass(TimeNs ns) {
  constexpr TimeNs kStep = kNsPerMs / 10;
  for (const TimeNs end = now + ns; now < end; now += std::min(kStep, end - now)) {
    if (!dead) node_.Run();
  }
  if (!dead) node_.Run();
}

std::vector<core::Pulse> CoreTwin::Shown(int channel) const {
  std::vector<core::Pulse> shown;
  for (const core::Pulse& pulse : pins) {
    if (pulse.channel == channel && pulse.t <= now) shown.push_back(pulse);
  }
  return shown;
}

int TwinPort::Read(std::span<std::uint8_t> bytes, TimeNs wait_ns) {
  if (twin_.cut_off) return -1;
  const auto there = [&] {
    while (!answers_.empty() && answers_.front().at <= twin_.now) answers_.pop_front();
    return answers_.empty() ? twin_.to_pc.size() : answers_.front().begin - read_;
  };
  if (there() == 0) twin_.Pass(wait_ns);
  if (twin_.mute) twin_.to_pc.clear();
  const std::size_t count = std::min(bytes.size(), std::min(there(), twin_.to_pc.size()));
  std::copy_n(twin_.to_pc.begin(), count, bytes.begin());
  twin_.to_pc.erase(twin_.to_pc.begin(), twin_.to_pc.begin() + static_cast<std::ptrdiff_t>(count));
  read_ += count;
  return static_cast<int>(count);
}

bool TwinPort::Write(std::span<const std::uint8_t> bytes) {
  if (twin_.cut_off) return false;
  if (twin_.now < twin_.deaf_until) return true;
  core::CoreFrame frame;
  for (const std::uint8_t byte : bytes) {
    if (reader_.Take(byte, frame) && frame.id >= 0x700) twin_.beats.push_back(twin_.now);
  }
  twin_.to_core.insert(twin_.to_core.end(), bytes.begin(), bytes.end());
  const std::size_t before = read_ + twin_.to_pc.size();
  twin_.Pass(0);
  if (twin_.answers_after > 0 && read_ + twin_.to_pc.size() > before) {
    answers_.push_back({twin_.now + twin_.answers_after, before});
  }
  return true;
}

}  // namespace output
}  // namespace drycrank

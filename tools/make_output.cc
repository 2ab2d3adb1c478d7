// SPDX-License-Identifier: Apache-2.0
#include "tools/make_output.h"

#include <fmt/format.h>

#include <cstdio>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "io/alsa_port.h"
#include "io/can_node_output.h"
#include "io/dac_output.h"
#include "io/guarded_output.h"
#include "io/interface.h"
#include "io/line_output.h"
#include "io/real_clock.h"
#include "io/serial_port.h"
#include "io/supply_output.h"
#include "output/core_link.h"
#include "output/sound_output.h"
#include "tools/commands.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

namespace out = profile::out;

struct Whole {
  const profile::Bench& bench;
  const profile::Scenario& scenario;
};

template <class Held, class... Arguments>
MadeOutput Guarded(std::chrono::milliseconds limit, Arguments&&... arguments) {
  return {std::make_unique<io::GuardedOutput>(
      std::make_unique<Held>(std::forward<Arguments>(arguments)...), io::Guard::Program(), limit)};
}

std::optional<output::Steps> Measured(const std::optional<double>& at_lowest,
                                      const std::optional<double>& at_highest, int lowest_count,
                                      const std::optional<int>& highest_count) {
  if (!at_lowest || !at_highest || !highest_count) return std::nullopt;
  return output::StepsBetween(*at_lowest, *at_highest, lowest_count, *highest_count);
}

void Say(const std::string& text) { fmt::print(stderr, "{}\n", text); }

// One for each kind.
MadeOutput Make(const Whole& whole, const out::Core& core) {
  return {std::make_unique<output::CoreLink>(std::make_unique<io::SerialPort>(core.line, core.baud),
                                             whole.bench, core, whole.scenario.start_deg,
                                             output::WhoWaits{Say, StopAsked})};
}

MadeOutput Make(const Whole&, const out::Sound& sound) {
  return {
      std::make_unique<output::SoundOutput>(sound, std::make_unique<io::AlsaPort>(sound.device))};
}

MadeOutput Make(const Whole&, const out::Gpio& gpio) {
  std::vector<io::LineChannel> channels;
  for (const out::Gpio::Channel& at : gpio.channels) {
    channels.push_back({.line = at.line,
                        .active_low = at.active_low,
                        .safe_closed = at.safe == out::Contact::kClosed});
  }
  return Guarded<io::LineOutput>(io::Guard::kLimit, gpio.chip, std::move(channels), gpio.stop_line);
}

MadeOutput Make(const Whole&, const out::Dac& dac) {
  std::vector<io::DacChannel> channels;
  for (const out::Dac::Channel& at : dac.channels) {
    channels.push_back(
        {.device = at.device,
         .channel = at.channel,
         .measured = Measured(at.at_lowest_v, at.at_highest_v, at.lowest_count, at.highest_count),
         .gain = at.gain,
         .supply_v = at.supply_v,
         .safe_value = at.safe_v});
  }
  return Guarded<io::DacOutput>(io::Guard::kLimit, io::DacOutput::Kind::kDac, std::move(channels));
}

MadeOutput Make(const Whole&, const out::Potentiometer& potentiometer) {
  std::vector<io::DacChannel> channels;
  for (const out::Potentiometer::Channel& at : potentiometer.channels) {
    channels.push_back({.device = at.device,
                        .channel = at.channel,
                        .measured = Measured(at.at_lowest_ohm, at.at_highest_ohm, at.lowest_count,
                                             at.highest_count),
                        .safe_value = at.safe_ohm});
  }
  return Guarded<io::DacOutput>(io::Guard::kLimit, io::DacOutput::Kind::kPotentiometer,
                                std::move(channels));
}

// REQUIRES: it has its one channel, a supply's (profile/load_slow_outputs.cc, run/output_wishes.cc).
MadeOutput Make(const Whole& whole, const out::PowerSupply& supply) {
  const out::PowerSupply::Channel& at = supply.channels.front();
  return Guarded<io::SupplyOutput>(io::SupplyOutput::kGuardLimit,
                                   io::SupplyAddress{supply.host, supply.port},
                                   Nth(whole.bench.supplies, at.index).voltage_v, at.limit_a);
}

// It guards itself.
MadeOutput Make(const Whole&, const out::CanNode& node) {
  std::vector<io::CanNodeChannel> channels;
  for (const out::CanNode::Channel& at : node.channels) {
    io::CanNodeChannel channel{.output = at.output ? *at.output : *at.analogue,
                               .supply_v = at.supply_v,
                               .safe_closed = at.safe == out::Contact::kClosed,
                               .safe_v = at.safe_v};
    if (at.analogue) {
      channel.volts = output::StepsBetween(at.at_lowest_v, *at.at_highest_v, at.lowest_count,
                                           at.highest_count);
    }
    channels.push_back(channel);
  }
  auto clock = std::make_unique<io::RealClock>();
  io::OpenedBus opened =
      io::OpenBus(node.bus, *clock, 0);
  if (!opened.error.empty()) return {nullptr, std::move(opened.error)};
  return {std::make_unique<io::CanNodeOutput>(std::move(clock), std::move(opened.bus), node.node,
                                              node.own_node, std::move(channels))};
}

}  // namespace

MadeOutput MakeOutput(const profile::Bench& bench, const profile::Scenario& scenario,
                      const profile::OutputDevice& device) {
  return std::visit([&](const auto& kind) { return Make(Whole{bench, scenario}, kind); },
                    device.kind);
}

}  // namespace drycrank::tools

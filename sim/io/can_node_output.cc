// SPDX-License-Identifier: Apache-2.0
#include "io/can_node_output.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "types/nth.h"

namespace drycrank::io {
namespace {

using protocol::IoMaster;

std::int16_t Count(const CanNodeChannel& channel, double volts) {
  return static_cast<std::int16_t>(channel.volts->Nearest(volts));
}

protocol::IoNodeSetup SetupOf(int node, int own_node, const std::vector<CanNodeChannel>& channels) {
  protocol::IoNodeSetup setup{.node = static_cast<std::uint8_t>(node),
                              .own_node = static_cast<std::uint8_t>(own_node)};
  for (const CanNodeChannel& channel : channels) {
    const auto at = AsSize(channel.output);
    if (channel.volts) {
      setup.safe_values.resize(std::max(setup.safe_values.size(), at + 1));
      setup.safe_values[at] = Count(channel, channel.safe_v);
    } else {
      setup.safe_bytes.resize(std::max(setup.safe_bytes.size(), at / 8 + 1));
      if (channel.safe_closed) {
        setup.safe_bytes[at / 8] =
            static_cast<std::uint8_t>(setup.safe_bytes[at / 8] | 1 << (at % 8));
      }
    }
  }
  return setup;
}

}  // namespace

CanNodeOutput::CanNodeOutput(std::unique_ptr<Clock> clock, std::unique_ptr<bus::CanBus> bus,
                             int node, int own_node, std::vector<CanNodeChannel> channels)
    : clock_(std::move(clock)),
      bus_(std::move(bus)),
      node_(node),
      channels_(std::move(channels)),
      master_(SetupOf(node, own_node, channels_)) {}

std::string CanNodeOutput::Description() const {
  return fmt::format("I/O node {} on {}", node_, bus_->Description());
}

// Nothing is sent before it is armed: a reset of the node switches its outputs off.
std::string CanNodeOutput::Open() { return ""; }

std::string CanNodeOutput::Arm() {
  failure_.clear();
  bus_->Arm();
  armed_ = true;
  master_.Start(clock_->Now());
  while (failure_.empty() && master_.state() != IoMaster::State::kRunning) {
    Look();
    clock_->WaitUntil(clock_->Now() + kNsPerMs, {});
  }
  return failure_;
}

void CanNodeOutput::Give(const output::Given& given) {
  const auto* source = std::get_if<Source>(&given.state);
  if (!armed_ || source == nullptr) return;
  const CanNodeChannel& channel = Nth(channels_, given.channel);
  const TimeNs now_ns = clock_->Now();
  switch (source->kind) {
    case SourceKind::kSwitched:
      if (!channel.volts) master_.SetOutput(now_ns, channel.output, source->value != 0);
      break;
    case SourceKind::kResistance:
      if (!channel.volts) master_.SetOutput(now_ns, channel.output, source->value < output::kOpenSwitchOhm);
      break;
    case SourceKind::kVoltage:
      if (channel.volts) master_.SetAnalogue(now_ns, channel.output, Count(channel, source->value));
      break;
    case SourceKind::kSupplyFraction:
      if (channel.volts) {
        master_.SetAnalogue(now_ns, channel.output,
                            Count(channel, source->value * channel.supply_v));
      }
      break;
    case SourceKind::kPulses:
    case SourceKind::kEmf:
      break;
  }
  Look();
}

std::optional<output::Steps> CanNodeOutput::StepsOf(int channel) const {
  return Nth(channels_, channel).volts;
}

void CanNodeOutput::Beat(TimeNs /*now_ns*/) {
  if (armed_) Look();
}

// Its bus says what is wrong with itself by events, which are passed over: what counts is the node.
void CanNodeOutput::Carry() {
  while (bus_->NextEvent()) {
  }
  while (const std::optional<bus::TimedFrame> frame = bus_->Receive()) master_.OnFrame(*frame);
  bus::TimedFrame out;
  while (master_.NextDue() <= clock_->Now() && master_.TakeDue(clock_->Now(), out)) {
    bus_->Send(out.frame);
  }
}

void CanNodeOutput::Look() {
  Carry();
  for (const protocol::Emergency& told : master_.TakeEmergencies()) told_ = InWords(told);
  if (master_.state() != IoMaster::State::kFailed) return;
  failure_ = master_.failure();
  if (!told_.empty()) failure_ += "; it last told " + told_;
  armed_ = false;
}

void CanNodeOutput::Disarm() {
  if (!std::exchange(armed_, false)) return;
  master_.Stop(clock_->Now());
  Carry();
}

}  // namespace drycrank::io

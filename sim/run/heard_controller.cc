// SPDX-License-Identifier: Apache-2.0
#include "run/heard_controller.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "run/heard_wires.h"
#include "types/nth.h"

namespace drycrank::run {

double OpenPinV(const profile::InputCircuit& input) {
  return input.pull_up_ohm > 0 ? input.pull_up_v : 0;
}

HeardController::HeardController(const profile::Bench& bench, const Hearing& hearing,
                                 std::vector<bus::CanBus*> interfaces)
    : hearing_(hearing),
      interfaces_(std::move(interfaces)),
      controller_(bench),
      node_(
          bench, profile::Sender::kController,
          [this](std::string_view name) { return controller_.ValueIndex(name); },
          [this](int index, TimeNs /*t_ns*/) { return controller_.Value(index); }),
      sample_ns_(FromMs(bench.controller->sample_ms)),
      input_v_(hearing.input_v),
      late_ns_(bench.buses.size(), 0) {
  talkers_.AddController(*bench.controller, controller_);
  for (const Ear& ear : hearing_.ears) Nth(input_v_, ear.input) = ear.zero_v;
  for (const auto& reference : bench.controller->references) {
    reference_v_.push_back(reference.voltage_v);
  }
}

TimeNs HeardController::TimeOf(std::int64_t frame) const {
  return begin_ns_ + std::llround(static_cast<double>(frame) * 1e9 / hearing_.rate_hz);
}

void HeardController::Hear(std::span<const float> samples) {
  const auto channels = AsSize(hearing_.channels);
  for (std::size_t at = 0; at + channels <= samples.size(); at += channels) {
    HearFrame(samples.data() + at, now_ns());
    ++frame_;
  }
}

void HeardController::SkipTo(TimeNs t_ns) {
  begin_ns_ = t_ns;
  frame_ = 0;
  has_last_ = false;
}

void HeardController::HearFrame(const float* samples, TimeNs t_ns) {
  const TimeNs from_ns = has_last_ ? last_ns_ : t_ns;
  if (hearing_.wires != nullptr) {
    hearing_.wires->Hear(samples, from_ns, t_ns, [this](int input, const Wave& piece) {
      controller_.OnWave(input, piece);
    });
  } else {
    HearEars(samples, from_ns, t_ns);
  }
  has_last_ = true;
  last_ns_ = t_ns;
  DoDue(t_ns);
}

void HeardController::HearEars(const float* samples, TimeNs from_ns, TimeNs t_ns) {
  for (const Ear& ear : hearing_.ears) {
    const double volts = ear.zero_v + ear.full_scale_v * static_cast<double>(samples[ear.channel]);
    double& input_v = Nth(input_v_, ear.input);
    controller_.OnWave(ear.input, {from_ns, t_ns, has_last_ ? input_v : volts, volts, 0});
    input_v = volts;
  }
}

TimeNs HeardController::NextDueNs() const {
  return std::min({next_sample_ns_, node_.NextDue(), talkers_.NextDue()});
}

void HeardController::DoDue(TimeNs t_ns) {
  for (TimeNs due_ns = NextDueNs(); due_ns <= t_ns; due_ns = NextDueNs()) {
    controller_.Advance(due_ns);
    if (next_sample_ns_ <= due_ns) Sample(due_ns);
    SendDue(due_ns);
  }
}

void HeardController::Sample(TimeNs t_ns) {
  if (const HeardWires* wires = hearing_.wires; wires != nullptr) {
    controller_.OnSample(t_ns, wires->input_v(), wires->SupplyV(), wires->reference_v());
  } else {
    controller_.OnSample(t_ns, input_v_, hearing_.supply_v, reference_v_);
  }
  (void)controller_.TakeEdges();
  (void)controller_.TakeOutputs();
  next_sample_ns_ += sample_ns_;
  if (!controller_.powered()) return;
  bus::TimedFrame frame;
  while (node_.TakeChanged(t_ns, frame)) Send(frame);
}

void HeardController::SendDue(TimeNs t_ns) {
  bus::TimedFrame frame;
  Origin origin = Origin::kController;
  while (node_.TakeDue(t_ns, late_ns_, frame) >= 0) Send(frame);
  while (talkers_.TakeDue(t_ns, frame, origin)) Send(frame);
}

void HeardController::Send(const bus::TimedFrame& frame) {
  bus::CanBus* to = Nth(interfaces_, frame.bus);
  if (to == nullptr || !controller_.powered() || !Carries(frame.bus)) return;
  ++(to->Send(frame.frame) ? sent_ : refused_);
}

bool HeardController::Carries(int bus) const {
  return hearing_.wires == nullptr || hearing_.wires->Carries(bus);
}

void HeardController::TakeFrames() {
  for (std::size_t b = 0; b < interfaces_.size(); ++b) {
    if (interfaces_[b] == nullptr) continue;
    while (auto frame = interfaces_[b]->Receive()) {
      frame->bus = static_cast<int>(b);
      frame->t_ns = now_ns();
      if (controller_.powered() && Carries(frame->bus)) talkers_.OnFrame(*frame, Origin::kOutside);
    }
    while (interfaces_[b]->NextEvent()) {
    }
  }
}

}  // namespace drycrank::run

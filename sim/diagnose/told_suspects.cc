// SPDX-License-Identifier: Apache-2.0
#include "diagnose/told_suspects.h"

#include <algorithm>
#include <cmath>
#include <variant>

#include "diagnose/suspects.h"
#include "profile/conductors.h"
#include "profile/fault_priors.h"
#include "profile/told_controller.h"
#include "profile/triggers.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Bench;
using profile::Fault;
using profile::TriggerChannel;

// As profiles/parts/wheels has them, and other common ones: common practice, no source.
constexpr const char* kWheels[] = {"60-2", "36-1", "36-2", "24-1", "24-2", "30-1",
                                   "30-2", "32-2", "12-1", "48-2", "58-2"};
constexpr double kMostOffDeg = 90;
constexpr double kLeastAdvanceDeg = -30, kMostAdvanceDeg = 90;
constexpr double kMostTrailingDeg = 60;  // on either side, as the key allows
constexpr double kEdgeOfACoil = 0.05;

template <class Value>
fault::Told Telling(Value fault::Told::*setting, const Value& value) {
  fault::Told told;
  told.*setting = value;
  return told;
}

class Builder {
 public:
  Builder(const Bench& bench, double prior) : bench_(bench), prior_(prior) {}

  std::vector<Hypothesis> Build() {
    const profile::Controller& controller = *bench_.controller;
    if (controller.decoder.firing_order.size() > 2) {
      Add(profile::kDecoderPlace,
          Telling(&fault::Told::firing_order, controller.decoder.firing_order), 1);
    }
    AddRange(profile::kDecoderPlace,
             Telling(&fault::Told::advance_deg, std::optional(controller.decoder.advance_deg)),
             kLeastAdvanceDeg, kMostAdvanceDeg);
    if (controller.decoder.trailing_deg) {
      AddRange(profile::kDecoderPlace,
               Telling(&fault::Told::trailing_deg, controller.decoder.trailing_deg),
               -kMostTrailingDeg, kMostTrailingDeg);
    }
    for (const TriggerChannel& channel : controller.triggers) Channel(channel);
    return std::move(all_);
  }

 private:
  Fault Make(const std::string& at, const fault::Told& told) const {
    Fault made;
    made.kind = told;
    made.at = at;
    made.name = at + " " + std::string(profile::SettingOf(made));
    return made;
  }
  void Add(const std::string& at, const fault::Told& told, double share) {
    all_.push_back({{Make(at, told)}, kToldWrong, share * prior_, Quantity::kNone, 0, 0, 0});
  }
  void AddRange(const std::string& at, const fault::Told& told, double low, double high) {
    Hypothesis h{{Make(at, told)}, kToldWrong, prior_, Quantity::kDeg, 0, low, high};
    all_.push_back(WithValue(h, low));
  }

  void Channel(const TriggerChannel& channel) {
    AddRange(channel.name, Telling(&fault::Told::offset_deg, std::optional(channel.offset_deg)),
             channel.offset_deg - kMostOffDeg, channel.offset_deg + kMostOffDeg);
    const bool coil = channel.conditioning == profile::Conditioning::kZeroCrossing;
    const auto other = channel.edge == profile::ActiveEdge::kRising ? profile::ActiveEdge::kFalling
                                                                    : profile::ActiveEdge::kRising;
    Add(channel.name, Telling(&fault::Told::edge, std::optional(other)), coil ? kEdgeOfACoil : 1);
    if (channel.shaft == profile::Shaft::kCrank) Wheels(channel);
  }

  // One setting, whichever it is.
  void Wheels(const TriggerChannel& channel) {
    for (const char* name : kWheels) {
      if (channel.wheel.name == name) continue;
      Add(channel.name, Telling(&fault::Told::wheel, std::string(name)),
          1.0 / static_cast<double>(std::size(kWheels)));
    }
  }

  const Bench& bench_;
  double prior_;
  std::vector<Hypothesis> all_;
};

std::string SignalOf(const profile::Pickup& pickup) {
  if (const auto* coil = std::get_if<profile::VariableReluctancePickup>(&pickup)) return coil->plus;
  return std::get<profile::HallPickup>(pickup).signal;
}

}  // namespace

std::vector<Hypothesis> ToldSuspects(const Bench& bench, std::span<const Hypothesis> suspects) {
  if (!bench.controller || suspects.empty()) return {};
  const double prior = profile::PriorOf(bench.fault_priors, "controller_told_wrong");
  return Builder(bench, PriorOfOne(bench, suspects) * prior).Build();
}

double PriorOfOne(const Bench& bench, std::span<const Hypothesis> suspects) {
  for (const Hypothesis& h : suspects) {
    if (h.kind == "wire open") return h.prior / profile::PriorOf(bench.fault_priors, "wire_open");
  }
  return suspects.empty() ? 0 : kPriorSingle / static_cast<double>(suspects.size());
}

std::string TriggerBehind(const Bench& bench, const TriggerChannel& channel) {
  for (const profile::Trigger& trigger : bench.triggers) {
    if (profile::AreJoined(bench, channel.terminal, SignalOf(trigger.pickup))) return trigger.name;
  }
  return "";
}

bool IsToldByAngle(const Hypothesis& hypothesis) {
  const std::string_view setting = profile::SettingOf(hypothesis.faults[0]);
  return !setting.empty() && setting != "edge" && setting != "wheel";
}

}  // namespace drycrank::diagnose

// SPDX-License-Identifier: Apache-2.0
#include "profile/told_controller.h"

#include <charconv>
#include <limits>

#include "types/limits.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

constexpr double kToothFraction = 0.5;

std::optional<int> WholeIn(std::string_view text) {
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return value;
}

void TellChannel(const fault::Told& told, TriggerChannel& channel) {
  if (told.offset_deg) channel.offset_deg = *told.offset_deg;
  if (told.edge) channel.edge = *told.edge;
  if (told.wheel.empty()) return;
  if (auto wheel = WheelInShort(told.wheel)) channel.wheel = std::move(*wheel);
}

}  // namespace

std::optional<Wheel> WheelInShort(std::string_view text) {
  const auto dash = text.find('-');
  if (dash == std::string_view::npos) return std::nullopt;
  const auto places = WholeIn(text.substr(0, dash)), missing = WholeIn(text.substr(dash + 1));
  if (!places || !missing || *places < 2 || *places > static_cast<int>(kMaxTeeth)) {
    return std::nullopt;
  }
  if (*missing < 1 || *missing >= *places) return std::nullopt;
  Wheel wheel{std::string(text), {}};
  const double pitch_deg = 360.0 / *places;
  for (int k = 0; k < *places - *missing; ++k) {
    wheel.teeth.push_back({pitch_deg * k, pitch_deg * (k + kToothFraction)});
  }
  return wheel;
}

void Tell(const Fault& fault, Controller& controller) {
  const auto* told = fault.As<fault::Told>();
  if (told == nullptr) return;
  if (told->firing_order.size() == controller.decoder.firing_order.size()) {
    controller.decoder.firing_order = told->firing_order;
  }
  if (told->advance_deg) controller.decoder.advance_deg = *told->advance_deg;
  if (told->trailing_deg) controller.decoder.trailing_deg = *told->trailing_deg;
  const int channel = IndexOf(controller.triggers, fault.at);
  if (channel >= 0) TellChannel(*told, Nth(controller.triggers, channel));
}

void Tell(const Fault& fault, Protection& protection) {
  const auto* told = fault.As<fault::Told>();
  if (told == nullptr || fault.at != protection.name) return;
  if (told->delay_ms) protection.delay_ms = *told->delay_ms;
  if (told->limit) protection.limit = *told->limit;
  if (told->acts == fault::ToldToAct::kNever) {
    const double nowhere = std::numeric_limits<double>::infinity();
    protection.limit = protection.side == LimitSide::kAbove ? nowhere : -nowhere;
  }
  if (told->acts == fault::ToldToAct::kOtherWay) {
    const bool above = protection.side == LimitSide::kAbove;
    protection.side = above ? LimitSide::kBelow : LimitSide::kAbove;
    protection.release = protection.limit;
  }
  if (protection.IsBeyond(protection.release, protection.limit)) {
    protection.release = protection.limit;
  }
}

bool IsOfProtection(std::string_view setting) {
  return setting == "limit" || setting == "delay_ms" || setting == "acts";
}

std::string_view SettingOf(const Fault& fault) {
  const auto* told = fault.As<fault::Told>();
  return told == nullptr ? "" : SettingOf(*told);
}

std::string_view SettingOf(const fault::Told& told) {
  if (!told.firing_order.empty()) return "firing_order";
  if (told.advance_deg) return "advance_deg";
  if (told.trailing_deg) return "trailing_deg";
  if (told.offset_deg) return "offset_deg";
  if (told.edge) return "edge";
  if (!told.wheel.empty()) return "wheel";
  if (told.limit) return "limit";
  if (told.delay_ms) return "delay_ms";
  return told.acts ? "acts" : "";
}

}  // namespace drycrank::profile

// SPDX-License-Identifier: Apache-2.0
#include "diagnose/watch_key.h"

#include <array>

#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

// Several outputs at once move an input by less than so often what they do one by one.
constexpr double kTogether = 2;
constexpr int kNotTold = -1'000'000;

// What tells two faults of one kind at a trigger apart.
std::array<double, 3> SizesOf(const profile::Fault& fault) {
  namespace kinds = profile::fault;
  if (const auto* k = fault.As<kinds::ExtraTooth>()) return {k->begin_deg, k->end_deg, 0};
  if (const auto* k = fault.As<kinds::WheelRunout>()) return {k->deg, k->at_deg, k->swing};
  if (const auto* k = fault.As<kinds::ElectricalNoise>())
    return {k->rate_hz, k->width_us, k->volts};
  if (const auto* k = fault.As<kinds::PickupStrength>()) return {k->factor, 0, 0};
  if (const auto* k = fault.As<kinds::CamStuck>()) return {k->deg, 0, 0};
  if (const auto* k = fault.As<kinds::CamSlow>()) return {k->deg_per_s, 0, 0};
  return {0, 0, 0};
}

// Settings that the position depends on.
void AddTold(const profile::Fault& fault, const profile::fault::Told& told,
             const profile::Bench& bench, std::vector<int>& key) {
  const int channel = profile::IndexOf(bench.controller->triggers, fault.at);
  if (channel < 0) return;
  key.insert(key.end(), {static_cast<int>(fault.kind.index()), channel,
                         Rounded(told.offset_deg.value_or(kNotTold), 0.01),
                         told.edge ? static_cast<int>(*told.edge) : -1});
  key.insert(key.end(), told.wheel.begin(), told.wheel.end());
}

}  // namespace

bool IsFelt(const Reach& reach, const Electrical& electrical, int input) {
  return Rounded(Nth(reach.on_v, input) - Nth(electrical.input_v, input), kKeyV) != 0;
}

int SideOf(const profile::TriggerChannel& channel, double v) {
  return v < channel.low_v ? 0 : v > channel.high_v ? 2 : 1;
}

bool HasNoEdges(const profile::TriggerChannel& channel, int input, const Electrical& electrical) {
  const double off_v = Nth(electrical.input_v, input);
  double down_v = 0, up_v = 0;
  int switching = 0;
  for (const Reach& reach : electrical.reaches) {
    if (reach.coil && Rounded(Nth(reach.gain, input), kKeyGain) != 0) return false;
    if (reach.coil || !IsFelt(reach, electrical, input)) continue;
    const double step_v = Nth(reach.on_v, input) - off_v;
    (step_v < 0 ? down_v : up_v) += step_v;
    ++switching;
  }
  const double room = switching > 1 ? kTogether : 1;
  return SideOf(channel, off_v + room * down_v) == SideOf(channel, off_v + room * up_v);
}

void AddFault(const profile::Fault& fault, const profile::Bench& bench, bool reads_tables,
              std::vector<int>& key) {
  if (const auto* told = fault.As<profile::fault::Told>()) return AddTold(fault, *told, bench, key);
  const auto* late = fault.As<profile::fault::WheelOffset>();
  const auto* gone = fault.As<profile::fault::ToothMissing>();
  const auto* table = fault.As<profile::fault::Calibration>();
  const int trigger = profile::IndexOf(bench.triggers, fault.at);
  if (trigger < 0 && (!table || !reads_tables)) return;
  const auto [first, second, third] = SizesOf(fault);
  key.insert(key.end(),
             {static_cast<int>(fault.kind.index()), trigger, Rounded(first, 0.01),
              Rounded(second, 0.01), Rounded(third, 0.001), Rounded(late ? late->deg : 0, 0.01),
              gone ? gone->tooth : 0, Rounded(table ? table->gain : 1, 1e-3),
              Rounded(table ? table->value : 0, 1e-3)});
}

}  // namespace drycrank::diagnose

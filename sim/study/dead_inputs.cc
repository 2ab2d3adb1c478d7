// SPDX-License-Identifier: Apache-2.0
#include "study/dead_inputs.h"

#include <algorithm>
#include <cmath>
#include <variant>

#include "profile/triggers.h"
#include "standin/controller.h"
#include "standin/conversion.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using diagnose::Prediction;

constexpr double kSurely = 2;         // times the swing that is reckoned with
constexpr double kFeltV = 0.02;       // less is no swing for any comparator
constexpr double kSilentGain = 1e-3;  // of a coil's EMF at a comparator with thresholds

double PeakV(const profile::Bench& bench, int device, double engine_rpm) {
  const auto* coil =
      std::get_if<profile::VariableReluctancePickup>(&Nth(bench.triggers, device).pickup);
  return coil == nullptr ? 0 : coil->peak_v * engine_rpm / std::max(1.0, coil->peak_at_rpm);
}

bool Crosses(const profile::TriggerChannel& channel, double a, double b) {
  if (channel.conditioning == profile::Conditioning::kZeroCrossing) return std::abs(a - b) > kFeltV;
  return std::max(a, b) >= channel.high_v && std::min(a, b) <= channel.low_v;
}

bool Stirs(const profile::Bench& bench, const profile::TriggerChannel& channel, int input,
           const diagnose::Reach& reach, const diagnose::Electrical& electrical, double rpm) {
  if (!reach.coil) {
    return Crosses(channel, Nth(reach.on_v, input), Nth(electrical.input_v, input));
  }
  const double gain = std::abs(Nth(reach.gain, input));
  if (channel.conditioning == profile::Conditioning::kThreshold) return gain > kSilentGain;
  return kSurely * gain * PeakV(bench, reach.device, rpm) >= channel.arm_v;
}

bool IsDead(const profile::Bench& bench, const profile::TriggerChannel& channel,
            const diagnose::Electrical& electrical, double rpm) {
  const int input = standin::InputIndex(*bench.controller, channel.terminal);
  if (input < 0) return true;
  return std::ranges::none_of(electrical.reaches, [&](const diagnose::Reach& reach) {
    return Stirs(bench, channel, input, reach, electrical, rpm);
  });
}

Prediction State(standin::SyncState state) { return Prediction::Value(static_cast<double>(state)); }

// Has a frame a way to say that the value was not measured?
bool SaysUnmeasured(const profile::Bench& bench, const diagnose::Reading& reading) {
  const profile::Signal& signal = profile::SignalAt(bench, reading.signal);
  return signal.valid_signal >= 0 || signal.not_available;
}

}  // namespace

std::vector<bool> DeadTriggers(const profile::Bench& bench, const diagnose::Electrical& electrical,
                               double engine_rpm) {
  std::vector<bool> dead;
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    dead.push_back(IsDead(bench, channel, electrical, engine_rpm));
  }
  return dead;
}

std::vector<diagnose::Change> ByDeadTriggers(const profile::Bench& bench,
                                             const std::vector<diagnose::Reading>& readings,
                                             const std::vector<bool>& dead) {
  const profile::Decoder& decoder = bench.controller->decoder;
  if (dead.empty()) return {};
  const bool crank = Nth(dead, decoder.primary);
  const int cam = profile::PhaseCam(*bench.controller);
  const bool phase = cam >= 0 && Nth(dead, cam) && decoder.strokes == 4 &&
      Nth(bench.controller->triggers, decoder.primary).shaft == profile::Shaft::kCrank;
  std::vector<diagnose::Change> changes;
  for (std::size_t r = 0; r < readings.size(); ++r) {
    const std::string& carries = readings[r].carries;
    const auto set = [&](const Prediction& p) { changes.push_back({static_cast<int>(r), p}); };
    if (carries == "sync_state" && (crank || phase)) {
      set(State(crank ? standin::SyncState::kStopped : standin::SyncState::kPositionKnown));
    } else if (carries == "engine_speed" && crank) {
      set(Prediction::Value(0));
    } else if (carries.starts_with("cam_angle.") && (crank || phase)) {
      set(SaysUnmeasured(bench, readings[r]) ? Prediction::None() : Prediction::Value(0));
    }
  }
  return changes;
}

}  // namespace drycrank::study

// SPDX-License-Identifier: Apache-2.0
#include "output/sound_output.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::output {
namespace {

constexpr Traits kAllTraits = {
    Trait::kRamp,  Trait::kSine,      Trait::kRipple,     Trait::kSwingBack, Trait::kAdvance,
    Trait::kSilent, Trait::kHeld,      Trait::kTeethGone, Trait::kTeethAdded, Trait::kLate,
    Trait::kRunout, Trait::kInverted, Trait::kStrength,   Trait::kNoise};

constexpr Ability kAbilities[] = {
    {.form = Form::kEmf, .least = -1000, .most = 1000, .traits = kAllTraits},
    {.form = Form::kSwitch, .least = 0, .most = 1, .traits = kAllTraits},
};

SoundFormat FormatOf(const SoundPlan& plan) {
  SoundFormat format{.rate_hz = plan.rate_hz, .latency_ns = FromSeconds(plan.latency_s)};
  format.channels.resize(AsSize(plan.outputs));
  for (const SoundPlan::Channel& channel : plan.channels) {
    Nth(format.channels, channel.output) = channel.card;
  }
  return format;
}

}  // namespace

const std::span<const Ability> kSoundAbilities = kAbilities;

Wave Limited(const Wave& wave, double most_v) {
  const double highest =
      std::max({std::abs(wave.begin_v), std::abs(wave.end_v), std::abs(wave.AtFraction(0.5))});
  if (highest <= most_v) return wave;
  const double share = most_v / highest;
  return {wave.begin_ns, wave.end_ns, wave.begin_v * share, wave.end_v * share,
          wave.peak_v * share};
}

SoundOutput::SoundOutput(const SoundPlan& plan, std::unique_ptr<PcmPort> port)
    : plan_(plan), port_(std::move(port)), feed_(*port_, FormatOf(plan)) {}

std::string SoundOutput::Description() const {
  return fmt::format("sound card '{}', {} outputs at {} Hz", plan_.device, plan_.outputs,
                     plan_.rate_hz);
}

void SoundOutput::Give(const Given& given) {
  const SoundPlan::Channel& channel = Nth(plan_.channels, given.channel);
  if (const Wave* emf = std::get_if<Wave>(&given.state)) {
    feed_.stream().Add(channel.output, Limited(*emf, channel.most_v));
  } else if (const Source* source = std::get_if<Source>(&given.state)) {
    const double volts = source->value != 0 ? channel.most_v : -channel.most_v;
    feed_.stream().Add(channel.output, {given.t_ns, kNever, volts, volts, 0});
  }
}

}  // namespace drycrank::output

// SPDX-License-Identifier: Apache-2.0
#include "output/sound_output.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::output {
namespace {

SoundFormat FormatOf(const profile::out::Sound& sound) {
  SoundFormat format{.rate_hz = sound.rate_hz, .latency_ns = FromMs(sound.latency_ms)};
  format.channels.resize(AsSize(sound.outputs));
  for (const profile::out::Sound::Channel& channel : sound.channels) {
    Nth(format.channels, channel.output - 1) = {.full_scale_v = channel.full_scale_v,
                                                .inverted = channel.inverted,
                                                .corner_hz = channel.corner_hz};
  }
  return format;
}

}  // namespace

Wave Limited(const Wave& wave, double most_v) {
  const double highest =
      std::max({std::abs(wave.begin_v), std::abs(wave.end_v), std::abs(wave.AtFraction(0.5))});
  if (highest <= most_v) return wave;
  const double share = most_v / highest;
  return {wave.begin_ns, wave.end_ns, wave.begin_v * share, wave.end_v * share,
          wave.peak_v * share};
}

SoundOutput::SoundOutput(const profile::out::Sound& sound, std::unique_ptr<PcmPort> port)
    : sound_(sound), port_(std::move(port)), feed_(*port_, FormatOf(sound)) {}

std::string SoundOutput::Description() const {
  return fmt::format("sound card '{}', {} outputs at {} Hz", sound_.device, sound_.outputs,
                     sound_.rate_hz);
}

void SoundOutput::Give(const Given& given) {
  if (given.channel < 0) return;
  const profile::out::Sound::Channel& channel = Nth(sound_.channels, given.channel);
  const int output = channel.output - 1;
  if (const Wave* emf = std::get_if<Wave>(&given.state)) {
    feed_.stream().Add(output, Limited(*emf, channel.most_v));
  } else if (const Source* source = std::get_if<Source>(&given.state)) {
    const double volts = source->value != 0 ? channel.most_v : -channel.most_v;
    feed_.stream().Add(output, {given.t_ns, kNever, volts, volts, 0});
  }
}

}  // namespace drycrank::output

// SPDX-License-Identifier: Apache-2.0
#include "profile/load_sound.h"

#include <fmt/format.h>

#include <algorithm>

#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

// A square wave has a mean, and a level of an engine that stands still lasts for ever: no number makes a
// capacitor hold it. So none leaves an output that has one.
constexpr double kShareOfSquare = 0.75;  // a step overshoots by a tenth

bool IsHall(const BenchContext& c, const OutputChannel& channel) {
  return channel.of == OutputChannel::Of::kTrigger &&
         std::holds_alternative<HallPickup>(Nth(c.bench.triggers, channel.index).pickup);
}

void CheckOutput(BenchContext& c, const out::Sound& sound, std::size_t at) {
  const out::Sound::Channel& channel = sound.channels[at];
  if (channel.output > sound.outputs) {
    c.problems.Add(channel.place,
                   fmt::format("output {} of a card of {}", channel.output, sound.outputs),
                   "write 'outputs' of the card, or another output");
  }
  for (std::size_t before = 0; before < at; ++before) {
    const out::Sound::Channel& other = sound.channels[before];
    if (channel.output == 0 || other.output != channel.output) continue;
    c.problems.Add(channel.place,
                   fmt::format("output {} is that of '{}'", channel.output, other.name),
                   "give each channel an output of its own");
  }
}

void CheckLevel(BenchContext& c, out::Sound::Channel& channel) {
  const bool is_hall = IsHall(c, channel);
  if (is_hall && channel.corner_hz > 0) {
    c.problems.Add(channel.place,
                   fmt::format("the square wave of {} does not pass the card's capacitor: a level "
                               "droops behind it",
                               InWords(channel)),
                   "take an output that is coupled to DC, 'corner_hz: 0', or a pin for it");
  }
  if (channel.most_v > channel.full_scale_v && channel.full_scale_v > 0) {
    c.problems.Add(channel.place,
                   fmt::format("'most_v' is {:g} V, full scale is {:g} V", channel.most_v,
                               channel.full_scale_v),
                   "write no more than full_scale_v");
  }
  if (channel.most_v == 0) channel.most_v = channel.full_scale_v * (is_hall ? kShareOfSquare : 1);
}

}  // namespace

void CheckSound(BenchContext& c, out::Sound& sound) {
  for (std::size_t i = 0; i < sound.channels.size(); ++i) {
    CheckOutput(c, sound, i);
    CheckLevel(c, sound.channels[i]);
  }
}

}  // namespace drycrank::profile

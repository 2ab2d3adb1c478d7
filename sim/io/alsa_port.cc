// SPDX-License-Identifier: Apache-2.0
#include "io/alsa_port.h"

#include <alsa/asoundlib.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "io/alsa_setup.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

template <class Number>
Number Whole(float level) {
  constexpr double kMost = std::numeric_limits<Number>::max();
  return static_cast<Number>(std::llrint(std::clamp(static_cast<double>(level), -1.0, 1.0) * kMost));
}

}  // namespace

AlsaPort::~AlsaPort() {
  if (pcm_ != nullptr) snd_pcm_close(pcm_);
}

std::string AlsaPort::Problem(const std::string& step, int error) const {
  return AlsaProblem(device_, step, error);
}

std::string AlsaPort::Open(int rate_hz, int channels, int buffer_frames) {
  const AlsaCard card = OpenAlsa(
      device_, {.way = AlsaWish::Way::kPlay,
                .rate_hz = rate_hz,
                .channels = channels,
                .buffer_frames = buffer_frames,
                .periods = 8,
                .channels_remedy = "; it has another number of them",
                .rate_remedy = "; it has other rates, and none is made of another here"});
  pcm_ = card.pcm;
  channels_ = channels;
  bits_ = card.bits;
  wide_.resize(AsSize(buffer_frames) * AsSize(channels));
  narrow_.resize(wide_.size());
  return card.problem.empty() ? StartWhenHalfFull(card.buffer_frames) : card.problem;
}

std::string AlsaPort::StartWhenHalfFull(unsigned long buffer) {
  snd_pcm_sw_params_t* wish = nullptr;
  snd_pcm_sw_params_alloca(&wish);
  int error = snd_pcm_sw_params_current(pcm_, wish);
  if (error >= 0) error = snd_pcm_sw_params_set_start_threshold(pcm_, wish, buffer / 2);
  if (error >= 0) error = snd_pcm_sw_params(pcm_, wish);
  return error < 0 ? Problem("set when it starts", error) : "";
}

std::string AlsaPort::Start() {
  if (pcm_ == nullptr) return fmt::format("sound card '{}' is not open", device_);
  snd_pcm_drop(pcm_);
  const int error = snd_pcm_prepare(pcm_);
  return error < 0 ? Problem("prepare", error) : "";
}

output::PcmPort::State AlsaPort::Look() {
  State state;
  snd_pcm_sframes_t room = 0, waiting = 0;
  const int error = snd_pcm_avail_delay(pcm_, &room, &waiting);
  state.has_run_dry = error < 0 || snd_pcm_state(pcm_) == SND_PCM_STATE_XRUN;
  state.room = std::max<snd_pcm_sframes_t>(0, room);
  state.waiting = std::max<snd_pcm_sframes_t>(0, waiting);
  return state;
}

const void* AlsaPort::Convert(std::span<const float> samples) {
  if (bits_ == 32) {
    std::transform(samples.begin(), samples.end(), wide_.begin(), Whole<std::int32_t>);
    return wide_.data();
  }
  std::transform(samples.begin(), samples.end(), narrow_.begin(), Whole<std::int16_t>);
  return narrow_.data();
}

std::string AlsaPort::Write(std::span<const float> samples) {
  const auto frames = samples.size() / AsSize(channels_);
  const snd_pcm_sframes_t wrote = snd_pcm_writei(pcm_, Convert(samples), frames);
  // That it ran dry is seen when it is looked at next.
  if (wrote == -EPIPE) return "";
  return wrote < 0 ? Problem("write", static_cast<int>(wrote)) : "";
}

void AlsaPort::Stop() {
  if (pcm_ != nullptr) snd_pcm_drop(pcm_);
}

}  // namespace drycrank::io

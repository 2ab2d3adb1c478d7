// SPDX-License-Identifier: Apache-2.0
#include "io/alsa_port.h"

#include <alsa/asoundlib.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "types/nth.h"

namespace drycrank::io {
namespace {

// ALSA prints what goes wrong by itself; here it is said once, by the caller.
void SayNothing(const char*, int, const char*, int, const char*, ...) {}

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
  return fmt::format("sound card '{}': {}: {}", device_, step, snd_strerror(error));
}

std::string AlsaPort::Open(int rate_hz, int channels, int buffer_frames) {
  snd_lib_error_set_handler(SayNothing);
  if (const int error = snd_pcm_open(&pcm_, device_.c_str(), SND_PCM_STREAM_PLAYBACK, SND_PCM_NONBLOCK);
      error < 0) {
    pcm_ = nullptr;
    return Problem("open", error) + "; `aplay -L` lists those that there are";
  }
  channels_ = channels;
  std::string problem = SetUp(rate_hz, channels, buffer_frames);
  wide_.resize(AsSize(buffer_frames) * AsSize(channels));
  narrow_.resize(wide_.size());
  return problem;
}

std::string AlsaPort::SetUp(int rate_hz, int channels, int buffer_frames) {
  snd_pcm_hw_params_t* wish = nullptr;
  snd_pcm_hw_params_alloca(&wish);
  int error = snd_pcm_hw_params_any(pcm_, wish);
  if (error < 0) return Problem("ask what it can", error);
  snd_pcm_hw_params_set_rate_resample(pcm_, wish, 0);
  error = snd_pcm_hw_params_set_access(pcm_, wish, SND_PCM_ACCESS_RW_INTERLEAVED);
  if (error < 0) return Problem("set how it is written to", error);
  bits_ = 32;
  if (snd_pcm_hw_params_set_format(pcm_, wish, SND_PCM_FORMAT_S32) < 0) {
    bits_ = 16;
    error = snd_pcm_hw_params_set_format(pcm_, wish, SND_PCM_FORMAT_S16);
    if (error < 0) {
      return Problem("neither 32 nor 16 bits", error) + "; its name with plughw: for hw: converts";
    }
  }
  error = snd_pcm_hw_params_set_channels(pcm_, wish, static_cast<unsigned>(channels));
  if (error < 0) {
    return Problem(fmt::format("{} channels", channels), error) + "; it has another number of them";
  }
  error = snd_pcm_hw_params_set_rate(pcm_, wish, static_cast<unsigned>(rate_hz), 0);
  if (error < 0) {
    return Problem(fmt::format("{} samples a second", rate_hz), error) +
           "; it has other rates, and none is made of another here";
  }
  snd_pcm_uframes_t buffer = static_cast<snd_pcm_uframes_t>(buffer_frames);
  error = snd_pcm_hw_params_set_buffer_size_near(pcm_, wish, &buffer);
  if (error < 0) return Problem("set its buffer", error);
  snd_pcm_uframes_t period = buffer / 8;
  snd_pcm_hw_params_set_period_size_near(pcm_, wish, &period, nullptr);
  error = snd_pcm_hw_params(pcm_, wish);
  return error < 0 ? Problem("take these settings", error) : StartWhenHalfFull(buffer);
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

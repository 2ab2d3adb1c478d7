// SPDX-License-Identifier: Apache-2.0
#include "io/alsa_capture.h"

#include <alsa/asoundlib.h>
#include <fmt/format.h>

#include <utility>

#include "types/nth.h"

namespace drycrank::io {
namespace {

constexpr int kMostFrames = 1024;  // of one Read
constexpr int kBuffersPerSecond = 2;

void SayNothing(const char*, int, const char*, int, const char*, ...) {}

}  // namespace

AlsaCapture::~AlsaCapture() {
  if (pcm_ != nullptr) snd_pcm_close(pcm_);
}

std::string AlsaCapture::Problem(const std::string& step, int error) const {
  return fmt::format("sound card '{}': {}: {}", device_, step, snd_strerror(error));
}

std::string AlsaCapture::Open(int rate_hz, int channels) {
  snd_lib_error_set_handler(SayNothing);
  int error = snd_pcm_open(&pcm_, device_.c_str(), SND_PCM_STREAM_CAPTURE, SND_PCM_NONBLOCK);
  if (error < 0) {
    pcm_ = nullptr;
    return Problem("open", error) + "; `arecord -L` lists those that there are";
  }
  channels_ = channels;
  if (std::string problem = SetUp(rate_hz, channels); !problem.empty()) return problem;
  wide_.resize(AsSize(kMostFrames) * AsSize(channels));
  narrow_.resize(wide_.size());
  error = snd_pcm_start(pcm_);
  return error < 0 ? Problem("start", error) : "";
}

std::string AlsaCapture::SetUp(int rate_hz, int channels) {
  snd_pcm_hw_params_t* wish = nullptr;
  snd_pcm_hw_params_alloca(&wish);
  int error = snd_pcm_hw_params_any(pcm_, wish);
  if (error < 0) return Problem("ask what it can", error);
  snd_pcm_hw_params_set_rate_resample(pcm_, wish, 0);
  error = snd_pcm_hw_params_set_access(pcm_, wish, SND_PCM_ACCESS_RW_INTERLEAVED);
  if (error < 0) return Problem("set how it is read", error);
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
    return Problem(fmt::format("{} channels", channels), error) +
           "; say with --channels how many it has";
  }
  error = snd_pcm_hw_params_set_rate(pcm_, wish, static_cast<unsigned>(rate_hz), 0);
  if (error < 0) {
    return Problem(fmt::format("{} samples a second", rate_hz), error) +
           "; say one of its own with --rate";
  }
  auto buffer = static_cast<snd_pcm_uframes_t>(rate_hz / kBuffersPerSecond);
  error = snd_pcm_hw_params_set_buffer_size_near(pcm_, wish, &buffer);
  if (error < 0) return Problem("set its buffer", error);
  auto period = static_cast<snd_pcm_uframes_t>(rate_hz / 200);
  snd_pcm_hw_params_set_period_size_near(pcm_, wish, &period, nullptr);
  error = snd_pcm_hw_params(pcm_, wish);
  return error < 0 ? Problem("take these settings", error) : "";
}

// An overrun ends the stream; it begins anew. Anything else is the end.
std::string AlsaCapture::Recover(int error) {
  if (error != -EPIPE && error != -ESTRPIPE) return Problem("read", error);
  has_lost_ = true;
  error = snd_pcm_prepare(pcm_);
  if (error >= 0) error = snd_pcm_start(pcm_);
  return error < 0 ? Problem("begin anew", error) : "";
}

std::string AlsaCapture::Read(int wait_ms, std::vector<float>& samples) {
  samples.clear();
  const int ready = snd_pcm_wait(pcm_, wait_ms);
  if (ready == 0 || ready == -EINTR) return "";
  if (ready < 0) return Recover(ready);
  void* const to = bits_ == 32 ? static_cast<void*>(wide_.data()) : narrow_.data();
  const snd_pcm_sframes_t got = snd_pcm_readi(pcm_, to, kMostFrames);
  if (got == -EAGAIN || got == 0) return "";
  if (got < 0) return Recover(static_cast<int>(got));
  const std::size_t count = AsSize(got) * AsSize(channels_);
  for (std::size_t i = 0; i < count; ++i) {
    samples.push_back(bits_ == 32 ? static_cast<float>(wide_[i] / 2147483648.0)
                                  : static_cast<float>(narrow_[i] / 32768.0));
  }
  return "";
}

bool AlsaCapture::TakeLost() { return std::exchange(has_lost_, false); }

}  // namespace drycrank::io

// SPDX-License-Identifier: Apache-2.0
#include "io/alsa_capture.h"

#include <alsa/asoundlib.h>
#include <fmt/format.h>

#include <utility>

#include "io/alsa_setup.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

constexpr int kMostFrames = 1024;  // of one Read
constexpr int kBuffersPerSecond = 2, kPeriodsABuffer = 100;

}  // namespace

AlsaCapture::~AlsaCapture() {
  if (pcm_ != nullptr) snd_pcm_close(pcm_);
}

std::string AlsaCapture::Problem(const std::string& step, int error) const {
  return AlsaProblem(device_, step, error);
}

std::string AlsaCapture::Open(int rate_hz, int channels) {
  const AlsaCard card = OpenAlsa(device_, {.way = AlsaWish::Way::kHear,
                                           .rate_hz = rate_hz,
                                           .channels = channels,
                                           .buffer_frames = rate_hz / kBuffersPerSecond,
                                           .periods = kPeriodsABuffer,
                                           .channels_remedy = "; say with --channels how many it has",
                                           .rate_remedy = "; say one of its own with --rate"});
  pcm_ = card.pcm;
  if (!card.problem.empty()) return card.problem;
  channels_ = channels;
  bits_ = card.bits;
  wide_.resize(AsSize(kMostFrames) * AsSize(channels));
  narrow_.resize(wide_.size());
  const int error = snd_pcm_start(pcm_);
  return error < 0 ? Problem("start", error) : "";
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

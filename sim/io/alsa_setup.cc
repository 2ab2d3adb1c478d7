// SPDX-License-Identifier: Apache-2.0
#include "io/alsa_setup.h"

#include <alsa/asoundlib.h>
#include <fmt/format.h>

namespace drycrank::io {
namespace {

using Way = AlsaWish::Way;

// ALSA prints what goes wrong by itself; here it is said once, by the caller.
void SayNothing(const char*, int, const char*, int, const char*, ...) {}

// 32 bits, or the 16 that all cards have. 0: neither.
int TakeFormat(snd_pcm_t* pcm, snd_pcm_hw_params_t* wish, int& error) {
  for (const auto& [format, bits] : {std::pair{SND_PCM_FORMAT_S32, 32}, {SND_PCM_FORMAT_S16, 16}}) {
    error = snd_pcm_hw_params_set_format(pcm, wish, format);
    if (error >= 0) return bits;
  }
  return 0;
}

std::string SetUp(const std::string& device, const AlsaWish& wanted, AlsaCard& card) {
  snd_pcm_hw_params_t* wish = nullptr;
  snd_pcm_hw_params_alloca(&wish);
  const auto problem = [&](const std::string& step, int error, const char* remedy = "") {
    return AlsaProblem(device, step, error) + remedy;
  };
  int error = snd_pcm_hw_params_any(card.pcm, wish);
  if (error < 0) return problem("ask what it can", error);
  snd_pcm_hw_params_set_rate_resample(card.pcm, wish, 0);
  error = snd_pcm_hw_params_set_access(card.pcm, wish, SND_PCM_ACCESS_RW_INTERLEAVED);
  if (error < 0) return problem(wanted.way == Way::kPlay ? "set how it is written to" : "set how it is read", error);
  card.bits = TakeFormat(card.pcm, wish, error);
  if (card.bits == 0) return problem("neither 32 nor 16 bits", error, "; its name with plughw: for hw: converts");
  error = snd_pcm_hw_params_set_channels(card.pcm, wish, static_cast<unsigned>(wanted.channels));
  if (error < 0) return problem(fmt::format("{} channels", wanted.channels), error, wanted.channels_remedy);
  error = snd_pcm_hw_params_set_rate(card.pcm, wish, static_cast<unsigned>(wanted.rate_hz), 0);
  if (error < 0) return problem(fmt::format("{} samples a second", wanted.rate_hz), error, wanted.rate_remedy);
  auto buffer = static_cast<snd_pcm_uframes_t>(wanted.buffer_frames);
  error = snd_pcm_hw_params_set_buffer_size_near(card.pcm, wish, &buffer);
  if (error < 0) return problem("set its buffer", error);
  card.buffer_frames = buffer;
  snd_pcm_uframes_t period = buffer / static_cast<snd_pcm_uframes_t>(wanted.periods);
  snd_pcm_hw_params_set_period_size_near(card.pcm, wish, &period, nullptr);
  error = snd_pcm_hw_params(card.pcm, wish);
  return error < 0 ? problem("take these settings", error) : "";
}

}  // namespace

std::string AlsaProblem(const std::string& device, const std::string& step, int error) {
  return fmt::format("sound card '{}': {}: {}{}", device, step, snd_strerror(error),
                     error == -ENODEV ? "; it has been pulled out, or lost its supply" : "");
}

AlsaCard OpenAlsa(const std::string& device, const AlsaWish& wish) {
  snd_lib_error_set_handler(SayNothing);
  const bool plays = wish.way == Way::kPlay;
  AlsaCard card;
  const int error = snd_pcm_open(&card.pcm, device.c_str(),
                                 plays ? SND_PCM_STREAM_PLAYBACK : SND_PCM_STREAM_CAPTURE, SND_PCM_NONBLOCK);
  if (error < 0) {
    card.pcm = nullptr;
    card.problem = fmt::format("sound card '{}': open: {}; `{} -L` lists those that there are", device,
                               snd_strerror(error), plays ? "aplay" : "arecord");
    return card;
  }
  card.problem = SetUp(device, wish, card);
  return card;
}

}  // namespace drycrank::io

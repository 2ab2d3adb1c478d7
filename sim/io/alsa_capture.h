// SPDX-License-Identifier: Apache-2.0
//
// What a sound card hears, by ALSA: frames as -1..1, at exactly the wanted rate, never resampled. Frames
// that nobody took in time are lost (an overrun): counted, and the card goes on by itself.
#ifndef DRYCRANK_IO_ALSA_CAPTURE_H_
#define DRYCRANK_IO_ALSA_CAPTURE_H_

#include <cstdint>
#include <string>
#include <vector>

typedef struct _snd_pcm snd_pcm_t;

namespace drycrank::io {

class AlsaCapture {
 public:
  explicit AlsaCapture(std::string device) : device_(std::move(device)) {}
  ~AlsaCapture();
  AlsaCapture(const AlsaCapture&) = delete;
  AlsaCapture& operator=(const AlsaCapture&) = delete;

  // Empty, or the step that failed and what helps. It hears from then on.
  std::string Open(int rate_hz, int channels);
  // What has come, frame by frame; none within wait_ms: nothing. Empty, or why it is gone.
  std::string Read(int wait_ms, std::vector<float>& samples);
  // Since the last call: have frames been lost?
  bool TakeLost();

 private:
  std::string Problem(const std::string& step, int error) const;
  std::string Recover(int error);

  std::string device_;
  snd_pcm_t* pcm_ = nullptr;
  int channels_ = 0, bits_ = 0;
  bool has_lost_ = false;
  std::vector<std::int32_t> wide_;
  std::vector<std::int16_t> narrow_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_ALSA_CAPTURE_H_

// SPDX-License-Identifier: Apache-2.0
//
// A sound card by ALSA: "hw:1", "plughw:CARD=Device", or whatever `aplay -L` lists.
//
// It plays at the wanted rate or not at all: ALSA may convert the form of a number (32 or 16 bits), and is
// told never to resample, which would round the edges by a filter of its own.
#ifndef DRYCRANK_IO_ALSA_PORT_H_
#define DRYCRANK_IO_ALSA_PORT_H_

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "output/pcm_port.h"

typedef struct _snd_pcm snd_pcm_t;

namespace drycrank::io {

class AlsaPort : public output::PcmPort {
 public:
  explicit AlsaPort(std::string device) : device_(std::move(device)) {}
  ~AlsaPort() override;
  AlsaPort(const AlsaPort&) = delete;
  AlsaPort& operator=(const AlsaPort&) = delete;

  std::string Open(int rate_hz, int channels, int buffer_frames) override;
  std::string Start() override;
  State Look() override;
  std::string Write(std::span<const float> samples) override;
  void Stop() override;
  int bits() const { return bits_; }

 private:
  std::string StartWhenHalfFull(unsigned long buffer);
  std::string Problem(const std::string& step, int error) const;
  const void* Convert(std::span<const float> samples);

  std::string device_;
  snd_pcm_t* pcm_ = nullptr;
  int channels_ = 0, bits_ = 0;
  std::vector<std::int32_t> wide_;
  std::vector<std::int16_t> narrow_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_ALSA_PORT_H_

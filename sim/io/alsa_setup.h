// SPDX-License-Identifier: Apache-2.0
//
// A sound card of ALSA, opened and set to frames of 32 or 16 bits at exactly the wanted rate, for playing
// and for hearing alike.
#ifndef DRYCRANK_IO_ALSA_SETUP_H_
#define DRYCRANK_IO_ALSA_SETUP_H_

#include <string>

typedef struct _snd_pcm snd_pcm_t;

namespace drycrank::io {

struct AlsaWish {
  enum class Way { kPlay, kHear };
  Way way = Way::kPlay;
  int rate_hz = 0, channels = 0;
  int buffer_frames = 0, periods = 1;      // the card says so often in a buffer how far it is
  const char* channels_remedy = "";        // what helps when it has not so many
  const char* rate_remedy = "";
};
struct AlsaCard {
  snd_pcm_t* pcm = nullptr;  // whoever asked closes it
  int bits = 0;
  unsigned long buffer_frames = 0;
  std::string problem = {};  // empty: it is set up
};
AlsaCard OpenAlsa(const std::string& device, const AlsaWish& wish);

// "sound card 'hw:1': write: No such device; it has been pulled out"
std::string AlsaProblem(const std::string& device, const std::string& step, int error);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_ALSA_SETUP_H_

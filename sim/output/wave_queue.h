// SPDX-License-Identifier: Apache-2.0
//
// Waves of all channels that wait until their samples are due: a ring of fixed size.
#ifndef DRYCRANK_OUTPUT_WAVE_QUEUE_H_
#define DRYCRANK_OUTPUT_WAVE_QUEUE_H_

#include <cstddef>
#include <vector>

#include "types/wave.h"

namespace drycrank::output {

class WaveQueue {
 public:
  static constexpr std::size_t kRoom = 1U << 16U;  // more than half a second of what a card can carry
  struct Entry {
    int channel = 0;
    Wave wave;
  };

  WaveQueue() : ring_(kRoom) {}

  // False: there is no room, the wave is lost.
  bool Put(int channel, const Wave& wave) {
    if (written_ - read_ == kRoom) return false;
    ring_[written_++ % kRoom] = {channel, wave};
    return true;
  }
  // nullptr: none waits.
  const Entry* Front() const { return read_ == written_ ? nullptr : &ring_[read_ % kRoom]; }
  // REQUIRES: there is a Front.
  void Pop() { ++read_; }

 private:
  std::vector<Entry> ring_;
  std::size_t written_ = 0, read_ = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_WAVE_QUEUE_H_

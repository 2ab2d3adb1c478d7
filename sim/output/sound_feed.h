// SPDX-License-Identifier: Apache-2.0
//
// Keeps a sound card's buffer filled with what a stream gives. Beat, about each millisecond, fills what
// room there is, and starts the card anew when it ran dry.
//
//   latency = buffer + slack       slack: by so much the run may be late before there is silence
//
// It never writes more than the buffer ahead of the computer's clock at kMostPpm fast: a device that is no
// card (ALSA's null and file) takes all that it is given, at once.
#ifndef DRYCRANK_OUTPUT_SOUND_FEED_H_
#define DRYCRANK_OUTPUT_SOUND_FEED_H_

#include <cstdint>
#include <string>
#include <vector>

#include "output/pcm_port.h"
#include "output/sound_stream.h"

namespace drycrank::output {

class SoundFeed {
 public:
  // No card's crystal is that far off; what is, keeps no time of its own.
  static constexpr double kMostPpm = 1000;

  // The port must outlive it. The buffer is half of the latency.
  SoundFeed(PcmPort& port, const SoundFormat& format);

  // Both: empty, or why not.
  std::string Open();
  std::string Start();
  SoundStream& stream() { return stream_; }
  // All waves that begin before now_ns have been added.
  void Beat(TimeNs now_ns);
  // Silence, and the card stands still. Twice too.
  void Stop();
  const std::string& failure() const { return failure_; }
  // "card 12.4 ppm fast; 1 underrun, ..."
  std::string Report() const;

 private:
  std::int64_t Room(TimeNs now_ns, const PcmPort::State& state) const;
  void Restart(TimeNs now_ns);
  double Played(TimeNs now_ns, const PcmPort::State& state);

  PcmPort& port_;
  SoundFormat format_;
  SoundStream stream_;
  int block_frames_, buffer_frames_;
  std::vector<float> block_;
  bool is_started_ = false;
  bool keeps_time_ = false;  // something has waited to be played
  TimeNs started_ns_ = 0;
  std::int64_t written_ = 0;
  std::string failure_;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_SOUND_FEED_H_

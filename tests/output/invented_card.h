// SPDX-License-Identifier: Apache-2.0
//
// A sound card that is not there: its clock is so many ppm fast, and what it says it has played is up to a
// millisecond early or late, evenly spread, by a fixed generator. What it played is kept.
#ifndef DRYCRANK_TESTS_OUTPUT_INVENTED_CARD_H_
#define DRYCRANK_TESTS_OUTPUT_INVENTED_CARD_H_

#include <cmath>
#include <cstdint>
#include <vector>

#include "output/sound_stream.h"

namespace drycrank::output {

class InventedCard {
 public:
  static constexpr int kBlock = 240;

  InventedCard(int rate_hz, double ppm) : true_rate_hz_(rate_hz * (1 + ppm * 1e-6)) {}

  // Plays until this instant; the run is known up to `ahead_ns` after each block's request.
  template <class Known>
  void PlayTo(TimeNs t_ns, SoundStream& stream, Known known) {
    std::vector<float> block(kBlock * stream.channels());
    for (; TimeOf(written_) < t_ns; written_ += kBlock) {
      const TimeNs now_ns = TimeOf(written_) - kBufferNs;
      known(now_ns);
      const double played = Played(now_ns + Jitter());
      stream.Fill({now_ns, written_, std::floor(played)}, block);
      for (std::size_t i = 0; i < block.size(); i += stream.channels()) first_.push_back(block[i]);
    }
  }
  // It stood still for so long, and was started anew.
  void RunDry(TimeNs for_ns, SoundStream& stream) {
    const TimeNs at_ns = TimeOf(written_) + for_ns;
    stream.Underrun();
    dry_.push_back({first_.size(), at_ns});
    began_ns_ = at_ns;
    written_ = 0;
  }
  // Of the first channel, since it was started first; and when the sample was heard.
  const std::vector<float>& first() const { return first_; }
  TimeNs HeardNs(double sample) const {
    TimeNs began_ns = 0;
    double before = 0;
    for (const Dry& dry : dry_) {
      if (sample < static_cast<double>(dry.sample)) break;
      began_ns = dry.began_ns;
      before = static_cast<double>(dry.sample);
    }
    return began_ns + FromSeconds((sample - before) / true_rate_hz_);
  }
  TimeNs now_ns() const { return TimeOf(written_) - kBufferNs; }

 private:
  struct Dry {
    std::size_t sample = 0;
    TimeNs began_ns = 0;
  };
  static constexpr TimeNs kBufferNs = 20 * kNsPerMs;

  TimeNs TimeOf(std::int64_t frame) const {
    return began_ns_ + FromSeconds(static_cast<double>(frame) / true_rate_hz_);
  }
  double Played(TimeNs t_ns) const { return ToSeconds(t_ns - began_ns_) * true_rate_hz_; }
  TimeNs Jitter() {
    state_ = state_ * 6364136223846793005U + 1442695040888963407U;
    return static_cast<TimeNs>(state_ >> 40U) % (2 * kNsPerMs) - kNsPerMs;
  }

  double true_rate_hz_;
  TimeNs began_ns_ = 0;
  std::int64_t written_ = 0;
  std::uint64_t state_ = 1;
  std::vector<float> first_;
  std::vector<Dry> dry_;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_TESTS_OUTPUT_INVENTED_CARD_H_

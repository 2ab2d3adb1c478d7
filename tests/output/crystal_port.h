// SPDX-License-Identifier: Apache-2.0
//
// A sound card in memory, in the time that it is told: plays so many frames a second, runs dry when there
// are none, may be pulled out.
#ifndef DRYCRANK_TESTS_OUTPUT_CRYSTAL_PORT_H_
#define DRYCRANK_TESTS_OUTPUT_CRYSTAL_PORT_H_

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "output/pcm_port.h"
#include "types/time.h"

namespace drycrank::output {

class CrystalPort : public PcmPort {
 public:
  explicit CrystalPort(double true_rate_hz) : true_rate_hz_(true_rate_hz) {}

  std::string Open(int, int channels, int buffer_frames) override {
    channels_ = channels;
    buffer_frames_ = buffer_frames;
    return "";
  }
  std::string Start() override {
    if (!pulled_out_.empty()) return pulled_out_;
    ++starts;
    started_ns_ = now_ns;
    written_ = 0;
    is_running_ = true;
    return "";
  }
  State Look() override {
    const std::int64_t waiting = written_ - Played();
    State state{.has_run_dry = written_ > 0 && waiting < 0};
    state.waiting = std::max<std::int64_t>(0, waiting);
    state.room = buffer_frames_ - state.waiting;
    if (swallows) state = {.room = buffer_frames_};
    return state;
  }
  std::string Write(std::span<const float> samples) override {
    if (!pulled_out_.empty()) return pulled_out_;
    written_ += std::ssize(samples) / channels_;
    heard.insert(heard.end(), samples.begin(), samples.end());
    return "";
  }
  void Stop() override { is_running_ = false; }

  void PullOut() { pulled_out_ = "sound card 'x': write: No such device"; }
  bool is_running() const { return is_running_; }

  TimeNs now_ns = 0;
  TimeNs begins_after_ns = 0;  // from its start to its first frame
  int starts = 0;
  bool swallows = false;
  std::vector<float> heard;

 private:
  std::int64_t Played() const {
    const TimeNs for_ns = std::max<TimeNs>(0, now_ns - started_ns_ - begins_after_ns);
    return static_cast<std::int64_t>(ToSeconds(for_ns) * true_rate_hz_);
  }

  double true_rate_hz_;
  int channels_ = 1, buffer_frames_ = 0;
  bool is_running_ = false;
  TimeNs started_ns_ = 0;
  std::int64_t written_ = 0;
  std::string pulled_out_;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_TESTS_OUTPUT_CRYSTAL_PORT_H_

// SPDX-License-Identifier: Apache-2.0
//
// Holds one output at what is being measured, for as long as a person needs: a tone on one of its channels, or a level.
// A thread of its own puts what comes next, as a run does (io/output_thread.h).
#ifndef DRYCRANK_TOOLS_LEVEL_PLAYER_H_
#define DRYCRANK_TOOLS_LEVEL_PLAYER_H_

#include <atomic>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "io/output_thread.h"
#include "output/handover.h"
#include "output/output.h"

namespace drycrank::tools {

class LevelPlayer {
 public:
  // REQUIRES: armed. It must outlive this.
  explicit LevelPlayer(output::Output& output);
  ~LevelPlayer();
  LevelPlayer(const LevelPlayer&) = delete;
  LevelPlayer& operator=(const LevelPlayer&) = delete;

  // From now on, until another call: a sine of so many Hz; the others are silent.
  void Tone(int channel, double hz, double peak_v);
  void Level(int channel, const Source& source);
  void Silence();
  // Disarms. Empty, or what failed on the way.
  std::string Stop();
  std::string failure() const { return thread_.failure(); }

 private:
  struct Sine {
    int channel = 0;
    TimeNs half_ns = 0;
    double peak_v = 0;
  };
  void Run();
  void PutUntil(TimeNs until_ns);
  TimeNs Now() const;

  output::Handover handover_;
  io::OutputThread thread_;
  TimeNs origin_ns_ = 0;
  std::atomic<bool> stopping_ = false;
  std::mutex mutex_;  // over what is wanted
  std::optional<Sine> sine_;
  std::vector<output::Given> levels_;
  TimeNs put_ns_ = 0;  // the tone is put up to here
  bool is_up_ = true;  // its next half
  std::thread feed_;   // last: ends first
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_LEVEL_PLAYER_H_

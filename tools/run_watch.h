// SPDX-License-Identifier: Apache-2.0
//
// Watches a run in real time (io/watchdog.h): each sample of the controller's inputs is a sign that
// simulated time goes on. When none comes within its period and two seconds more, the reason goes to the
// terminal and into the record, and the process ends.
#ifndef DRYCRANK_TOOLS_RUN_WATCH_H_
#define DRYCRANK_TOOLS_RUN_WATCH_H_

#include <atomic>
#include <chrono>
#include <functional>
#include <string>

#include "io/watchdog.h"
#include "profile/bench.h"
#include "run/observer.h"

namespace drycrank::tools {

class RunWatch : public run::RunObserver {
 public:
  // Of the watch alone; the period of the samples comes to it.
  static constexpr std::chrono::milliseconds kLimit{2000};

  // `end_record` is told when it was and why; as in io/watchdog.h, on the other thread. Both functions may
  // be empty.
  RunWatch(std::string program, const profile::Bench& bench,
           std::function<void(TimeNs, const std::string&)> end_record,
           std::chrono::milliseconds limit = kLimit);

  void OnClockStart(TimeNs origin_ns) override;
  void OnSample(TimeNs t_ns) override;
  // Nothing is driven any more; what follows may wait for a disk.
  void OnEnd(const std::string& why, TimeNs t_ns) override;

 private:
  void LastWords();

  const std::string program_;
  const std::chrono::milliseconds limit_;
  const std::function<void(TimeNs, const std::string&)> end_record_;
  std::atomic<TimeNs> last_ns_ = 0;
  io::Watchdog watchdog_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_RUN_WATCH_H_

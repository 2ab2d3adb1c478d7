// SPDX-License-Identifier: Apache-2.0
//
// A second thread that ends the process when the first does not get on: whoever drives something must
// show a sign of life within a stated time. Then frames stop, for the kernel closes the sockets, and an
// output that holds its last value must not be left with it: `last_words` puts it into its safe state.
//
//   Beat ── within the limit ── Beat ── ... ── Rest: nothing is driven, it may take as long as it likes
//
// The time is counted in steps of a tenth of the limit that the second thread itself lives through: a
// process that was stopped, and a computer that slept, are not dead. It runs before everything of a run
// in real time, where it may, so that a thread that turns in a circle cannot keep it away.
#ifndef DRYCRANK_IO_WATCHDOG_H_
#define DRYCRANK_IO_WATCHDOG_H_

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <mutex>
#include <thread>

namespace drycrank::io {

// The counting alone: signs of life from one thread, steps from the other.
class Heartbeat {
 public:
  static constexpr int kSteps = 10;

  void Beat() {
    resting_.store(false, std::memory_order_relaxed);
    beats_.fetch_add(1, std::memory_order_release);
  }
  void Rest() { resting_.store(true, std::memory_order_release); }
  // A tenth of the limit is over. True: so are the other nine, without a beat.
  bool Step();

 private:
  std::atomic<std::uint64_t> beats_ = 0;
  std::atomic<bool> resting_ = true;
  std::uint64_t seen_ = 0;
  int steps_ = 0;  // since the last beat that was seen
};

class Watchdog {
 public:
  static constexpr int kExitCode = 3;

  // `last_words` is called on the second thread while the first one hangs: it may take no lock and wait
  // for nothing that the first could have. Then the process ends at once, with kExitCode.
  Watchdog(std::chrono::milliseconds limit, std::function<void()> last_words);
  ~Watchdog();
  Watchdog(const Watchdog&) = delete;
  Watchdog& operator=(const Watchdog&) = delete;

  void Beat() { heart_.Beat(); }
  void Rest() { heart_.Rest(); }

 private:
  void Run();

  std::chrono::milliseconds limit_;
  std::function<void()> last_words_;
  Heartbeat heart_;
  std::mutex mutex_;  // over stopping_ only
  std::condition_variable stop_;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_WATCHDOG_H_

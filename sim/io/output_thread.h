// SPDX-License-Identifier: Apache-2.0
//
// The thread of one output: it hands over what the run has put, each at its time, and lets the output
// give its sign of life. It looks each millisecond instead of being woken: waking it would cost the
// run's thread a system call.
//
//   run's thread    Put ──► output::Handover ──► this thread: Give at t_ns, Beat   ──► device
//
// What is overtaken, because the next of the same channel is due as well, is left out and counted: a slow
// line is behind by what it is writing, and not by all that waits.
//
// When the output fails, when the run puts more than it takes, or when the run gives no sign of life
// for kSilentRun, the output is disarmed and failure() says why. At its end it is disarmed too.
#ifndef DRYCRANK_IO_OUTPUT_THREAD_H_
#define DRYCRANK_IO_OUTPUT_THREAD_H_

#include <atomic>
#include <cstdint>
#include <mutex>
#include <string>
#include <thread>

#include "output/handover.h"
#include "output/output.h"
#include "types/time.h"

namespace drycrank::io {

class OutputThread {
 public:
  static constexpr TimeNs kSilentRun = kNsPerS;

  // Both must outlive it. REQUIRES: open; armed or, to be driven not at all, not.
  OutputThread(output::Output& output, output::Handover& handover);
  ~OutputThread();  // as Stop
  OutputThread(const OutputThread&) = delete;
  OutputThread& operator=(const OutputThread&) = delete;

  // From the run's thread: time now_ns is now; the run is alive.
  void StartClock(TimeNs now_ns = 0);
  void Alive() { alive_.store(true, std::memory_order_relaxed); }
  // It disarms soon, whatever others wait for.
  void AskToStop();
  // Disarms and waits for it. What was not due yet is not given.
  void Stop();

  // So many were left out.
  std::uint64_t overtaken() const { return overtaken_.load(std::memory_order_relaxed); }
  bool is_stopping() const { return stopping_.load(std::memory_order_acquire); }
  bool has_failed() const { return has_failed_.load(std::memory_order_acquire); }
  std::string failure() const;

 private:
  void Run();
  // Empty, or why it ends.
  std::string Once(TimeNs now_ns);
  std::string Watch(TimeNs now_ns);
  bool IsOvertaken(const output::Given& given, TimeNs until_ns) const;

  output::Output& output_;
  output::Handover& handover_;
  std::atomic<TimeNs> origin_ns_ = kNever;
  std::atomic<bool> alive_ = false, stopping_ = false, has_failed_ = false;
  std::atomic<std::uint64_t> overtaken_ = 0;
  TimeNs alive_ns_ = 0;
  mutable std::mutex mutex_;  // over failure_ only
  std::string failure_;
  std::thread thread_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_OUTPUT_THREAD_H_

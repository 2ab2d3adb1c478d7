// SPDX-License-Identifier: Apache-2.0
//
// A scenario's capture as the plant's feed. A thread of its own reads the file ahead of the run into a ring
// of fixed size, so that the run itself reads no file and takes no memory:
//
//   file --> SignalStream --> | o o o o o o . . | --> NextNs, Take
//            reader's thread     kSlots pieces        run's thread
//
// The run waits only where the reader is behind, which a full ring at the begin makes seldom; in real time
// each such wait is counted. The run takes no lock but in that wait.
#ifndef DRYCRANK_RUN_CAPTURE_FEED_H_
#define DRYCRANK_RUN_CAPTURE_FEED_H_

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "capture/signal_plan.h"
#include "capture/signal_stream.h"
#include "plant/feed.h"
#include "profile/bench.h"
#include "profile/played_capture.h"

namespace drycrank::run {

class CaptureFeed : public plant::Feed {
 public:
  // Bench and profile must outlive it.
  CaptureFeed(const profile::Bench& bench, const profile::PlayedCapture& played);
  ~CaptureFeed() override;
  CaptureFeed(const CaptureFeed&) = delete;
  CaptureFeed& operator=(const CaptureFeed&) = delete;

  // Why it cannot be played; then it gives nothing.
  const Diagnostics& problems() const { return plan_.problems; }
  // Begins to read, and comes back when there is enough to go on.
  void Begin();
  // What is played, and how it goes on: one sentence each.
  std::vector<std::string> InWords() const;
  // All of it has been taken; then, what was wrong with the file on the way, or nothing.
  bool ended() const { return is_begun_ && ended_; }
  TimeNs end_ns() const;
  std::string Trouble() const;
  std::uint64_t waits() const { return waits_; }

  const std::vector<Fed>& fed() const override { return fed_; }
  TimeNs NextNs() override;
  Piece Take() override;

  static constexpr std::size_t kSlots = 1 << 17;  // a power of two

 private:
  void ReadAhead();
  bool Store(const std::vector<capture::SignalPiece>& pieces);
  bool WaitForRoom();
  void WaitForMore();
  const std::string& NameOf(int trigger) const;

  const profile::Bench& bench_;
  const profile::PlayedCapture& played_;
  const capture::SignalPlan plan_;
  std::vector<Fed> fed_;
  std::unique_ptr<capture::SignalStream> stream_;  // of the reader's thread, while that runs
  std::vector<Piece> ring_;
  std::atomic<std::uint64_t> stored_{0}, taken_{0};
  std::atomic<bool> read_all_{false}, stop_{false};
  bool is_begun_ = false, ended_ = false;
  std::uint64_t waits_ = 0;
  std::mutex mutex_;
  std::condition_variable more_;
  std::thread reader_;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_CAPTURE_FEED_H_

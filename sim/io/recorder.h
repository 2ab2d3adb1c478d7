// SPDX-License-Identifier: Apache-2.0
//
// Records while a run goes on. Encoding, writing and waiting for the disk happen on a thread of its
// own (background_writer.h), which looks each 10 ms and brings all to the disk twice a second; the
// run's thread only puts a frame into a ring of fixed size, without a lock, so that it waits for
// nobody. A crash of program or machine loses what came since the last time: at most half a second,
// and what the disk takes to answer.
#ifndef DRYCRANK_IO_RECORDER_H_
#define DRYCRANK_IO_RECORDER_H_

#include <atomic>
#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "io/background_writer.h"
#include "io/recording_files.h"

namespace drycrank::io {

class Recorder final : private Backlog {
 public:
  // When the ring is full: in real time a frame is left out and counted, for the run must not
  // wait; in virtual time the run waits.
  enum class WhenFull { kLeaveOut, kWait };
  static constexpr std::uint64_t kRingFrames = 65'536;

  Recorder(std::unique_ptr<RecordingFiles> files, WhenFull when_full);
  ~Recorder() override;
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  // From one thread.
  void Take(const bus::RecordedFrame& frame);
  // While it records: what cannot be written any more; empty: all is well.
  std::string trouble() const { return failed_.load(std::memory_order_acquire) ? trouble_ : ""; }
  // Writes the rest. Empty when every frame is in a file, else what failed.
  [[nodiscard]] std::string Stop();
  // After Stop.
  std::uint64_t written() const { return files_->written(); }

 private:
  bool WriteWaiting() override;

  std::unique_ptr<RecordingFiles> files_;
  WhenFull when_full_;
  std::vector<bus::RecordedFrame> ring_;
  std::atomic<std::uint64_t> taken_ = 0;      // frames put in so far, by the run's thread
  std::atomic<std::uint64_t> passed_on_ = 0;  // of these, passed on by the other one
  std::atomic<bool> failed_ = false;
  std::string trouble_;  // set once, before failed_
  std::uint64_t left_out_ = 0;
  std::chrono::steady_clock::time_point synced_ = std::chrono::steady_clock::now();
  bool unsynced_ = false;  // something was written since
  std::optional<BackgroundWriter> background_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_RECORDER_H_

// SPDX-License-Identifier: Apache-2.0
//
// Records while a run goes on. Encoding, writing and waiting for the disk happen on a thread of its
// own, twice a second; the run's thread only puts a frame into a buffer of fixed size. A crash
// of program or machine loses what came since the last time: at most half a second, and what
// the disk takes to answer.
#ifndef DRYCRANK_IO_RECORDER_H_
#define DRYCRANK_IO_RECORDER_H_

#include <condition_variable>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "io/recording_files.h"

namespace drycrank::io {

class Recorder {
 public:
  // When the buffer is full: in real time a frame is left out and counted, for the run must not
  // wait; in virtual time the run waits.
  enum class WhenFull { kLeaveOut, kWait };
  static constexpr std::size_t kBufferFrames = 65'536;

  Recorder(std::unique_ptr<RecordingFiles> files, WhenFull when_full);
  ~Recorder();
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  // From one thread.
  void Take(const bus::RecordedFrame& frame);
  // Writes the rest. Empty when every frame is in a file, else what failed.
  std::string Stop();
  // After Stop.
  std::uint64_t written() const { return files_->written(); }

 private:
  void Run();

  std::unique_ptr<RecordingFiles> files_;
  WhenFull when_full_;
  std::mutex mutex_;  // over what follows; held to swap or to add one frame, never while writing
  std::condition_variable wake_, room_;
  std::vector<bus::RecordedFrame> taken_;
  bool stopping_ = false;
  std::uint64_t left_out_ = 0;
  std::thread thread_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_RECORDER_H_

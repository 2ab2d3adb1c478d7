// SPDX-License-Identifier: Apache-2.0
//
// A thread that writes what text files hand over, so that a run in real time never waits for a
// disk. It looks every 20 ms instead of being woken: waking it would cost the run's thread a system
// call, and a lock that both take could be held by a thread that does not get the processor.
#ifndef DRYCRANK_RECORD_BACKGROUND_WRITER_H_
#define DRYCRANK_RECORD_BACKGROUND_WRITER_H_

#include <condition_variable>
#include <mutex>
#include <thread>
#include <vector>

#include "record/text_file.h"

namespace drycrank::record {

class BackgroundWriter {
 public:
  // The files must outlive it.
  explicit BackgroundWriter(std::vector<TextFile*> files);
  // What was handed over is written; afterwards each file writes for itself again.
  ~BackgroundWriter();
  BackgroundWriter(const BackgroundWriter&) = delete;
  BackgroundWriter& operator=(const BackgroundWriter&) = delete;

 private:
  void Run();

  std::vector<TextFile*> files_;
  std::mutex mutex_;  // over stopping_ only
  std::condition_variable stop_;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_BACKGROUND_WRITER_H_

// SPDX-License-Identifier: Apache-2.0
//
// A thread that writes what waits to be written, so that a run in real time never waits for a disk
// or a terminal. It looks again and again instead of being woken: waking it would cost the run's
// thread a system call, and a lock that both take could be held by a thread that does not get the
// processor.
//
// How things wait is each backlog's own affair, without a lock: a record's text files
// (record/text_file.h) hand over piece by piece and grow while the disk is slow, since a record
// loses nothing; a recording (recorder.h) has a ring of fixed size and counts what it leaves out,
// since it may go on for a day.
#ifndef DRYCRANK_IO_BACKGROUND_WRITER_H_
#define DRYCRANK_IO_BACKGROUND_WRITER_H_

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>
#include <vector>

namespace drycrank::io {

class Backlog {
 public:
  virtual ~Backlog() = default;
  // Writes what waits. Whether there was anything. Called by one thread at a time.
  virtual bool WriteWaiting() = 0;
  // From now on, and no longer, another thread calls WriteWaiting.
  virtual void BeginBackground() {}
  virtual void EndBackground() {}
};

class BackgroundWriter {
 public:
  // After a look that found nothing it waits for `look_every`. The backlogs must outlive it.
  BackgroundWriter(std::vector<Backlog*> backlogs, std::chrono::milliseconds look_every);
  // All that waits is written first.
  ~BackgroundWriter();
  BackgroundWriter(const BackgroundWriter&) = delete;
  BackgroundWriter& operator=(const BackgroundWriter&) = delete;

 private:
  void Run();
  bool WriteAll();

  std::vector<Backlog*> backlogs_;
  std::chrono::milliseconds look_every_;
  std::mutex mutex_;  // over stopping_ only
  std::condition_variable stop_;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_BACKGROUND_WRITER_H_

// SPDX-License-Identifier: Apache-2.0
//
// How much a record and a recording take of the disk, and how long what is left will do. A thread of its
// own looks once a second, so that the run's thread never asks a disk; it reads what was found last.
//
//   bytes per hour   over the last minute, or as long as it has been watched if that is shorter; 0 in the
//                    first seconds
//   low              less than a quarter of an hour is left at that rate, or less than 100 MB
#ifndef DRYCRANK_IO_DISK_ROOM_H_
#define DRYCRANK_IO_DISK_ROOM_H_

#include <atomic>
#include <chrono>
#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "io/background_writer.h"

namespace drycrank::io {

struct DiskRoomFacts {
  std::uint64_t bytes = 0, bytes_per_hour = 0, left_bytes = 0;

  bool IsLow() const;
  // "1.5 GB left, at 2.0 GB an hour that is 45 minutes"
  std::string Words() const;
};

// "1.5 GB": decimal, two digits at least.
std::string SizeInWords(std::uint64_t bytes);

class DiskRoom final : private Backlog {
 public:
  // A folder: its own files; a file: all whose names begin like it, as those of a recording in parts do.
  explicit DiskRoom(std::vector<std::string> places);
  DiskRoomFacts facts() const;

 private:
  using Clock = std::chrono::steady_clock;
  struct Sample {
    Clock::time_point at;
    std::uint64_t bytes = 0;
  };
  bool WriteWaiting() override;
  void Look();

  const std::vector<std::string> places_;
  std::deque<Sample> samples_;  // of the last minute
  std::atomic<std::uint64_t> bytes_ = 0, bytes_per_hour_ = 0, left_bytes_ = 0;
  std::optional<BackgroundWriter> background_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_DISK_ROOM_H_

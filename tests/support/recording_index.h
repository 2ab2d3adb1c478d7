// SPDX-License-Identifier: Apache-2.0
//
// Places in a recording by time, for jumping. Made in one pass, at most kMaxMarks of them however
// long the recording: when there are too many, every other one is dropped.
#ifndef DRYCRANK_TESTS_SUPPORT_RECORDING_INDEX_H_
#define DRYCRANK_TESTS_SUPPORT_RECORDING_INDEX_H_

#include <cstdint>
#include <optional>
#include <vector>

#include "bus/recording.h"

namespace drycrank::bus {

class RecordingIndex {
 public:
  static constexpr std::size_t kMaxMarks = 4096;

  // Reads what is left of the recording.
  explicit RecordingIndex(RecordingReader& reader);

  std::uint64_t frames() const { return frames_; }
  // Least and greatest time; 0 and -1 when there is no frame.
  TimeNs first_ns() const { return first_ns_; }
  TimeNs last_ns() const { return last_ns_; }
  // No frame at or after t_ns lies before this place.
  RecordingReader::Place Before(TimeNs t_ns) const;

 private:
  struct Mark {
    TimeNs latest_ns = 0;  // of all frames before the place
    RecordingReader::Place place;
  };

  RecordingReader::Place begin_;
  std::vector<Mark> marks_;
  std::uint64_t spacing_ = 256;  // frames from mark to mark
  std::uint64_t frames_ = 0;
  TimeNs first_ns_ = 0, last_ns_ = -1;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_TESTS_SUPPORT_RECORDING_INDEX_H_

// SPDX-License-Identifier: Apache-2.0
#include "tests/support/recording_index.h"

#include <algorithm>

namespace drycrank::bus {

RecordingIndex::RecordingIndex(RecordingReader& reader) : begin_(reader.place()) {
  marks_.reserve(kMaxMarks);
  RecordedFrame frame;
  while (reader.Next(frame)) {
    first_ns_ = frames_ == 0 ? frame.t_ns : std::min(first_ns_, frame.t_ns);
    last_ns_ = frames_ == 0 ? frame.t_ns : std::max(last_ns_, frame.t_ns);
    ++frames_;
    if (frames_ % spacing_ != 0) continue;
    marks_.push_back({last_ns_, reader.place()});
    if (marks_.size() < kMaxMarks) continue;
    for (std::size_t i = 0; i < kMaxMarks / 2; ++i) marks_[i] = marks_[2 * i + 1];
    marks_.resize(kMaxMarks / 2);
    spacing_ *= 2;
  }
}

RecordingReader::Place RecordingIndex::Before(TimeNs t_ns) const {
  const auto after = std::partition_point(marks_.begin(), marks_.end(),
                                          [&](const Mark& m) { return m.latest_ns < t_ns; });
  return after == marks_.begin() ? begin_ : std::prev(after)->place;
}

}  // namespace drycrank::bus

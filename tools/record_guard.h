// SPDX-License-Identifier: Apache-2.0
//
// Looks after record and recording while a run goes on, twice a second: what cannot be written any more,
// a disk that is nearly full, and a record that has reached --out-most are said at once, each once.
//
// At --out-most the record ends: whole lines, the last of them `end` with this reason, and nothing that
// was judged before is missing. Its beginning is never dropped, for what it says later builds on that; a
// recording in parts (--recording with --recording-files) is what keeps the newest of a long run.
#ifndef DRYCRANK_TOOLS_RECORD_GUARD_H_
#define DRYCRANK_TOOLS_RECORD_GUARD_H_

#include <CLI/CLI.hpp>
#include <functional>
#include <optional>
#include <string>

#include "io/disk_room.h"
#include "record/record.h"
#include "run/observer.h"
#include "tools/recording_options.h"

namespace drycrank::tools {

void AddOutMost(CLI::App& app, std::uint64_t& most_bytes);

class RecordGuard : public run::RunObserver {
 public:
  using Say = std::function<void(const std::string& text, TimeNs t_ns)>;
  // `folder`: of the record, `path`: of the recording; empty: none. most_bytes 0: no limit.
  RecordGuard(std::string folder, std::string path, std::uint64_t most_bytes, Say say);

  // Null: there is none. Both must outlive the run.
  void Watch(record::RecordWriter* record, const FrameRecorder* recorder) {
    record_ = record;
    recorder_ = recorder;
  }
  void OnSample(TimeNs t_ns) override;

  std::string trouble() const;                    // of either; empty: none
  std::optional<io::DiskRoomFacts> room() const;  // nothing: nothing is written
  // Why the record ended before the run; empty: it did not.
  const std::string& why_ended() const { return why_ended_; }

 private:
  void Look(TimeNs t_ns);
  void Once(bool holds, bool& said, const std::string& text, TimeNs t_ns);

  std::uint64_t most_bytes_;
  Say say_;
  std::optional<io::DiskRoom> room_;
  record::RecordWriter* record_ = nullptr;
  const FrameRecorder* recorder_ = nullptr;
  TimeNs next_ns_ = 0;
  bool said_trouble_ = false, said_low_ = false;
  std::string why_ended_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_RECORD_GUARD_H_

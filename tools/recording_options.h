// SPDX-License-Identifier: Apache-2.0
//
// --recording and what belongs to it, the same for run and drycrankd.
#ifndef DRYCRANK_TOOLS_RECORDING_OPTIONS_H_
#define DRYCRANK_TOOLS_RECORDING_OPTIONS_H_

#include <CLI/CLI.hpp>
#include <memory>
#include <optional>
#include <string>

#include "io/recorder.h"
#include "profile/bench.h"
#include "run/observer.h"

namespace drycrank::tools {

struct RecordingWish {
  std::string path;  // empty: none
  bool overwrite = false;
  double max_mib = 0, max_s = 0;  // of one file; 0: no limit
  int max_files = 0;
};
void AddRecordingOptions(CLI::App& command, RecordingWish& wish);

class FrameRecorder : public run::RunObserver {
 public:
  // Empty on success, or when no recording is wanted: `out` is then null.
  [[nodiscard]] static std::string Open(const RecordingWish& wish, const profile::Bench& bench,
                                        io::Recorder::WhenFull when_full,
                                        std::unique_ptr<FrameRecorder>& out);
  void OnClockStart(TimeNs origin_ns) override;
  void OnFrame(const bus::TimedFrame& frame) override;
  // While it records: what cannot be written any more; empty: all is well.
  std::string trouble() const { return recorder_.trouble(); }
  // Empty when every frame is in a file.
  [[nodiscard]] std::string Stop() { return recorder_.Stop(); }

 private:
  FrameRecorder(std::unique_ptr<io::RecordingFiles> files, io::Recorder::WhenFull when_full);

  TimeNs origin_ns_ = 0;  // of run time 0, since 1970
  io::Recorder recorder_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_RECORDING_OPTIONS_H_

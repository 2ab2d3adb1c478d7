// SPDX-License-Identifier: Apache-2.0
#include "tools/recording_options.h"

#include "tools/result_files.h"

namespace drycrank::tools {

void AddRecordingOptions(CLI::App& command, RecordingWish& wish) {
  command
      .add_option("--recording", wish.path,
                  "Write all frames to this file while they come: .log (candump log) or .pcapng")
      ->check(HasName())
      ->type_name("FILE");
  command
      .add_option("--recording-mib", wish.max_mib,
                  "Begin a new, numbered recording when one is this large")
      ->check(InRange(0.001, 1e6))
      ->type_name("MIB");
  command
      .add_option("--recording-s", wish.max_s,
                  "Begin a new, numbered recording when one has lasted this long")
      ->check(InRange(0.1, 1e6))
      ->type_name("SECONDS");
  command
      .add_option("--recording-files", wish.max_files,
                  "Keep this many numbered recordings, delete older ones")
      ->check(InRange(1, 1'000'000))
      ->type_name("COUNT");
}

std::string FrameRecorder::Open(const RecordingWish& wish, const profile::Bench& bench,
                                io::Recorder::WhenFull when_full,
                                std::unique_ptr<FrameRecorder>& out) {
  if (wish.path.empty()) return "";
  io::RecordingOptions options;
  options.path = wish.path;
  options.overwrite = wish.overwrite;
  options.max_bytes = static_cast<std::uint64_t>(wish.max_mib * 1048576);
  options.max_ns = FromSeconds(wish.max_s);
  options.max_files = wish.max_files;
  std::unique_ptr<io::RecordingFiles> files;
  const std::string problem = io::RecordingFiles::Open(options, files);
  if (!problem.empty()) return "--recording " + problem;
  for (const profile::Bus& bus : bench.buses) files->AddInterface(bus.name);
  out.reset(new FrameRecorder(std::move(files), when_full));
  return "";
}

FrameRecorder::FrameRecorder(std::unique_ptr<io::RecordingFiles> files,
                             io::Recorder::WhenFull when_full)
    : recorder_(std::move(files), when_full) {}

void FrameRecorder::OnClockStart(TimeNs origin_ns) { origin_ns_ = origin_ns; }

void FrameRecorder::OnFrame(const bus::TimedFrame& frame) {
  recorder_.Take({origin_ns_ + frame.t_ns, frame.bus,
                  frame.sent ? bus::Direction::kSent : bus::Direction::kReceived, frame.frame});
}

}  // namespace drycrank::tools

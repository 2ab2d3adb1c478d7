// SPDX-License-Identifier: Apache-2.0
//
// Ten million frames written to a file and read back as a stream, in constant memory: the largest
// resident size may grow by 16 MiB at most between the first tenth and the end of each pass. Says
// what it measured, and exits with 1 when memory grew, a frame was lost, or 60 s were not enough.
#include <fmt/format.h>
#include <sys/resource.h>

#include <chrono>
#include <filesystem>
#include <fstream>

#include "io/recording_files.h"
#include "tests/support/recording_index.h"

namespace drycrank {
namespace {

using Clock = std::chrono::steady_clock;

constexpr std::uint64_t kFrames = 10'000'000;
constexpr long kMayGrowKib = 16 * 1024;
constexpr double kMayTakeS = 60;

long MaxResidentKib() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss;
}

double SecondsSince(Clock::time_point begin) {
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

// Frame i: another identifier, length and time each.
bus::RecordedFrame FrameAt(std::uint64_t i) {
  bus::RecordedFrame frame;
  frame.t_ns = static_cast<TimeNs>(i * 62'500);  // 16,000 a second
  frame.interface = static_cast<int>(i % 2);
  frame.direction = i % 3 == 0 ? bus::Direction::kSent : bus::Direction::kReceived;
  frame.frame.id = static_cast<std::uint32_t>(i * 2'654'435'761u) & 0x7FF;
  frame.frame.length = static_cast<std::uint8_t>(i % 9);
  for (unsigned b = 0; b < frame.frame.length; ++b) {
    frame.frame.data[b] = static_cast<std::uint8_t>(i >> (8 * b));
  }
  return frame;
}

bool Same(const bus::RecordedFrame& a, const bus::RecordedFrame& b, bool log) {
  return (log ? a.t_ns / 1000 == b.t_ns / 1000 : a.t_ns == b.t_ns && a.direction == b.direction) &&
         a.interface == b.interface && a.frame == b.frame;
}

bool WriteAll(const std::string& path) {
  io::RecordingOptions options;
  options.path = path;
  options.overwrite = true;
  std::unique_ptr<io::RecordingFiles> files;
  std::string problem = io::RecordingFiles::Open(options, files);
  if (problem.empty()) {
    files->AddInterface("powertrain");
    files->AddInterface("chassis");
    for (std::uint64_t i = 0; i < kFrames; ++i) files->Write(FrameAt(i));
    problem = files->Close();
  }
  if (!problem.empty()) fmt::print("{}\n", problem);
  return problem.empty();
}

// Frames that came back as they were.
std::uint64_t ReadAll(const std::string& path, long& grown_kib) {
  std::ifstream stream(path, std::ios::binary);
  bus::RecordingReader reader(stream);
  const bool log = reader.format() == bus::RecordingFormat::kCandumpLog;
  std::uint64_t good = 0, i = 0;
  long early_kib = 0;
  for (bus::RecordedFrame frame; reader.Next(frame); ++i) {
    if (Same(frame, FrameAt(i), log)) ++good;
    if (i == kFrames / 10) early_kib = MaxResidentKib();
  }
  grown_kib = MaxResidentKib() - early_kib;
  return reader.damaged() == 0 && i == kFrames ? good : 0;
}

// A jump to nine tenths, by an index made in one pass.
bool Jump(const std::string& path) {
  std::ifstream stream(path, std::ios::binary);
  bus::RecordingReader reader(stream);
  auto begin = Clock::now();
  const bus::RecordingIndex index(reader);
  fmt::print("  index in {:.2f} s", SecondsSince(begin));
  begin = Clock::now();
  const TimeNs wanted_ns = FrameAt(kFrames / 10 * 9).t_ns;
  bool found = reader.JumpTo(index.Before(wanted_ns));
  bus::RecordedFrame frame;
  while (found && reader.Next(frame) && frame.t_ns < wanted_ns) {
  }
  fmt::print(", jump to the frame at {:.0f} s in {:.1f} ms\n", ToSeconds(wanted_ns),
             1000 * SecondsSince(begin));
  return found && frame.t_ns == wanted_ns;
}

bool Measure(const std::string& path) {
  auto begin = Clock::now();
  if (!WriteAll(path)) return false;
  const double write_s = SecondsSince(begin);
  begin = Clock::now();
  long grown_kib = 0;
  const std::uint64_t good = ReadAll(path, grown_kib);
  const double read_s = SecondsSince(begin);
  fmt::print(
      "{}: {} MiB; written in {:.2f} s, read in {:.2f} s, {} of {} frames as written, "
      "memory grew by {} KiB\n",
      std::filesystem::path(path).extension().string(), std::filesystem::file_size(path) >> 20,
      write_s, read_s, good, kFrames, grown_kib);
  return good == kFrames && grown_kib <= kMayGrowKib;
}

}  // namespace
}  // namespace drycrank

int main(int argc, char** argv) {
  using namespace drycrank;
  const std::string folder = argc > 1 ? argv[1] : std::filesystem::temp_directory_path().string();
  const auto begin = Clock::now();
  bool good = true;
  for (const char* ending : {".pcapng", ".log"}) {
    const std::string path = folder + "/drycrank-recording-bench" + ending;
    good = Measure(path) && good;
    good = Jump(path) && good;
    std::filesystem::remove(path);
  }
  const double took_s = SecondsSince(begin);
  fmt::print("all in {:.1f} s (at most {:.0f} wanted)\n", took_s, kMayTakeS);
  return good && took_s <= kMayTakeS ? 0 : 1;
}

// SPDX-License-Identifier: Apache-2.0
//
// How fast frames of a recording are read, beside a floor of the same run: a pass that only finds the
// ends of the lines (memchr). A million frames of a candump log and of a pcapng, most of them of
// identifiers that the bench has. Exits with 1 when a pass takes more than kMostTimesFloor of it, or
// a frame is lost. The figure wanted is 5 million frames a second; it is printed.
#include <fmt/format.h>
#include <time.h>

#include <chrono>
#include <cstring>
#include <sstream>

#include "bus/candump_log.h"
#include "bus/pcapng.h"
#include "bus/value_reader.h"
#include "profile/load.h"

namespace drycrank {
namespace {

// Of processor time, so that other work on the machine counts little.
struct Clock {
  using time_point = std::chrono::duration<double, std::nano>;
  static time_point Now() {
    timespec now{};
    ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return time_point(1e9 * static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec));
  }
};

constexpr std::uint64_t kFrames = 1'000'000;
constexpr int kPasses = 5;
constexpr double kMostTimesFloor = 35;

double NsPerFrame(Clock::time_point begin) { return (Clock::Now() - begin).count() / kFrames; }

bus::RecordedFrame FrameAt(std::uint64_t i) {
  constexpr std::uint32_t kIds[] = {0x120, 0x130, 0x140, 0x150, 0x7F0};
  bus::RecordedFrame frame;
  frame.t_ns = static_cast<TimeNs>(i * 200'000);
  frame.direction = bus::Direction::kReceived;
  frame.frame.id = kIds[i % 5];
  frame.frame.length = 8;
  for (unsigned b = 0; b < 8; ++b) frame.frame.data[b] = static_cast<std::uint8_t>(i >> b);
  return frame;
}

struct Figures {
  double floor_ns = 1e9, read_ns = 1e9, values_ns = 1e9;
  bool is_whole = true;
};

void Floor(const std::string& bytes, Figures& best) {
  const auto begin = Clock::Now();
  std::uint64_t lines = 0;
  const char* at = bytes.data();
  for (const char* const end = at + bytes.size(); at < end; ++lines) {
    const void* found = std::memchr(at, '\n', static_cast<std::size_t>(end - at));
    at = found != nullptr ? static_cast<const char*>(found) + 1 : end;
  }
  best.floor_ns = std::min(best.floor_ns, NsPerFrame(begin));
  best.is_whole = best.is_whole && lines == kFrames;
}

void Read(const std::string& bytes, const bus::ValueReader* values, Figures& best) {
  std::istringstream stream(bytes);
  const auto begin = Clock::Now();
  bus::RecordingReader reader(stream);
  std::uint64_t frames = 0;
  double sum = 0;
  for (bus::RecordedFrame frame; reader.Next(frame); ++frames) {
    if (values == nullptr) continue;
    values->Read(0, frame.frame, [&](const auto&, const auto&, double value) { sum += value; });
  }
  double& kept = values == nullptr ? best.read_ns : best.values_ns;
  kept = std::min(kept, NsPerFrame(begin));
  best.is_whole = best.is_whole && frames == kFrames && (values == nullptr || sum != 0);
}

bool Measure(const char* name, const std::string& bytes, const std::string& lines,
             const bus::ValueReader& values, double most_times_floor) {
  Figures best;
  for (int pass = 0; pass < kPasses; ++pass) {
    Floor(lines, best);
    Read(bytes, nullptr, best);
    Read(bytes, &values, best);
  }
  const double times = best.read_ns / best.floor_ns;
  fmt::print(
      "{}: read {:.0f} ns a frame ({:.1f} million a second), with values {:.0f} ns; floor {:.1f} "
      "ns, "
      "{:.1f} times of it (at most {:.0f}){}\n",
      name, best.read_ns, 1000 / best.read_ns, best.values_ns, best.floor_ns, times,
      most_times_floor, best.is_whole ? "" : "; FRAMES LOST");
  return best.is_whole && times <= most_times_floor;
}

bool All() {
  const auto loaded = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
  if (!loaded.bench) return false;
  const bus::ValueReader values(loaded.bench->buses);
  fmt::memory_buffer log, pcapng;
  bus::AppendPcapngSection(pcapng);
  bus::AppendPcapngInterface("vehicle", pcapng);
  for (std::uint64_t i = 0; i < kFrames; ++i) {
    bus::AppendLogLine(FrameAt(i), "vehicle", log);
    bus::AppendPcapngFrame(FrameAt(i), pcapng);
  }
  const std::string lines = fmt::to_string(log);
  const bool is_log_good = Measure("candump log", lines, lines, values, kMostTimesFloor);
  return Measure("pcapng", fmt::to_string(pcapng), lines, values, kMostTimesFloor) && is_log_good;
}

}  // namespace
}  // namespace drycrank

int main() { return drycrank::All() ? 0 : 1; }

// SPDX-License-Identifier: Apache-2.0
//
// Recordings of each format: reading ends, is repeatable, and a jump to a place gives the frame that
// stood there. A frame as text is read back as it was.
#include <sstream>
#include <string>
#include <vector>

#include "bus/frame_text.h"
#include "bus/recording.h"
#include "tests/fuzz/fuzz.h"
#include "types/nth.h"

namespace drycrank::fuzz {
namespace {

constexpr std::size_t kPlaces = 8;  // each costs a pass

bool IsSame(const bus::RecordedFrame& a, const bus::RecordedFrame& b) {
  return a.t_ns == b.t_ns && a.interface == b.interface && a.frame == b.frame;
}

void ReadsBackAsText(const bus::Frame& frame) {
  if (!bus::IsValid(frame)) return;
  fmt::memory_buffer text;
  bus::AppendFrameText(frame, text);
  const auto again = bus::ParseFrameText({text.data(), text.size()});
  Require(again && *again == frame, "a frame's text is read back as it was");
}

void Read(std::string_view bytes) {
  std::istringstream stream{std::string(bytes)};
  bus::RecordingReader reader(stream);
  std::vector<std::pair<bus::RecordingReader::Place, bus::RecordedFrame>> seen;
  bus::RecordedFrame frame;
  while (reader.Next(frame)) {
    Require(frame.t_ns >= 0 && frame.t_ns <= bus::kLastRecordedNs, "a time is within its range");
    Nth(reader.interfaces(), frame.interface);
    Require(frame.frame.length <= 64, "a frame has at most 64 bytes");
    ReadsBackAsText(frame.frame);
    if (seen.size() < kPlaces) seen.emplace_back(reader.frame_place(), frame);
  }
  Require(reader.damage().size() <= bus::RecordingReader::kMaxDamageKept, "damage kept is bounded");
  const std::uint64_t damaged = reader.damaged();
  for (const auto& [place, wanted] : seen) {
    Require(reader.JumpTo(place), "a stream in memory can jump");
    Require(reader.Next(frame) && IsSame(frame, wanted),
            "a jump gives the frame that stood there");
  }
  Require(reader.damaged() <= damaged + seen.size(), "what is read again counts once");
}

}  // namespace
}  // namespace drycrank::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  drycrank::fuzz::Read(drycrank::fuzz::TextOf(data, size));
  return 0;
}

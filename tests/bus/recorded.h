// SPDX-License-Identifier: Apache-2.0
//
// Recordings in memory, and one frame of every kind.
#ifndef DRYCRANK_TESTS_BUS_RECORDED_H_
#define DRYCRANK_TESTS_BUS_RECORDED_H_

#include <fmt/format.h>

#include <sstream>
#include <string>
#include <vector>

#include "bus/candump_log.h"
#include "bus/pcapng.h"
#include "bus/recording.h"

namespace drycrank::bus {

// One of each kind, in the notation of can-utils, with round times.
inline const std::string kEveryKind =
    "(1700000000.000001) can0 123#0102\n"
    "(1700000000.250000) can1 12345678#11223344556677AA\n"
    "(1700000000.250000) can0 7FF#\n"
    "(1700000001.000000) can0 123#R\n"
    "(1700000001.000002) can0 00000123#R8\n"
    "(1700000002.000000) can1 321##5112233445566778899AABBCC\n"
    "(1700000002.500000) can1 321##4\n"
    "(1700000003.000000) can0 1ABCDEF0##7"
    "000102030405060708090A0B0C0D0E0F101112131415161718191A1B1C1D1E1F"
    "202122232425262728292A2B2C2D2E2F303132333435363738393A3B3C3D3E3F\n"
    "(1700000004.999999) can0 20000040#0000000000000000\n"
    "(1700000004.999999) can0 200000A8#0004000008000000\n";

inline std::vector<RecordedFrame> ReadAll(RecordingReader& reader) {
  std::vector<RecordedFrame> frames;
  for (RecordedFrame frame; reader.Next(frame);) frames.push_back(frame);
  return frames;
}

struct Read {
  std::vector<RecordedFrame> frames;
  std::vector<std::string> interfaces;
  std::vector<Damage> damage;
  std::uint64_t passed_over = 0;
};
inline Read ReadBytes(const std::string& bytes) {
  std::istringstream stream(bytes);
  RecordingReader reader(stream);
  Read read{ReadAll(reader), {}, {}, 0};
  read.interfaces = reader.interfaces();
  read.damage = reader.damage();
  read.passed_over = reader.passed_over();
  return read;
}

inline std::string AsLog(const Read& read) {
  fmt::memory_buffer out;
  for (const RecordedFrame& frame : read.frames) {
    AppendLogLine(frame, read.interfaces[static_cast<std::size_t>(frame.interface)], out);
  }
  return fmt::to_string(out);
}

inline std::string AsPcapng(const Read& read) {
  fmt::memory_buffer out;
  AppendPcapngSection(out);
  for (const std::string& name : read.interfaces) AppendPcapngInterface(name, out);
  for (const RecordedFrame& frame : read.frames) AppendPcapngFrame(frame, out);
  return fmt::to_string(out);
}

}  // namespace drycrank::bus

#endif  // DRYCRANK_TESTS_BUS_RECORDED_H_

// SPDX-License-Identifier: Apache-2.0
#include "bus/frame_bits.h"

#include <array>
#include <cassert>
#include <cmath>
#include <cstddef>

#include "types/nth.h"

namespace drycrank::bus {
namespace {

constexpr int kClassicalTail = 3 + 7 + kIntermissionBits;  // delimiter, ACK, delimiter; EOF
constexpr int kFdTail = 2 + 7 + kIntermissionBits;         // without the checksum's delimiter

constexpr std::uint32_t NextCrc15(std::uint32_t crc, bool bit) {
  const bool out = ((crc >> 14) & 1u) != 0;
  return ((crc << 1) & 0x7FFFu) ^ (bit != out ? 0x4599u : 0u);
}

// Bits sent, with the stuff bits between them, and the run of equal ones at their end. A stuff bit
// begins a run of its own.
struct Run {
  int sent = 0;
  int length = 0;    // 0..5
  bool last = true;  // the bus idles recessive; those bits do not count as a run

  constexpr void PutBit(bool bit) {
    if (length == 5) {  // owed by the bits before
      ++sent;
      last = !last;
      length = 1;
    }
    length = bit == last ? length + 1 : 1;
    last = bit;
    ++sent;
  }
};

// What a byte makes of a run that stands at 2 * length + last, and of the checksum.
struct ByteStep {
  std::uint8_t sent = 0, to = 0;
};
constexpr auto kByteSteps = [] {
  std::array<std::array<ByteStep, 256>, 12> steps{};
  for (int from = 0; from < 12; ++from) {
    for (int byte = 0; byte < 256; ++byte) {
      Run run{0, from / 2, from % 2 != 0};
      for (int i = 7; i >= 0; --i) run.PutBit(((byte >> i) & 1) != 0);
      steps[static_cast<std::size_t>(from)][static_cast<std::size_t>(byte)] = {
          static_cast<std::uint8_t>(run.sent),
          static_cast<std::uint8_t>(2 * run.length + (run.last ? 1 : 0))};
    }
  }
  return steps;
}();
constexpr auto kByteCrc15 = [] {
  std::array<std::uint16_t, 256> table{};
  for (std::uint32_t byte = 0; byte < 256; ++byte) {
    std::uint32_t crc = 0;
    for (int i = 7; i >= 0; --i) crc = NextCrc15(crc, ((byte >> i) & 1u) != 0);
    table[byte] = static_cast<std::uint16_t>(crc);
  }
  return table;
}();

class Stuffer {
 public:
  void Put(std::uint32_t value, int bits) {
    for (; bits >= 8; bits -= 8) PutByte((value >> (bits - 8)) & 0xFFu);
    for (int i = bits - 1; i >= 0; --i) PutBit(((value >> i) & 1u) != 0);
  }
  int sent() const { return run_.sent; }
  std::uint32_t crc() const { return crc_; }
  // The stuff bit after the last five, if they call for one.
  bool owes() const { return run_.length == 5; }

 private:
  void PutBit(bool bit) {
    run_.PutBit(bit);
    crc_ = NextCrc15(crc_, bit);
  }
  void PutByte(std::uint32_t byte) {
    const ByteStep step = kByteSteps[static_cast<std::size_t>(2 * run_.length + run_.last)][byte];
    run_ = {run_.sent + step.sent, step.to / 2, step.to % 2 != 0};
    crc_ = ((crc_ << 8) & 0x7FFFu) ^ kByteCrc15[((crc_ >> 7) ^ byte) & 0xFFu];
  }

  Run run_;
  std::uint32_t crc_ = 0;
};

std::uint32_t LengthCode(int bytes) {
  constexpr std::array<int, 7> kLong = {12, 16, 20, 24, 32, 48, 64};
  for (std::size_t i = 0; i < kLong.size(); ++i) {
    if (bytes == kLong[i]) return static_cast<std::uint32_t>(9 + i);
  }
  return static_cast<std::uint32_t>(bytes);
}

void PutIdentifier(Stuffer& out, const Frame& frame) {
  out.Put(0, 1);  // start of frame
  if (!frame.extended) {
    out.Put(frame.id, 11);
    return;
  }
  out.Put(frame.id >> 18, 11);
  out.Put(3, 2);  // SRR, IDE
  out.Put(frame.id & 0x3FFFFu, 18);
}

FrameBits ExactClassical(const Frame& frame) {
  Stuffer out;
  PutIdentifier(out, frame);
  out.Put(frame.remote ? 1 : 0, 1);
  out.Put(0, 2);  // IDE and r0, or r1 and r0
  out.Put(frame.length, 4);
  if (!frame.remote) {
    for (const std::uint8_t byte : frame.bytes()) out.Put(byte, 8);
  }
  out.Put(out.crc(), 15);
  return {out.sent() + (out.owes() ? 1 : 0) + kClassicalTail, 0};
}

// Count of stuff bits (with its parity), checksum, their fixed stuff bits, the delimiter.
int FdChecksumBits(int length_bytes) {
  const int bits = 4 + (length_bytes <= 16 ? 17 : 21);
  return bits + (bits + 3) / 4 + 1;
}

FrameBits Shared(int nominal, int data, bool switched) {
  return switched ? FrameBits{nominal + kFdTail, data} : FrameBits{nominal + kFdTail + data, 0};
}

FrameBits ExactFd(const Frame& frame) {
  Stuffer out;
  PutIdentifier(out, frame);
  out.Put(0, 1);                       // RRS
  if (!frame.extended) out.Put(0, 1);  // IDE
  out.Put(2, 2);                       // FDF, res
  out.Put(frame.bit_rate_switch ? 1 : 0, 1);
  const int nominal = out.sent();
  out.Put(frame.error_state ? 1 : 0, 1);
  out.Put(LengthCode(frame.length), 4);
  for (const std::uint8_t byte : frame.bytes()) out.Put(byte, 8);
  // What is owed at the end is the first fixed stuff bit, not one more.
  const int data = out.sent() - nominal + FdChecksumBits(frame.length);
  return Shared(nominal, data, frame.bit_rate_switch);
}

int StuffBitsAtMost(int bits) { return (bits - 1) / 4; }

// Bits of the part with stuff bits in it, and of it those up to BRS.
int ClassicalStuffed(const profile::Message& message) {
  return (message.extended ? 54 : 34) + 8 * message.length_bytes;
}
int FdToSwitch(const profile::Message& message) { return message.extended ? 36 : 17; }
int FdStuffed(const profile::Message& message) {
  return FdToSwitch(message) + 5 + 8 * message.length_bytes;
}

}  // namespace

FrameBits ExactBits(const Frame& frame) {
  assert(IsValid(frame));
  return frame.fd ? ExactFd(frame) : ExactClassical(frame);
}

FrameBits WorstCaseBits(const profile::Message& message) {
  if (!message.fd) {
    const int stuffed = ClassicalStuffed(message);
    return {stuffed + StuffBitsAtMost(stuffed) + kClassicalTail, 0};
  }
  // As many stuff bits as can be at the slower rate, the rest at the faster.
  const int to_switch = FdToSwitch(message);
  const int slow_stuff = StuffBitsAtMost(to_switch);
  const int fast_stuff = StuffBitsAtMost(FdStuffed(message)) - slow_stuff;
  return Shared(to_switch + slow_stuff,
                FdStuffed(message) - to_switch + fast_stuff + FdChecksumBits(message.length_bytes),
                message.bit_rate_switch);
}

FrameBits LeastBits(const profile::Message& message) {
  if (!message.fd) return {ClassicalStuffed(message) + kClassicalTail, 0};
  const int to_switch = FdToSwitch(message);
  return Shared(to_switch, FdStuffed(message) - to_switch + FdChecksumBits(message.length_bytes),
                message.bit_rate_switch);
}

TimeNs DurationNs(const FrameBits& bits, const profile::Bus& bus) {
  const double seconds = bits.nominal / bus.bitrate_bps + bits.data / bus.data_bitrate_bps;
  return std::llround(seconds * 1e9);
}

TimeNs BitNs(const profile::Bus& bus) { return DurationNs({1, 0}, bus); }

std::uint32_t Crc15(std::span<const std::uint8_t> bits) {
  std::uint32_t crc = 0;
  for (const std::uint8_t bit : bits) crc = NextCrc15(crc, bit != 0);
  return crc;
}

std::uint32_t ArbitrationField(const Frame& frame) {
  const std::uint32_t remote = frame.remote ? 1 : 0;
  if (!frame.extended) return frame.id << 21 | remote << 20;
  return (frame.id >> 18) << 21 | 3u << 19 | (frame.id & 0x3FFFFu) << 1 | remote;
}

}  // namespace drycrank::bus

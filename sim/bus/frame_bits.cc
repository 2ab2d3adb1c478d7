// SPDX-License-Identifier: Apache-2.0
#include "bus/frame_bits.h"

#include <array>
#include <cassert>
#include <cmath>

namespace drycrank::bus {
namespace {

constexpr int kClassicalTail = 3 + 7 + kIntermissionBits;  // delimiter, ACK, delimiter; EOF
constexpr int kFdTail = 2 + 7 + kIntermissionBits;         // without the checksum's delimiter

std::uint32_t NextCrc15(std::uint32_t crc, bool bit) {
  const bool out = ((crc >> 14) & 1u) != 0;
  return ((crc << 1) & 0x7FFFu) ^ (bit != out ? 0x4599u : 0u);
}

// Counts bits and the stuff bits between them. A stuff bit begins a run of its own.
class Stuffer {
 public:
  void Put(std::uint32_t value, int bits) {
    for (int i = bits - 1; i >= 0; --i) PutBit(((value >> i) & 1u) != 0);
  }
  int sent() const { return sent_; }
  std::uint32_t crc() const { return crc_; }
  // The stuff bit after the last five, if they call for one.
  bool owes() const { return run_ == 5; }

 private:
  void PutBit(bool bit) {
    if (run_ == 5) {  // owed by the bits before
      ++sent_;
      last_ = !last_;
      run_ = 1;
    }
    run_ = bit == last_ ? run_ + 1 : 1;
    last_ = bit;
    ++sent_;
    crc_ = NextCrc15(crc_, bit);
  }

  int sent_ = 0;
  int run_ = 0;
  bool last_ = true;  // the bus idles recessive; those bits do not count as a run
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

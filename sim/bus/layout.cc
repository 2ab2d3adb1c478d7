// SPDX-License-Identifier: Apache-2.0
#include "bus/layout.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>
#include <limits>

#include "bus/checksum.h"
#include "types/nth.h"

namespace drycrank::bus {
namespace {

using profile::ByteOrder;
using profile::ChecksumKind;
using profile::Message;
using profile::Multiplex;
using profile::Signal;

constexpr std::uint64_t Mask(int bits) {
  return bits >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << bits) - 1;
}

// Calls visit(byte, shift, count, at) for each run of bits of the signal inside one byte: `count`
// bits from bit `shift` of byte `byte` up are bits `at` and up of the signal.
template <class Visit>
void ForEachRun(const Signal& signal, Visit visit) {
  int byte = signal.start_bit / 8;
  int bit = signal.start_bit % 8;
  int left = signal.length_bits;
  if (signal.byte_order == ByteOrder::kLittle) {
    for (int at = 0; left > 0; ++byte, bit = 0) {
      const int count = std::min(8 - bit, left);
      visit(AsSize(byte), bit, count, at);
      at += count;
      left -= count;
    }
  } else {
    for (; left > 0; ++byte, bit = 7) {
      const int count = std::min(bit + 1, left);
      left -= count;
      visit(AsSize(byte), bit + 1 - count, count, left);
    }
  }
}

// The bytes of a signal as one number, and where in it the signal's lowest bit is.
struct Place {
  explicit Place(const Signal& signal) : first(signal.start_bit / 8) {
    const int bit = signal.start_bit % 8;
    const bool little = signal.byte_order == ByteOrder::kLittle;
    const int bits = signal.length_bits + (little ? bit : 7 - bit);
    bytes = (bits + 7) / 8;
    shift = little ? bit : 8 * bytes - bits;
  }
  bool IsWithin(std::size_t size) const { return bytes <= 8 && AsSize(first + bytes) <= size; }

  int first = 0, bytes = 0, shift = 0;
};

int LastByte(const Signal& signal) {
  const int bit = signal.start_bit % 8;
  const int bits_before = signal.byte_order == ByteOrder::kLittle
                              ? bit
                              : 7 - bit;  // of the first byte, not the signal's
  return signal.start_bit / 8 + (bits_before + signal.length_bits - 1) / 8;
}

bool Holds(const Frame& frame, const Signal& signal) {
  return !frame.remote && !frame.error && LastByte(signal) < frame.length;
}

std::int64_t SignExtended(const Signal& signal, std::uint64_t bits) {
  const int unused = 64 - signal.length_bits;
  if (!signal.is_signed || signal.is_float) return static_cast<std::int64_t>(bits);
  return static_cast<std::int64_t>(bits << unused) >> unused;
}

double RawAsDouble(const Signal& signal, std::uint64_t bits) {
  if (signal.is_float) {
    if (signal.length_bits == 64) return std::bit_cast<double>(bits);
    return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(bits)));
  }
  return signal.is_signed ? static_cast<double>(SignExtended(signal, bits))
                          : static_cast<double>(bits);
}

std::uint64_t FloatBits(const Signal& signal, double raw) {
  if (signal.length_bits == 64) return std::bit_cast<std::uint64_t>(raw);
  constexpr double kMax = std::numeric_limits<float>::max();
  return std::bit_cast<std::uint32_t>(static_cast<float>(std::clamp(raw, -kMax, kMax)));
}

// Compared as double first: a cast of a double that is out of the integer's range is undefined. A
// limit of more than 53 bits rounds up to a power of two, and everything below that can be cast.
std::uint64_t SignedBits(double rounded, int length_bits) {
  const auto highest = static_cast<std::int64_t>(Mask(length_bits - 1));
  const std::int64_t lowest = -highest - 1;
  if (rounded >= static_cast<double>(highest)) return static_cast<std::uint64_t>(highest);
  if (rounded <= static_cast<double>(lowest)) return static_cast<std::uint64_t>(lowest);
  return static_cast<std::uint64_t>(static_cast<std::int64_t>(rounded));
}

std::uint64_t UnsignedBits(double rounded, int length_bits) {
  const std::uint64_t highest = Mask(length_bits);
  if (rounded >= static_cast<double>(highest)) return highest;
  if (rounded <= 0) return 0;
  return static_cast<std::uint64_t>(rounded);
}

const Signal* Selector(const Message& message) {
  for (const Signal& signal : message.signals) {
    if (signal.multiplex == Multiplex::kSelector) return &signal;
  }
  return nullptr;
}

bool IsIn(const Message& message, const Signal& signal, const Frame& frame) {
  if (!Holds(frame, signal)) return false;
  if (signal.multiplex != Multiplex::kSelected) return true;
  const Signal* selector = Selector(message);
  return selector != nullptr && Holds(frame, *selector) &&
         RawValue(*selector, frame.bytes()) == signal.multiplex_value;
}

double Physical(const Signal& signal, std::uint64_t bits) {
  return RawAsDouble(signal, bits) * signal.scale + signal.offset;
}

bool IsNone(const Signal& signal, std::uint64_t bits) {
  if (signal.is_float) return std::isnan(Physical(signal, bits));
  return signal.not_available && SignExtended(signal, bits) == *signal.not_available;
}

// All bytes but the one that holds the checksum.
std::uint8_t ChecksumOver(ChecksumKind kind, const Frame& frame, int but_byte) {
  std::array<std::uint8_t, 64> rest;
  std::size_t size = 0;
  for (int i = 0; i < frame.length; ++i) {
    if (i != but_byte) rest[size++] = Nth(frame.data, i);
  }
  const std::span<const std::uint8_t> covered{rest.data(), size};
  return kind == ChecksumKind::kCrc8Autosar ? Crc8Autosar(covered) : Crc8SaeJ1850(covered);
}

const Signal* ChecksumSignal(const Message& message) {
  if (message.checksum == ChecksumKind::kNone || message.checksum_signal < 0) return nullptr;
  return &Nth(message.signals, message.checksum_signal);
}

}  // namespace

std::uint64_t ExtractBits(const Signal& signal, std::span<const std::uint8_t> data) {
  std::uint64_t bits = 0;
  if (const Place at(signal); at.IsWithin(data.size())) {
    const bool little = signal.byte_order == ByteOrder::kLittle;
    for (int i = 0; i < at.bytes; ++i) {
      const std::uint64_t byte = data[AsSize(at.first + i)];
      bits = little ? bits | byte << (8 * i) : bits << 8 | byte;
    }
    return (bits >> at.shift) & Mask(signal.length_bits);
  }
  ForEachRun(signal, [&](std::size_t byte, int shift, int count, int at) {
    if (byte >= data.size()) return;
    bits |= ((std::uint64_t{data[byte]} >> shift) & Mask(count)) << at;
  });
  return bits;
}

void InsertBits(const Signal& signal, std::uint64_t bits, std::span<std::uint8_t> data) {
  if (const Place at(signal); at.bytes == 1 && at.IsWithin(data.size())) {
    const std::uint64_t mask = Mask(signal.length_bits);
    std::uint8_t& byte = data[AsSize(at.first)];
    byte = static_cast<std::uint8_t>((byte & ~(mask << at.shift)) | (bits & mask) << at.shift);
    return;
  }
  ForEachRun(signal, [&](std::size_t byte, int shift, int count, int at) {
    if (byte >= data.size()) return;
    const std::uint64_t kept = data[byte] & ~(Mask(count) << shift);
    data[byte] = static_cast<std::uint8_t>(kept | (((bits >> at) & Mask(count)) << shift));
  });
}

std::int64_t RawValue(const Signal& signal, std::span<const std::uint8_t> data) {
  return SignExtended(signal, ExtractBits(signal, data));
}

double PhysicalValue(const Signal& signal, std::span<const std::uint8_t> data) {
  return Physical(signal, ExtractBits(signal, data));
}

std::uint64_t BitsFor(const Signal& signal, double physical) {
  if (signal.min < signal.max) physical = std::clamp(physical, signal.min, signal.max);
  const double raw = (physical - signal.offset) / signal.scale;
  if (std::isnan(raw) && signal.not_available) {
    return static_cast<std::uint64_t>(*signal.not_available) & Mask(signal.length_bits);
  }
  if (signal.is_float) return FloatBits(signal, raw);
  if (std::isnan(raw)) return 0;
  const double rounded = std::round(raw);
  const std::uint64_t bits = signal.is_signed ? SignedBits(rounded, signal.length_bits)
                                              : UnsignedBits(rounded, signal.length_bits);
  return bits & Mask(signal.length_bits);
}

std::optional<double> Decode(const Message& message, int index, const Frame& frame) {
  const Signal& signal = Nth(message.signals, index);
  if (!IsIn(message, signal, frame)) return std::nullopt;
  const std::uint64_t bits = ExtractBits(signal, frame.bytes());
  if (IsNone(signal, bits)) return std::nullopt;
  return Physical(signal, bits);
}

bool SaysNotAvailable(const Message& message, int index, const Frame& frame) {
  const Signal& signal = Nth(message.signals, index);
  return IsIn(message, signal, frame) && IsNone(signal, ExtractBits(signal, frame.bytes()));
}

std::optional<double> Measured(const Message& message, int index, const Frame& frame) {
  const Signal& signal = Nth(message.signals, index);
  if (signal.valid_signal >= 0) {
    const auto says = Decode(message, signal.valid_signal, frame);
    const double step = std::abs(Nth(message.signals, signal.valid_signal).scale);
    if (!says || std::abs(*says - signal.valid_equals) > step / 2) return std::nullopt;
  }
  return Decode(message, index, frame);
}

Frame Encode(const Message& message, std::span<const double> physical, std::uint64_t counter,
             std::uint8_t unused) {
  assert(physical.size() == message.signals.size());
  assert(message.length_bytes >= 0 && message.length_bytes <= 64);
  Frame frame;
  frame.id = message.id;
  frame.extended = message.extended;
  frame.fd = message.fd;
  frame.bit_rate_switch = message.fd && message.bit_rate_switch;
  frame.length = static_cast<std::uint8_t>(message.length_bytes);
  const std::span<std::uint8_t> data{frame.data.data(), frame.length};
  std::ranges::fill(data, unused);

  std::int64_t selected = 0;
  for (std::size_t i = 0; i < message.signals.size(); ++i) {
    if (message.signals[i].multiplex != Multiplex::kSelector) continue;
    selected = SignExtended(message.signals[i], BitsFor(message.signals[i], physical[i]));
  }
  for (std::size_t i = 0; i < message.signals.size(); ++i) {
    const Signal& signal = message.signals[i];
    if (signal.multiplex == Multiplex::kSelected && signal.multiplex_value != selected) continue;
    if (!signal.instead_of.empty()) continue;
    InsertBits(signal, BitsFor(signal, physical[i]), data);
  }
  Seal(message, counter, frame);
  return frame;
}

void Seal(const Message& message, std::uint64_t counter, Frame& frame) {
  const std::span<std::uint8_t> data{frame.data.data(), frame.length};
  if (message.counter_signal >= 0) {
    InsertBits(Nth(message.signals, message.counter_signal), counter, data);
  }
  if (const Signal* checksum = ChecksumSignal(message)) {
    InsertBits(*checksum, ChecksumOver(message.checksum, frame, LastByte(*checksum)), data);
  }
}

std::uint64_t CounterOf(const Message& message, const Frame& frame) {
  if (message.counter_signal < 0) return 0;
  return ExtractBits(Nth(message.signals, message.counter_signal), frame.bytes());
}

bool ChecksumIsRight(const Message& message, const Frame& frame) {
  const Signal* checksum = ChecksumSignal(message);
  if (checksum == nullptr) return true;
  if (!Holds(frame, *checksum)) return false;
  return ExtractBits(*checksum, frame.bytes()) ==
         ChecksumOver(message.checksum, frame, LastByte(*checksum));
}

bool Matches(const Message& message, const Frame& frame) {
  return frame.id == message.id && frame.extended == message.extended && !frame.remote &&
         !frame.error;
}

}  // namespace drycrank::bus

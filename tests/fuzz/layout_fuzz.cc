// SPDX-License-Identifier: Apache-2.0
//
// One signal at any place of a frame, any value: what is read is within one step of what was to be
// written, held within the signal's range; a float that is no number is no value; bits beside it stay;
// checksum and counter are right.
#include <bit>
#include <cmath>

#include "bus/layout.h"
#include "tests/fuzz/fuzz.h"

namespace drycrank::fuzz {
namespace {

profile::Signal SignalFrom(Bytes& bytes, int length_bytes) {
  profile::Signal signal;
  signal.name = "s";
  signal.byte_order = bytes.UpTo(1) == 0 ? profile::ByteOrder::kLittle : profile::ByteOrder::kBig;
  signal.start_bit = static_cast<int>(bytes.UpTo(static_cast<std::size_t>(8 * length_bytes - 1)));
  const int bit = signal.start_bit % 8, byte = signal.start_bit / 8;
  const bool little = signal.byte_order == profile::ByteOrder::kLittle;
  const int room =
      little ? 8 * length_bytes - signal.start_bit : 8 * (length_bytes - byte - 1) + bit + 1;
  signal.length_bits =
      1 + static_cast<int>(bytes.UpTo(static_cast<std::size_t>(std::min(room, 64) - 1)));
  signal.is_signed = bytes.UpTo(1) != 0;
  signal.is_float = (signal.length_bits == 32 || signal.length_bits == 64) && bytes.UpTo(3) == 0;
  signal.scale =
      std::ldexp(1.0 + static_cast<double>(bytes.UpTo(255)), static_cast<int>(bytes.UpTo(20)) - 14);
  signal.offset = static_cast<double>(bytes.Take<std::int16_t>());
  return signal;
}

void OneSignal(Bytes bytes) {
  profile::Message message;
  message.name = "m";
  message.length_bytes = 1 + static_cast<int>(bytes.UpTo(7));
  message.signals.push_back(SignalFrom(bytes, message.length_bytes));
  const profile::Signal& signal = message.signals[0];
  const double wanted = std::bit_cast<double>(bytes.Take<std::uint64_t>());
  const bus::Frame frame = bus::Encode(message, {&wanted, 1}, 0);
  const auto read = bus::Decode(message, 0, frame);
  const bool is_none = signal.is_float && std::isnan(wanted);
  Require(read.has_value() == !is_none, "a signal that fits is read, unless it says that it is none");

  bus::Frame other = frame;
  other.data.fill(0xFF);
  const std::uint64_t bits = bus::ExtractBits(signal, frame.bytes());
  bus::InsertBits(signal, bits, {other.data.data(), other.length});
  Require(bus::ExtractBits(signal, other.bytes()) == bits, "bits put in are read out");
  bus::InsertBits(signal, ~std::uint64_t{0}, {other.data.data(), other.length});
  for (const std::uint8_t byte : other.bytes()) Require(byte == 0xFF, "bits beside it stay");

  if (signal.is_float || std::isnan(wanted)) return;
  const double low_raw = signal.is_signed ? -std::ldexp(1.0, signal.length_bits - 1) : 0;
  const double high_raw = std::ldexp(1.0, signal.length_bits - (signal.is_signed ? 1 : 0)) - 1;
  const double held = std::clamp(wanted, low_raw * signal.scale + signal.offset,
                                 high_raw * signal.scale + signal.offset);
  const double slack = signal.scale * 0.51 + (std::abs(held) + std::abs(signal.offset)) * 1e-14;
  Require(std::abs(*read - held) <= slack, "what is read is within a step of what was written");
}

}  // namespace
}  // namespace drycrank::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  drycrank::fuzz::OneSignal({data, size});
  return 0;
}

// SPDX-License-Identifier: Apache-2.0
#include "protocol/j1939.h"

#include <algorithm>
#include <array>
#include <cassert>

namespace drycrank::protocol {
namespace {

constexpr std::uint32_t kFirstBroadcastPf = 240;

std::uint8_t Byte(std::uint64_t value, int index) {
  return static_cast<std::uint8_t>(value >> (8 * index) & 0xFF);
}

std::uint64_t Field(std::uint64_t value, int bits, int at) {
  return (value & ((1ull << bits) - 1)) << at;
}

}  // namespace

J1939Id SplitId(std::uint32_t id) {
  J1939Id out;
  out.priority = static_cast<int>(id >> 26 & 7);
  out.source = Byte(id, 0);
  out.pgn = id >> 8 & 0x3FFFF;
  if ((out.pgn >> 8 & 0xFF) < kFirstBroadcastPf) {
    out.destination = Byte(id, 1);
    out.pgn &= 0x3FF00;
  }
  return out;
}

std::uint32_t JoinId(const J1939Id& id) {
  const bool addressed = (id.pgn >> 8 & 0xFF) < kFirstBroadcastPf;
  assert(id.pgn <= 0x3FFFF && (!addressed || (id.pgn & 0xFF) == 0));
  return static_cast<std::uint32_t>(id.priority & 7) << 26 | id.pgn << 8 |
         (addressed ? static_cast<std::uint32_t>(id.destination) << 8 : 0) | id.source;
}

std::optional<J1939Id> J1939IdOf(const bus::Frame& frame) {
  if (!frame.extended || frame.remote || frame.error || frame.fd) return std::nullopt;
  return SplitId(frame.id);
}

bus::Frame J1939Frame(const J1939Id& id, std::span<const std::uint8_t> data) {
  assert(data.size() <= 8);
  bus::Frame frame;
  frame.id = JoinId(id);
  frame.extended = true;
  frame.length = static_cast<std::uint8_t>(data.size());
  std::copy(data.begin(), data.end(), frame.data.begin());
  return frame;
}

bus::Frame RequestFrame(std::uint32_t pgn, std::uint8_t destination, std::uint8_t source) {
  const std::array data = {Byte(pgn, 0), Byte(pgn, 1), Byte(pgn, 2)};
  return J1939Frame({6, kPgnRequest, destination, source}, data);
}

std::optional<std::uint32_t> RequestedPgn(const bus::Frame& frame) {
  const auto id = J1939IdOf(frame);
  if (!id || id->pgn != kPgnRequest || frame.length < 3) return std::nullopt;
  return frame.data[0] | frame.data[1] << 8 | (frame.data[2] & 3) << 16;
}

bus::Frame AcknowledgeFrame(std::uint8_t control, std::uint32_t pgn, std::uint8_t to,
                            std::uint8_t source) {
  const std::array<std::uint8_t, 8> data = {control, 0xFF,         0xFF,         0xFF,
                                            to,      Byte(pgn, 0), Byte(pgn, 1), Byte(pgn, 2)};
  return J1939Frame({6, kPgnAcknowledge, kGlobalAddress, source}, data);
}

std::uint64_t Pack(const J1939Name& name) {
  return Field(name.identity, 21, 0) | Field(name.manufacturer, 11, 21) |
         Field(name.unit_instance, 3, 32) | Field(name.function_instance, 5, 35) |
         Field(name.function, 8, 40) | Field(name.system, 7, 49) |
         Field(name.system_instance, 4, 56) | Field(name.industry_group, 3, 60) |
         Field(name.arbitrary_address ? 1 : 0, 1, 63);
}

J1939Name UnpackName(std::uint64_t name) {
  const auto field = [name](int bits, int at) { return name >> at & ((1ull << bits) - 1); };
  J1939Name out;
  out.identity = static_cast<std::uint32_t>(field(21, 0));
  out.manufacturer = static_cast<std::uint16_t>(field(11, 21));
  out.unit_instance = static_cast<std::uint8_t>(field(3, 32));
  out.function_instance = static_cast<std::uint8_t>(field(5, 35));
  out.function = static_cast<std::uint8_t>(field(8, 40));
  out.system = static_cast<std::uint8_t>(field(7, 49));
  out.system_instance = static_cast<std::uint8_t>(field(4, 56));
  out.industry_group = static_cast<std::uint8_t>(field(3, 60));
  out.arbitrary_address = field(1, 63) != 0;
  return out;
}

}  // namespace drycrank::protocol

// SPDX-License-Identifier: Apache-2.0
//
// Little-endian, as the machines it is read on; a reader finds out by itself.
#include <algorithm>

#include "bus/pcapng.h"
#include "bus/pcapng_words.h"

namespace drycrank::bus {
namespace {

using namespace pcapng;

void Append(fmt::memory_buffer& out, std::uint64_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) out.push_back(static_cast<char>(value >> (8 * i)));
}

void AppendPadded(fmt::memory_buffer& out, std::string_view bytes) {
  out.append(bytes.data(), bytes.data() + bytes.size());
  for (std::size_t i = bytes.size(); i % 4 != 0; ++i) out.push_back('\0');
}

void AppendOption(fmt::memory_buffer& out, std::uint16_t code, std::string_view value) {
  Append(out, code, 2);
  Append(out, value.size(), 2);
  AppendPadded(out, value);
}

// The block's total length is known once its end is.
class BlockInMaking {
 public:
  BlockInMaking(fmt::memory_buffer& out, std::uint32_t type) : out_(out), begin_(out.size()) {
    Append(out, type, 4);
    Append(out, 0, 4);
  }
  ~BlockInMaking() {
    const std::size_t size = out_.size() + 4 - begin_;
    Append(out_, size, 4);
    for (std::size_t i = 0; i < 4; ++i) {
      out_[begin_ + 4 + i] = static_cast<char>(size >> (8 * i));
    }
  }
  BlockInMaking(const BlockInMaking&) = delete;
  BlockInMaking& operator=(const BlockInMaking&) = delete;

 private:
  fmt::memory_buffer& out_;
  std::size_t begin_;
};

}  // namespace

void AppendPcapngSection(fmt::memory_buffer& out) {
  const BlockInMaking block(out, kSection);
  Append(out, kByteOrder, 4);
  Append(out, 1, 2);  // version 1.0
  Append(out, 0, 2);
  Append(out, ~std::uint64_t{0}, 8);  // length of the section: not known beforehand
  AppendOption(out, kSectionApplication, "drycrank");
  AppendOption(out, kEndOfOptions, "");
}

void AppendPcapngInterface(std::string_view name, fmt::memory_buffer& out) {
  const BlockInMaking block(out, kInterface);
  Append(out, kLinkTypeCan, 2);
  Append(out, 0, 2);
  Append(out, 0, 4);  // no limit to a packet's length
  AppendOption(out, kInterfaceName, name);
  AppendOption(out, kInterfaceResolution, std::string_view("\x09", 1));  // 10^-9 s
  AppendOption(out, kEndOfOptions, "");
}

void AppendPcapngFrame(const RecordedFrame& frame, fmt::memory_buffer& out) {
  std::array<std::uint8_t, kMaxCanPacket> packet;
  const std::size_t size = ToPacket(frame.frame, packet);
  const auto t_ns = static_cast<std::uint64_t>(std::max<TimeNs>(0, frame.t_ns));
  const BlockInMaking block(out, kPacket);
  Append(out, static_cast<std::uint32_t>(frame.interface), 4);
  Append(out, t_ns >> 32, 4);
  Append(out, t_ns, 4);
  Append(out, size, 4);
  Append(out, size, 4);
  AppendPadded(out, {reinterpret_cast<const char*>(packet.data()), size});
  if (frame.direction == Direction::kUnknown) return;
  const bool sent = frame.direction == Direction::kSent;
  Append(out, kPacketFlags, 2);
  Append(out, 4, 2);
  Append(out, sent ? kOutbound : kInbound, 4);
  AppendOption(out, kEndOfOptions, "");
}

}  // namespace drycrank::bus

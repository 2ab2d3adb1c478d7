// SPDX-License-Identifier: Apache-2.0
#include "bus/pcap.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace drycrank::bus {
namespace {

constexpr std::uint32_t kExtended = 0x80000000, kRemote = 0x40000000, kError = 0x20000000;
constexpr std::uint8_t kBitRateSwitch = 1, kErrorState = 2, kFd = 4, kXl = 0x80;
constexpr std::size_t kHead = 8;

constexpr std::uint32_t kMicroseconds = 0xA1B2C3D4, kNanoseconds = 0xA1B23C4D;
constexpr std::size_t kFileHead = 24, kPacketHead = 16;
// No frame of any CAN is as long as that (CAN XL: 2060 bytes); the window holds it and what follows.
constexpr std::uint32_t kLongestSkipped = 65'536, kLongestPlausible = 4096;
constexpr TimeNs kSoonNs = 60 * kNsPerS;

bool IsMagic(std::uint32_t value) { return value == kMicroseconds || value == kNanoseconds; }

}  // namespace

std::size_t ToPacket(const Frame& frame, std::array<std::uint8_t, kMaxCanPacket>& packet) {
  std::uint32_t id = frame.id;
  if (frame.extended && !frame.error) id |= kExtended;
  if (frame.remote) id |= kRemote;
  if (frame.error) id |= kError;
  for (unsigned i = 0; i < 4; ++i) packet[i] = static_cast<std::uint8_t>(id >> (24 - 8 * i));
  packet[4] = frame.length;
  packet[5] = 0;
  if (frame.fd) packet[5] = kFd;
  if (frame.bit_rate_switch) packet[5] |= kBitRateSwitch;
  if (frame.error_state) packet[5] |= kErrorState;
  packet[6] = packet[7] = 0;
  if (frame.remote) return kHead;
  std::copy_n(frame.data.begin(), frame.length, packet.begin() + kHead);
  return kHead + frame.length;
}

std::string FromPacket(std::span<const std::uint8_t> packet, Frame& frame) {
  if (packet.size() < kHead) return "a packet too short for a frame";
  if ((packet[4] & kXl) != 0) return "not a classical or FD frame";
  const std::uint32_t id = ByteOrderReader{true}.U32(packet, 0);
  frame = Frame();
  frame.error = (id & kError) != 0;
  frame.extended = (id & kExtended) != 0 && !frame.error;
  frame.remote = (id & kRemote) != 0 && !frame.error;
  frame.id = id & ~(kExtended | kRemote | kError);
  frame.length = packet[4];
  const std::uint8_t flags = packet[5];
  // Older captures lack the FD flag; a packet or frame of that size is FD all the same.
  frame.fd = !frame.error && !frame.remote &&
             ((flags & kFd) != 0 || frame.length > 8 || packet.size() == kMaxCanPacket);
  frame.bit_rate_switch = frame.fd && (flags & kBitRateSwitch) != 0;
  frame.error_state = frame.fd && (flags & kErrorState) != 0;
  if (frame.length > 64) return fmt::format("a frame of {} bytes", frame.length);
  if (!frame.remote) {
    if (packet.size() < kHead + frame.length) return "a frame that was recorded in part only";
    std::copy_n(packet.begin() + kHead, frame.length, frame.data.begin());
  }
  if (frame.error ? frame.length > 8 : !IsValid(frame)) return "a frame that no bus could carry";
  return "";
}

std::uint32_t ByteOrderReader::U16(std::span<const std::uint8_t> bytes, std::size_t at) const {
  const std::uint32_t first = bytes[at], second = bytes[at + 1];
  return big ? first << 8 | second : second << 8 | first;
}

std::uint32_t ByteOrderReader::U32(std::span<const std::uint8_t> bytes, std::size_t at) const {
  const std::uint32_t first = U16(bytes, at), second = U16(bytes, at + 2);
  return big ? first << 16 | second : second << 16 | first;
}

bool LooksLikePcap(std::span<const std::uint8_t> head) {
  return head.size() >= 4 && (IsMagic(ByteOrderReader{false}.U32(head, 0)) ||
                              IsMagic(ByteOrderReader{true}.U32(head, 0)));
}

RecordingDecoder::Step PcapDecoder::Head(ByteWindow& window, Damage& damage) {
  const auto head = window.Peek(kFileHead);
  ended_ = true;
  if (head.size() < kFileHead) {
    damage = {0, "the file's head is cut off"};
    return Step::kDamage;
  }
  read_.big = IsMagic(ByteOrderReader{true}.U32(head, 0));
  unit_ns_ = read_.U32(head, 0) == kNanoseconds ? 1 : kNsPerUs;
  const std::uint32_t link_type = read_.U32(head, 20) & 0xFFFF;
  if (link_type != kLinkTypeCan) {
    damage = {20, fmt::format("link type {} where {} (CAN) is wanted", link_type, kLinkTypeCan)};
    return Step::kDamage;
  }
  ended_ = false;
  headed_ = true;
  interfaces_.IndexOf("can");  // the format has no names
  window.Skip(kFileHead);
  return Step::kPassedOver;
}

// A packet's head, by itself: sizes that a CAN frame may have, and a time within its second. The first four
// bytes of a frame, read as a size, are none.
bool PcapDecoder::MayBeHead(std::span<const std::uint8_t> bytes) const {
  if (bytes.size() < kPacketHead) return false;
  const std::uint32_t size = read_.U32(bytes, 8), on_the_bus = read_.U32(bytes, 12);
  return size <= on_the_bus && on_the_bus <= kLongestPlausible &&
         TimeNs{read_.U32(bytes, 4)} * unit_ns_ < kNsPerS;
}

// What follows a packet: the end, or another head.
bool PcapDecoder::GoesOn(ByteWindow& window, std::size_t at) const {
  const auto bytes = window.Peek(at + kPacketHead);
  return bytes.size() <= at || MayBeHead(bytes.subspan(at));
}

// A whole CAN frame is there, and what follows it goes on.
bool PcapDecoder::IsPacket(ByteWindow& window, std::size_t at) const {
  const auto bytes = window.Peek(at + kPacketHead + kMaxCanPacket);
  if (bytes.size() < at + kPacketHead || !MayBeHead(bytes.subspan(at))) return false;
  const std::size_t size = read_.U32(bytes, at + 8);
  if (size > kMaxCanPacket || bytes.size() < at + kPacketHead + size) return false;
  Frame frame;
  if (!FromPacket(bytes.subspan(at + kPacketHead, size), frame).empty()) return false;
  return GoesOn(window, at + kPacketHead + size);
}

TimeNs PcapDecoder::TimeOf(std::span<const std::uint8_t> head) const {
  return TimeNs{read_.U32(head, 0)} * kNsPerS + TimeNs{read_.U32(head, 4)} * unit_ns_;
}

bool PcapDecoder::IsSoon(TimeNs t_ns) const {
  const TimeNs after_ns = t_ns - last_ns_.value_or(t_ns);
  return after_ns >= -kAstrayNs && after_ns <= kSoonNs;
}

bool PcapDecoder::GoesOnSoon(ByteWindow& window, std::size_t at) const {
  if (!GoesOn(window, at)) return false;
  const auto bytes = window.Peek(at + kPacketHead);
  return bytes.size() <= at || IsSoon(TimeOf(bytes.subspan(at)));
}

// A packet that begins within the one here, of `end` bytes, and goes on from the last good one in time: then it is
// the one here that is not whole. Byte by byte, for what was lost need not have been a whole number of words.
// `end`: there is none.
std::size_t PcapDecoder::FindWithin(ByteWindow& window, std::size_t end) const {
  for (std::size_t at = 1; at < end; ++at) {
    if (!IsPacket(window, at)) continue;
    if (IsSoon(TimeOf(window.Peek(at + kPacketHead).subspan(at)))) return at;
  }
  return end;
}

RecordingDecoder::Step PcapDecoder::GoToNextPacket(ByteWindow& window) {
  window.Skip(1);
  while (!window.Peek(1).empty() && !IsPacket(window, 0)) window.Skip(1);
  return Step::kDamage;
}

RecordingDecoder::Step PcapDecoder::Next(ByteWindow& window, RecordedFrame& out, Damage& damage) {
  if (ended_) return Step::kEnd;
  if (window.offset() == 0) {  // at first, and after each jump to the begin
    const Step step = Head(window, damage);
    if (step == Step::kDamage) return step;
  }
  const auto head = window.Peek(kPacketHead + kMaxCanPacket);
  if (head.empty()) return Step::kEnd;
  damage.offset = window.offset();
  damage.what = "it ends inside a packet: it was cut off";
  if (head.size() < kPacketHead) return GoToNextPacket(window);
  const std::uint32_t size = read_.U32(head, 8);
  const TimeNs t_ns = TimeOf(head);
  if (size > kLongestSkipped) {
    damage.what = fmt::format("a packet of {} bytes", size);
    return GoToNextPacket(window);
  }
  const std::size_t end = kPacketHead + size;
  if (window.Peek(end).size() < end) return GoToNextPacket(window);
  const auto packet = window.Peek(end).subspan(kPacketHead, size);
  damage.what = FromPacket(packet.first(std::min(packet.size(), kMaxCanPacket)), out.frame);
  // A frame in front, and others within: its length is wrong.
  if (damage.what.empty() && (size > kMaxCanPacket || size > read_.U32(head, 12))) {
    damage.what = fmt::format("a packet of {} bytes for one frame", size);
  }
  const bool is_known = std::exchange(is_known_, false);
  if (!is_known && (!damage.what.empty() || !IsSoon(t_ns) || !GoesOnSoon(window, end))) {
    // Bytes are lost or too many, perhaps in this one: then the next begins within it.
    if (const std::size_t next = FindWithin(window, end); next < end) {
      damage.what = "a packet that is not whole";
      window.Skip(next);
      return Step::kDamage;
    }
  }
  window.Skip(end);
  if (!damage.what.empty()) return Step::kDamage;
  out.t_ns = t_ns;
  last_ns_ = t_ns;
  out.interface = 0;
  out.direction = Direction::kUnknown;
  return Step::kFrame;
}

}  // namespace drycrank::bus

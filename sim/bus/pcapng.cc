// SPDX-License-Identifier: Apache-2.0
#include "bus/pcapng.h"

#include <algorithm>
#include <limits>

#include "bus/pcapng_words.h"
#include "types/nth.h"

namespace drycrank::bus {
namespace {

using namespace pcapng;

constexpr std::size_t kPacketHead = 28;  // block head, interface, time, two lengths
constexpr std::uint32_t kMaxBlock = 1u << 26;
constexpr std::uint32_t kMaxFoundPacket = 4096;  // with all options that a CAN frame may have
constexpr std::size_t kMaxInterfaces = 256, kMaxSections = 256;  // of a section; of a file
constexpr const char* kCutOff = "it ends inside a block: it was cut off";

std::size_t Padded(std::size_t size) { return (size + 3) / 4 * 4; }

// Calls visit(code, value) for each option of `bytes`.
template <class Visit>
void ForEachOption(std::span<const std::uint8_t> bytes, const ByteOrderReader& read, Visit visit) {
  while (bytes.size() >= 4) {
    const std::uint32_t code = read.U16(bytes, 0);
    const std::size_t size = read.U16(bytes, 2);
    bytes = bytes.subspan(4);
    if (code == kEndOfOptions || size > bytes.size()) return;
    visit(code, bytes.first(size));
    bytes = bytes.subspan(std::min(Padded(size), bytes.size()));
  }
}

// Nothing when the time does not fit into TimeNs.
std::optional<TimeNs> ToNs(std::uint64_t ticks, int resolution, bool binary,
                           std::int64_t offset_s) {
  using Wide = unsigned __int128;
  Wide t_ns = ticks;
  if (binary) {
    t_ns = (t_ns * static_cast<std::uint64_t>(kNsPerS)) >> resolution;
  } else {
    for (int i = resolution; i < 9; ++i) t_ns *= 10;
    for (int i = 9; i < resolution; ++i) t_ns /= 10;
  }
  if (offset_s < 0 || offset_s > kLastRecordedNs / kNsPerS) return std::nullopt;
  const auto left_ns = static_cast<Wide>(kLastRecordedNs - offset_s * kNsPerS);
  if (t_ns > left_ns) return std::nullopt;
  return static_cast<TimeNs>(t_ns) + offset_s * kNsPerS;
}

}  // namespace

bool LooksLikePcapng(std::span<const std::uint8_t> head) {
  return head.size() >= 4 && ByteOrderReader{}.U32(head, 0) == kSection;
}

RecordingDecoder::Step PcapngDecoder::TakeSection(Bytes block, std::uint64_t offset,
                                                  std::string& wrong) {
  for (std::size_t i = 0; i < sections_.size(); ++i) {
    if (sections_[i].offset != offset) continue;
    section_ = static_cast<int>(i);
    return Step::kPassedOver;
  }
  Section section;
  section.offset = offset;
  section.read.big = ByteOrderReader{true}.U32(block, 8) == kByteOrder;
  if (const auto version = section.read.U16(block, 12); version != 1) {
    wrong = fmt::format("pcapng version {}", version);
    return Step::kDamage;
  }
  if (sections_.size() == kMaxSections) {
    wrong = fmt::format("more than {} sections", kMaxSections);
    return Step::kDamage;
  }
  sections_.push_back(std::move(section));
  section_ = static_cast<int>(sections_.size()) - 1;
  return Step::kPassedOver;
}

RecordingDecoder::Step PcapngDecoder::TakeInterface(Bytes block, std::uint64_t offset,
                                                    std::string& wrong) {
  if (section_ < 0 || block.size() < 20) {
    wrong = "a damaged interface block";
    return Step::kDamage;
  }
  Section& section = Nth(sections_, section_);
  const auto known = [&](const Interface& i) { return i.offset == offset; };
  if (std::any_of(section.interfaces.begin(), section.interfaces.end(), known)) {
    return Step::kPassedOver;
  }
  if (section.interfaces.size() == kMaxInterfaces) {
    wrong = fmt::format("more than {} interfaces", kMaxInterfaces);
    return Step::kDamage;
  }
  Interface interface;
  interface.offset = offset;
  interface.can = section.read.U16(block, 8) == kLinkTypeCan;
  std::string name = fmt::format("interface{}", section.interfaces.size());
  const auto options = block.subspan(16, block.size() - 20);
  ForEachOption(options, section.read, [&](std::uint32_t code, Bytes value) {
    if (code == kInterfaceName && !value.empty()) {
      name.assign(value.begin(), std::find(value.begin(), value.end(), 0));
    } else if (code == kInterfaceResolution && value.size() == 1) {
      interface.binary = (value[0] & 0x80) != 0;
      interface.resolution = value[0] & 0x7F;
    } else if (code == kInterfaceOffset && value.size() == 8) {
      const std::uint64_t low = section.read.U32(value, section.read.big ? 4 : 0);
      const std::uint64_t high = section.read.U32(value, section.read.big ? 0 : 4);
      interface.offset_s = static_cast<std::int64_t>(high << 32 | low);
    }
  });
  if (interface.can) interface.name = names_.IndexOf(name);
  section.interfaces.push_back(interface);
  return Step::kPassedOver;
}

RecordingDecoder::Step PcapngDecoder::TakePacket(Bytes block, RecordedFrame& out,
                                                 std::string& wrong) {
  const auto damaged = [&](std::string what) {
    wrong = std::move(what);
    return Step::kDamage;
  };
  if (section_ < 0 || block.size() < kPacketHead + 4) return damaged("a damaged packet block");
  const Section& section = Nth(sections_, section_);
  const ByteOrderReader& read = section.read;
  const std::uint32_t index = read.U32(block, 8);
  if (index >= section.interfaces.size()) {
    return damaged(
        fmt::format("a packet of interface {}, which the file does not describe", index));
  }
  const Interface& interface = section.interfaces[index];
  if (!interface.can || interface.name < 0) {
    ++unread_;
    return Step::kPassedOver;
  }
  const std::size_t size = read.U32(block, 20);
  if (size > block.size() - kPacketHead - 4) return damaged("a packet longer than its block");
  const std::uint64_t ticks = std::uint64_t{read.U32(block, 12)} << 32 | read.U32(block, 16);
  const auto t_ns = ToNs(ticks, interface.resolution, interface.binary, interface.offset_s);
  if (!t_ns) return damaged("a time beyond the year 2262");
  const std::string unfit = FromPacket(block.subspan(kPacketHead, size), out.frame);
  if (!unfit.empty()) return damaged(unfit);
  out.t_ns = *t_ns;
  out.interface = interface.name;
  out.direction = Direction::kUnknown;
  const std::size_t options = kPacketHead + std::min(Padded(size), block.size() - kPacketHead - 4);
  ForEachOption(block.subspan(options, block.size() - 4 - options), read,
                [&](std::uint32_t code, Bytes value) {
                  if (code != kPacketFlags || value.size() != 4) return;
                  const std::uint32_t way = read.U32(value, 0) & 3;
                  if (way == kInbound) out.direction = Direction::kReceived;
                  if (way == kOutbound) out.direction = Direction::kSent;
                });
  return Step::kFrame;
}

RecordingDecoder::Step PcapngDecoder::Block(Bytes block, std::uint64_t offset, RecordedFrame& out,
                                            std::string& wrong) {
  const ByteOrderReader read = section_ < 0 ? ByteOrderReader{} : Nth(sections_, section_).read;
  const std::uint32_t type = read.U32(block, 0);
  if (type == kSection) return TakeSection(block, offset, wrong);
  if (type == kInterface) return TakeInterface(block, offset, wrong);
  if (type == kPacket) return TakePacket(block, out, wrong);
  return PassOver(type, block, out, wrong);
}

// Readers pass over kinds that they do not know (draft-ietf-opsawg-pcapng, 3.1); how many is counted. But a frame
// under another kind is a damaged one.
RecordingDecoder::Step PcapngDecoder::PassOver(std::uint32_t type, Bytes block, RecordedFrame& out,
                                               std::string& wrong) {
  std::string none;
  if (section_ >= 0 && TakePacket(block, out, none) == Step::kFrame) {
    wrong = fmt::format("a frame in a block of type {:#x}, which holds none", type);
  }
  const bool is_known = type <= kLastKnown || type == kCustom || type == kCustomNotCopied;
  if (!is_known || type == kOldPacket || type == kSimplePacket) ++unread_;
  return wrong.empty() ? Step::kPassedOver : Step::kDamage;
}

// Longer than the window: no CAN frame, so only its end is looked at.
RecordingDecoder::Step PcapngDecoder::TakeLongBlock(ByteWindow& window, std::uint32_t size,
                                                    Damage& damage) {
  const bool big = Nth(sections_, section_).read.big;
  if (!window.Skip(size - 4) || window.Peek(4).size() < 4) {
    window.Skip(4);
    damage.what = kCutOff;
    return Step::kDamage;
  }
  if (ByteOrderReader{big}.U32(window.Peek(4), 0) == size) {
    window.Skip(4);
    return Step::kPassedOver;
  }
  damage.what = fmt::format("a block of {} bytes whose end says otherwise", size);
  return FindNextPacket(window);
}

bool PcapngDecoder::IsPacket(ByteWindow& window) const {
  const Section& section = Nth(sections_, section_);
  const auto head = window.Peek(kPacketHead);
  if (head.size() < kPacketHead || section.read.U32(head, 0) != kPacket) return false;
  const std::uint32_t size = section.read.U32(head, 4);
  if (size % 4 != 0 || size < kPacketHead + 4 || size > kMaxFoundPacket) return false;
  // Also where it is the description of the only interface that is damaged.
  if (section.read.U32(head, 8) >= std::max<std::size_t>(section.interfaces.size(), 1))
    return false;
  const auto block = window.Peek(size);
  return block.size() >= size && section.read.U32(block, size - 4) == size;
}

// Byte by byte: what was lost need not have been a whole number of words.
RecordingDecoder::Step PcapngDecoder::FindNextPacket(ByteWindow& window) {
  window.Skip(1);
  while (section_ >= 0 && !window.Peek(1).empty() && !IsPacket(window)) window.Skip(1);
  if (section_ < 0) window.Skip(std::numeric_limits<std::uint64_t>::max());
  return Step::kDamage;
}

RecordingDecoder::Step PcapngDecoder::Next(ByteWindow& window, RecordedFrame& out, Damage& damage) {
  const auto head = window.Peek(16);
  if (head.empty()) return Step::kEnd;
  damage.offset = window.offset();
  if (head.size() < 12) {
    window.Skip(head.size());
    damage.what = kCutOff;
    return Step::kDamage;
  }
  ByteOrderReader read;
  if (ByteOrderReader{}.U32(head, 0) == kSection) {  // the same in both orders
    read.big = ByteOrderReader{true}.U32(head, 8) == kByteOrder;
    if (!read.big && read.U32(head, 8) != kByteOrder) {
      damage.what = "a section without a byte order";
      return FindNextPacket(window);
    }
  } else if (section_ >= 0) {
    read = Nth(sections_, section_).read;
  }
  const std::uint32_t size = read.U32(head, 4);
  const bool is_section = read.U32(head, 0) == kSection;
  const bool is_packet = read.U32(head, 0) == kPacket;
  if (size % 4 != 0 || size < (is_section ? 28u : 12u) ||
      size > (is_packet ? ByteWindow::kCapacity : kMaxBlock)) {
    damage.what = fmt::format("a block of {} bytes", size);
    return FindNextPacket(window);
  }
  if (size > ByteWindow::kCapacity && section_ >= 0) return TakeLongBlock(window, size, damage);
  const auto block = window.Peek(std::min<std::size_t>(size, ByteWindow::kCapacity));
  if (block.size() < size) {
    damage.what = kCutOff;
    // Perhaps it is the length that is wrong, and good packets follow.
    return FindNextPacket(window);
  }
  if (read.U32(block, size - 4) != size) {
    damage.what = fmt::format("a block of {} bytes whose end says otherwise", size);
    return FindNextPacket(window);
  }
  const Step step = Block(block.first(size), damage.offset, out, damage.what);
  window.Skip(size);
  return step;
}

}  // namespace drycrank::bus

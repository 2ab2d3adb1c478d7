// SPDX-License-Identifier: Apache-2.0
//
// What pcap and pcapng have in common, a packet of link type 227 (LINKTYPE_CAN_SOCKETCAN), and the
// older of the two file formats, which is read only.
//
//   0  u32  identifier and flags, big-endian: 80.. 29 bits, 40.. remote, 20.. error report
//   4  u8   length in bytes; remote: the length asked for
//   5  u8   1 bit rate switch, 2 error state, 4 FD
//   6  2 bytes 0, then the data
// Source: https://www.tcpdump.org/linktypes/LINKTYPE_CAN_SOCKETCAN.html; that tools take a frame
// for FD only when bit 4 is set was seen with tshark 4.0.
#ifndef DRYCRANK_BUS_PCAP_H_
#define DRYCRANK_BUS_PCAP_H_

#include <array>
#include <optional>
#include <span>
#include <string>

#include "bus/recording.h"

namespace drycrank::bus {

inline constexpr std::uint32_t kLinkTypeCan = 227;
inline constexpr std::size_t kMaxCanPacket = 8 + 64;

// Its size; the bytes go to `packet`.
std::size_t ToPacket(const Frame& frame, std::array<std::uint8_t, kMaxCanPacket>& packet);
// Empty when `frame` is set, else what is wrong with the packet.
[[nodiscard]] std::string FromPacket(std::span<const std::uint8_t> packet, Frame& frame);

// Numbers of a file whose byte order is found when it is read. REQUIRES: enough bytes.
struct ByteOrderReader {
  bool big = false;
  std::uint32_t U16(std::span<const std::uint8_t> bytes, std::size_t at) const;
  std::uint32_t U32(std::span<const std::uint8_t> bytes, std::size_t at) const;
};

bool LooksLikePcap(std::span<const std::uint8_t> head);

class PcapDecoder : public RecordingDecoder {
 public:
  Step Next(ByteWindow& window, RecordedFrame& out, Damage& damage) override;
  const InterfaceNames& interfaces() const override { return interfaces_; }
  void SetSection(int /*section*/, bool is_frame) override {
    ended_ = ended_ && !headed_;
    is_known_ = is_frame;
    last_ns_.reset();
  }

 private:
  Step Head(ByteWindow& window, Damage& damage);
  bool MayBeHead(std::span<const std::uint8_t> bytes) const;
  bool IsPacket(ByteWindow& window, std::size_t at) const;
  bool GoesOn(ByteWindow& window, std::size_t at) const;
  TimeNs TimeOf(std::span<const std::uint8_t> head) const;
  bool IsSoon(TimeNs t_ns) const;
  bool GoesOnSoon(ByteWindow& window, std::size_t at) const;
  std::size_t FindWithin(ByteWindow& window, std::size_t end) const;
  Step GoToNextPacket(ByteWindow& window);

  bool headed_ = false;  // the file's head was read, and is of CAN frames
  bool ended_ = false;
  bool is_known_ = false;  // the next packet was looked at before, and is good
  ByteOrderReader read_;
  TimeNs unit_ns_ = 1;
  std::optional<TimeNs> last_ns_;  // of the last good packet
  InterfaceNames interfaces_;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_PCAP_H_

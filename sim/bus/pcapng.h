// SPDX-License-Identifier: Apache-2.0
//
// pcapng: a file of blocks, each with its length before and after. Written: one section, one
// interface per bus (link type CAN, nanoseconds, its name), then one packet per frame with time and
// direction. Read: sections of either byte order, any time resolution and offset, packets of other
// link types passed over. When a block's lengths do not fit each other, reading goes on at the next
// block that looks like a packet.
// Source: draft-ietf-opsawg-pcapng, https://ietf-opsawg-wg.github.io/draft-ietf-opsawg-pcap/
#ifndef DRYCRANK_BUS_PCAPNG_H_
#define DRYCRANK_BUS_PCAPNG_H_

#include <fmt/format.h>

#include <span>
#include <string>
#include <vector>

#include "bus/pcap.h"
#include "bus/recording.h"

namespace drycrank::bus {

void AppendPcapngSection(fmt::memory_buffer& out);
// The next interface of the section: 0, 1, ... It may come after packets of others.
void AppendPcapngInterface(std::string_view name, fmt::memory_buffer& out);
// REQUIRES: frame.interface is one of the section's. A time before 0 is written as 0.
void AppendPcapngFrame(const RecordedFrame& frame, fmt::memory_buffer& out);

bool LooksLikePcapng(std::span<const std::uint8_t> head);

class PcapngDecoder : public RecordingDecoder {
 public:
  Step Next(ByteWindow& window, RecordedFrame& out, Damage& damage) override;
  const InterfaceNames& interfaces() const override { return names_; }
  int section() const override { return section_; }
  void SetSection(int section, bool /*is_frame*/) override { section_ = section; }
  std::uint64_t unread() const override { return unread_; }

 private:
  // Known again by their offset when the reader has jumped back.
  struct Interface {
    std::uint64_t offset = 0;
    int name = -1;  // index into names_
    bool can = false;
    int resolution = 6;   // 10^-n s, or ...
    bool binary = false;  // ... 2^-n s
    std::int64_t offset_s = 0;
  };
  struct Section {
    std::uint64_t offset = 0;
    ByteOrderReader read;
    std::vector<Interface> interfaces;
  };
  using Bytes = std::span<const std::uint8_t>;

  Step Block(Bytes block, std::uint64_t offset, RecordedFrame& out, std::string& wrong);
  Step TakeSection(Bytes block, std::uint64_t offset, std::string& wrong);
  Step TakeInterface(Bytes block, std::uint64_t offset, std::string& wrong);
  Step PassOver(std::uint32_t type, Bytes block, RecordedFrame& out, std::string& wrong);
  Step TakePacket(Bytes block, RecordedFrame& out, std::string& wrong);
  Step TakeLongBlock(ByteWindow& window, std::uint32_t size, Damage& damage);
  Step FindNextPacket(ByteWindow& window);
  bool IsPacket(ByteWindow& window) const;

  std::vector<Section> sections_;
  int section_ = -1;
  std::uint64_t unread_ = 0;
  InterfaceNames names_;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_PCAPNG_H_

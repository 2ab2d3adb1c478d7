// SPDX-License-Identifier: Apache-2.0
//
// Edges in few bytes. A block stands for itself: who has lost all others can read it.
//
//   block     "EDGE", bytes of the content (4), their checksum (4), content
//   content   'e', earliest and latest time (8, 8), time of the first (8), how many edges (4), the
//             level of each channel before them (a byte: 0 low, 1 high, 2 not known), the edges
//   edge      a number of 1 to 10 bytes, 7 bits each, least first, bit 7: more to come:
//               zigzag(interval - expected) * 2 + other
//             other 0: the channel of the edge before, to its other level; 1: a second such number
//             follows, channel * 2 + level
//   interval  from the channel's last edge (of its first: from the time of the first); expected: what the
//             channel's interval before the last one was, since teeth and slots take turns; 0 when
//             there were not two
//   zigzag    0, -1, 1, -2 ... are 0, 1, 2, 3 ...
//
// A wheel that turns steadily needs 2 bytes an edge. Numbers of fixed length are little-endian;
// times are ns since the start of the run, 0 to kLastEdgeNs. Checksum: CRC-32C, RFC 3720 12.1.
// Rejected: one number of time, channel and level (twice as long); a general compressor (in the
// run's own thread, and a torn file would lose more).
#ifndef DRYCRANK_RECORD_EDGE_BLOCK_H_
#define DRYCRANK_RECORD_EDGE_BLOCK_H_

#include <fmt/format.h>

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "record/edge_channels.h"

namespace drycrank::record {

inline constexpr TimeNs kLastEdgeNs = TimeNs{1} << 60;  // 36 years
inline constexpr std::string_view kBlockMark = "EDGE";
inline constexpr std::size_t kBlockHead = 12;
inline constexpr std::size_t kLongestContent = 1 << 16;

std::uint32_t Crc32c(std::span<const std::uint8_t> bytes);
// Mark, length, checksum, content. REQUIRES: content.size() <= kLongestContent.
void AppendBlock(std::span<const std::uint8_t> content, fmt::memory_buffer& out);

// What both sides know of a channel within a block.
struct ChannelState {
  TimeNs last_ns = 0;
  TimeNs intervals_ns[2] = {0, 0};  // [0] the last one, [1] the one before
  Level level = Level::kUnknown;
};

// The content of one block while it grows. Allocates nothing once made.
class EdgeBlock {
 public:
  // The level of each channel before the first edge.
  explicit EdgeBlock(const std::vector<Level>& levels);
  bool empty() const { return count_ == 0; }
  bool IsFull() const;
  // REQUIRES: !IsFull(); 0 <= edge.t_ns <= kLastEdgeNs; edge.channel is one of the channels.
  void Add(const ChannelEdge& edge);
  // The block to the end of `out`; the next one begins with the levels at the end of this one.
  void Seal(fmt::memory_buffer& out);

 private:
  void Begin(TimeNs t_ns);

  std::vector<ChannelState> states_;
  std::vector<std::uint8_t> content_;
  std::size_t channel_ = 0;
  TimeNs base_ns_ = 0, earliest_ns_ = 0, latest_ns_ = 0;
  std::uint32_t count_ = 0;
};

// Read: the whole content of a block of edges.
struct ReadBlock {
  TimeNs earliest_ns = 0, latest_ns = 0;
  std::vector<Level> before;  // per channel
  std::vector<ChannelEdge> edges;
};
// Nothing: it is not what a block of so many channels looks like.
std::optional<ReadBlock> ReadEdges(std::span<const std::uint8_t> content, std::size_t channels);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_EDGE_BLOCK_H_

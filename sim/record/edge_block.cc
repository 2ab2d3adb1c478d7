// SPDX-License-Identifier: Apache-2.0
#include "record/edge_block.h"

#include <algorithm>
#include <boost/crc.hpp>
#include <cassert>

namespace drycrank::record {
namespace {

constexpr std::size_t kLongestEdge = 12;  // 10 bytes of time, 2 of channel
constexpr std::size_t kFixed = 1 + 8 + 8 + 8 + 4;

template <class Number>
void Put(std::uint8_t* at, Number number) {
  for (std::size_t i = 0; i < sizeof number; ++i) {
    at[i] = static_cast<std::uint8_t>(static_cast<std::uint64_t>(number) >> (8 * i));
  }
}

template <class Number>
Number Get(const std::uint8_t* at) {
  std::uint64_t number = 0;
  for (std::size_t i = 0; i < sizeof(Number); ++i) number |= std::uint64_t{at[i]} << (8 * i);
  return static_cast<Number>(number);
}

// Differences by the arithmetic of the circle: whatever a file holds, nothing overflows.
TimeNs Minus(TimeNs a, TimeNs b) {
  return static_cast<TimeNs>(static_cast<std::uint64_t>(a) - static_cast<std::uint64_t>(b));
}
TimeNs Plus(TimeNs a, TimeNs b) {
  return static_cast<TimeNs>(static_cast<std::uint64_t>(a) + static_cast<std::uint64_t>(b));
}

std::uint64_t Zigzag(TimeNs value) {
  return (static_cast<std::uint64_t>(value) << 1) ^ (value < 0 ? ~std::uint64_t{0} : 0);
}
TimeNs Unzigzag(std::uint64_t value) {
  return static_cast<TimeNs>((value >> 1) ^ (value & 1 ? ~std::uint64_t{0} : 0));
}

void PutNumber(std::uint64_t number, std::vector<std::uint8_t>& out) {
  for (; number > 0x7F; number >>= 7) out.push_back(static_cast<std::uint8_t>(number | 0x80));
  out.push_back(static_cast<std::uint8_t>(number));
}

// Takes a number off the front. False: there is none.
bool TakeNumber(std::span<const std::uint8_t>& rest, std::uint64_t& number) {
  number = 0;
  for (std::size_t i = 0; i < std::min<std::size_t>(rest.size(), 10); ++i) {
    number |= std::uint64_t{rest[i] & 0x7FU} << (7 * i);
    if (rest[i] > 0x7F) continue;
    rest = rest.subspan(i + 1);
    return true;
  }
  return false;
}

void Take(ChannelState& state, TimeNs t_ns, bool high) {
  state.intervals_ns[1] = state.intervals_ns[0];
  state.intervals_ns[0] = Minus(t_ns, state.last_ns);
  state.last_ns = t_ns;
  state.level = high ? Level::kHigh : Level::kLow;
}

}  // namespace

std::uint32_t Crc32c(std::span<const std::uint8_t> bytes) {
  boost::crc_optimal<32, 0x1EDC6F41, 0xFFFFFFFF, 0xFFFFFFFF, true, true> crc;
  crc.process_bytes(bytes.data(), bytes.size());
  return crc.checksum();
}

void AppendBlock(std::span<const std::uint8_t> content, fmt::memory_buffer& out) {
  assert(content.size() <= kLongestContent);
  std::uint8_t head[kBlockHead];
  std::copy(kBlockMark.begin(), kBlockMark.end(), head);
  Put(head + 4, static_cast<std::uint32_t>(content.size()));
  Put(head + 8, Crc32c(content));
  out.append(head, head + kBlockHead);
  out.append(content.data(), content.data() + content.size());
}

EdgeBlock::EdgeBlock(const std::vector<Level>& levels) : states_(levels.size()) {
  for (std::size_t i = 0; i < levels.size(); ++i) states_[i].level = levels[i];
  content_.reserve(kLongestContent);
  Begin(0);
}

bool EdgeBlock::IsFull() const { return content_.size() + kLongestEdge > kLongestContent; }

void EdgeBlock::Begin(TimeNs t_ns) {
  content_.assign(kFixed, 0);
  for (ChannelState& state : states_) {
    content_.push_back(static_cast<std::uint8_t>(state.level));
    state = {t_ns, {0, 0}, state.level};
  }
  base_ns_ = earliest_ns_ = latest_ns_ = t_ns;
  channel_ = 0;
  count_ = 0;
}

void EdgeBlock::Add(const ChannelEdge& edge) {
  assert(!IsFull() && edge.channel < states_.size() && edge.t_ns >= 0 && edge.t_ns <= kLastEdgeNs);
  if (empty()) Begin(edge.t_ns);
  ChannelState& state = states_[edge.channel];
  const TimeNs astray_ns = Minus(Minus(edge.t_ns, state.last_ns), state.intervals_ns[1]);
  const bool turns = state.level == (edge.high ? Level::kLow : Level::kHigh);
  const bool other = edge.channel != channel_ || !turns;
  PutNumber(Zigzag(astray_ns) << 1 | (other ? 1 : 0), content_);
  if (other) PutNumber(edge.channel << 1 | (edge.high ? 1 : 0), content_);
  Take(state, edge.t_ns, edge.high);
  channel_ = edge.channel;
  earliest_ns_ = std::min(earliest_ns_, edge.t_ns);
  latest_ns_ = std::max(latest_ns_, edge.t_ns);
  ++count_;
}

void EdgeBlock::Seal(fmt::memory_buffer& out) {
  if (empty()) return;
  content_[0] = 'e';
  Put(&content_[1], earliest_ns_);
  Put(&content_[9], latest_ns_);
  Put(&content_[17], base_ns_);
  Put(&content_[25], count_);
  AppendBlock(content_, out);
  Begin(0);
}

std::optional<ReadBlock> ReadEdges(std::span<const std::uint8_t> content, std::size_t channels) {
  if (content.size() < kFixed + channels || content[0] != 'e') return {};
  ReadBlock block{Get<TimeNs>(&content[1]), Get<TimeNs>(&content[9]), {}, {}};
  const auto base_ns = Get<TimeNs>(&content[17]);
  const auto count = Get<std::uint32_t>(&content[25]);
  std::vector<ChannelState> states(channels);
  for (std::size_t i = 0; i < channels; ++i) {
    if (content[kFixed + i] > static_cast<std::uint8_t>(Level::kUnknown)) return {};
    states[i] = {base_ns, {0, 0}, static_cast<Level>(content[kFixed + i])};
    block.before.push_back(states[i].level);
  }
  auto rest = content.subspan(kFixed + channels);
  if (count > rest.size() || block.earliest_ns < 0 || block.latest_ns > kLastEdgeNs) return {};
  block.edges.reserve(count);
  std::size_t channel = 0;
  for (std::uint32_t i = 0; i < count; ++i) {
    std::uint64_t time = 0, where = 0;
    if (!TakeNumber(rest, time)) return {};
    if ((time & 1) != 0) {
      if (!TakeNumber(rest, where) || where >> 1 >= channels) return {};
      channel = where >> 1;
    }
    if (channel >= channels) return {};
    ChannelState& state = states[channel];
    const bool high = (time & 1) != 0 ? (where & 1) != 0 : state.level == Level::kLow;
    const TimeNs interval_ns = Plus(Unzigzag(time >> 1), state.intervals_ns[1]);
    const TimeNs t_ns = Plus(state.last_ns, interval_ns);
    if (t_ns < block.earliest_ns || t_ns > block.latest_ns) return {};
    Take(state, t_ns, high);
    block.edges.push_back({t_ns, channel, high});
  }
  return rest.empty() ? std::optional(std::move(block)) : std::nullopt;
}

}  // namespace drycrank::record

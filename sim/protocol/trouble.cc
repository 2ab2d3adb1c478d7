// SPDX-License-Identifier: Apache-2.0
#include "protocol/trouble.h"

#include <algorithm>
#include <cassert>

namespace drycrank::protocol {
namespace {

constexpr std::size_t kHeadBytes = 2, kCodeBytes = 4, kFrameBytes = 8;

}  // namespace

std::size_t PackTroubles(const Lamps& lamps, std::span<const SpnTrouble> troubles,
                         std::span<std::uint8_t> out) {
  const std::size_t codes = std::max<std::size_t>(1, troubles.size());
  const std::size_t length = std::max(kFrameBytes, kHeadBytes + kCodeBytes * codes);
  assert(out.size() >= length && troubles.size() <= kMaxSpnTroubles);
  std::fill_n(out.begin(), length, std::uint8_t{0xFF});
  out[0] = static_cast<std::uint8_t>((lamps.malfunction & 3) << 6 | (lamps.red_stop & 3) << 4 |
                                     (lamps.amber & 3) << 2 | (lamps.protect & 3));
  if (troubles.empty()) std::fill_n(out.begin() + kHeadBytes, kCodeBytes, std::uint8_t{0});
  for (std::size_t i = 0; i < troubles.size(); ++i) {
    const SpnTrouble& t = troubles[i];
    const auto at = out.subspan(kHeadBytes + kCodeBytes * i, kCodeBytes);
    at[0] = static_cast<std::uint8_t>(t.spn & 0xFF);
    at[1] = static_cast<std::uint8_t>(t.spn >> 8 & 0xFF);
    at[2] = static_cast<std::uint8_t>((t.spn >> 16 & 7) << 5 | (t.fmi & 31));
    at[3] = static_cast<std::uint8_t>(t.count & 0x7F);
  }
  return length;
}

SpnTrouble DmView::operator[](std::size_t index) const {
  const auto at = codes.subspan(kCodeBytes * index, kCodeBytes);
  SpnTrouble t;
  t.spn = static_cast<std::uint32_t>(at[0] | at[1] << 8 | (at[2] >> 5) << 16);
  t.fmi = at[2] & 31;
  t.count = at[3] & 0x7F;
  return t;
}

std::optional<DmView> ReadTroubles(std::span<const std::uint8_t> message) {
  if (message.size() < kHeadBytes + kCodeBytes) return std::nullopt;
  const auto lamp = [&](int shift) { return static_cast<std::uint8_t>(message[0] >> shift & 3); };
  DmView view{{lamp(6), lamp(4), lamp(2), lamp(0)}, {}};
  const std::size_t codes = (message.size() - kHeadBytes) / kCodeBytes;
  const auto all = message.subspan(kHeadBytes, codes * kCodeBytes);
  const auto is_none = [](std::uint8_t b) { return b == 0; };
  const bool none = codes == 1 && std::all_of(all.begin(), all.end(), is_none);
  if (!none) view.codes = all;
  return view;
}

}  // namespace drycrank::protocol

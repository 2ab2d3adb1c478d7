// SPDX-License-Identifier: Apache-2.0
#include "bus/frame.h"

namespace drycrank::bus {
namespace {

constexpr std::uint32_t kMaxStandardId = 0x7FF;
constexpr std::uint32_t kMaxExtendedId = 0x1FFFFFFF;

bool IsFdLength(int length) {
  switch (length) {
    case 12:
    case 16:
    case 20:
    case 24:
    case 32:
    case 48:
    case 64:
      return true;
    default:
      return length <= 8;
  }
}

}  // namespace

bool IsValid(const Frame& frame) {
  if (frame.error) return false;
  if (frame.id > (frame.extended ? kMaxExtendedId : kMaxStandardId)) return false;
  if (frame.fd) return !frame.remote && IsFdLength(frame.length);
  return frame.length <= 8 && !frame.bit_rate_switch && !frame.error_state;
}

}  // namespace drycrank::bus

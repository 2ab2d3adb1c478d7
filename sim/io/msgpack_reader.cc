// SPDX-License-Identifier: Apache-2.0
#include "io/msgpack_reader.h"

namespace drycrank::io {

using Kind = MsgpackValue::Kind;

bool MsgpackReader::TakeNumber(std::size_t width, std::uint64_t& number) {
  if (left_.size() < width) return false;
  number = 0;
  for (std::size_t i = 0; i < width; ++i) number = number << 8 | left_[i];
  left_ = left_.subspan(width);
  return true;
}

bool MsgpackReader::TakeBytes(std::uint64_t size, MsgpackValue& value) {
  if (left_.size() < size) return false;
  value.bytes = left_.first(size);
  left_ = left_.subspan(size);
  return true;
}

// A size of `width` bytes, then that many bytes and `extra` more.
bool MsgpackReader::TakeSized(std::size_t width, std::uint64_t extra, MsgpackValue& value) {
  std::uint64_t size = 0;
  return TakeNumber(width, size) && TakeBytes(size + extra, value);
}

bool MsgpackReader::Next(MsgpackValue& value) {
  value = {};
  if (left_.empty()) return false;
  const std::uint8_t head = left_[0];
  left_ = left_.subspan(1);
  const auto width_of = [head](int first) { return std::size_t{1} << (head - first); };
  const auto is = [&value](Kind kind) {
    value.kind = kind;
    return true;
  };

  if (head <= 0x7F) {
    value.number = head;
    return is(Kind::kUnsigned);
  }
  if (head <= 0x9F) {  // fixmap, fixarray
    value.number = head & 0x0Fu;
    return is(head <= 0x8F ? Kind::kMap : Kind::kArray);
  }
  if (head <= 0xBF) return is(Kind::kString) && TakeBytes(head & 0x1Fu, value);
  if (head >= 0xE0) return is(Kind::kNegative);
  switch (head) {
    case 0xC0:
      return is(Kind::kNil);
    case 0xC2:
    case 0xC3:
      value.number = head & 1u;
      return is(Kind::kBool);
    case 0xC4:
    case 0xC5:
    case 0xC6:
      return is(Kind::kBinary) && TakeSized(width_of(0xC4), 0, value);
    case 0xC7:
    case 0xC8:
    case 0xC9:  // one more byte: the type
      return is(Kind::kExt) && TakeSized(width_of(0xC7), 1, value);
    case 0xCA:
      return is(Kind::kFloat) && TakeBytes(4, value);
    case 0xCB:
      return is(Kind::kFloat) && TakeBytes(8, value);
    case 0xCC:
    case 0xCD:
    case 0xCE:
    case 0xCF:
      return is(Kind::kUnsigned) && TakeNumber(width_of(0xCC), value.number);
    case 0xD0:
    case 0xD1:
    case 0xD2:
    case 0xD3: {
      const std::size_t width = width_of(0xD0);
      if (!TakeNumber(width, value.number)) return false;
      const bool negative = (value.number >> (8 * width - 1)) != 0;
      return is(negative ? Kind::kNegative : Kind::kUnsigned);
    }
    case 0xD4:
    case 0xD5:
    case 0xD6:
    case 0xD7:
    case 0xD8:
      return is(Kind::kExt) && TakeBytes(width_of(0xD4) + 1, value);
    case 0xD9:
    case 0xDA:
    case 0xDB:
      return is(Kind::kString) && TakeSized(width_of(0xD9), 0, value);
    case 0xDC:
    case 0xDD:
      return is(Kind::kArray) && TakeNumber(width_of(0xDC) * 2, value.number);
    case 0xDE:
    case 0xDF:
      return is(Kind::kMap) && TakeNumber(width_of(0xDE) * 2, value.number);
    default:  // 0xC1 is never used
      return false;
  }
}

bool MsgpackReader::Skip() {
  // Each value costs at least a byte, so more values than bytes are left cannot come: this bounds
  // both the loop and the count.
  std::uint64_t to_skip = 1;
  while (to_skip > 0) {
    MsgpackValue value;
    if (!Next(value)) return false;
    --to_skip;
    if (value.kind == Kind::kArray) to_skip += value.number;
    if (value.kind == Kind::kMap) to_skip += 2 * value.number;
    if (to_skip > left_.size()) return false;
  }
  return true;
}

}  // namespace drycrank::io

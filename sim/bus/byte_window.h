// SPDX-License-Identifier: Apache-2.0
//
// A stream seen through a window of fixed size: however long the stream, no more of it is in
// memory.
#ifndef DRYCRANK_BUS_BYTE_WINDOW_H_
#define DRYCRANK_BUS_BYTE_WINDOW_H_

#include <cstdint>
#include <istream>
#include <span>
#include <vector>

namespace drycrank::bus {

class ByteWindow {
 public:
  static constexpr std::size_t kCapacity = std::size_t{1} << 17;

  // The stream must outlive it and is read by nobody else.
  explicit ByteWindow(std::istream& stream) : stream_(stream), bytes_(kCapacity) {}

  // At least `count` bytes from offset() on, fewer only at the end of the stream. Good until the
  // next call. REQUIRES: count <= kCapacity.
  std::span<const std::uint8_t> Peek(std::size_t count);
  // False: the stream ended before; offset() is its end.
  bool Skip(std::uint64_t count);
  std::uint64_t offset() const { return offset_; }
  // False: not a stream that can.
  bool JumpTo(std::uint64_t offset);

 private:
  std::istream& stream_;
  std::vector<std::uint8_t> bytes_;
  std::size_t begin_ = 0, end_ = 0;  // what of bytes_ is still to be given
  std::uint64_t offset_ = 0;         // of bytes_[begin_] in the stream
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_BYTE_WINDOW_H_

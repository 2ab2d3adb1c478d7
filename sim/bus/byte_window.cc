// SPDX-License-Identifier: Apache-2.0
#include "bus/byte_window.h"

#include <algorithm>
#include <cassert>
#include <cstring>

#include "types/nth.h"

namespace drycrank::bus {

std::span<const std::uint8_t> ByteWindow::Peek(std::size_t count) {
  assert(count <= kCapacity);
  if (end_ - begin_ < count && stream_.good()) {
    std::memmove(bytes_.data(), bytes_.data() + begin_, end_ - begin_);
    end_ -= begin_;
    begin_ = 0;
    stream_.read(reinterpret_cast<char*>(bytes_.data() + end_),
                 static_cast<std::streamsize>(kCapacity - end_));
    end_ += AsSize(stream_.gcount());
  }
  return {bytes_.data() + begin_, end_ - begin_};
}

bool ByteWindow::Skip(std::uint64_t count) {
  while (count > 0) {
    const std::size_t ready = Peek(1).size();
    if (ready == 0) return false;
    const std::size_t step = static_cast<std::size_t>(std::min<std::uint64_t>(ready, count));
    begin_ += step;
    offset_ += step;
    count -= step;
  }
  return true;
}

bool ByteWindow::JumpTo(std::uint64_t offset) {
  stream_.clear();
  stream_.seekg(static_cast<std::streamoff>(offset));
  begin_ = end_ = 0;
  offset_ = offset;
  return stream_.good();
}

}  // namespace drycrank::bus

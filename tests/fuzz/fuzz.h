// SPDX-License-Identifier: Apache-2.0
//
// What the fuzz targets share. A target is one function that takes bytes and returns 0; what must hold
// whatever they are is a Require, which ends the process. Each is linked twice: with libFuzzer (clang),
// which makes bytes, and with replay.cc, which takes those of its corpus as a test of every build.
#ifndef DRYCRANK_TESTS_FUZZ_FUZZ_H_
#define DRYCRANK_TESTS_FUZZ_FUZZ_H_

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <span>
#include <string_view>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace drycrank::fuzz {

inline void Require(bool holds, const char* what) {
  if (holds) return;
  std::fprintf(stderr, "does not hold: %s\n", what);
  std::abort();
}

// Bytes taken one after another; zeros when there are no more.
class Bytes {
 public:
  Bytes(const std::uint8_t* data, std::size_t size) : rest_(data, size) {}
  bool empty() const { return rest_.empty(); }
  template <class Number>
  Number Take() {
    std::uint64_t number = 0;
    for (std::size_t i = 0; i < sizeof(Number); ++i) number |= std::uint64_t{TakeByte()} << (8 * i);
    return static_cast<Number>(number);
  }
  // 0 .. most
  std::size_t UpTo(std::size_t most) { return Take<std::uint16_t>() % (most + 1); }
  std::span<const std::uint8_t> Take(std::size_t size) {
    const auto taken = rest_.first(std::min(size, rest_.size()));
    rest_ = rest_.subspan(taken.size());
    return taken;
  }
  std::string_view TakeLine() {
    const auto end = std::find(rest_.begin(), rest_.end(), '\n');
    const auto line = Take(static_cast<std::size_t>(end - rest_.begin()));
    TakeByte();
    return {reinterpret_cast<const char*>(line.data()), line.size()};
  }

 private:
  std::uint8_t TakeByte() {
    if (rest_.empty()) return 0;
    const std::uint8_t byte = rest_.front();
    rest_ = rest_.subspan(1);
    return byte;
  }
  std::span<const std::uint8_t> rest_;
};

inline std::string_view TextOf(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

}  // namespace drycrank::fuzz

#endif  // DRYCRANK_TESTS_FUZZ_FUZZ_H_

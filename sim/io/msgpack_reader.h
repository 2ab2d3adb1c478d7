// SPDX-License-Identifier: Apache-2.0
//
// Reads msgpack values one after the other from bytes that may be hostile. Every read checks what
// is left; nothing is copied; nesting is counted, not recursed into.
#ifndef DRYCRANK_IO_MSGPACK_READER_H_
#define DRYCRANK_IO_MSGPACK_READER_H_

#include <cstdint>
#include <span>
#include <string_view>

namespace drycrank::io {

struct MsgpackValue {
  enum class Kind {
    kNil,
    kBool,
    kUnsigned,
    kNegative,
    kFloat,
    kString,
    kBinary,
    kArray,
    kMap,
    kExt
  };
  Kind kind = Kind::kNil;
  std::uint64_t number = 0;             // kUnsigned; kBool 0/1; elements of kArray, pairs of kMap
  std::span<const std::uint8_t> bytes;  // kString, kBinary, kExt

  std::string_view text() const {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
  }
};

class MsgpackReader {
 public:
  explicit MsgpackReader(std::span<const std::uint8_t> bytes) : left_(bytes) {}

  // The head of the next value: the elements of an array or map follow as values of their own.
  // False: the bytes end early or are no msgpack.
  bool Next(MsgpackValue& value);
  // The next value with all that is in it.
  bool Skip();
  bool at_end() const { return left_.empty(); }

 private:
  bool TakeNumber(std::size_t width, std::uint64_t& number);
  bool TakeBytes(std::uint64_t size, MsgpackValue& value);
  bool TakeSized(std::size_t width, std::uint64_t extra, MsgpackValue& value);

  std::span<const std::uint8_t> left_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_MSGPACK_READER_H_

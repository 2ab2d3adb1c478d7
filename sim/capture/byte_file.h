// SPDX-License-Identifier: Apache-2.0
//
// A file read once from front to back, with the offset of what comes next.
#ifndef DRYCRANK_CAPTURE_BYTE_FILE_H_
#define DRYCRANK_CAPTURE_BYTE_FILE_H_

#include <cstdint>
#include <cstdio>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace drycrank::capture {

class ByteFile {
 public:
  explicit ByteFile(const std::string& path);
  ~ByteFile();
  ByteFile(const ByteFile&) = delete;
  ByteFile& operator=(const ByteFile&) = delete;

  bool is_open() const { return file_ != nullptr; }
  std::uint64_t size() const { return size_; }      // 0 of what is no plain file
  std::uint64_t offset() const { return offset_; }  // of the next byte
  bool failed() const { return failed_; }           // the disk, not the end

  // As many as there are, up to all of `out`.
  std::size_t Read(std::span<std::uint8_t> out);
  bool Skip(std::uint64_t bytes);
  // Up to and without the line feed; a carriage return before it is left out. False at the end, and
  // where a line is longer than kLongestLine: see too_long().
  bool Line(std::string_view& line);
  bool too_long() const { return too_long_; }
  bool ends_in_line() const { return ends_in_line_; }  // the last line has no line feed

  static constexpr std::size_t kLongestLine = 65536;

 private:
  bool Fill();

  std::FILE* file_ = nullptr;
  std::uint64_t size_ = 0, offset_ = 0;
  std::vector<char> buffer_;
  std::size_t at_ = 0, end_ = 0;  // what is in the buffer and was not taken
  bool failed_ = false, too_long_ = false, ends_in_line_ = false;
};

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_BYTE_FILE_H_

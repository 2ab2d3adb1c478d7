// SPDX-License-Identifier: Apache-2.0
#include "capture/byte_file.h"

#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cstring>

#include "types/nth.h"

namespace drycrank::capture {

ByteFile::ByteFile(const std::string& path) : buffer_(4 * kLongestLine) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0 || S_ISDIR(status.st_mode)) return;
  size_ = static_cast<std::uint64_t>(status.st_size);
  file_ = std::fopen(path.c_str(), "rb");
}

ByteFile::~ByteFile() {
  if (file_ != nullptr) std::fclose(file_);
}

// More behind what is left. False: there is no more.
bool ByteFile::Fill() {
  std::memmove(buffer_.data(), buffer_.data() + at_, end_ - at_);
  end_ -= at_;
  at_ = 0;
  // What there is, without waiting for more: the file may be a pipe.
  const ssize_t got = ::read(::fileno(file_), buffer_.data() + end_, buffer_.size() - end_);
  failed_ = got < 0;
  if (got > 0) end_ += AsSize(got);
  return got > 0;
}

std::size_t ByteFile::Read(std::span<std::uint8_t> out) {
  std::size_t done = 0;
  while (done < out.size() && (at_ < end_ || Fill())) {
    const std::size_t part = std::min(out.size() - done, end_ - at_);
    std::memcpy(out.data() + done, buffer_.data() + at_, part);
    done += part;
    at_ += part;
  }
  offset_ += done;
  return done;
}

bool ByteFile::Skip(std::uint64_t bytes) {
  while (bytes > 0 && (at_ < end_ || Fill())) {
    const std::size_t part = static_cast<std::size_t>(std::min<std::uint64_t>(bytes, end_ - at_));
    at_ += part;
    offset_ += part;
    bytes -= part;
  }
  return bytes == 0;
}

bool ByteFile::Line(std::string_view& line) {
  std::size_t searched = 0;
  for (;;) {
    const char* begin = buffer_.data() + at_;
    const void* feed = std::memchr(begin + searched, '\n', end_ - at_ - searched);
    searched = end_ - at_;
    if (feed == nullptr && searched <= kLongestLine && Fill()) continue;
    begin = buffer_.data() + at_;
    const std::size_t size =
        feed == nullptr ? end_ - at_ : AsSize(static_cast<const char*>(feed) - begin);
    too_long_ = size > kLongestLine;
    if (too_long_ || (feed == nullptr && size == 0)) return false;
    ends_in_line_ = feed == nullptr;
    line = {begin, size};
    at_ += size + (feed == nullptr ? 0 : 1);
    offset_ += size + (feed == nullptr ? 0 : 1);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    return true;
  }
}

}  // namespace drycrank::capture

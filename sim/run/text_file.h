// SPDX-License-Identifier: Apache-2.0
//
// A text file written in large pieces. Trouble (disk full, no permission) is kept and told at Close,
// so that the writing side stays free of it.
#ifndef DRYCRANK_RUN_TEXT_FILE_H_
#define DRYCRANK_RUN_TEXT_FILE_H_

#include <fmt/format.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string>

namespace drycrank::run {

class TextFile {
 public:
  explicit TextFile(const std::string& path) : path_(path), file_(std::fopen(path.c_str(), "wb")) {
    buffer_.reserve(2 * kPiece);  // a line longer than a piece is not written while a run goes on
    if (file_ == nullptr) {
      error_ = errno;
    } else {
      std::setvbuf(file_, nullptr, _IONBF, 0);  // buffer_ is the only one
    }
  }
  ~TextFile() { Close(); }
  TextFile(const TextFile&) = delete;
  TextFile& operator=(const TextFile&) = delete;

  template <class... Args>
  void Line(fmt::format_string<Args...> format, Args&&... args) {
    fmt::format_to(fmt::appender(buffer_), format, std::forward<Args>(args)...);
    EndLine();
  }
  fmt::memory_buffer& buffer() { return buffer_; }
  void EndLine() {
    buffer_.push_back('\n');
    EndPiece();
  }
  // Of bytes put into buffer() that are no line.
  void EndPiece() {
    if (buffer_.size() > kPiece) Flush();
  }
  void Flush() {
    if (file_ != nullptr && error_ == 0 &&
        std::fwrite(buffer_.data(), 1, buffer_.size(), file_) != buffer_.size()) {
      error_ = errno;
    }
    buffer_.clear();
  }
  // Empty on success.
  std::string Close() {
    Flush();
    if (file_ != nullptr && std::fclose(file_) != 0 && error_ == 0) error_ = errno;
    file_ = nullptr;
    return error_ == 0 ? "" : fmt::format("{}: {}", path_, std::strerror(error_));
  }

 private:
  static constexpr std::size_t kPiece = 1 << 16;
  std::string path_;
  std::FILE* file_;
  fmt::memory_buffer buffer_;
  int error_ = 0;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_TEXT_FILE_H_

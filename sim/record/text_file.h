// SPDX-License-Identifier: Apache-2.0
//
// A text file written in large pieces. Trouble (disk full, no permission) is kept and told at
// Close, so that the writing side stays free of it. Where that side must not wait for the disk, a
// piece is handed to io/background_writer.h instead, without a lock: there are two buffers, and one
// of them is the background's for as long as `handed_over_` says so.
#ifndef DRYCRANK_RECORD_TEXT_FILE_H_
#define DRYCRANK_RECORD_TEXT_FILE_H_

#include <fmt/format.h>
#include <sys/stat.h>

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string>
#include <utility>

#include "io/background_writer.h"

namespace drycrank::record {

class TextFile final : public io::Backlog {
 public:
  explicit TextFile(const std::string& path) : TextFile(path, std::fopen(path.c_str(), "wb")) {
    has_name_ = true;
  }
  // `file` is closed with this one; nullptr: could not be opened, errno says why.
  TextFile(const std::string& path, std::FILE* file) : path_(path), file_(file) {
    buffer_.reserve(kRoom);
    if (file_ == nullptr) {
      error_ = errno;
    } else {
      std::setvbuf(file_, nullptr, _IONBF, 0);  // buffer_ is the only one
    }
  }
  ~TextFile() override { static_cast<void>(Close()); }
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
    if (buffer_.size() == 0) return;
    if (!in_background_) {
      Write(buffer_);
    } else if (!handed_over_.load(std::memory_order_acquire)) {
      std::swap(buffer_, in_hand_);
      handed_over_.store(true, std::memory_order_release);
    }
    // Else the disk is slower than the run: the buffer grows, and nothing is lost.
  }

  // Between the two Flush only hands over.
  void BeginBackground() override {
    in_hand_.reserve(kRoom);
    in_background_ = true;
  }
  void EndBackground() override { in_background_ = false; }
  bool WriteWaiting() override {
    if (!handed_over_.load(std::memory_order_acquire)) return false;
    Write(in_hand_);
    handed_over_.store(false, std::memory_order_release);
    return true;
  }

  // What failed so far; empty: nothing. At any time, from the run's thread.
  [[nodiscard]] std::string problem() const {
    const int error = error_.load(std::memory_order_acquire);
    if (error == kRemoved) return path_ + ": was removed while it was being written";
    return error == 0 ? "" : fmt::format("{}: {}", path_, std::strerror(error));
  }
  // It has another name from now on.
  void Rename(const std::string& path) { path_ = path; }
  // Empty on success.
  [[nodiscard]] std::string Close() {
    Flush();
    if (file_ != nullptr && std::fclose(file_) != 0 && error_ == 0) error_ = errno;
    file_ = nullptr;
    return problem();
  }

 private:
  void Write(fmt::memory_buffer& piece) {
    if (file_ != nullptr && error_ == 0 &&
        std::fwrite(piece.data(), 1, piece.size(), file_) != piece.size()) {
      error_ = errno;
    }
    if (error_ == 0 && IsRemoved()) error_ = kRemoved;
    piece.clear();
  }
  // Writing goes on into a file without a name as if nothing had happened.
  bool IsRemoved() const {
    struct stat facts {};
    return has_name_ && file_ != nullptr && ::fstat(fileno(file_), &facts) == 0 &&
           facts.st_nlink == 0;
  }

  static constexpr std::size_t kPiece = 1 << 16;
  static constexpr std::size_t kRoom = 1 << 18;  // a line longer than that is not written in a run
  std::string path_;
  std::FILE* file_;
  fmt::memory_buffer buffer_, in_hand_;
  std::atomic<bool> handed_over_ = false;
  bool in_background_ = false;
  bool has_name_ = false;
  static constexpr int kRemoved = -1;
  std::atomic<int> error_ = 0;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_TEXT_FILE_H_

// SPDX-License-Identifier: Apache-2.0
//
// A text file written in large pieces. Trouble (disk full, no permission) is kept and told at
// Close, so that the writing side stays free of it. Where that side must not wait for the disk, a
// piece is handed to io/background_writer.h instead, without a lock: there are two buffers, and one
// of them is the background's for as long as `handed_over_` says so.
//
// A disk that takes no more leaves no half line behind: the file is cut back to a whole one (of bytes
// that are no lines: to a whole piece), and where that was asked for, what was cut makes room for one
// line that says why. One that is slower than the run makes the buffer grow, for nothing is to be lost,
// up to 64 MB; then the file ends the same way.
#ifndef DRYCRANK_RECORD_TEXT_FILE_H_
#define DRYCRANK_RECORD_TEXT_FILE_H_

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <functional>
#include <string>
#include <string_view>
#include <thread>
#include <utility>

#include "io/background_writer.h"
#include "types/nth.h"

namespace drycrank::record {

class TextFile final : public io::Backlog {
 public:
  explicit TextFile(const std::string& path) : TextFile(path, std::fopen(path.c_str(), "wb+")) {
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
    if (ended_) buffer_.resize(kept_);
    if (buffer_.size() > kPiece) Flush();
  }
  // What comes from now on is not kept.
  void EndHere() {
    ended_ = true;
    kept_ = buffer_.size();
  }
  void Flush() {
    if (ended_) buffer_.resize(kept_);
    if (buffer_.size() == 0) return;
    if (!in_background_) {
      passed_on_ += buffer_.size();
      Write(buffer_);
      kept_ = 0;
    } else if (!handed_over_.load(std::memory_order_acquire)) {
      passed_on_ += buffer_.size();
      std::swap(buffer_, in_hand_);
      kept_ = 0;
      handed_over_.store(true, std::memory_order_release);
    } else if (buffer_.size() > kMostWaiting) {
      too_slow_ = true;
      buffer_.clear();
      EndHere();
    }
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
    if (too_slow_ && error_ == 0) EndTooSlow();
    handed_over_.store(false, std::memory_order_release);
    return true;
  }

  // What failed so far; empty: nothing. At any time, from the run's thread.
  [[nodiscard]] std::string problem() const {
    const int error = error_.load(std::memory_order_acquire);
    if (error == kRemoved) return path_ + ": was removed or moved while it was being written";
    if (too_slow_) return path_ + ": " + kTooSlow;
    return error == 0 ? "" : fmt::format("{}: {}", path_, std::strerror(error));
  }
  // All that was put into it.
  std::size_t bytes() const { return passed_on_ + buffer_.size(); }
  // What it holds are no lines.
  void HoldsBytes() { holds_lines_ = false; }
  // Made of the last whole line and what the trouble was.
  using LastLine = std::function<std::string(std::string_view last, const std::string& trouble)>;
  void WhenFull(LastLine last_line) { last_line_ = std::move(last_line); }
  // While the run's thread hangs: after what it has handed over. From a thread that ends the process then.
  void LineFromOutside(std::string_view line) {
    for (int i = 0; i < 100 && handed_over_.load(std::memory_order_acquire); ++i) {
      std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
    if (file_ == nullptr || error_ != 0 || handed_over_) return;
    if (::write(fileno(file_), line.data(), line.size()) < 0) return;
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
    if (file_ != nullptr && error_ == 0 && !WriteWhole({piece.data(), piece.size()})) {
      const int error = errno;
      if (has_name_) EndWhole(std::strerror(error));
      error_ = error;
    }
    if (error_ == 0 && IsRemoved()) error_ = kRemoved;
    piece.clear();
  }
  bool WriteWhole(std::string_view text) {
    if (std::fwrite(text.data(), 1, text.size(), file_) != text.size()) return false;
    size_ += text.size();
    return true;
  }
  void EndWhole(const std::string& trouble) {
    if (!holds_lines_) return CutTo(size_);
    // What one cut frees another file may have taken: then more goes.
    for (const std::size_t room : {kRoomForLast, std::size_t{5000}, std::size_t{9000}}) {
      const std::size_t all = FileSize();
      const std::string end = EndOf(room + kLongestLast);
      const std::size_t gone = last_line_ ? std::min(room, end.size()) : 0;
      const std::string_view kept = std::string_view(end).substr(0, end.size() - gone);
      const std::size_t cut = kept.rfind('\n');
      if (cut == std::string_view::npos) break;
      CutTo(all - end.size() + cut + 1);
      if (!last_line_) return;
      if (WriteWhole(last_line_(LastOf(kept.substr(0, cut)), trouble))) return;
    }
    CutTo(size_);
  }
  // What waited when it was given up is not in it; what is in it is whole.
  void EndTooSlow() {
    const std::string end = EndOf(kLongestLast);
    const std::size_t cut = end.rfind('\n');
    if (holds_lines_ && last_line_ && cut != end.npos) {
      WriteWhole(last_line_(LastOf(std::string_view(end).substr(0, cut)), kTooSlow));
    }
    error_ = EIO;
  }
  static std::string_view LastOf(std::string_view lines) {
    const std::size_t before = lines.rfind('\n');
    return lines.substr(before == lines.npos ? 0 : before + 1);
  }
  std::size_t FileSize() const {
    struct stat facts {};
    return ::fstat(fileno(file_), &facts) == 0 ? AsSize(facts.st_size) : 0;
  }
  // Its last bytes, so many at most.
  std::string EndOf(std::size_t most) const {
    const std::size_t all = FileSize();
    std::string end(std::min(most, all), '\0');
    const ssize_t got =
        ::pread(fileno(file_), end.data(), end.size(), static_cast<off_t>(all - end.size()));
    end.resize(got < 0 ? 0 : AsSize(got));
    return end;
  }
  void CutTo(std::size_t size) {
    if (::ftruncate(fileno(file_), static_cast<off_t>(size)) != 0) return;
    std::fseek(file_, static_cast<long>(size), SEEK_SET);
    size_ = size;
  }
  // Writing goes on into a file without its name as if nothing had happened. Where its folder is gone the
  // record went with it, and that is another's to say (io/folder_lock.h).
  bool IsRemoved() const {
    struct stat facts {
    }, there{};
    if (!has_name_ || file_ == nullptr || ::fstat(fileno(file_), &facts) != 0) return false;
    if (facts.st_nlink == 0) return true;
    if (::stat(path_.c_str(), &there) == 0) {
      return there.st_ino != facts.st_ino || there.st_dev != facts.st_dev;
    }
    const std::string folder = path_.substr(0, path_.rfind('/') + 1);
    return errno == ENOENT && ::stat(folder.empty() ? "." : folder.c_str(), &there) == 0;
  }

  static constexpr std::size_t kRoomForLast = 256;  // of the line that says why
  static constexpr std::size_t kLongestLast = 4096;
  static constexpr std::size_t kMostWaiting = 64'000'000;
  static constexpr const char* kTooSlow = "the disk is too slow, 64 MB wait for it";
  static constexpr std::size_t kPiece = 1 << 16;
  static constexpr std::size_t kRoom = 1 << 18;  // a line longer than that is not written in a run
  std::string path_;
  std::FILE* file_;
  fmt::memory_buffer buffer_, in_hand_;
  std::atomic<bool> handed_over_ = false, too_slow_ = false;
  bool in_background_ = false;
  bool has_name_ = false;
  bool holds_lines_ = true;
  bool ended_ = false;
  std::size_t kept_ = 0;       // of the buffer, when it has ended
  std::size_t passed_on_ = 0;  // to the system, or to the background
  LastLine last_line_;
  std::size_t size_ = 0;  // of what is whole in the file
  static constexpr int kRemoved = -1;
  std::atomic<int> error_ = 0;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_TEXT_FILE_H_

// SPDX-License-Identifier: Apache-2.0
#include "io/recording_files.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>

#include "bus/candump_log.h"
#include "bus/pcapng.h"
#include "types/nth.h"

namespace drycrank::io {
namespace {

constexpr std::size_t kPiece = std::size_t{1} << 18;

// A device such as /dev/null is everybody's: what two write into it is no recording of either.
bool IsHeldByAnother(int file) {
  struct stat facts {};
  const bool is_device = fstat(file, &facts) == 0 && S_ISCHR(facts.st_mode);
  return !is_device && flock(file, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK;
}

}  // namespace

RecordingFiles::RecordingFiles(const RecordingOptions& options, bus::RecordingFormat format)
    : options_(options), format_(format) {
  buffer_.reserve(kPiece + 4096);
}

RecordingFiles::~RecordingFiles() { static_cast<void>(Close()); }

std::string RecordingFiles::Open(const RecordingOptions& options,
                                 std::unique_ptr<RecordingFiles>& out) {
  const auto format = bus::FormatForFile(options.path);
  if (!format) {
    return fmt::format("{}: its ending names no format; write .log (candump log) or .pcapng",
                       options.path);
  }
  std::unique_ptr<RecordingFiles> files(new RecordingFiles(options, *format));
  if (!files->OpenNext()) return files->problem_;
  out = std::move(files);
  return "";
}

std::string RecordingFiles::PathOf(std::uint64_t number) const {
  if (!IsNumbered()) return options_.path;
  const auto dot = options_.path.rfind('.');
  return fmt::format("{}-{:06}{}", options_.path.substr(0, dot), number, options_.path.substr(dot));
}

void RecordingFiles::Fail(const char* step) {
  const int error = errno;
  if (!problem_.empty()) return;
  problem_ = fmt::format("{} {}: {}", step, path_, std::strerror(error));
  if (error == EEXIST) problem_ += "; give another name, or --overwrite to replace it";
}

bool RecordingFiles::OpenNext() {
  ++number_;
  path_ = PathOf(number_);
  // The user named one file; what a link of a numbered name leads to is somebody else's.
  const int how = (options_.overwrite ? 0 : O_EXCL) | (IsNumbered() ? O_NOFOLLOW : 0);
  file_ = open(path_.c_str(), O_WRONLY | O_CREAT | O_CLOEXEC | how, 0666);
  if (file_ < 0) {
    Fail("create");
    return false;
  }
  if (!Empty()) return false;
  const auto kept = static_cast<std::uint64_t>(options_.max_files);
  if (kept > 0 && number_ > kept && unlink(PathOf(number_ - kept).c_str()) != 0 &&
      errno != ENOENT) {
    Fail("delete an old recording beside");
  }
  file_frames_ = file_bytes_ = 0;
  if (format_ == bus::RecordingFormat::kPcapng) {
    bus::AppendPcapngSection(buffer_);
    EndPiece(false);
    for (const std::string& name : interfaces_) AppendInterface(name);
  }
  return true;
}

// Cut only once it is ours: another process may be recording into it. Pipes cannot be cut.
bool RecordingFiles::Empty() {
  if (IsHeldByAnother(file_)) {
    problem_ = fmt::format("{} is being recorded by another process; give another name", path_);
  } else if (ftruncate(file_, 0) != 0 && errno != EINVAL) {
    Fail("empty");
  }
  if (problem_.empty()) return true;
  close(file_);
  file_ = -1;
  return false;
}

void RecordingFiles::AppendInterface(const std::string& name) {
  if (format_ != bus::RecordingFormat::kPcapng) return;
  bus::AppendPcapngInterface(name, buffer_);
  EndPiece(false);
}

void RecordingFiles::AddInterface(const std::string& name) {
  interfaces_.push_back(name);
  if (format_ == bus::RecordingFormat::kCandumpLog) {  // blanks are what its words are apart by
    std::replace(interfaces_.back().begin(), interfaces_.back().end(), ' ', '_');
  }
  AppendInterface(name);
}

bool RecordingFiles::IsFull(const bus::RecordedFrame& frame) const {
  if (file_frames_ == 0) return false;
  if (options_.max_ns > 0 && frame.t_ns - file_begin_ns_ >= options_.max_ns) return true;
  return options_.max_bytes > 0 && file_bytes_ + buffer_.size() >= options_.max_bytes;
}

void RecordingFiles::Write(const bus::RecordedFrame& frame) {
  if (IsFull(frame)) {
    CloseFile();
    if (problem_.empty()) OpenNext();
  }
  if (file_ < 0 || !problem_.empty()) {
    ++lost_;
    return;
  }
  if (file_frames_++ == 0) file_begin_ns_ = frame.t_ns;
  if (format_ == bus::RecordingFormat::kPcapng) {
    bus::AppendPcapngFrame(frame, buffer_);
  } else {
    bus::AppendLogLine(frame, Nth(interfaces_, frame.interface), buffer_);
  }
  EndPiece(true);
  if (buffer_.size() >= kPiece) Flush();
}

void RecordingFiles::Flush() {
  std::size_t done = 0;
  while (file_ >= 0 && problem_.empty() && done < buffer_.size()) {
    const ssize_t count = write(file_, buffer_.data() + done, buffer_.size() - done);
    if (count >= 0) {
      done += AsSize(count);
    } else if (errno != EINTR) {
      Fail("write");
    }
  }
  struct stat facts {};
  if (problem_.empty() && file_ >= 0 && fstat(file_, &facts) == 0 && facts.st_nlink == 0) {
    problem_ = path_ + " was removed while it was being written";
    done = 0;
  }
  if (done < buffer_.size()) CutToWhole(done);
  for (const Piece& piece : pieces_) {
    if (piece.is_frame) ++(piece.end <= done && file_ >= 0 ? written_ : lost_);
  }
  pieces_.clear();
  file_bytes_ += done;
  buffer_.clear();
}

// Of a frame that is there in part only nothing stays. What is no file cannot be cut.
void RecordingFiles::CutToWhole(std::size_t done) {
  std::size_t whole = 0;
  for (const Piece& piece : pieces_) {
    if (piece.end <= done) whole = piece.end;
  }
  if (file_ >= 0 && ftruncate(file_, static_cast<off_t>(file_bytes_ + whole)) != 0) return;
}

std::vector<std::string> RecordingFiles::PartsThere(const std::string& path) {
  namespace fs = std::filesystem;
  const fs::path named(path);
  const std::string begin = named.stem().string() + "-", end = named.extension().string();
  const fs::path folder = named.has_parent_path() ? named.parent_path() : ".";
  std::vector<std::string> parts;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    const std::string name = entry.path().filename().string();
    if (!name.starts_with(begin) || !name.ends_with(end)) continue;
    if (name.size() < begin.size() + end.size() + 6) continue;
    const std::string number = name.substr(begin.size(), name.size() - begin.size() - end.size());
    if (number.find_first_not_of("0123456789") == std::string::npos)
      parts.push_back((named.parent_path() / name).string());
  }
  return parts;
}

std::string RecordingFiles::WhyNotReplaced(const std::string& path) {
  const int there = open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (there < 0) return "";
  const bool is_held = IsHeldByAnother(there);
  close(there);
  if (!is_held) return "";
  return fmt::format("{} is being recorded by another process; give another name", path);
}

void RecordingFiles::Sync() {
  Flush();
  // Pipes and some file systems cannot; nothing that was written is lost by it.
  if (file_ >= 0 && fdatasync(file_) != 0 && errno != EINVAL && errno != EROFS) Fail("sync");
}

void RecordingFiles::CloseFile() {
  Flush();
  if (file_ >= 0 && close(file_) != 0) Fail("close");
  file_ = -1;
}

std::string RecordingFiles::Close() {
  CloseFile();
  if (problem_.empty() || lost_ == 0) return problem_;
  return fmt::format("{}; {} frames were not recorded", problem_, lost_);
}

}  // namespace drycrank::io

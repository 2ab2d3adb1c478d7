// SPDX-License-Identifier: Apache-2.0
#include "io/journal.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "types/nth.h"

namespace drycrank::io {
namespace {

// A name in a folder is on the disk only when the folder is.
bool SyncFolder(const std::string& path) {
  const std::filesystem::path folder = std::filesystem::path(path).parent_path();
  const char* name = folder.empty() ? "." : folder.c_str();
  const int descriptor = open(name, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (descriptor < 0) return false;
  const bool synced = fsync(descriptor) == 0;
  close(descriptor);
  return synced;
}

}  // namespace

Journal::~Journal() {
  if (descriptor_ >= 0) close(descriptor_);
}

std::string Journal::Trouble(const char* step) const {
  return fmt::format("{} {}: {}", step, path_, std::strerror(errno));
}

std::string Journal::Open(const std::string& path) {
  path_ = path;
  descriptor_ = open(path.c_str(), O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC | O_NOFOLLOW, 0644);
  if (descriptor_ < 0 && errno == ELOOP) {
    return fmt::format("{} is a link, and nothing is written through one; take it away", path);
  }
  if (descriptor_ < 0) return Trouble("open");
  if (flock(descriptor_, LOCK_EX | LOCK_NB) != 0) {
    return fmt::format("{} is in use by another drycrank", path);
  }
  std::ifstream file(path, std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  std::size_t begin = 0;
  for (std::size_t end; (end = text.find('\n', begin)) != std::string::npos; begin = end + 1) {
    lines_.push_back(text.substr(begin, end - begin));
  }
  if (begin != text.size() && ftruncate(descriptor_, static_cast<off_t>(begin)) != 0) {
    return Trouble("cut");
  }
  if (fsync(descriptor_) != 0 || !SyncFolder(path)) return Trouble("sync");
  return "";
}

bool Journal::Write(std::string_view text) {
  while (!text.empty()) {
    const ssize_t n = write(descriptor_, text.data(), text.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return false;
    text.remove_prefix(AsSize(n));
  }
  return true;
}

std::string Journal::Append(std::string_view line) {
  const off_t whole = lseek(descriptor_, 0, SEEK_END);
  if (!Write(std::string(line) + '\n')) {
    std::string trouble = Trouble("write");
    // What comes next must not go on from half a line.
    if (ftruncate(descriptor_, whole) != 0) trouble += Trouble("; cut");
    return trouble;
  }
  return fsync(descriptor_) == 0 ? "" : Trouble("sync");
}

}  // namespace drycrank::io

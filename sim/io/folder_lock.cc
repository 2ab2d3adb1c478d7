// SPDX-License-Identifier: Apache-2.0
#include "io/folder_lock.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <charconv>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace drycrank::io {
namespace {

constexpr const char* kAnother = "another process";

std::string ProgramOf(const std::string& process) {
  std::string name;
  std::getline(std::ifstream("/proc/" + process + "/comm"), name);
  return name;
}

std::string InWords(const std::string& process) {
  const std::string program = ProgramOf(process);
  return program.empty() ? "process " + process : fmt::format("process {} ({})", process, program);
}

// As /proc/locks has it: "1: FLOCK ADVISORY WRITE 4711 fe:01:1234 0 EOF"; the last number of the three
// is the inode (proc(5)). Processes that are not seen from here have number 0.
std::string OwnerOf(ino_t inode) {
  const std::string wanted = fmt::format(":{}", inode);
  std::ifstream locks("/proc/locks");
  for (std::string line; std::getline(locks, line);) {
    std::istringstream words(line);
    std::string number, kind, mode, access, process, place;
    words >> number >> kind >> mode >> access >> process >> place;
    if (kind != "FLOCK" || !place.ends_with(wanted) || process == "0") continue;
    return InWords(process);
  }
  return kAnother;
}

}  // namespace

std::string ProcessInWords(int process) {
  return process <= 0 ? kAnother : InWords(std::to_string(process));
}

// The list of locks is asked first: trying one would be in the way of who takes it now. It knows inodes,
// which another file system may have too.
std::string WhoHolds(const std::string& folder) {
  struct stat facts {};
  if (::stat(folder.c_str(), &facts) != 0) return "";
  const std::string owner = OwnerOf(facts.st_ino);
  if (owner == kAnother || owner.starts_with(fmt::format("process {} ", ::getpid()))) return "";
  const int asked = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  const bool is_held = asked >= 0 && ::flock(asked, LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;
  if (asked >= 0) ::close(asked);
  return is_held ? owner : "";
}

FolderLock::~FolderLock() {
  if (descriptor_ < 0) return;
  if (made_) ::rmdir(folder_.c_str());  // only an empty one goes
  ::close(descriptor_);
}

std::string FolderLock::Take(const std::string& folder) {
  folder_ = folder;
  for (int tries = 0; tries < 100; ++tries) {
    std::error_code error;
    made_ = std::filesystem::create_directories(folder, error);
    if (error) return fmt::format("create folder {}: {}", folder, error.message());
    descriptor_ = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor_ < 0 && errno == ENOENT) continue;  // its owner took it off just now
    if (descriptor_ < 0) return fmt::format("open {}: {}", folder, std::strerror(errno));
    struct stat mine {};
    ::fstat(descriptor_, &mine);
    const bool locked = ::flock(descriptor_, LOCK_EX | LOCK_NB) == 0;
    if (locked && ::fstat(descriptor_, &mine) == 0 && mine.st_nlink > 0) return "";
    ::close(descriptor_);
    descriptor_ = -1;
    if (!locked) {
      return fmt::format("{} is in use by {}; give another folder, or wait until that has ended",
                         folder, OwnerOf(mine.st_ino));
    }
  }
  return fmt::format("{} comes and goes: who takes it away?", folder);
}

bool FolderLock::IsThere() const {
  struct stat mine {
  }, there{};
  return descriptor_ >= 0 && ::fstat(descriptor_, &mine) == 0 &&
         ::stat(folder_.c_str(), &there) == 0 && mine.st_dev == there.st_dev &&
         mine.st_ino == there.st_ino;
}

}  // namespace drycrank::io

// SPDX-License-Identifier: Apache-2.0
#include "record/sound_disk.h"

#include <cerrno>
#include <cstring>
#include <utility>

#include "types/nth.h"

namespace drycrank::record {

SNDFILE* SoundDisk::Open(int mode, SF_INFO& info) {
  disk_ = std::fopen(path_.c_str(), mode == SFM_WRITE ? "wb+" : "rb+");
  if (disk_ == nullptr) {
    Keep(errno);
    return nullptr;
  }
  static SF_VIRTUAL_IO calls{Length, Seek, Read, Write, Tell};
  sound_ = sf_open_virtual(&calls, mode, &info, this);
  if (sound_ == nullptr && problem_.empty()) problem_ = path_ + ": " + sf_strerror(nullptr);
  return sound_;
}

void SoundDisk::Close() {
  if (sound_ != nullptr) sf_close(std::exchange(sound_, nullptr));
  if (disk_ != nullptr && std::fclose(std::exchange(disk_, nullptr)) != 0) Keep(errno);
}

void SoundDisk::Keep(int error) {
  if (problem_.empty()) problem_ = path_ + ": " + std::strerror(error);
}

// What waits is written by a seek, too.
void SoundDisk::GoTo(long offset, int whence) {
  if (std::fseek(disk_, offset, whence) != 0) Keep(errno);
}

sf_count_t SoundDisk::Length(void* self) {
  auto* mine = static_cast<SoundDisk*>(self);
  const long at = std::ftell(mine->disk_);
  mine->GoTo(0, SEEK_END);
  const long length = std::ftell(mine->disk_);
  mine->GoTo(at, SEEK_SET);
  return length;
}

sf_count_t SoundDisk::Seek(sf_count_t offset, int whence, void* self) {
  static_cast<SoundDisk*>(self)->GoTo(static_cast<long>(offset), whence);
  return Tell(self);
}

sf_count_t SoundDisk::Read(void* to, sf_count_t count, void* self) {
  auto* mine = static_cast<SoundDisk*>(self);
  std::FILE* disk = mine->disk_;
  if (std::fflush(disk) != 0) mine->Keep(errno);  // between writing and reading, C11 7.21.5.3
  return static_cast<sf_count_t>(std::fread(to, 1, AsSize(count), disk));
}

sf_count_t SoundDisk::Write(const void* from, sf_count_t count, void* self) {
  auto* mine = static_cast<SoundDisk*>(self);
  const auto size = AsSize(count);
  const std::size_t written = std::fwrite(from, 1, size, mine->disk_);
  if (written != size) mine->Keep(errno);
  return static_cast<sf_count_t>(written);
}

sf_count_t SoundDisk::Tell(void* self) { return std::ftell(static_cast<SoundDisk*>(self)->disk_); }

}  // namespace drycrank::record

// SPDX-License-Identifier: Apache-2.0
//
// The file under a sound file: libsndfile tells of a disk that is full at some writes and not at others (of
// the lengths in the head, written when it is closed, nothing), so reading and writing are ours and each
// error is kept.
#ifndef DRYCRANK_RECORD_SOUND_DISK_H_
#define DRYCRANK_RECORD_SOUND_DISK_H_

#include <sndfile.h>

#include <cstdio>
#include <string>

namespace drycrank::record {

class SoundDisk {
 public:
  explicit SoundDisk(std::string path) : path_(std::move(path)) {}
  ~SoundDisk() { Close(); }
  SoundDisk(const SoundDisk&) = delete;
  SoundDisk& operator=(const SoundDisk&) = delete;

  // SFM_WRITE: a new file; SFM_RDWR: the one that is there. Null: problem() says why.
  SNDFILE* Open(int mode, SF_INFO& info);
  void Close();
  // Null while it is closed.
  SNDFILE* file() const { return sound_; }
  // Empty: every byte is on its way to the disk.
  const std::string& problem() const { return problem_; }

 private:
  static sf_count_t Length(void* self);
  static sf_count_t Seek(sf_count_t offset, int whence, void* self);
  static sf_count_t Read(void* to, sf_count_t count, void* self);
  static sf_count_t Write(const void* from, sf_count_t count, void* self);
  static sf_count_t Tell(void* self);
  void Keep(int error);
  void GoTo(long offset, int whence);

  std::string path_;
  std::FILE* disk_ = nullptr;
  SNDFILE* sound_ = nullptr;
  std::string problem_;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_SOUND_DISK_H_

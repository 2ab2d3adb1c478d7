// SPDX-License-Identifier: Apache-2.0
//
// One owner per folder: a record, a walk, a campaign is written by one process at a time. The lock is
// on the folder itself (flock), leaves no file behind, and ends with the process, however that ends.
#ifndef DRYCRANK_IO_FOLDER_LOCK_H_
#define DRYCRANK_IO_FOLDER_LOCK_H_

#include <string>

namespace drycrank::io {

// "process 4711 (drycrank)"; 0, one that is not seen from here: "another process".
std::string ProcessInWords(int process);

// Another process that holds a lock on `folder`, "process 4711 (drycrank)"; empty: none, or no such folder.
std::string WhoHolds(const std::string& folder);

class FolderLock {
 public:
  FolderLock() = default;
  ~FolderLock();
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;

  // Makes the folder when it is not there; taken off again at the end if nothing was put into it.
  // Empty on success, else what failed, or whose it is: "out is in use by process 4711 (drycrank)".
  [[nodiscard]] std::string Take(const std::string& folder);
  // Is it still where it was taken? Another may have moved it away, or put another there.
  bool IsThere() const;

 private:
  std::string folder_;
  bool made_ = false;
  int descriptor_ = -1;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_FOLDER_LOCK_H_

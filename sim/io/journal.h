// SPDX-License-Identifier: Apache-2.0
//
// Lines that are kept, whatever happens next: appended to a file and on the disk (fsync) before
// Append returns. A line that was cut by a crash while it was written is taken off again when the
// file is opened; one that the disk did not take is taken off at once.
#ifndef DRYCRANK_IO_JOURNAL_H_
#define DRYCRANK_IO_JOURNAL_H_

#include <string>
#include <string_view>
#include <vector>

namespace drycrank::io {

class Journal {
 public:
  Journal() = default;
  ~Journal();
  Journal(const Journal&) = delete;
  Journal& operator=(const Journal&) = delete;

  // Made when it is not there; nobody else may have it open at the same time. Empty on success,
  // else what failed.
  [[nodiscard]] std::string Open(const std::string& path);
  // The whole lines that were there, without their ends.
  const std::vector<std::string>& lines() const { return lines_; }
  // REQUIRES: no line end in it. Empty on success.
  [[nodiscard]] std::string Append(std::string_view line);

 private:
  [[nodiscard]] std::string Trouble(const char* step) const;
  bool Write(std::string_view text);

  std::string path_;
  int descriptor_ = -1;
  std::vector<std::string> lines_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_JOURNAL_H_

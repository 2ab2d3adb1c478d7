// SPDX-License-Identifier: Apache-2.0
//
// A file that is there whole or as it was before: it is made beside its place, as
// NAME.being_made-NUMBER.ENDING, a name that nobody has, and put there when all of it is written. A disk that is full, or a process that is killed, costs nothing that was
// there. What is no file of its own (a terminal, a pipe) is written straight.
#ifndef DRYCRANK_IO_WHOLE_FILE_H_
#define DRYCRANK_IO_WHOLE_FILE_H_

#include <string>
#include <string_view>

namespace drycrank::io {

// Empty on success, else "write PATH: why". A link stays, what it points to is replaced.
[[nodiscard]] std::string WriteWholeFile(const std::string& path, std::string_view text);

// For what is written in pieces: made() is written and closed, then PutInPlace. Without that the old one
// stays, and what was made goes. What is no file of its own is made() itself.
class InMaking {
 public:
  // A file, beside its place.
  static InMaking File(const std::string& path);
  // Files of a folder that is there: made() is a folder in it, which whoever writes them makes.
  static InMaking FilesIn(const std::string& folder);
  ~InMaking();
  InMaking(const InMaking&) = delete;
  InMaking& operator=(const InMaking&) = delete;

  const std::string& made() const { return made_; }
  // Empty on success, else what failed: the old files are whole then, of several some may be new.
  [[nodiscard]] std::string PutInPlace();
  // What was said of made(), said of its place.
  std::string OfPlace(std::string words) const;

 private:
  InMaking(std::string said, std::string place, std::string made);

  std::string said_, place_, made_;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_WHOLE_FILE_H_

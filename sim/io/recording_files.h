// SPDX-License-Identifier: Apache-2.0
//
// Frames to files, candump log or pcapng by the path's ending. With a limit on size or time the
// files are numbered, and the oldest are deleted beyond max_files:
//
//   drive.pcapng   no limit          drive-000001.pcapng, drive-000002.pcapng ...   with one
//
// A disk that takes no more leaves a file that ends with a whole frame, and the count is of those.
//
// Trouble of the disk is kept (problem()) and frames are counted as lost from then on; nothing
// throws.
#ifndef DRYCRANK_IO_RECORDING_FILES_H_
#define DRYCRANK_IO_RECORDING_FILES_H_

#include <fmt/format.h>

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "bus/recording.h"

namespace drycrank::io {

struct RecordingOptions {
  std::string path;             // ends in .log or .pcapng
  bool overwrite = false;       // replace files that are there
  std::uint64_t max_bytes = 0;  // of one file; 0: no limit
  TimeNs max_ns = 0;            // of one file, by the frames' times; 0: no limit
  int max_files = 0;            // kept; 0: all
};

class RecordingFiles {
 public:
  // Empty on success, else what failed and what would help.
  [[nodiscard]] static std::string Open(const RecordingOptions& options,
                                        std::unique_ptr<RecordingFiles>& out);
  ~RecordingFiles();
  RecordingFiles(const RecordingFiles&) = delete;
  RecordingFiles& operator=(const RecordingFiles&) = delete;

  // Numbered files of such a recording that are there, which one with limits would replace.
  [[nodiscard]] static std::vector<std::string> PartsThere(const std::string& path);
  // Empty, or why the file at `path` may not be replaced: somebody records into it.
  [[nodiscard]] static std::string WhyNotReplaced(const std::string& path);

  // The next interface: 0, 1, ...
  void AddInterface(const std::string& name);
  // REQUIRES: frame.interface has been added.
  void Write(const bus::RecordedFrame& frame);
  // To the system: what was written survives a crash of the program.
  void Flush();
  // Flush, and to the disk: survives a crash of the machine. May take long.
  void Sync();
  // Empty when every frame is in a file.
  [[nodiscard]] std::string Close();

  const std::string& problem() const { return problem_; }
  std::uint64_t written() const { return written_; }
  std::uint64_t lost() const { return lost_; }
  // Of the file written at present.
  const std::string& path() const { return path_; }

 private:
  RecordingFiles(const RecordingOptions& options, bus::RecordingFormat format);
  bool IsNumbered() const { return options_.max_bytes > 0 || options_.max_ns > 0; }
  std::string PathOf(std::uint64_t number) const;
  bool OpenNext();
  bool Empty();
  void AppendInterface(const std::string& name);
  void CloseFile();
  void Fail(const char* step);
  bool IsFull(const bus::RecordedFrame& frame) const;

  RecordingOptions options_;
  bus::RecordingFormat format_;
  std::vector<std::string> interfaces_;
  int file_ = -1;
  std::string path_;
  std::uint64_t number_ = 0;
  std::uint64_t file_frames_ = 0, file_bytes_ = 0;
  // Of what is in buffer_: where each piece ends, which a file may end with too.
  struct Piece {
    std::size_t end = 0;
    bool is_frame = false;
  };
  void EndPiece(bool is_frame) { pieces_.push_back({buffer_.size(), is_frame}); }
  void CutToWhole(std::size_t done);
  std::vector<Piece> pieces_;
  TimeNs file_begin_ns_ = 0;
  fmt::memory_buffer buffer_;
  std::string problem_;
  std::uint64_t written_ = 0, lost_ = 0;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_RECORDING_FILES_H_

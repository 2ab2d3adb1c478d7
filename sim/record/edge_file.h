// SPDX-License-Identifier: Apache-2.0
//
// edges.bin of a record: all edges of a run in blocks (edge_block.h), about 2 bytes each.
//
//   first block    'h' and a JSON object: "format" (types/format_number.h), "unit": "ns", "channels":
//                  one object each with "kind" (trigger, coil, injector), "name" and, but for a
//                  trigger, "cylinder"
//   other blocks   'e': edges; one with another letter is passed over
//
// Edges stand in the order in which the run made them: those of one channel in the order of time; an
// output may lie up to one firing interval ahead of the triggers. A block that is damaged is left out
// and said with its offset; reading goes on at the next mark.
#ifndef DRYCRANK_RECORD_EDGE_FILE_H_
#define DRYCRANK_RECORD_EDGE_FILE_H_

#include <istream>
#include <string>
#include <vector>

#include "bus/byte_window.h"
#include "bus/recording.h"
#include "record/edge_block.h"
#include "record/edge_channels.h"
#include "record/text_file.h"

namespace drycrank::record {

class EdgeWriter {
 public:
  EdgeWriter(const EdgeChannels& channels, const std::string& path);
  void Add(const ChannelEdge& edge);
  // What was added so far becomes a block of the file, which may still hold it in memory.
  void Seal() { block_.Seal(file_.buffer()); }
  TextFile& file() { return file_; }

 private:
  TextFile file_;
  EdgeBlock block_;
};

class EdgeReader {
 public:
  // The stream must outlive it and is read by nobody else.
  explicit EdgeReader(std::istream& stream);

  // Empty: channels() hold; else why this is no file of edges that is read here.
  const std::string& problem() const { return problem_; }
  const EdgeChannels& channels() const { return channels_; }
  // The next good block. False at the end.
  bool Next(ReadBlock& out);
  // How many places were damaged, and the first of them.
  std::uint64_t damaged() const { return damaged_; }
  const std::vector<bus::Damage>& damage() const { return damage_; }

 private:
  // The content of the next whole block; empty at the end. Good until the next call.
  std::span<const std::uint8_t> Content();
  void ReadHead(std::span<const std::uint8_t> content);
  void Note(const char* what);
  void SkipToMark();

  bus::ByteWindow window_;
  std::size_t to_skip_ = 0;  // the block that was given last
  std::string problem_;
  EdgeChannels channels_;
  std::uint64_t damaged_ = 0;
  std::vector<bus::Damage> damage_;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_EDGE_FILE_H_

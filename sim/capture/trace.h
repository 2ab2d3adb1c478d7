// SPDX-License-Identifier: Apache-2.0
//
// A file of an oscilloscope, logic analyser or sound card as a stream of rows: a time, and one
// value of each channel. What a file holds is in its own unit until a map says otherwise
// (channel_map.h): volts, a share of full scale, or 0 and 1.
//
//   CSV    csv_trace.h     numbers in columns        WAV   wav_trace.h   PCM 8 to 32 bits, float
//   VCD    vcd_trace.h     IEEE 1364                 .sr   sr_trace.h    sigrok session, a zip
//
// Nothing of a file is kept but one block of rows, so a gigabyte needs no more memory than a page.
#ifndef DRYCRANK_CAPTURE_TRACE_H_
#define DRYCRANK_CAPTURE_TRACE_H_

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::capture {

inline constexpr std::size_t kMostChannels = 256;
inline constexpr std::size_t kRowsPerBlock = 4096;

struct TraceChannel {
  std::string name;
  bool digital = false;  // 0 or 1
  std::string unit;      // as the file says it: "mV"; empty: not said
};

struct TraceInfo {
  std::string format;  // "CSV", "WAV", "VCD", "sigrok session"
  std::vector<TraceChannel> channels;
  double rate_hz = 0;  // 0: each row has a time of its own
  // A row stands where something changes, at its very instant; else where a clock ticks.
  bool by_change = false;
  bool uneven = false;  // neither: rows missing among them cannot be told
};

// Rows in the order of their times. A value that is not known is NaN. Where rows are missing stands
// one of NaN alone: what was before it and what comes after it are no neighbours.
struct TraceBlock {
  std::vector<double> t_ns;   // since the file's begin; a double is exact to 1 ns for 100 days
  std::vector<float> values;  // row after row, info.channels.size() each

  void Clear() {
    t_ns.clear();
    values.clear();
  }
};

// Where a clock ticked and no row stands.
struct TraceHole {
  int line = 0;  // the first one after it
  double from_ns = 0, to_ns = 0;
  double rows = 0;  // so many are missing
};
// Rows whose time is that of the row before, though a clock ticks and the times are written finely
// enough to tell the two apart. They are left out.
struct TraceRepeats {
  int line = 0;  // of the first
  double t_ns = 0;
  std::size_t count = 0;
};
inline constexpr std::size_t kMostHoles = 10'000;  // kept; later ones are counted

class Trace {
 public:
  virtual ~Trace() = default;
  const TraceInfo& info() const { return info_; }
  // Of what has been read so far.
  const std::vector<TraceHole>& holes() const { return holes_; }
  std::size_t hole_count() const { return hole_count_; }
  const TraceRepeats& repeats() const { return repeats_; }
  // The next rows; false at the end, or at what cannot be read: see problem().
  virtual bool Next(TraceBlock& block) = 0;
  const std::optional<Diagnostic>& problem() const { return problem_; }

 protected:
  // "file: at byte 44: what; remedy". Always false, for `return Refuse(...)`.
  bool Refuse(std::uint64_t offset, const std::string& what, const std::string& remedy);
  bool RefuseLine(int line, std::uint64_t offset, const std::string& what,
                  const std::string& remedy);

  void AddHole(const TraceHole& hole) {
    ++hole_count_;
    if (holes_.size() < kMostHoles) holes_.push_back(hole);
  }

  std::string path_;
  TraceInfo info_;
  std::optional<Diagnostic> problem_;
  std::vector<TraceHole> holes_;
  std::size_t hole_count_ = 0;
  TraceRepeats repeats_;
};

// What a file of bare numbers does not say itself.
struct TraceHints {
  double rate_hz = 0;       // 0: the file says it
  std::string time_column;  // of CSV; empty: the first that looks like it
};

struct [[nodiscard]] OpenedTrace {
  std::unique_ptr<Trace> trace;  // or
  std::optional<Diagnostic> problem;
};
// By what the file begins with, not by its name.
OpenedTrace OpenTrace(const std::string& path, const TraceHints& hints = {});

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_TRACE_H_

// SPDX-License-Identifier: Apache-2.0
//
// Where a stand-in's ears get their samples: a WAV file, a pipe of one, or a sound card's input.
#ifndef DRYCRANK_TOOLS_SAMPLE_SOURCE_H_
#define DRYCRANK_TOOLS_SAMPLE_SOURCE_H_

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

namespace drycrank::tools {

class SampleSource {
 public:
  enum class Came { kSome, kNothing, kEnd };

  virtual ~SampleSource() = default;
  virtual std::string Description() const = 0;
  virtual double rate_hz() const = 0;
  virtual int channels() const = 0;
  // Frame by frame, -1..1. Waits for some tens of milliseconds at most, but at a pipe that stands still.
  virtual Came Read(std::vector<float>& samples) = 0;
  // It gives samples when they are heard; else as fast as one reads.
  virtual bool is_live() const { return false; }
  // Since the last call: were samples lost?
  virtual bool TakeLost() { return false; }
  // After kEnd: what failed; empty: it was the end.
  virtual std::string problem() const { return ""; }
};

struct [[nodiscard]] OpenedSource {
  std::unique_ptr<SampleSource> source;  // or
  std::string problem;
  bool bad_input = false;  // the file is none that can be heard, not the world
};
// `where`: a file, "-" for standard input, or else a sound card, at this rate and with so many channels.
OpenedSource OpenSource(const std::string& where, int rate_hz, int channels);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_SAMPLE_SOURCE_H_

// SPDX-License-Identifier: Apache-2.0
//
// A trace in any format: each row is whole, times do not go back, and what is refused says where. Then the
// same bytes matched with a bench.
#include "capture/match.h"
#include "profile/load.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/scratch_file.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drycrank;
  static const fuzz::ScratchFile scratch("trace");
  static const auto loaded = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml");
  fuzz::Require(loaded.bench.has_value(), "the shipped bench is loaded");
  if (size > 65536) return 0;
  const std::string& path = scratch.Write(fuzz::TextOf(data, size));
  const capture::TraceHints hints{.rate_hz = 1000, .time_column = ""};
  auto opened = capture::OpenTrace(path, hints);
  fuzz::Require((opened.trace != nullptr) != opened.problem.has_value(), "a trace or a problem");
  if (!opened.trace) return 0;
  capture::TraceBlock block;
  double last_ns = -1e300;
  while (opened.trace->Next(block)) {
    fuzz::Require(block.values.size() == block.t_ns.size() * opened.trace->info().channels.size(),
                  "rows are whole");
    for (const double t_ns : block.t_ns) {
      fuzz::Require(t_ns >= last_ns, "times do not go back");
      last_ns = t_ns;
    }
  }
  capture::ChannelMap map;
  map.hints = hints;
  const auto result = capture::Match(*loaded.bench, path, map, {}, {});
  fuzz::Require(!result.problems.empty() || !result.findings.empty() || !result.triggers.empty(),
                "something is said");
  return 0;
}

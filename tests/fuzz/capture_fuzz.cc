// SPDX-License-Identifier: Apache-2.0
//
// A capture of outputs, as an analyser exports it.
#include "profile/load.h"
#include "study/capture.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/scratch_file.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drycrank;
  static const fuzz::ScratchFile scratch("capture.csv");
  static const auto loaded = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/boat_v8.yaml");
  fuzz::Require(loaded.bench.has_value(), "the shipped bench is loaded");
  if (size > 65536) return 0;
  const auto capture = study::ReadCapture(*loaded.bench, scratch.Write(fuzz::TextOf(data, size)));
  fuzz::Require(!capture.seen.empty() || !capture.problems.empty(), "nothing seen has its problem");
  return 0;
}

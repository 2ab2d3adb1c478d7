// SPDX-License-Identifier: Apache-2.0
//
// A profile, as scenario and as bench: it is loaded, or each problem has a place and words.
#include "profile/load.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/scratch_file.h"

namespace drycrank::fuzz {
namespace {

void AreSaid(const Diagnostics& problems) {
  for (const Diagnostic& problem : problems) {
    Require(!problem.what.empty(), "a problem has words");
    Require(Format(problem).find('\x1b') == std::string::npos, "no terminal escape is passed on");
  }
}

}  // namespace
}  // namespace drycrank::fuzz

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drycrank;
  static const fuzz::ScratchFile scratch("profile.yaml");
  if (size > 16384) return 0;
  const std::string& path = scratch.Write(fuzz::TextOf(data, size));
  // One of the two by the kind that it says, so that neither costs the other's time.
  if (fuzz::TextOf(data, size).find("scenario") == std::string_view::npos) {
    const auto bench = profile::LoadBench(path);
    fuzz::Require(bench.bench.has_value() || !bench.problems.empty(), "no bench without a problem");
    fuzz::AreSaid(bench.problems);
  } else {
    const auto loaded = profile::LoadScenario(path);
    fuzz::Require(loaded.scenario.has_value() || !loaded.problems.empty(),
                  "no scenario without a problem");
    fuzz::AreSaid(loaded.problems);
  }
  return 0;
}

// SPDX-License-Identifier: Apache-2.0
//
// A wiring schedule from a spreadsheet: what is imported of it can be written as a profile.
#include "schedule/import.h"
#include "tests/fuzz/fuzz.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drycrank;
  if (size > 65536) return 0;
  const auto imported = schedule::ImportCsv("s.csv", std::string(fuzz::TextOf(data, size)));
  fuzz::Require(imported.is_readable || !imported.problems.empty(), "what cannot be read is said");
  schedule::ColumnsText(imported);
  schedule::HarnessYaml(imported.schedule);
  return 0;
}

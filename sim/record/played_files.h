// SPDX-License-Identifier: Apache-2.0
//
// What a scenario plays that is too long to be copied into its record: named there by its SHA-256.
#ifndef DRYCRANK_RECORD_PLAYED_FILES_H_
#define DRYCRANK_RECORD_PLAYED_FILES_H_

#include <cstdint>
#include <string>
#include <vector>

#include "profile/scenario_file.h"

namespace drycrank::record {

struct PlayedFile {
  std::string file, sha256;
  std::uint64_t bytes = 0;
};
// The capture and its map; reads them.
std::vector<PlayedFile> PlayedFilesOf(const profile::Scenario& scenario);
// One sentence each, for a report.
std::vector<std::string> InWords(const std::vector<PlayedFile>& files);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_PLAYED_FILES_H_

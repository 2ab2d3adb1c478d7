// SPDX-License-Identifier: Apache-2.0
//
// Each kind of file that drycrank writes or reads carries the number of its format, from 1. A
// change that an older program would misread counts it up; a key that an older program may pass
// over does not. A file that is older than this rule has no number and is read as format 1.
#ifndef DRYCRANK_TYPES_FORMAT_NUMBER_H_
#define DRYCRANK_TYPES_FORMAT_NUMBER_H_

#include <cstdint>
#include <string>

namespace drycrank {

inline constexpr int kBenchFormat = 1;     // bench files
inline constexpr int kScenarioFormat = 1;  // scenario files
inline constexpr int kRecordFormat = 2;    // record.json and the files beside it
inline constexpr int kEdgeFormat = 1;      // edges.bin of a record
inline constexpr int kCampaignFormat = 2;  // campaign.json and faults.jsonl
inline constexpr int kAnswersFormat = 1;   // the answers of a walk
inline constexpr int kSettingsFormat = 1;  // what `drycrank settings --json` prints
inline constexpr int kLimitsFormat = 1;    // what `drycrank limits --json` writes

// Empty when a program that reads format `known` reads this one; else why it does not: "format 2 is
// newer than this program reads (1)". REQUIRES: known >= 1.
[[nodiscard]] std::string WhyNotRead(std::int64_t format, int known);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_FORMAT_NUMBER_H_

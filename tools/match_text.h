// SPDX-License-Identifier: Apache-2.0
//
// The result of a match for the terminal and as JSON.
#ifndef DRYCRANK_TOOLS_MATCH_TEXT_H_
#define DRYCRANK_TOOLS_MATCH_TEXT_H_

#include <string>

#include "capture/match.h"

namespace drycrank::tools {

inline constexpr int kMatchFormat = 1;  // of the JSON

std::string MatchInWords(const profile::Bench& bench, const std::string& capture,
                         const capture::MatchResult& result);
std::string MatchAsJson(const std::string& capture, const capture::MatchResult& result);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_MATCH_TEXT_H_

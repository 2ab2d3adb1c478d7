// SPDX-License-Identifier: Apache-2.0
//
// Who armed which hardware when, in record.json: the first time `armed`, each later time a line of `armed_again`.
#ifndef DRYCRANK_RECORD_ARMED_WORDS_H_
#define DRYCRANK_RECORD_ARMED_WORDS_H_

#include <nlohmann/json_fwd.hpp>
#include <string>

namespace drycrank::record {

struct Armed;

// `head`: what stands in record.json.
void AddArmed(const Armed& armed, nlohmann::ordered_json& head);

// Into the record of this folder, which is whole before and after. Empty, or what failed.
[[nodiscard]] std::string AddArmed(const std::string& folder, const Armed& armed);

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_ARMED_WORDS_H_

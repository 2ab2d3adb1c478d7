// SPDX-License-Identifier: Apache-2.0
//
// JSON as text, and one key of a table as JSON Schema. Internal to profile/.
#ifndef DRYCRANK_PROFILE_SCHEMA_VALUE_H_
#define DRYCRANK_PROFILE_SCHEMA_VALUE_H_

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "profile/sections.h"

namespace drycrank::profile::json {

using Members = std::vector<std::pair<std::string, std::string>>;

std::string Quote(std::string_view text);
std::string Object(const Members& members);
std::string Array(const std::vector<std::string>& items);
// One member or item a line, but what is short on one, with a newline at the end.
std::string Indented(std::string_view json);

// Its sentence, default, and what may be written.
std::string SchemaOfKey(const KeyInfo& info);

}  // namespace drycrank::profile::json

#endif  // DRYCRANK_PROFILE_SCHEMA_VALUE_H_

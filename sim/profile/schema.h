// SPDX-License-Identifier: Apache-2.0
//
// The tables of keys as JSON Schema 2020-12: an editor completes keys, shows what they are, and
// marks what is wrong. The loader says more: units, names that point nowhere, keys against each
// other. `include` may stand in every mapping and bring any key: hence a key is required, and a
// kind's keys are refused for another, only where no include can have brought it.
//
// A key of some kinds only stands in `properties` without rules of its own; `dependentSchemas` says
// what must be so for it to be there, and an if-then for each kind says what it must be:
//
//   properties: {kind: ..., r0_ohm: true}, dependentSchemas: {r0_ohm: kind is platinum},
//   allOf: [{if: kind is platinum, then: {properties: {r0_ohm: {minimum: 1, ...}}}}]
#ifndef DRYCRANK_PROFILE_SCHEMA_H_
#define DRYCRANK_PROFILE_SCHEMA_H_

#include <string>
#include <string_view>

namespace drycrank::profile {

// `file` is "bench" or "scenario". Indented, with a newline at its end.
std::string SchemaOf(std::string_view file);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_SCHEMA_H_

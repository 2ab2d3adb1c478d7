// SPDX-License-Identifier: Apache-2.0
//
// YAML text to a tree (tree.h), the only place that knows yaml-cpp. The parser's events are taken
// one by one, not its own document: so a file that unfolds to millions of nodes by aliases is
// stopped at the limit while it unfolds, not after.
#ifndef DRYCRANK_YAML_PARSE_H_
#define DRYCRANK_YAML_PARSE_H_

#include <cstddef>
#include <optional>
#include <string>

#include "yaml/problems.h"
#include "yaml/tree.h"

namespace drycrank::yaml {

// One document. Nothing when it is not readable as YAML or passes a limit; what the text says wrong
// in detail (a key twice, an alias without anchor) is a problem and leaves the rest readable.
// `file` must outlive the node. `begin`: what is said of a file that holds no keys, a remedy.
inline constexpr char kBeginProfile[] = "begin with 'kind: bench' or 'kind: scenario'";
std::optional<Node> ParseYaml(const std::string& text, const std::string& file, Problems& problems,
                              const std::string& begin = kBeginProfile);

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_PARSE_H_

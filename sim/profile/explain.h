// SPDX-License-Identifier: Apache-2.0
//
// What the tables say about one key or one section, for the terminal.
#ifndef DRYCRANK_PROFILE_EXPLAIN_H_
#define DRYCRANK_PROFILE_EXPLAIN_H_

#include <string>
#include <string_view>
#include <vector>

namespace drycrank::profile {

// Each section by name, with its sentence.
std::string ExplainSections();

// `word` is a key ("stale_ms": in all sections that have it), a key of one section
// ("gauge.stale_ms"), or a section. Empty: there is none.
std::string Explain(std::string_view word);

// Keys and sections that may have been meant, the nearest first; at most five.
std::vector<std::string> NearKeys(std::string_view word);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_EXPLAIN_H_

// SPDX-License-Identifier: Apache-2.0
//
// What a person probably meant: the known word with the smallest edit distance (Levenshtein 1965,
// and two neighbours swapped count as one edit).
#ifndef DRYCRANK_YAML_NEAREST_H_
#define DRYCRANK_YAML_NEAREST_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace drycrank::yaml {

int EditDistance(std::string_view a, std::string_view b);

// The known word with the fewest edits, when they are few. The parts that '_' joins may stand in
// another order, which counts as one edit: "swap_terminals" is near "terminals_swapped".
std::optional<std::string> Nearest(std::string_view word, const std::vector<std::string>& known);

// "did you mean 'x'?", or when nothing is near, "known: a, b, c", or `when_none` if the list is
// empty.
std::string Suggest(std::string_view word, const std::vector<std::string>& known,
                    std::string_view when_none = "nothing is known here");

}  // namespace drycrank::yaml

#endif  // DRYCRANK_YAML_NEAREST_H_

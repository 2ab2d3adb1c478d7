// SPDX-License-Identifier: Apache-2.0
//
// What a person probably meant: the known word with the smallest edit distance (Levenshtein 1965,
// and two neighbours exchanged count as one edit).
#ifndef DRYCRANK_PROFILE_NEAREST_H_
#define DRYCRANK_PROFILE_NEAREST_H_

#include <string>
#include <string_view>
#include <vector>

namespace drycrank::profile {

int EditDistance(std::string_view a, std::string_view b);

// "did you mean 'x'?", or when nothing is near, "known: a, b, c", or `when_none` if the list is
// empty.
std::string Suggest(std::string_view word, const std::vector<std::string>& known,
                    std::string_view when_none = "nothing is known here");

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_NEAREST_H_

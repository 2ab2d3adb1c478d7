// SPDX-License-Identifier: Apache-2.0
//
// Puts values into one line of a bench file, and nothing else of it: `crank: {output: 1, full_scale_v: 5.3}`. A key that is
// there gets the new value, one that is not comes last; remarks and blanks stay. Only what stands whole in braces
// on its line: the rest is a person's.
#ifndef DRYCRANK_TOOLS_BENCH_LINE_H_
#define DRYCRANK_TOOLS_BENCH_LINE_H_

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace drycrank::tools {

using KeyValues = std::vector<std::pair<std::string, std::string>>;

// `column`: where its name begins, from 1 on. Nothing: it is not in braces on this line.
std::optional<std::string> WithValues(const std::string& line, int column, const KeyValues& values);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_BENCH_LINE_H_

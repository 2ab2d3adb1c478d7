// SPDX-License-Identifier: Apache-2.0
#ifndef DRYCRANK_TOOLS_DISPLAY_DRAW_H_
#define DRYCRANK_TOOLS_DISPLAY_DRAW_H_

#include <string>

#include "profile/bench.h"
#include "tools/commands.h"

namespace drycrank::tools {

void AddDisplayDraw(CLI::App& display, int& exit_code);

// The stand-in's pages at each question that a person would be asked (sweep/person.h), as
// page1_question1.png ... in `folder`, which is made. Empty, or what went wrong.
// REQUIRES: bench.display, picture::CanPaint().
[[nodiscard]] std::string DrawQuestions(const profile::Bench& bench, const std::string& folder);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DISPLAY_DRAW_H_

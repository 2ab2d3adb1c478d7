// SPDX-License-Identifier: Apache-2.0
#ifndef DRYCRANK_TOOLS_DISPLAY_DRAW_H_
#define DRYCRANK_TOOLS_DISPLAY_DRAW_H_

#include "tools/commands.h"

namespace drycrank::tools {

void AddDisplayDraw(CLI::App& display, int& exit_code);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DISPLAY_DRAW_H_

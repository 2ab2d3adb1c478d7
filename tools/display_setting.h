// SPDX-License-Identifier: Apache-2.0
//
// `drycrank display setting`: which setting explains what a display showed.
#ifndef DRYCRANK_TOOLS_DISPLAY_SETTING_H_
#define DRYCRANK_TOOLS_DISPLAY_SETTING_H_

#include <CLI/CLI.hpp>

namespace drycrank::tools {

void AddDisplaySetting(CLI::App& display, int& exit_code);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DISPLAY_SETTING_H_

// SPDX-License-Identifier: Apache-2.0
//
// Results of a display's sweep on the disk: DIR/shown.csv as it was shown, DIR/accepted.csv as a
// person has found it right.
#ifndef DRYCRANK_TOOLS_SHOWN_FILES_H_
#define DRYCRANK_TOOLS_SHOWN_FILES_H_

#include <optional>
#include <string>

#include "sweep/compare_shown.h"
#include "tools/commands.h"
#include "tools/result_files.h"

namespace drycrank::tools {

inline constexpr std::size_t kHashDigits = 16;  // of the bench's files
inline constexpr char kShownFile[] = "shown.csv", kAcceptedFile[] = "accepted.csv";

// Of a folder its shown.csv. Nothing when it cannot be read; that is then said on standard error.
std::optional<sweep::WhatItShowed> ReadShownOf(const std::string& path);
// The file of that name in --out, as one that may be replaced.
io::ResultFile ShownIn(const std::string& folder, const char* name);
// As files asked for. Empty, or the file that could not be written.
[[nodiscard]] std::string WriteComparison(const sweep::Comparison& comparison,
                                          const ReportFiles& files, const std::string& suite);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_SHOWN_FILES_H_

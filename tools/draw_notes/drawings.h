// SPDX-License-Identifier: Apache-2.0
//
// The drawings of hw-notes/, each made from the bench's own wheels, sensors and harness.
#ifndef DRYCRANK_TOOLS_DRAW_NOTES_DRAWINGS_H_
#define DRYCRANK_TOOLS_DRAW_NOTES_DRAWINGS_H_

#include <string>
#include <vector>

namespace drycrank::tools {

struct Drawing {
  std::string file;  // "crank-60-2-vr.svg"
  std::string svg;
};

// `root`: the project's folder. Throws std::runtime_error when a bench there has problems.
std::vector<Drawing> NoteDrawings(const std::string& root);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DRAW_NOTES_DRAWINGS_H_

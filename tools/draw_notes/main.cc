// SPDX-License-Identifier: Apache-2.0
//
//   draw_notes          draws hw-notes/drawings/*.svg anew
//   draw_notes --check  says which of them are not what it would draw; exit code 1 if any
#include <fmt/format.h>

#include <exception>
#include <fstream>
#include <sstream>
#include <string_view>

#include "tools/draw_notes/drawings.h"

namespace {

std::string Contents(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

int Draw(bool check) {
  const std::string root = DRYCRANK_ROOT;
  int stale = 0;
  for (const drycrank::tools::Drawing& drawing : drycrank::tools::NoteDrawings(root)) {
    const std::string path = root + "/hw-notes/drawings/" + drawing.file;
    if (Contents(path) == drawing.svg) continue;
    if (check) {
      fmt::print("{} is not what the program draws; run draw_notes\n", path);
      ++stale;
      continue;
    }
    std::ofstream out(path, std::ios::binary);
    if (!(out << drawing.svg).flush()) {
      fmt::print(stderr, "draw_notes: cannot write {}\n", path);
      return 1;
    }
    fmt::print("{}\n", path);
  }
  return stale == 0 ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return Draw(argc > 1 && std::string_view(argv[1]) == "--check");
  } catch (const std::exception& e) {
    fmt::print(stderr, "draw_notes: {}\n", e.what());
    return 1;
  }
}

// SPDX-License-Identifier: Apache-2.0
#include "types/diagnostic.h"

namespace drycrank {

std::string Format(const Diagnostic& diagnostic) {
  std::string text = diagnostic.place.file;
  if (diagnostic.place.line > 0) {
    text += ":" + std::to_string(diagnostic.place.line) + ":" +
            std::to_string(diagnostic.place.column);
  }
  text += ": " + diagnostic.what;
  if (!diagnostic.remedy.empty()) text += "; " + diagnostic.remedy;
  return text;
}

}  // namespace drycrank

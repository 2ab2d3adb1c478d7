// SPDX-License-Identifier: Apache-2.0
#include "types/diagnostic.h"

#include "types/plain_text.h"

namespace drycrank {

// On one line and without control characters, whatever the file holds.
std::string Format(const Diagnostic& diagnostic) {
  const Place& place = diagnostic.place;
  std::string text = place.file;
  if (place.line > 0) {
    text.append(":").append(std::to_string(place.line));
    text.append(":").append(std::to_string(place.column));
  }
  text.append(": ").append(diagnostic.what);
  if (!diagnostic.remedy.empty()) text.append("; ").append(diagnostic.remedy);
  return OneLine(text);
}

}  // namespace drycrank

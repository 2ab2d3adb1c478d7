// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <string_view>

#include "sweep/compare_shown.h"

namespace drycrank::sweep {

Comparison CompareWithRequired(const WhatItShowed& required, const WhatItShowed& shown) {
  Comparison out = Compare(required, shown);
  for (ShownChange& change : out.not_asked_before) {
    const bool is_said =
        std::ranges::find(out.changes, change.readout, &ShownChange::readout) != out.changes.end();
    if (!is_said) out.changes.push_back(std::move(change));
  }
  out.not_asked_before.clear();
  const auto replace = [](std::string& text, std::string_view from, std::string_view to) {
    for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at)) {
      text.replace(at, from.size(), to);
      at += to.size();
    }
  };
  for (ShownChange& change : out.changes) {
    replace(change.sentence, "now ", "");
    replace(change.sentence, ", was on ", ", must be on ");
    replace(change.sentence, ", was ", ", must be ");
    replace(change.sentence, "its value no longer arrives", "its value does not arrive");
  }
  return out;
}

}  // namespace drycrank::sweep

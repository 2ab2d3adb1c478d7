// SPDX-License-Identifier: Apache-2.0
#include "sweep/not_shown.h"

#include <fmt/format.h>

#include <algorithm>

#include "sweep/alike.h"
#include "sweep/two_witnesses.h"

namespace drycrank::sweep {
namespace {

// What is missing where a sweep has ended before it, or nobody has answered, is no change.
void SetAside(const std::vector<Ended>& missing, bool as_note, Comparison& out) {
  for (const Ended& e : missing) {
    std::erase_if(out.changes, [&](const ShownChange& c) {
      const bool is_less = c.kind == ChangeKind::kNotAsked || c.kind == ChangeKind::kPoints;
      if (c.readout != e.readout || !is_less) return false;
      if (as_note) out.notes.push_back(fmt::format("{}: {}", Spoken(c.readout), c.sentence));
      return true;
    });
    out.not_shown.push_back({e.readout, ChangeKind::kNotAsked, e.why});
  }
}

// A person could have told it; and two that have nothing in common do not show it either.
void AddNotLookedAt(const WhatItShowed& was, const WhatItShowed& now, Comparison& out) {
  if (!AreOfTwoKinds(was, now) || !(IsAsked(now) || NothingCompared(out))) return;
  const ByReadout looked_at = Sorted(now);
  for (const auto& [name, facts] : Sorted(was)) {
    const bool is_listed =
        std::ranges::find(out.not_shown, name, &ShownChange::readout) != out.not_shown.end();
    if (looked_at.contains(name) || is_listed) continue;
    out.not_shown.push_back({name, ChangeKind::kNotAsked, "nothing was shown of it"});
  }
}

}  // namespace

void AddNotShown(const WhatItShowed& was, const WhatItShowed& now, Comparison& out) {
  SetAside(now.by.ended, false, out);
  SetAside(now.by.not_shown, true, out);
  AddNotLookedAt(was, now, out);
}

}  // namespace drycrank::sweep

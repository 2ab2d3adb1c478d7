// SPDX-License-Identifier: Apache-2.0
#include "record/stretch_notes.h"

#include <fmt/format.h>

#include "types/nth.h"

namespace drycrank::record {

void StretchNotes::Begin(int bus, const std::string& why, TimeNs t_ns) {
  Nth(open_, bus) = {true, {t_ns, t_ns, Nth(bench_.buses, bus).name, why}};
}

void StretchNotes::End(int bus, TimeNs t_ns) {
  Open& open = Nth(open_, bus);
  open.on = false;
  open.stretch.end_ns = t_ns;
  if (count_++ < kMaxTold) told_.push_back(open.stretch);
}

void StretchNotes::Finish(TimeNs t_ns, std::vector<std::string>& notes) {
  for (std::size_t b = 0; b < open_.size(); ++b) {
    if (open_[b].on) End(static_cast<int>(b), t_ns);
  }
  for (const check::Stretch& stretch : told_) {
    notes.push_back("not observable " + check::StretchInWords(stretch));
  }
  if (count_ > told_.size()) {
    notes.push_back(fmt::format("not observable {} more times", count_ - told_.size()));
  }
}

}  // namespace drycrank::record

// SPDX-License-Identifier: Apache-2.0
//
// The stretches in which a bus could not be observed, as notes for the report: each of the first
// kMaxTold of a run, and how many there were beyond. A record read back gives the same notes.
#ifndef DRYCRANK_RECORD_STRETCH_NOTES_H_
#define DRYCRANK_RECORD_STRETCH_NOTES_H_

#include <cstddef>
#include <string>
#include <vector>

#include "check/checker.h"
#include "profile/bench.h"

namespace drycrank::record {

class StretchNotes {
 public:
  static constexpr std::size_t kMaxTold = 20;

  explicit StretchNotes(const profile::Bench& bench) : bench_(bench), open_(bench.buses.size()) {}

  void Begin(int bus, const std::string& why, TimeNs t_ns);
  void End(int bus, TimeNs t_ns);
  // What is still open ends here. Adds the notes.
  void Finish(TimeNs t_ns, std::vector<std::string>& notes);

 private:
  struct Open {
    bool on = false;
    check::Stretch stretch;
  };
  const profile::Bench& bench_;
  std::vector<Open> open_;  // per bus
  std::vector<check::Stretch> told_;
  std::size_t count_ = 0;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_STRETCH_NOTES_H_

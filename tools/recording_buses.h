// SPDX-License-Identifier: Apache-2.0
//
// Which interface of a recording is which bus of the bench: as the words "BUS=INTERFACE" have it, else
// by the same name, else, where the bench has one bus alone and no words were given, that one.
#ifndef DRYCRANK_TOOLS_RECORDING_BUSES_H_
#define DRYCRANK_TOOLS_RECORDING_BUSES_H_

#include <string>
#include <vector>

#include "bus/recording.h"
#include "profile/bench.h"
#include "types/nth.h"

namespace drycrank::tools {

class RecordingBuses {
 public:
  // The bench must outlive it.
  RecordingBuses(const profile::Bench& bench, const std::vector<std::string>& words);
  // Empty, or which word is wrong and what would be right.
  const std::string& problem() const { return problem_; }

  // -1: none of the bench.
  int BusOf(int interface, const std::vector<std::string>& names) {
    const auto at = AsSize(interface);
    if (at >= known_.size()) Learn(names);
    return known_[at];
  }
  // Interfaces that were met and are no bus, and what would make one of it.
  const std::vector<std::string>& left_out() const { return left_out_; }
  std::string Remedy(const std::string& interface) const;

 private:
  void Learn(const std::vector<std::string>& names);
  int BusNamed(const std::string& interface) const;

  const profile::Bench& bench_;
  std::vector<std::string> given_;  // per bus, its interface; empty: not said
  std::vector<int> known_;          // per interface
  std::vector<std::string> left_out_;
  std::string problem_;
};

// Each place that is damaged, and what was passed over unread, to standard error.
void PrintDamage(const std::string& path, const bus::RecordingReader& reader);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_RECORDING_BUSES_H_

// SPDX-License-Identifier: Apache-2.0
//
// What a person read of a display, kept answer by answer in readings.csv of the sweep's folder, each on
// the disk before the next is asked, so that an interrupted sweep goes on where it stopped.
#ifndef DRYCRANK_TOOLS_KEPT_READINGS_H_
#define DRYCRANK_TOOLS_KEPT_READINGS_H_

#include <string>
#include <vector>

#include "io/journal.h"
#include "sweep/person.h"

namespace drycrank::tools {

inline constexpr char kReadingsFile[] = "readings.csv";

class KeptReadings {
 public:
  struct Of {
    const profile::Bench& bench;
    std::string bench_hash;
  };
  // Empty, or why it cannot be gone on with, or begun.
  [[nodiscard]] std::string Open(const std::string& folder, const Of& of, bool resume);
  // Empty, or why it could not be written.
  [[nodiscard]] std::string Keep(const sweep::Reading& reading);

  bool Has(int question, const std::string& readout) const;
  const std::vector<sweep::Reading>& readings() const { return readings_; }
  const std::string& path() const { return path_; }

 private:
  std::string Begin(const Of& of);
  std::string TakeUp(const Of& of);

  std::string path_;
  io::Journal journal_;
  std::vector<sweep::Reading> readings_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_KEPT_READINGS_H_

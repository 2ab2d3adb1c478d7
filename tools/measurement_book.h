// SPDX-License-Identifier: Apache-2.0
//
// Readings that a person gave back to a diagnosis: DIR/measurements, JSON lines, each on the disk before
// it is said to be kept (io/journal.h). Nothing is taken out: a reading that is taken back has a later
// line that says so, with who did it. They hold for one record: when DIR is walked anew, those of the
// record before are not used any more.
#ifndef DRYCRANK_TOOLS_MEASUREMENT_BOOK_H_
#define DRYCRANK_TOOLS_MEASUREMENT_BOOK_H_

#include <string>
#include <vector>

#include "io/folder_lock.h"
#include "io/journal.h"

namespace drycrank::tools {

struct KeptReading {
  int number = 0;    // from 1
  std::string said;  // "CMP.3=0.72 V", "cannot CLT.1" (said.h)
  std::string time;  // "2026-03-01 14:05 UTC"
  std::string by;
  std::string meter = {};  // that it was read from, by its own words; empty: by a person's eyes
};

class MeasurementBook {
 public:
  // Of this record. To be added to: nobody else may write into the folder at the same time. Empty, or
  // what is wrong.
  [[nodiscard]] std::string Open(const std::string& folder, bool to_add);

  // Those that hold, in order.
  const std::vector<KeptReading>& readings() const { return readings_; }
  // How many are of a record that was here before.
  int of_before() const { return of_before_; }
  // Empty when it is kept. REQUIRES: opened to be added to.
  [[nodiscard]] std::string Add(const std::string& said, const std::string& by,
                                const std::string& meter = "");
  [[nodiscard]] std::string TakeBack(int number, const std::string& by);

 private:
  [[nodiscard]] std::string Read(const std::vector<std::string>& lines);
  [[nodiscard]] std::string Begin();

  std::string path_, record_;  // the latter: sha256 of record.json and events.csv
  io::FolderLock owner_;
  io::Journal journal_;
  std::vector<KeptReading> readings_;
  int last_ = 0, of_before_ = 0;
  bool has_head_ = false;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_MEASUREMENT_BOOK_H_

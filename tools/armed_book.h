// SPDX-License-Identifier: Apache-2.0
//
// What is armed while a bench runs live goes into its record, from a thread of its own: a disk may take its time, and
// outputs that get no beat meanwhile would be made safe.
#ifndef DRYCRANK_TOOLS_ARMED_BOOK_H_
#define DRYCRANK_TOOLS_ARMED_BOOK_H_

#include <future>
#include <string>

#include "record/record.h"

namespace drycrank::tools {

class ArmedBook {
 public:
  explicit ArmedBook(std::string folder) : folder_(std::move(folder)) {}

  void Add(record::Armed armed);
  // When all is written: empty, or the first that could not be.
  [[nodiscard]] std::string Close();

 private:
  std::string folder_;
  std::future<std::string> written_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_ARMED_BOOK_H_

// SPDX-License-Identifier: Apache-2.0
//
// Does what a safe setting says (output/safe_setting.h). What can be looked up and opened beforehand is:
// then doing it is one call into the kernel, or one connection.
#ifndef DRYCRANK_IO_SAFE_ACTION_H_
#define DRYCRANK_IO_SAFE_ACTION_H_

#include <memory>
#include <string>

#include "output/safe_setting.h"

namespace drycrank::io {

class SafeAction {
 public:
  virtual ~SafeAction() = default;
  // Empty, or why it could not be done; it may be tried again. Waits for the world, at most 100 ms in
  // what is ours; a driver of the kernel may take as long as it likes.
  virtual std::string Act() = 0;
};

// One of the two is empty.
struct [[nodiscard]] PreparedAction {
  std::unique_ptr<SafeAction> action;
  std::string error;  // why it can never be done as things stand, and what helps
};
PreparedAction Prepare(const output::SafeSetting& setting);

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_SAFE_ACTION_H_

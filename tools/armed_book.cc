// SPDX-License-Identifier: Apache-2.0
#include "tools/armed_book.h"

#include <utility>

#include "record/armed_words.h"

namespace drycrank::tools {

// Each waits for the one before.
void ArmedBook::Add(record::Armed armed) {
  written_ = std::async(std::launch::async, [folder = folder_, before = std::move(written_),
                                             now = std::move(armed)]() mutable {
    std::string problem = before.valid() ? before.get() : "";
    std::string failed = record::AddArmed(folder, now);
    return problem.empty() ? failed : problem;
  });
}

std::string ArmedBook::Close() { return written_.valid() ? written_.get() : ""; }

}  // namespace drycrank::tools

// SPDX-License-Identifier: Apache-2.0
#include "output/memory_output.h"

namespace drycrank::output {

std::string MemoryOutput::Open() {
  given_.reserve(most_);
  open_ = true;
  return "";
}

std::string MemoryOutput::Arm() {
  if (!open_) return "arm memory: it is not open";
  armed_ = failure_.empty();
  return failure_;
}

void MemoryOutput::Give(const Given& given) {
  if (!armed_) return;
  if (given_.size() == most_) return Break("memory: it is full");
  given_.push_back(given);
}

}  // namespace drycrank::output

// SPDX-License-Identifier: Apache-2.0
#include "types/format_number.h"

namespace drycrank {

std::string WhyNotRead(std::int64_t format, int known) {
  const std::string name = "format " + std::to_string(format);
  if (format > known) {
    return name + " is newer than this program reads (" + std::to_string(known) + ")";
  }
  return format < 1 ? name + " does not exist; formats are counted from 1" : "";
}

}  // namespace drycrank

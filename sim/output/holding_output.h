// SPDX-License-Identifier: Apache-2.0
//
// An output that holds its last state when nobody drives it any more, as a relay or a DAC does. It says
// what makes it safe without it, so that a guard can (io/guarded_output.h); alone it is never armed.
#ifndef DRYCRANK_OUTPUT_HOLDING_OUTPUT_H_
#define DRYCRANK_OUTPUT_HOLDING_OUTPUT_H_

#include <vector>

#include "output/output.h"
#include "output/safe_setting.h"

namespace drycrank::output {

class HoldingOutput : public Output {
 public:
  // REQUIRES: it is open.
  virtual std::vector<SafeSetting> SafeSettings() const = 0;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_HOLDING_OUTPUT_H_

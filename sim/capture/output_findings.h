// SPDX-License-Identifier: Apache-2.0
//
// What is to be said of coils and injectors: who is at whose place, what they are off by all alike.
#ifndef DRYCRANK_CAPTURE_OUTPUT_FINDINGS_H_
#define DRYCRANK_CAPTURE_OUTPUT_FINDINGS_H_

#include <string>
#include <vector>

#include "capture/findings.h"

namespace drycrank::capture {

std::vector<Finding> OutputFindings(const Measured& measured);

// By what all injections end elsewhere than the bench has it, in words; empty: by nothing, or it is
// not stated.
std::string InjectorsOff(const Measured& measured);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_OUTPUT_FINDINGS_H_

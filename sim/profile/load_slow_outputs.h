// SPDX-License-Identifier: Apache-2.0
//
// What must fit between the keys of a slow output (slow_outputs.h), and between them and the bench.
#ifndef DRYCRANK_PROFILE_LOAD_SLOW_OUTPUTS_H_
#define DRYCRANK_PROFILE_LOAD_SLOW_OUTPUTS_H_

#include "profile/load_bench.h"
#include "profile/slow_outputs.h"
#include "profile/table_reader.h"

namespace drycrank::profile {

void CheckOutput(BenchContext& c, Reader& r, const out::Gpio& gpio);
void CheckOutput(BenchContext& c, Reader& r, const out::Dac& dac);
void CheckOutput(BenchContext& c, Reader& r, const out::Potentiometer& potentiometer);
void CheckOutput(BenchContext& c, Reader& r, const out::PowerSupply& supply);
void CheckOutput(BenchContext& c, Reader& r, const out::CanNode& node);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_LOAD_SLOW_OUTPUTS_H_

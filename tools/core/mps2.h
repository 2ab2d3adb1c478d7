// SPDX-License-Identifier: Apache-2.0
#ifndef DRYCRANK_TOOLS_CORE_MPS2_H_
#define DRYCRANK_TOOLS_CORE_MPS2_H_

#include <stdint.h>

namespace drycrank::core {

void Put(char c);  // to the UART
int Get();         // from it; -1: nothing came
int64_t NowNs();
[[noreturn]] void Exit(int code);

}  // namespace drycrank::core

#endif  // DRYCRANK_TOOLS_CORE_MPS2_H_

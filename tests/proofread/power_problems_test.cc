// SPDX-License-Identifier: Apache-2.0
//
// The power box of the hovercraft with one thing that cannot be right: by hand, its fan draws 40 A at most,
// is rated 15 A, and its message comes every 50 ms.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/proofread/edited_bench.h"

namespace drycrank::proofread {
namespace {

using testing::Contains;
using testing::Field;
using testing::HasSubstr;
using testing::IsEmpty;

void Says(const char* after, const char* from, const char* to, const char* what) {
  EditedBench bench("hovercraft");
  bench.Edit(after, from, to);
  EXPECT_THAT(bench.Read().problems, Contains(Field(&Diagnostic::what, HasSubstr(what))));
}

TEST(PowerBoxOnPaper, AsShippedNothingIsSaid) {
  EXPECT_THAT(EditedBench("hovercraft").Read().problems, IsEmpty());
}

TEST(PowerBoxOnPaper, WhatItCannotDoOrNobodySeesIsNamed) {
  Says("power_nodes:", "rated_a: 15", "rated_a: 40",
       "'box.fan' can never trip: it is rated 40 A, and its load draws 40 A at most");
  Says("power:", ", carries: box.fan.channel_state", "", "no message says that 'box.fan' has tripped");
  Says("power_nodes:", "retry_after_ms: 1000", "retry_after_ms: 40",
       "'box.fan' is tripped for 40 ms, and message 'power' comes every 50 ms: a trip may not be seen");
}

// By hand: 1 bit says 0 to 1, and tripped is 2, open 3. One retry: it trips twice before it stays so.
// 8 bits of 0.1 A say 25.5 A, and the fan draws 40 A.
TEST(PowerBoxOnPaper, WhatItsMessageCannotSayIsNamed) {
  Says("power:", "start_bit: 16, length_bits: 4", "start_bit: 16, length_bits: 1",
       "signal 'fan_state' says 0 to 1, and 'box.fan' is 2 when it has tripped");
  Says("power:", "start_bit: 16, length_bits: 4", "start_bit: 16, length_bits: 1",
       "signal 'fan_state' says 0 to 1, and 'box.fan' is 3 when it is open");
  Says("power:", "length_bits: 4,", "length_bits: 4, not_available: 2,",
       "signal 'fan_state' says \"not available\" with 2, and 'box.fan' is 2 when it has tripped");
  Says("power:", "start_bit: 24, length_bits: 8", "start_bit: 24, length_bits: 1",
       "signal 'fan_trips' says 0 to 1, and 'box.fan' trips up to 2 times");
  Says("power:", "start_bit: 0, length_bits: 16", "start_bit: 0, length_bits: 8",
       "signal 'fan_current' says 0 to 25.5 A, and the load of 'box.fan' draws up to 40 A");
}

TEST(PowerBoxOnPaper, WhatIsThereTwiceOrNeverIsNamed) {
  Says("power_nodes:", "reset_by: reset_key", "reset_by: fan_current",
       "'fan_current' resets 'box' and is the load of 'box.fan'");
  Says("power_nodes:", "      fan: {",
       "      second: {load: fan_current, rated_a: 10, trip_delay_ms: 1, retries: 0}\n      fan: {",
       "'box.second' and 'box.fan' have one load: 'fan_current'");
}

TEST(PowerBoxOnPaper, WhatNobodyReadsOrNeverComesIsNamed) {
  Says("stimuli:", "min: 0, max: 40", "min: 1, max: 40",
       "'box.fan' can never be open: its load draws 1 A at least");
  Says("label: Bilge fan, signal", "2: tripped, ", "",
       "'fan' has no word for 2, and 'box.fan' is 2 when it has tripped");
}

}  // namespace
}  // namespace drycrank::proofread

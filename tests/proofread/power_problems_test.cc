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

}  // namespace
}  // namespace drycrank::proofread

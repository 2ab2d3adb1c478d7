// SPDX-License-Identifier: Apache-2.0
//
// What the kernel refuses. What it allows, and that it is then really so, is seen in the guest
// kernel (tests/kernel/real_time_guest_test.cc): a sanitizer's runtime locks no memory.
#include "io/real_time.h"

#include <fmt/ranges.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <linux/capability.h>

#include "tests/io/as_nobody.h"

namespace drycrank::io {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::string ProblemsWith(const std::vector<int>& capabilities) {
  return AsNobody(capabilities, [] { return fmt::format("{}", RealTime().problems()); });
}

TEST(RealTime, AUserWithoutRightsIsToldBothThingsAndWhatHelps) {
  const std::string problems = ProblemsWith({});
  EXPECT_THAT(problems, AllOf(HasSubstr("real-time scheduling: Operation not permitted"),
                              HasSubstr("setcap cap_sys_nice,cap_ipc_lock=ep")));
  EXPECT_THAT(problems, AllOf(HasSubstr("memory is not locked"), HasSubstr("ulimit -l unlimited")));
}

TEST(RealTime, EachRightSilencesItsOwnLineAlone) {
  EXPECT_THAT(ProblemsWith({CAP_SYS_NICE}),
              AllOf(Not(HasSubstr("real-time scheduling")), HasSubstr("memory is not locked")));
  EXPECT_THAT(ProblemsWith({CAP_IPC_LOCK}),
              AllOf(HasSubstr("real-time scheduling"), Not(HasSubstr("memory is not locked"))));
  EXPECT_EQ(ProblemsWith({CAP_SYS_NICE, CAP_IPC_LOCK}), "[]");
}

}  // namespace
}  // namespace drycrank::io

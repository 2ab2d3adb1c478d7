// SPDX-License-Identifier: Apache-2.0
//
// Lines as can-utils writes them (lib.h, candump.c); tests/e2e sends files through its tools.
#include "bus/candump_log.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bus/recorded.h"

namespace drycrank::bus {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

TEST(CandumpLog, EveryKindOfFrameComesBackByteForByte) {
  const Read read = ReadBytes(kEveryKind);
  EXPECT_THAT(read.damage, IsEmpty());
  EXPECT_THAT(read.interfaces, ElementsAre("can0", "can1"));
  EXPECT_EQ(AsLog(read), kEveryKind);
}

TEST(CandumpLog, ReadsWhatOtherWritersAdd) {
  const Read read = ReadBytes(
      "(12.5)  can0  123#01.02 R\n"
      " (0000000013.000000001) can0 123#0102 T\r\n"
      "DROPCOUNT: dropped 2 CAN frames on 'can0' socket (total drops 2)\n"
      "\n"
      "(14) can0 123#1122334455667788_E\n"
      "(15.000000) can0 123##1aabb\n");
  EXPECT_THAT(read.damage, IsEmpty());
  ASSERT_EQ(read.frames.size(), 4u);
  EXPECT_EQ(read.frames[0].t_ns, 12'500'000'000);
  EXPECT_EQ(read.frames[0].direction, Direction::kReceived);
  EXPECT_EQ(read.frames[0].frame.length, 2);
  EXPECT_EQ(read.frames[1].t_ns, 13'000'000'001);
  EXPECT_EQ(read.frames[1].direction, Direction::kSent);
  EXPECT_EQ(read.frames[2].frame.length, 8);
  EXPECT_EQ(read.frames[2].direction, Direction::kUnknown);
  EXPECT_TRUE(read.frames[3].frame.fd && read.frames[3].frame.bit_rate_switch);
  EXPECT_EQ(read.passed_over, 2u);
}

TEST(CandumpLog, ABadLineIsSaidWithItsOffsetAndTheOthersAreKept) {
  const std::string good = "(0000000001.000000) can0 123#01\n";  // 32 bytes
  for (const char* bad : {"(1.0) can0 123#1", "(1.0) can0", "(1.0)", "(1.0) can0 123#01 R x",
                          "(1.0) can0 123#01 Q", "(-1.0) can0 123#01", "(1.0000000001) can0 123#01",
                          "(99999999999.0) can0 123#01", "(1.0 can0 123#01", "1.0 can0 123#01",
                          "(1.0) can0 123##4112233445566778899", "(1.0) can0 45123#81:00:12#11"}) {
    const Read read = ReadBytes(good + bad + "\n" + good);
    EXPECT_EQ(read.frames.size(), 2u) << bad;
    ASSERT_EQ(read.damage.size(), 1u) << bad;
    EXPECT_EQ(read.damage[0].offset, 32u) << bad;
    EXPECT_THAT(read.damage[0].what, HasSubstr(std::string(bad).substr(0, 60)));
  }
}

TEST(CandumpLog, ACutOffLineIsNotTakenForAFrame) {
  const Read read = ReadBytes("(1.000000) can0 123#01\n(2.000000) can0 123#0102");
  EXPECT_EQ(read.frames.size(), 1u);
  ASSERT_EQ(read.damage.size(), 1u);
  EXPECT_EQ(read.damage[0].offset, 23u);
  EXPECT_THAT(read.damage[0].what, HasSubstr("cut off"));
}

TEST(CandumpLog, AnEndlessLineIsOneDamage) {
  const std::string good = "(0000000001.000000) can0 123#01\n";
  const Read read = ReadBytes(good + std::string(1 << 20, 'x') + "\n" + good);
  EXPECT_EQ(read.frames.size(), 2u);
  ASSERT_EQ(read.damage.size(), 1u);
  EXPECT_EQ(read.damage[0].offset, 32u);
}

TEST(CandumpLog, TooManyInterfacesAreRefused) {
  std::string log;
  for (std::size_t i = 0; i < InterfaceNames::kMax + 3; ++i) {
    log += fmt::format("(1.000000) can{} 123#01\n", i);
  }
  const Read read = ReadBytes(log);
  EXPECT_EQ(read.frames.size(), InterfaceNames::kMax);
  EXPECT_EQ(read.damage.size(), 3u);
}

}  // namespace
}  // namespace drycrank::bus

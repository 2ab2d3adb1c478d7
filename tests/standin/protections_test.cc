// SPDX-License-Identifier: Apache-2.0
//
// One protection fed by hand, every 10 ms: when it acts and lets go is counted in samples here.
#include "standin/protections.h"

#include <gtest/gtest.h>

#include "tests/support/told_protection.h"

namespace drycrank::standin {
namespace {

using support::ToldActs;
using support::ToldDelay;
using support::ToldLimit;

constexpr TimeNs kSampleNs = 10 * kNsPerMs;

profile::Protection LowOil() {
  profile::Protection p;
  p.name = "oil";
  p.side = profile::LimitSide::kBelow;
  p.limit = 120;
  p.release = 150;
  p.delay_ms = 50;
  p.needs_above_rpm = 2000;
  return p;
}

class GuardTest : public testing::Test {
 protected:
  // So many samples of it; the last says.
  bool Feed(double value, double rpm, int samples = 1) {
    for (int i = 0; i < samples; ++i) {
      guard_.OnSample(now_ns_, value, rpm);
      now_ns_ += kSampleNs;
    }
    return guard_.acts();
  }
  Guard guard_{LowOil()};
  TimeNs now_ns_ = 0;
};

// Beyond at 0, 10, ... 50 ms: the sixth sample is the first that is 50 ms later.
TEST_F(GuardTest, ActsAfterItsDelay) {
  EXPECT_FALSE(Feed(119, 3000, 5));
  EXPECT_TRUE(Feed(119, 3000));
}

TEST_F(GuardTest, TheLimitItselfIsGood) { EXPECT_FALSE(Feed(120, 3000, 100)); }

TEST_F(GuardTest, ADelayBeginsAnew) {
  EXPECT_FALSE(Feed(119, 3000, 5));
  EXPECT_FALSE(Feed(121, 3000));
  EXPECT_FALSE(Feed(119, 3000, 5));
  EXPECT_TRUE(Feed(119, 3000));
}

TEST_F(GuardTest, LetsGoAtItsReleaseNotBefore) {
  EXPECT_TRUE(Feed(100, 3000, 10));
  EXPECT_TRUE(Feed(149, 3000));
  EXPECT_FALSE(Feed(150, 3000));
  EXPECT_FALSE(Feed(130, 3000, 100));  // between the two it does not act again
}

TEST_F(GuardTest, LooksOnlyWhenTheEngineIsFastEnough) {
  EXPECT_FALSE(Feed(0, 1999, 100));
  EXPECT_FALSE(Feed(0, 2000, 5));
  EXPECT_TRUE(Feed(0, 2000));
  EXPECT_FALSE(Feed(0, 1999));
}

TEST_F(GuardTest, WithoutSupplyItLetsGo) {
  EXPECT_TRUE(Feed(0, 3000, 10));
  guard_.LetGo();
  EXPECT_FALSE(guard_.acts());
}

profile::Fault Telling(profile::fault::Told told) {
  profile::Fault fault;
  fault.at = "oil";
  fault.kind = std::move(told);
  return fault;
}

profile::Protection Told(profile::fault::Told told) {
  const std::vector<profile::Protection> set{LowOil()};
  Protections protections(set);
  protections.Tell(std::vector{Telling(std::move(told))});
  return protections.guards()[0].protection();
}

TEST(ToldProtections, TakeWhatTheyAreTold) {
  EXPECT_EQ(Told(ToldLimit(100.0)).limit, 100);
  EXPECT_EQ(Told(ToldLimit(100.0)).release, 150);
  EXPECT_EQ(Told(ToldLimit(160.0)).release, 160);  // never beyond the limit
  EXPECT_EQ(Told(ToldDelay(900.0)).delay_ms, 900);
}

TEST(ToldProtections, NeverAndTheOtherWay) {
  const profile::Protection never = Told(ToldActs(profile::fault::ToldToAct::kNever));
  EXPECT_FALSE(never.IsBeyond(-1e9, never.limit));
  const profile::Protection other = Told(ToldActs(profile::fault::ToldToAct::kOtherWay));
  EXPECT_TRUE(other.IsBeyond(121, other.limit));
  EXPECT_FALSE(other.IsBeyond(119, other.release));
}

TEST(ToldProtections, AnotherOnesAreNotItsOwn) {
  const std::vector<profile::Protection> set{LowOil()};
  Protections protections(set);
  profile::Fault fault = Telling(ToldLimit(100.0));
  fault.at = "coolant";
  protections.Tell(std::vector{fault});
  EXPECT_EQ(protections.guards()[0].protection().limit, 120);
}

}  // namespace
}  // namespace drycrank::standin

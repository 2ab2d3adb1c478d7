// SPDX-License-Identifier: Apache-2.0
//
// SAE J1939-81. Claims by hand: 18EEFF00 is PGN EE00 to all from address 00; the NAME follows,
// least significant byte first.
#include "protocol/address_claim.h"

#include <gtest/gtest.h>

#include "tests/bus/build_signal.h"

namespace drycrank::protocol {
namespace {

using bus::Frame;
using bus::FrameOf;
using State = AddressClaim::State;

class AddressClaimTest : public testing::Test {
 protected:
  // What it sends up to t_ns.
  std::vector<Frame> SentUpTo(AddressClaim& claim, TimeNs until_ns) {
    std::vector<Frame> sent;
    while (claim.NextDue() <= until_ns) {
      t_ns_ = std::max(t_ns_, claim.NextDue());
      Frame frame;
      while (claim.TakeDue(t_ns_, frame)) sent.push_back(frame);
    }
    t_ns_ = until_ns;
    return sent;
  }
  TimeNs t_ns_ = 0;
};

TEST_F(AddressClaimTest, UncontestedIsOursAfter250Ms) {
  AddressClaim claim(0x10, 0x00);
  claim.Start(0);
  EXPECT_EQ(SentUpTo(claim, 249 * kNsPerMs),
            std::vector{FrameOf(0x18EEFF00, true, "1000000000000000")});
  EXPECT_EQ(claim.address(), kNullAddress);
  SentUpTo(claim, 250 * kNsPerMs);
  EXPECT_EQ(claim.state(), State::kClaimed);
  EXPECT_EQ(claim.address(), 0x00);
}

TEST_F(AddressClaimTest, LowerNameWinsAndSaysSo) {
  AddressClaim claim(0x10, 0x00);
  claim.Start(0);
  SentUpTo(claim, 300 * kNsPerMs);
  claim.OnFrame(t_ns_, FrameOf(0x18EEFF00, true, "1100000000000000"));
  EXPECT_EQ(SentUpTo(claim, t_ns_).size(), 1u);
  EXPECT_EQ(claim.state(), State::kClaimed);
}

TEST_F(AddressClaimTest, LoserCannotClaim) {
  AddressClaim claim(0x10, 0x00);
  claim.Start(0);
  SentUpTo(claim, 300 * kNsPerMs);
  claim.OnFrame(t_ns_, FrameOf(0x18EEFF00, true, "0F00000000000000"));
  EXPECT_EQ(claim.state(), State::kCannotClaim);
  EXPECT_EQ(claim.address(), kNullAddress);
  // From the null address FE, 0x10 = 16 ms later.
  EXPECT_EQ(SentUpTo(claim, t_ns_ + 16 * kNsPerMs),
            std::vector{FrameOf(0x18EEFFFE, true, "1000000000000000")});
  EXPECT_TRUE(SentUpTo(claim, t_ns_ + 10 * kNsPerS).empty());
}

// Bit 63 of the NAME: it may take another address. 128 is taken, so it becomes 129 = 0x81.
TEST_F(AddressClaimTest, ArbitraryAddressMovesOn) {
  AddressClaim claim(0x8000000000000010, 0x00);
  claim.Start(0);
  claim.OnFrame(0, FrameOf(0x18EEFF80, true, "0500000000000000"));
  SentUpTo(claim, kNsPerMs);
  claim.OnFrame(t_ns_, FrameOf(0x18EEFF00, true, "0F00000000000000"));
  EXPECT_EQ(SentUpTo(claim, t_ns_), std::vector{FrameOf(0x18EEFF81, true, "1000000000000080")});
  SentUpTo(claim, t_ns_ + 250 * kNsPerMs);
  EXPECT_EQ(claim.address(), 0x81);
}

TEST_F(AddressClaimTest, RequestIsAnsweredWithTheClaim) {
  AddressClaim claim(0x10, 0x20);
  claim.Start(0);
  SentUpTo(claim, 300 * kNsPerMs);
  claim.OnFrame(t_ns_, RequestFrame(kPgnAddressClaimed, kGlobalAddress, kNullAddress));
  EXPECT_EQ(SentUpTo(claim, t_ns_).size(), 1u);
  claim.OnFrame(t_ns_, RequestFrame(kPgnAddressClaimed, 0x21, kNullAddress));  // someone else
  EXPECT_TRUE(SentUpTo(claim, t_ns_).empty());
}

TEST_F(AddressClaimTest, ClaimOfAnotherAddressOrTooShortChangesNothing) {
  AddressClaim claim(0x10, 0x00);
  claim.Start(0);
  SentUpTo(claim, 300 * kNsPerMs);
  claim.OnFrame(t_ns_, FrameOf(0x18EEFF01, true, "0F00000000000000"));
  claim.OnFrame(t_ns_, FrameOf(0x18EEFF00, true, "0F000000000000"));
  EXPECT_EQ(claim.state(), State::kClaimed);
}

}  // namespace
}  // namespace drycrank::protocol

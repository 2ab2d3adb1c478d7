// SPDX-License-Identifier: Apache-2.0
//
// The stand-in on J1939: claim, DM1, DM2 and requests, by SAE J1939-81, -73 and -21.
#include "standin/j1939_unit.h"

#include <gtest/gtest.h>

#include <map>
#include <string>

#include "tests/bus/build_signal.h"

namespace drycrank::standin {
namespace {

using bus::Frame;
using bus::FrameOf;
using protocol::AddressClaim;

class J1939UnitTest : public testing::Test {
 protected:
  J1939UnitTest() {
    config_.address = 0x00;
    config_.name.identity = 1;
    config_.trouble_codes = {{"SPN 110 FMI 4",
                              profile::SpnFmi(110, 4),
                              "coolant",
                              profile::RangeFault::kLow,
                              profile::Lamp::kAmber,
                              {}},
                             {"SPN 100 FMI 3",
                              profile::SpnFmi(100, 3),
                              "oil",
                              profile::RangeFault::kHigh,
                              profile::Lamp::kRedStop,
                              {}}};
    unit_.emplace(config_, OwnValues{[this](std::string_view name) {
                                       names_.emplace_back(name);
                                       return static_cast<int>(names_.size()) - 1;
                                     },
                                     [this](int index) {
                                       return values_[names_[static_cast<std::size_t>(index)]];
                                     }});
  }
  std::vector<Frame> SentUpTo(double until_ms) {
    std::vector<Frame> sent;
    while (unit_->NextDue() <= FromMs(until_ms)) {
      t_ns_ = std::max(t_ns_, unit_->NextDue());
      bus::TimedFrame out;
      while (unit_->TakeDue(t_ns_, out)) sent.push_back(out.frame);
    }
    t_ns_ = FromMs(until_ms);
    return sent;
  }
  void Hear(const Frame& frame) { unit_->OnFrame({t_ns_, 0, true, frame}); }

  profile::J1939Node config_;
  std::vector<std::string> names_;
  std::map<std::string, double> values_;
  std::optional<J1939Unit> unit_;
  TimeNs t_ns_ = 0;
};

constexpr char kNoCodes[] = "00FF00000000FFFF";

TEST_F(J1939UnitTest, ClaimsThenSaysDm1EverySecond) {
  EXPECT_EQ(SentUpTo(249), std::vector{FrameOf(0x18EEFF00, true, "0100000000000000")});
  EXPECT_EQ(SentUpTo(2300),
            std::vector(3, FrameOf(0x18FECA00, true, kNoCodes)));  // 250, 1250, 2250 ms
}

TEST_F(J1939UnitTest, ActiveCodeIsInDm1AndGoesToDm2) {
  SentUpTo(1300);
  values_["coolant.fault"] = 1;
  EXPECT_EQ(SentUpTo(2300), std::vector{FrameOf(0x18FECA00, true, "04FF6E000401FFFF")});
  values_["coolant.fault"] = 0;
  EXPECT_EQ(SentUpTo(3300), std::vector{FrameOf(0x18FECA00, true, kNoCodes)});
  Hear(protocol::RequestFrame(protocol::kPgnDm2, 0x00, 0xF9));
  EXPECT_EQ(SentUpTo(3310), std::vector{FrameOf(0x18FECB00, true, "00FF6E000401FFFF")});
}

// 2 + 8 = 10 bytes: announced, then two packets 50 ms apart. Both lamps: 10 + 04 = 14 hex.
TEST_F(J1939UnitTest, TwoCodesTakeTheTransportProtocol) {
  SentUpTo(1300);
  values_["coolant.fault"] = 1;
  values_["oil.fault"] = 2;
  const auto sent = SentUpTo(2400);
  ASSERT_EQ(sent.size(), 3u);
  EXPECT_EQ(sent[0], FrameOf(0x1CECFF00, true, "200A0002FFCAFE00"));
  EXPECT_EQ(sent[1], FrameOf(0x1CEBFF00, true, "0114FF6E00040164"));
  EXPECT_EQ(sent[2], FrameOf(0x1CEBFF00, true, "02000301FFFFFFFF"));
}

TEST_F(J1939UnitTest, LosingItsAddressSilencesIt) {
  SentUpTo(300);
  Hear(FrameOf(0x18EEFF00, true, "0000000000000000"));
  EXPECT_EQ(SentUpTo(5000), std::vector{FrameOf(0x18EEFFFE, true, "0100000000000000")});
  EXPECT_EQ(unit_->claim().state(), AddressClaim::State::kCannotClaim);
}

TEST_F(J1939UnitTest, UnknownRequestIsRefusedWhenItWasForUs) {
  SentUpTo(300);
  Hear(protocol::RequestFrame(0xFEE5, 0x00, 0xF9));
  EXPECT_EQ(SentUpTo(310), std::vector{FrameOf(0x18E8FF00, true, "01FFFFFFF9E5FE00")});
  Hear(protocol::RequestFrame(0xFEE5, 0xFF, 0xF9));
  EXPECT_TRUE(SentUpTo(320).empty());
}

}  // namespace
}  // namespace drycrank::standin

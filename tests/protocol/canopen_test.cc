// SPDX-License-Identifier: Apache-2.0
//
// Frames by hand from CiA 301 (from memory), and read by tshark (4.0, Debian 12), whose CANopen
// dissector shares no code with us.
#include "protocol/canopen.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <memory>
#include <string>
#include <vector>

#include "bus/frame_text.h"
#include "tests/bus/build_signal.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::protocol {
namespace {

using bus::Frame;
using bus::FrameOf;
using testing::HasSubstr;

TEST(Canopen, CommandsAndHeartbeats) {
  EXPECT_EQ(NmtFrame(NmtCommand::kStart, 5), FrameOf(0x000, false, "0105"));
  EXPECT_EQ(NmtFrame(NmtCommand::kStop, 5), FrameOf(0x000, false, "0205"));
  EXPECT_EQ(NmtFrame(NmtCommand::kResetNode, 5), FrameOf(0x000, false, "8105"));
  EXPECT_EQ(HeartbeatFrame(5, NmtState::kOperational), FrameOf(0x705, false, "05"));
}

// 2Fh one byte, 2Bh two, 23h four; index and value least significant byte first.
TEST(Canopen, AWriteSaysHowManyBytesAreMeant) {
  EXPECT_EQ(WriteRequest(5, {0x6206, 1}, {0xff, 1}), FrameOf(0x605, false, "2F066201FF000000"));
  EXPECT_EQ(WriteRequest(5, {0x1017, 0}, {100, 2}), FrameOf(0x605, false, "2B17100064000000"));
  EXPECT_EQ(WriteRequest(5, {0x1016, 1}, {0x007f0096, 4}),
            FrameOf(0x605, false, "2316100196007F00"));
  EXPECT_EQ(WriteAnswer(5, {0x1017, 0}), FrameOf(0x585, false, "6017100000000000"));
}

TEST(Canopen, AReadIsAnsweredOrAborted) {
  EXPECT_EQ(ReadRequest(5, {0x6411, 2}), FrameOf(0x605, false, "4011640200000000"));
  EXPECT_EQ(ReadAnswer(5, {0x6411, 2}, {0x8000, 2}), FrameOf(0x585, false, "4B11640200800000"));
  EXPECT_EQ(AbortAnswer(5, {0x6411, 9}, kNoSuchObject), FrameOf(0x585, false, "8011640900000206"));
}

TEST(Canopen, WhatIsReadIsWhatWasWritten) {
  const auto request = ReadRequestOf(FrameOf(0x605, false, "2B17100064000000"));
  ASSERT_TRUE(request);
  EXPECT_EQ(request->kind, ParameterMessage::Kind::kWrite);
  EXPECT_EQ(request->at, (ObjectAt{0x1017, 0}));
  EXPECT_EQ(request->value, (ObjectValue{100, 2}));
  const auto refused = ReadAnswerOf(FrameOf(0x585, false, "8011640900000206"));
  ASSERT_TRUE(refused);
  EXPECT_EQ(refused->kind, ParameterMessage::Kind::kAbort);
  EXPECT_EQ(AbortInWords(refused->code), "it has no such object");
  EXPECT_FALSE(ReadAnswerOf(FrameOf(0x585, false, "60")));
  EXPECT_EQ(ReadRequestOf(FrameOf(0x605, false, "2117100008000000"))->kind,
            ParameterMessage::Kind::kOther);  // in segments
}

TEST(Canopen, EmergenciesHaveTheirClass) {
  EXPECT_EQ(EmergencyFrame(5, {0x8130, 0x11}), FrameOf(0x085, false, "3081110000000000"));
  EXPECT_EQ(InWords(Emergency{0x8130, 0}), "8130h heartbeat of another node missing");
  EXPECT_EQ(InWords(Emergency{0x3120, 0}), "3120h voltage");
  EXPECT_EQ(InWords(Emergency{0x2310, 0}), "2310h current");
  EXPECT_EQ(InWords(Emergency{0xff01, 0}), "FF01h an error of its maker's");
  EXPECT_EQ(InWords(Emergency{0, 0}), "0000h no error any more");
}

// All fields spelled out.
std::string Decoded(const std::vector<Frame>& frames) {
  const ScratchFolder folder;
  const std::string log = folder.Path("bus.log");
  {
    const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file(std::fopen(log.c_str(), "w"),
                                                               std::fclose);
    for (std::size_t i = 0; i < frames.size(); ++i) {
      fmt::memory_buffer text;
      bus::AppendFrameText(frames[i], text);
      std::fprintf(file.get(), "(0000000000.%06zu) can0 %s\n", i, fmt::to_string(text).c_str());
    }
  }
  const std::string command = "tshark -r '" + log + "' -d can.subdissector,canopen -V 2>/dev/null";
  std::string text;
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> pipe(popen(command.c_str(), "r"), pclose);
  std::array<char, 4096> piece;
  while (std::fgets(piece.data(), piece.size(), pipe.get()) != nullptr) text += piece.data();
  EXPECT_FALSE(text.empty()) << "no tshark? apt-get install tshark";
  return text;
}

TEST(CanopenTshark, ReadsOurParameters) {
  const std::string text = Decoded({WriteRequest(5, {0x1017, 0}, {100, 2})});
  EXPECT_THAT(text, HasSubstr("Node-ID: 0x05"));
  EXPECT_THAT(text, HasSubstr("Client command specifier: Initiate download request"));
  EXPECT_THAT(text, HasSubstr("Non-data bytes: 2"));
  EXPECT_THAT(text, HasSubstr("OD main-index: Producer heartbeat time (0x1017)"));
  EXPECT_THAT(text, HasSubstr("OD sub-index: 0x00"));
}

TEST(CanopenTshark, KnowsWhatEachObjectIs) {
  const std::string text =
      Decoded({WriteRequest(5, {0x1016, 1}, {0, 4}), WriteRequest(5, {0x1029, 1}, {2, 1}),
               WriteRequest(5, {0x1400, 1}, {0, 4}), WriteRequest(5, {0x1600, 1}, {0, 4})});
  EXPECT_THAT(text, HasSubstr("Consumer heartbeat time (0x1016)"));
  EXPECT_THAT(text, HasSubstr("Error behavior object (0x1029)"));
  EXPECT_THAT(text, HasSubstr("RPDO communication parameter (0x1400)"));
  EXPECT_THAT(text, HasSubstr("RPDO mapping parameter (0x1600)"));
}

TEST(CanopenTshark, ReadsOurAborts) {
  const std::string text = Decoded({AbortAnswer(5, {0x6411, 9}, kNoSuchSubIndex)});
  EXPECT_THAT(text, HasSubstr("Sub-index does not exist"));
}

TEST(CanopenTshark, ReadsOurCommandsHeartbeatsAndEmergencies) {
  const std::string text =
      Decoded({NmtFrame(NmtCommand::kStart, 5), HeartbeatFrame(5, NmtState::kOperational),
               EmergencyFrame(5, {0x8130, 0x11})});
  EXPECT_THAT(text, HasSubstr("Start remote node"));
  EXPECT_THAT(text, HasSubstr("Operational"));
  EXPECT_THAT(text, HasSubstr("0x8130"));
}

}  // namespace
}  // namespace drycrank::protocol

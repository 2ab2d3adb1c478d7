// SPDX-License-Identifier: Apache-2.0
//
// Frames and times by ISO 15765-2 (tests/reference/obd_transport.yaml), worked by hand.
#include "protocol/isotp.h"

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <map>
#include <numeric>

#include "tests/bus/build_signal.h"
#include "tests/bus/count_allocations.h"
#include "types/random.h"

namespace drycrank::protocol {
namespace {

using bus::Bytes;
using bus::DataOf;
using bus::Frame;
using bus::FrameOf;

using Text = std::vector<std::uint8_t>;

Text Counting(std::size_t length) {
  Text bytes(length);
  std::iota(bytes.begin(), bytes.end(), std::uint8_t{1});
  return bytes;
}

IsoTpOptions Tester() {
  IsoTpOptions options;
  options.transmit_id = 0x7E0;
  options.receive_id = 0x7E8;
  return options;
}
IsoTpOptions Ecu() {
  IsoTpOptions options;
  options.transmit_id = 0x7E8;
  options.receive_id = 0x7E0;
  return options;
}

// Two ends on one wire, and time that goes on to whatever is due.
class IsoTpPair {
 public:
  explicit IsoTpPair(const IsoTpOptions& ecu = Ecu()) : tester(Tester()), controller(ecu) {}

  // Runs until nothing is due before `until`. `spoil` sees each frame and how often to deliver it.
  template <class Spoil>
  void Run(TimeNs until_ns, Spoil copies_of) {
    while (true) {
      const TimeNs due_ns = std::min(tester.NextDue(), controller.NextDue());
      if (due_ns > until_ns) return;
      t_ns = std::max(t_ns, due_ns);
      Carry(tester, controller, copies_of);
      Carry(controller, tester, copies_of);
    }
  }
  void Run(TimeNs until_ns = 100 * kNsPerS) {
    Run(until_ns, [](const Frame&) { return 1; });
  }
  Text Received() {
    const auto message = controller.TakeMessage();
    return message ? Text(message->begin(), message->end()) : Text();
  }

  IsoTp tester, controller;
  TimeNs t_ns = 0;
  std::vector<Frame> wire;
  std::vector<TimeNs> times_ns;

 private:
  template <class Spoil>
  void Carry(IsoTp& from, IsoTp& to, Spoil copies_of) {
    Frame frame;
    while (from.TakeDue(t_ns, frame)) {
      if (wire.size() < 2000) wire.push_back(frame), times_ns.push_back(t_ns);
      for (int copies = copies_of(frame); copies > 0; --copies) to.OnFrame(t_ns, frame);
    }
  }
};

YAML::Node Examples() {
  return YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/obd_transport.yaml")["examples"];
}

TEST(IsoTp, SingleFrameIsAsPublished) {
  const YAML::Node example = Examples()[0];
  IsoTp tester(Tester());
  ASSERT_TRUE(tester.Send(5, Bytes("010C")));
  Frame frame;
  EXPECT_EQ(tester.NextDue(), 5);
  ASSERT_TRUE(tester.TakeDue(5, frame));
  EXPECT_EQ(DataOf(frame), Bytes(example["request"]["data"].as<std::string>()));
  EXPECT_FALSE(tester.sending());
  tester.OnFrame(6, FrameOf(0x7E8, false, example["response"]["data"].as<std::string>()));
  const auto answer = tester.TakeMessage();
  ASSERT_TRUE(answer.has_value());
  EXPECT_EQ(Text(answer->begin(), answer->end()), Bytes("410C1AF8"));
  EXPECT_FALSE(tester.TakeMessage().has_value());
}

// 41 0B 21 0C 0C 38 ... of 15 bytes: first frame 10 0F with six of them, then 9 = 7 + 2.
TEST(IsoTp, FirstFrameIsAsPublished) {
  const YAML::Node example = Examples()[1];
  IsoTpPair pair;
  Text message = Bytes("410B210C0C38");
  message.resize(15, 0xAA);
  ASSERT_TRUE(pair.tester.Send(0, message));
  pair.Run();
  ASSERT_EQ(pair.wire.size(), 4u);
  EXPECT_EQ(DataOf(pair.wire[0]), Bytes(example["first_frame"].as<std::string>()));
  EXPECT_EQ(DataOf(pair.wire[1]), Bytes("3000000000000000"));
  EXPECT_EQ(DataOf(pair.wire[2]), Bytes("21AAAAAAAAAAAAAA"));
  EXPECT_EQ(DataOf(pair.wire[3]), Bytes("22AAAA0000000000"));
  EXPECT_EQ(pair.Received(), message);
}

TEST(IsoTp, EveryLengthArrives) {
  for (const int block_size : {0, 1, 8}) {
    IsoTpOptions ecu = Ecu();
    ecu.block_size = static_cast<std::uint8_t>(block_size);
    IsoTpPair pair(ecu);
    for (std::size_t length = 1; length <= kMaxIsoTpBytes; length += length < 64 ? 1 : 37) {
      const Text message = Counting(length);
      ASSERT_TRUE(pair.tester.Send(pair.t_ns, message));
      pair.Run();
      ASSERT_EQ(pair.Received(), message) << length;
    }
    const Text longest = Counting(kMaxIsoTpBytes);
    ASSERT_TRUE(pair.tester.Send(pair.t_ns, longest));
    pair.Run();
    EXPECT_EQ(pair.Received(), longest);
    EXPECT_EQ(pair.tester.TakeError(), IsoTpError::kNone);
  }
}

TEST(IsoTp, RefusesWhatItCannotSend) {
  IsoTp tester(Tester());
  EXPECT_FALSE(tester.Send(0, {}));
  EXPECT_FALSE(tester.Send(0, Counting(4096)));
  EXPECT_TRUE(tester.Send(0, Counting(4095)));
  EXPECT_FALSE(tester.Send(0, Counting(1)));  // one is on its way
}

// STmin as in the standard: 05 = 5 ms, F3 = 300 us, 80 (reserved) = 127 ms.
TEST(IsoTp, SeparationTimeIsKept) {
  for (const auto& [st_min, gap_ns] : std::map<std::uint8_t, TimeNs>{
           {0x05, 5 * kNsPerMs}, {0xF3, 300 * kNsPerUs}, {0x80, 127 * kNsPerMs}, {0, 0}}) {
    IsoTpOptions ecu = Ecu();
    ecu.st_min = st_min;
    IsoTpPair pair(ecu);
    ASSERT_TRUE(pair.tester.Send(0, Counting(27)));  // 6 + 3 * 7
    pair.Run();
    ASSERT_EQ(pair.wire.size(), 5u);
    EXPECT_EQ(pair.times_ns[3] - pair.times_ns[2], gap_ns) << int(st_min);
    EXPECT_EQ(pair.times_ns[4] - pair.times_ns[3], gap_ns) << int(st_min);
  }
}

TEST(IsoTp, FlowControlComesAfterEachBlock) {
  IsoTpOptions ecu = Ecu();
  ecu.block_size = 2;
  IsoTpPair pair(ecu);
  ASSERT_TRUE(pair.tester.Send(0, Counting(6 + 5 * 7)));
  pair.Run();
  std::string kinds;  // first nibble of each frame
  for (const Frame& frame : pair.wire) kinds += static_cast<char>('0' + (frame.data[0] >> 4));
  EXPECT_EQ(kinds, "132232232");
  EXPECT_EQ(pair.Received().size(), 41u);
}

TEST(IsoTp, LostConsecutiveFrameIsAWrongSequence) {
  IsoTpPair pair;
  ASSERT_TRUE(pair.tester.Send(0, Counting(100)));
  pair.Run(kNsPerS, [](const Frame& f) { return f.data[0] == 0x23 ? 0 : 1; });
  EXPECT_TRUE(pair.Received().empty());
  EXPECT_EQ(pair.controller.TakeError(), IsoTpError::kWrongSequence);
  EXPECT_EQ(pair.controller.count(IsoTpError::kWrongSequence), 1u);
  ASSERT_TRUE(pair.tester.Send(pair.t_ns, Counting(100)));  // and goes on
  pair.Run();
  EXPECT_EQ(pair.Received(), Counting(100));
}

TEST(IsoTp, DoubledConsecutiveFrameIsAWrongSequence) {
  IsoTpPair pair;
  ASSERT_TRUE(pair.tester.Send(0, Counting(100)));
  pair.Run(kNsPerS, [](const Frame& f) { return f.data[0] == 0x23 ? 2 : 1; });
  EXPECT_TRUE(pair.Received().empty());
  EXPECT_EQ(pair.controller.TakeError(), IsoTpError::kWrongSequence);
}

TEST(IsoTp, LostLastFrameRunsOutOfTime) {
  IsoTpPair pair;
  ASSERT_TRUE(pair.tester.Send(0, Counting(20)));  // 6 + 7 + 7
  pair.Run(10 * kNsPerS, [](const Frame& f) { return f.data[0] == 0x22 ? 0 : 1; });
  EXPECT_EQ(pair.controller.TakeError(), IsoTpError::kNoConsecutive);
  EXPECT_EQ(pair.t_ns, 1000 * kNsPerMs);  // N_Cr
}

TEST(IsoTp, LostFlowControlRunsOutOfTime) {
  IsoTpPair pair;
  ASSERT_TRUE(pair.tester.Send(0, Counting(20)));
  pair.Run(10 * kNsPerS, [](const Frame& f) { return f.data[0] >> 4 == 3 ? 0 : 1; });
  EXPECT_EQ(pair.tester.TakeError(), IsoTpError::kNoFlowControl);
  EXPECT_EQ(pair.controller.TakeError(), IsoTpError::kNoConsecutive);
  EXPECT_FALSE(pair.tester.sending());
}

TEST(IsoTp, DoubledFlowControlAndSingleFramesAreHarmless) {
  IsoTpPair pair;
  ASSERT_TRUE(pair.tester.Send(0, Counting(20)));
  pair.Run(kNsPerS, [](const Frame& f) { return f.data[0] >> 4 == 3 ? 2 : 1; });
  EXPECT_EQ(pair.Received(), Counting(20));
}

TEST(IsoTp, DoubledFirstFrameBeginsAnew) {
  IsoTpPair pair;
  ASSERT_TRUE(pair.tester.Send(0, Counting(20)));
  pair.Run(kNsPerS, [](const Frame& f) { return f.data[0] >> 4 == 1 ? 2 : 1; });
  EXPECT_EQ(pair.controller.TakeError(), IsoTpError::kUnexpectedFrame);
  EXPECT_EQ(pair.Received(), Counting(20));
}

TEST(IsoTp, WaitsWhileTheReceiverIsBusy) {
  IsoTpPair pair;
  pair.controller.set_busy(0, true);
  ASSERT_TRUE(pair.tester.Send(0, Counting(20)));
  pair.Run(600 * kNsPerMs);
  EXPECT_EQ(pair.wire[1].data[0], 0x31);
  EXPECT_TRUE(pair.tester.sending());
  pair.controller.set_busy(pair.t_ns, false);
  pair.Run();
  EXPECT_EQ(pair.Received(), Counting(20));
}

TEST(IsoTp, ReceiverWaitsOnlySoOften) {
  IsoTpPair pair;
  pair.controller.set_busy(0, true);
  ASSERT_TRUE(pair.tester.Send(0, Counting(20)));
  pair.Run(20 * kNsPerS);
  EXPECT_EQ(pair.controller.TakeError(), IsoTpError::kTooManyWaits);
  EXPECT_EQ(pair.tester.TakeError(), IsoTpError::kNoFlowControl);
}

TEST(IsoTp, GivesUpAfterTooManyWaits) {
  IsoTpOptions ecu = Ecu();
  ecu.max_waits = 20;  // the sender bears 10
  IsoTpPair pair(ecu);
  pair.controller.set_busy(0, true);
  ASSERT_TRUE(pair.tester.Send(0, Counting(20)));
  pair.Run(5 * kNsPerS);
  EXPECT_EQ(pair.tester.TakeError(), IsoTpError::kTooManyWaits);
}

TEST(IsoTp, LongerThanTheRoomIsAnOverflow) {
  IsoTpOptions ecu = Ecu();
  ecu.room_bytes = 19;
  IsoTpPair pair(ecu);
  ASSERT_TRUE(pair.tester.Send(0, Counting(20)));
  pair.Run();
  EXPECT_EQ(pair.wire.back().data[0], 0x32);
  EXPECT_EQ(pair.tester.TakeError(), IsoTpError::kOverflow);
  ASSERT_TRUE(pair.tester.Send(pair.t_ns, Counting(19)));
  pair.Run();
  EXPECT_EQ(pair.Received(), Counting(19));
}

TEST(IsoTp, ASingleFrameLongerThanTheRoomIsNotTaken) {
  IsoTpOptions ecu = Ecu();
  ecu.room_bytes = 3;
  IsoTpPair pair(ecu);
  ASSERT_TRUE(pair.tester.Send(0, Counting(4)));
  pair.Run();
  EXPECT_EQ(pair.Received(), Text());
  EXPECT_EQ(pair.controller.TakeError(), IsoTpError::kOverflow);
  ASSERT_TRUE(pair.tester.Send(pair.t_ns, Counting(3)));
  pair.Run();
  EXPECT_EQ(pair.Received(), Counting(3));
}

TEST(IsoTp, UnknownFlowStatusEndsTheMessage) {
  IsoTp tester(Tester());
  Frame frame;
  ASSERT_TRUE(tester.Send(0, Counting(20)));
  ASSERT_TRUE(tester.TakeDue(0, frame));
  tester.OnFrame(1, FrameOf(0x7E8, false, "3F0000"));
  EXPECT_EQ(tester.TakeError(), IsoTpError::kBadFlowStatus);
}

// ISO 15765-2: a single frame of length 0 or above 7, a first frame below 8, are ignored.
TEST(IsoTp, MalformedFramesAreIgnored) {
  IsoTp ecu(Ecu());
  for (const char* hex : {"", "00", "08AABBCCDDEEFF00", "03AABB", "1007112233445566", "101411",
                          "21AA", "F0", "30", "4000"}) {
    ecu.OnFrame(0, FrameOf(0x7E0, false, hex));
  }
  ecu.OnFrame(0, FrameOf(0x7E0, true, "01AA"));  // 29 bits: another identifier
  Frame remote = FrameOf(0x7E0, false, "01AA");
  remote.remote = true;
  ecu.OnFrame(0, remote);
  EXPECT_FALSE(ecu.TakeMessage().has_value());
  EXPECT_EQ(ecu.NextDue(), kNever);
  EXPECT_EQ(ecu.TakeError(), IsoTpError::kNone);
}

TEST(IsoTp, UntakenMessageIsCounted) {
  IsoTp ecu(Ecu());
  ecu.OnFrame(0, FrameOf(0x7E0, false, "01AA"));
  ecu.OnFrame(0, FrameOf(0x7E0, false, "01BB"));
  EXPECT_EQ(ecu.TakeError(), IsoTpError::kNotTaken);
  EXPECT_EQ((*ecu.TakeMessage())[0], 0xBB);
}

TEST(IsoTp, IdentifiersOf29BitsWork) {
  IsoTpOptions options;
  options.transmit_id = 0x18DA10F1;
  options.receive_id = 0x18DAF110;
  options.extended = true;
  IsoTp tester(options);
  ASSERT_TRUE(tester.Send(0, Bytes("010C")));
  Frame frame;
  ASSERT_TRUE(tester.TakeDue(0, frame));
  EXPECT_EQ(frame, FrameOf(0x18DA10F1, true, "02010C0000000000"));
  tester.OnFrame(0, FrameOf(0x18DAF110, true, "03410D64"));
  EXPECT_TRUE(tester.TakeMessage().has_value());
}

// A million hostile frames: no allocation, no message that was never sent whole, and it still
// works.
TEST(IsoTp, HostileFramesDoNoHarm) {
  IsoTpPair pair;
  Random random(7, 1);
  Frame frame, out;
  const std::size_t before = bus::Allocations();
  for (TimeNs t_ns = 0; t_ns < 1'000'000; ++t_ns) {
    const std::uint64_t bits = random.Next();
    frame.id = 0x7E0;
    frame.length = static_cast<std::uint8_t>(bits % 9);
    for (std::size_t i = 0; i < 8; ++i) frame.data[i] = static_cast<std::uint8_t>(bits >> (8 * i));
    frame.data[0] &= 0x3F;  // the four kinds there are
    pair.controller.OnFrame(t_ns * kNsPerMs, frame);
    while (pair.controller.TakeDue(t_ns * kNsPerMs, out)) {
      ASSERT_EQ(out.data[0] >> 4, 3);  // it only ever answers with flow controls
    }
    const auto message = pair.controller.TakeMessage();
    ASSERT_LE(message ? message->size() : 0, kMaxIsoTpBytes);
  }
  EXPECT_EQ(bus::Allocations(), before);
  pair.t_ns = 2'000'000 * kNsPerMs;
  pair.Run(pair.t_ns);
  ASSERT_TRUE(pair.tester.Send(pair.t_ns, Counting(300)));
  pair.Run(pair.t_ns + 10 * kNsPerS);
  EXPECT_EQ(pair.Received(), Counting(300));
}

}  // namespace
}  // namespace drycrank::protocol

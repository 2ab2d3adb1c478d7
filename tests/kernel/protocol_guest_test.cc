// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel (socketcan_guest.sh): our user-space ISO-TP and J1939 transport against
// the kernel's can-isotp and can-j1939, on vcan0. The kernel shares no code with us.
//
// On one processor, as the guest has: can-isotp of Linux 6.1 awaits a flow control only once its own
// frame has come back to it. On vcan its frame reaches us first, in the same interrupt; on a second
// processor we may have answered before the first one gets on, above all when the machine beneath
// takes the first one away, and the answer is overlooked. On a wire the frame's own time keeps them
// apart.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <linux/can.h>
#include <linux/can/j1939.h>
#include <net/if.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <functional>
#include <numeric>
#include <vector>

#include "io/real_clock.h"
#include "io/socketcan_bus.h"
#include "protocol/isotp.h"
#include "protocol/j1939_management.h"
#include "protocol/j1939_transport.h"
#include "tests/kernel/kernel_isotp.h"

namespace drycrank::io {
namespace {

using bus::Frame;
using protocol::IsoTpError;
using Text = std::vector<std::uint8_t>;

constexpr char kInterface[] = "vcan0";

Text Counting(std::size_t length) {
  Text bytes(length);
  std::iota(bytes.begin(), bytes.end(), static_cast<std::uint8_t>(length));
  return bytes;
}

// 1..40, then every 151st, then the last eight; with EVERY_LENGTH set, all (every_length.sh).
std::vector<std::size_t> Lengths(std::size_t first, std::size_t last) {
  std::vector<std::size_t> lengths;
  if (std::getenv("EVERY_LENGTH") != nullptr) {
    lengths.resize(last - first + 1);
    std::iota(lengths.begin(), lengths.end(), first);
    return lengths;
  }
  for (std::size_t n = first; n <= last; n += n < first + 40 ? 1 : n + 8 >= last ? 1 : 151) {
    lengths.push_back(n);
  }
  for (std::size_t n = last - 7; n <= last; ++n) lengths.push_back(n);
  return lengths;
}

// Frames on vcan0 for a state machine of ours. `copies_of` spoils what it sends.
class OnVcan : public testing::Test {
 protected:
  using CopiesOf = std::function<int(const Frame&)>;

  template <class... Machines>
  bool PumpUntil(const std::function<bool()>& done, Machines&... machines) {
    const TimeNs give_up_ns = clock_.Now() + 20 * kNsPerS;
    while (clock_.Now() < give_up_ns) {
      while (auto frame = bus_.Receive()) {
        for (int copies = copies_in_(frame->frame); copies > 0; --copies) {
          (machines.OnFrame(clock_.Now(), frame->frame), ...);
        }
      }
      (SendFrom(machines), ...);
      if (done()) return true;
      TimeNs due_ns = clock_.Now() + 2 * kNsPerMs;  // the kernel's side is looked at that often
      ((due_ns = std::min(due_ns, machines.NextDue())), ...);
      const int descriptors[] = {bus_.FileDescriptor()};
      clock_.WaitUntil(due_ns, descriptors);
    }
    return false;
  }
  template <class Machine>
  void SendFrom(Machine& machine) {
    Frame frame;
    while (machine.TakeDue(clock_.Now(), frame)) {
      for (int copies = copies_out_(frame); copies > 0; --copies) {
        while (!bus_.Send(frame)) clock_.WaitUntil(clock_.Now() + kNsPerMs, {});
      }
    }
  }

  RealClock clock_;
  SocketCanBus bus_{clock_, 0, kInterface};
  CopiesOf copies_out_ = [](const Frame&) { return 1; };
  CopiesOf copies_in_ = [](const Frame&) { return 1; };
};

// ---- ISO-TP -----------------------------------------------------------------------------------

struct Link {
  bool extended;
  std::uint8_t block_size;
};

class KernelIsoTpTest : public OnVcan, public testing::WithParamInterface<Link> {
 protected:
  static protocol::IsoTpOptions Options(bool ours) {
    protocol::IsoTpOptions options;
    options.extended = GetParam().extended;
    options.block_size = GetParam().block_size;
    const std::uint32_t a = options.extended ? 0x18DA10F1 : 0x7E0;
    const std::uint32_t b = options.extended ? 0x18DAF110 : 0x7E8;
    options.transmit_id = ours ? a : b;
    options.receive_id = ours ? b : a;
    return options;
  }
  Text ToKernel(const Text& message, std::error_code& error) {
    EXPECT_TRUE(ours_.Send(clock_.Now(), message));
    Text received(protocol::kMaxIsoTpBytes);
    std::size_t length = 0;
    EXPECT_TRUE(PumpUntil(
        [&] {
          length = theirs_.Receive(received, error);
          return length > 0 || error;
        },
        ours_));
    received.resize(length);
    return received;
  }
  // A message of the kernel's, as we read it. Both sides give up after a second of silence, and a
  // guest whose processor was taken away for longer has such a second: that message is sent again
  // as a whole, once the kernel's part of it is over. That it ran out of time is then what the
  // kernel says too, or it had nothing to wait for; any other end of it is a failure.
  Text FromKernel(const Text& message) {
    Text received;
    for (int tries = 0; tries < 3 && received.empty(); ++tries) {
      const bool again = tries > 0;
      EXPECT_TRUE(PumpUntil([&] { return Begun(message, again); }, ours_));
      EXPECT_TRUE(PumpUntil(
          [&] {
            if (const auto got = ours_.TakeMessage()) received.assign(got->begin(), got->end());
            error_ = ours_.TakeError();
            return !received.empty() || error_ != IsoTpError::kNone;
          },
          ours_));
      if (error_ != IsoTpError::kNoConsecutive) break;
      ++silences_;
    }
    return received;
  }
  // EAGAIN: its last message is not quite over. ECOMM is said of that one, which ran out of time.
  bool Begun(const Text& message, bool again) {
    const std::error_code error = theirs_.Send(message);
    const bool of_the_last = error.value() == EAGAIN || (again && error.value() == ECOMM);
    EXPECT_TRUE(!error || of_the_last) << error.message();
    return !error;
  }

  void ExpectOursRunsOutOfTime() {
    EXPECT_TRUE(ours_.Send(clock_.Now(), Counting(60)));
    EXPECT_TRUE(PumpUntil([&] { return !ours_.sending(); }, ours_));
    EXPECT_EQ(ours_.TakeError(), IsoTpError::kNoFlowControl);
  }
  // The link is whole again, and so is the next message each way.
  void ExpectBothGoOn() {
    copies_in_ = copies_out_ = [](const Frame&) { return 1; };
    std::error_code error;
    EXPECT_EQ(ToKernel(Counting(60), error), Counting(60)) << error.message();
    EXPECT_EQ(FromKernel(Counting(60)), Counting(60));
  }

  protocol::IsoTp ours_{Options(true)};
  KernelIsoTp theirs_{kInterface, Options(false)};
  IsoTpError error_ = IsoTpError::kNone;
  int silences_ = 0;
};

TEST_P(KernelIsoTpTest, KernelReadsOurMessages) {
  for (const std::size_t length : Lengths(1, protocol::kMaxIsoTpBytes)) {
    std::error_code error;
    ASSERT_EQ(ToKernel(Counting(length), error), Counting(length)) << length << error.message();
  }
}

TEST_P(KernelIsoTpTest, WeReadTheKernelsMessages) {
  for (const std::size_t length : Lengths(1, protocol::kMaxIsoTpBytes)) {
    ASSERT_EQ(FromKernel(Counting(length)), Counting(length)) << length << Name(error_);
  }
  EXPECT_LE(silences_, 5) << "see FromKernel";
  RecordProperty("silences", silences_);
}

// The kernel waits in vain for our flow control, and we for its next frame.
TEST_P(KernelIsoTpTest, AMessageThatRanOutOfTimeIsSentAgain) {
  int answers = 0;
  copies_out_ = [&](const Frame& f) { return f.data[0] >> 4 == 3 && ++answers == 1 ? 0 : 1; };
  EXPECT_EQ(FromKernel(Counting(60)), Counting(60));
  EXPECT_EQ(silences_, 1);
  EXPECT_GE(answers, 2);
}

TEST_P(KernelIsoTpTest, KernelSaysWrongSequenceOfOurLostAndDoubledFrames) {
  for (const int copies : {0, 2}) {
    copies_out_ = [copies](const Frame& f) { return f.data[0] == 0x23 ? copies : 1; };
    std::error_code error;
    EXPECT_TRUE(ToKernel(Counting(60), error).empty());
    EXPECT_EQ(error.value(), EILSEQ) << copies;
    copies_out_ = [](const Frame&) { return 1; };
    PumpUntil([&] { return !ours_.sending(); }, ours_);
    EXPECT_EQ(ToKernel(Counting(60), error), Counting(60));  // and both go on
  }
}

TEST_P(KernelIsoTpTest, WeSayWrongSequenceOfTheKernelsLostFrame) {
  copies_in_ = [](const Frame& f) { return f.data[0] == 0x23 ? 0 : 1; };
  // The kernel's own flow goes on; the block size may make it wait for us.
  EXPECT_TRUE(FromKernel(Counting(60)).empty());
  EXPECT_EQ(error_, IsoTpError::kWrongSequence);
}

// Of two frames with the same number the second is one that was not due (ISO 15765-2: wrong
// sequence number). A message of one frame more than the doubled one: the last was not doubled.
TEST_P(KernelIsoTpTest, WeSayWrongSequenceOfTheKernelsDoubledFrame) {
  copies_in_ = [](const Frame& f) { return f.data[0] == 0x23 ? 2 : 1; };
  EXPECT_TRUE(FromKernel(Counting(60)).empty());
  EXPECT_EQ(error_, IsoTpError::kWrongSequence);
  ExpectBothGoOn();
}

TEST_P(KernelIsoTpTest, DoubledSingleFramesAndFlowControlsAreHarmless) {
  copies_out_ = [](const Frame& f) { return f.data[0] >> 4 == 3 ? 2 : 1; };
  EXPECT_EQ(FromKernel(Counting(60)), Counting(60));
  copies_in_ = [](const Frame& f) { return f.data[0] >> 4 == 0 ? 2 : 1; };
  EXPECT_EQ(FromKernel(Counting(5)), Counting(5));
}

// The kernel never hears of our message, so we wait in vain for its flow control.
TEST_P(KernelIsoTpTest, OurLostFirstFrameRunsOutOfTime) {
  copies_out_ = [](const Frame& f) { return f.data[0] >> 4 == 1 ? 0 : 1; };
  ExpectOursRunsOutOfTime();
  Text received(protocol::kMaxIsoTpBytes);
  std::error_code error;
  EXPECT_EQ(theirs_.Receive(received, error), 0u);
  EXPECT_FALSE(error) << error.message();
  ExpectBothGoOn();
}

// We never hear of the kernel's message, so it waits in vain for ours (ECOMM).
TEST_P(KernelIsoTpTest, TheKernelsLostFirstFrameRunsOutOfTime) {
  copies_in_ = [](const Frame& f) { return f.data[0] >> 4 == 1 ? 0 : 1; };
  const std::error_code refused = theirs_.Send(Counting(60));
  ASSERT_FALSE(refused) << refused.message();
  Text received(protocol::kMaxIsoTpBytes);
  std::error_code error;
  EXPECT_TRUE(PumpUntil(
      [&] {
        theirs_.Receive(received, error);
        return static_cast<bool>(error);
      },
      ours_));
  EXPECT_EQ(error.value(), ECOMM) << error.message();
  EXPECT_FALSE(ours_.TakeMessage().has_value());
  EXPECT_EQ(ours_.TakeError(), IsoTpError::kNone);
  ExpectBothGoOn();
}

TEST_P(KernelIsoTpTest, TheKernelsLostFlowControlRunsOutOfTime) {
  copies_in_ = [](const Frame& f) { return f.data[0] >> 4 == 3 ? 0 : 1; };
  ExpectOursRunsOutOfTime();
}

INSTANTIATE_TEST_SUITE_P(Links, KernelIsoTpTest,
                         testing::Values(Link{false, 0}, Link{false, 8}, Link{true, 0}),
                         [](const auto& test) {
                           return std::string(test.param.extended ? "Bits29" : "Bits11") +
                                  (test.param.block_size > 0 ? "Blocks" : "");
                         });

// ---- J1939 ------------------------------------------------------------------------------------

constexpr std::uint8_t kOurs = 0x20, kTheirs = 0x30;
constexpr std::uint32_t kPgn = 0xEF00;  // proprietary A, to one address

class KernelJ1939 : public OnVcan {
 protected:
  KernelJ1939() : socket_(socket(PF_CAN, SOCK_DGRAM | SOCK_NONBLOCK, CAN_J1939)) {
    const int on = 1;
    setsockopt(socket_.get(), SOL_SOCKET, SO_BROADCAST, &on, sizeof(on));
    const sockaddr_can address = Address(kTheirs, J1939_NO_PGN);
    EXPECT_EQ(bind(socket_.get(), reinterpret_cast<const sockaddr*>(&address), sizeof(address)), 0)
        << errno;
  }
  static sockaddr_can Address(std::uint8_t address, std::uint32_t pgn) {
    sockaddr_can out{};
    out.can_family = AF_CAN;
    out.can_ifindex = static_cast<int>(if_nametoindex(kInterface));
    out.can_addr.j1939.name = J1939_NO_NAME;
    out.can_addr.j1939.addr = address;
    out.can_addr.j1939.pgn = pgn;
    return out;
  }
  void KernelSends(const Text& message, std::uint8_t to, std::uint32_t pgn) {
    const sockaddr_can address = Address(to, pgn);
    ASSERT_EQ(sendto(socket_.get(), message.data(), message.size(), 0,
                     reinterpret_cast<const sockaddr*>(&address), sizeof(address)),
              static_cast<ssize_t>(message.size()))
        << errno;
  }
  Text KernelReceives() {
    Text received(4096);
    sockaddr_can from{};
    ssize_t length = -1;
    EXPECT_TRUE(PumpUntil(
        [&] {
          socklen_t size = sizeof(from);
          length = recvfrom(socket_.get(), received.data(), received.size(), 0,
                            reinterpret_cast<sockaddr*>(&from), &size);
          return length >= 0;
        },
        sender_, receiver_));
    EXPECT_EQ(from.can_addr.j1939.addr, kOurs);
    received.resize(static_cast<std::size_t>(std::max<ssize_t>(0, length)));
    return received;
  }
  Text WeReceive() {
    Text received;
    EXPECT_TRUE(PumpUntil(
        [&] {
          const auto message = receiver_.TakeMessage();
          if (!message) return false;
          id_ = message->id;
          received.assign(message->bytes.begin(), message->bytes.end());
          return true;
        },
        receiver_, sender_));
    return received;
  }

  static bool IsPacket(const Frame& f, int number) {
    return protocol::SplitId(f.id).pgn == protocol::kPgnTransportData && f.data[0] == number;
  }
  static bool IsManagement(const Frame& f, int control) {
    return protocol::SplitId(f.id).pgn == protocol::kPgnTransportManagement && f.data[0] == control;
  }
  void ExpectSent() {
    ASSERT_TRUE(PumpUntil([&] { return !sender_.sending(); }, sender_, receiver_));
    EXPECT_EQ(sender_.TakeError(), protocol::J1939Error::kNone);
  }
  void ExpectNextIsWhole() {
    copies_in_ = copies_out_ = [](const Frame&) { return 1; };
    ASSERT_TRUE(sender_.Send(clock_.Now(), {6, kPgn, kTheirs, kOurs}, Counting(100)));
    EXPECT_EQ(KernelReceives(), Counting(100));
    ExpectSent();
  }

  Socket socket_;
  protocol::J1939Sender sender_;
  protocol::J1939Receiver receiver_{kOurs};
  protocol::J1939Id id_;
};

TEST_F(KernelJ1939, KernelReadsOurSessions) {
  for (const std::size_t length : {9ul, 14ul, 15ul, 100ul, 1000ul, 1784ul, 1785ul}) {
    ASSERT_TRUE(sender_.Send(clock_.Now(), {6, kPgn, kTheirs, kOurs}, Counting(length)));
    ASSERT_EQ(KernelReceives(), Counting(length)) << length;
    ASSERT_TRUE(PumpUntil([&] { return !sender_.sending(); }, sender_, receiver_));
    ASSERT_EQ(sender_.TakeError(), protocol::J1939Error::kNone) << length;
  }
}

TEST_F(KernelJ1939, WeReadTheKernelsSessions) {
  for (const std::size_t length : {9ul, 14ul, 15ul, 100ul, 1000ul, 1784ul, 1785ul}) {
    KernelSends(Counting(length), kOurs, kPgn);
    ASSERT_EQ(WeReceive(), Counting(length)) << length;
    EXPECT_EQ(id_.pgn, kPgn);
    EXPECT_EQ(id_.source, kTheirs);
  }
}

TEST_F(KernelJ1939, KernelReadsOurBroadcast) {
  ASSERT_TRUE(sender_.Send(clock_.Now(), {6, protocol::kPgnDm1, protocol::kGlobalAddress, kOurs},
                           Counting(30)));
  EXPECT_EQ(KernelReceives(), Counting(30));
}

TEST_F(KernelJ1939, WeReadTheKernelsBroadcast) {
  KernelSends(Counting(30), J1939_NO_ADDR, protocol::kPgnDm1);
  EXPECT_EQ(WeReceive(), Counting(30));
  EXPECT_EQ(id_.pgn, protocol::kPgnDm1);
}

TEST_F(KernelJ1939, KernelSendsAgainWhatWeLost) {
  int lost = 0;
  copies_in_ = [&](const Frame& f) { return IsPacket(f, 2) && lost++ == 0 ? 0 : 1; };
  KernelSends(Counting(60), kOurs, kPgn);
  EXPECT_EQ(WeReceive(), Counting(60));
  EXPECT_EQ(lost, 2);  // the first was lost, the second came
}

// The kernel (Linux 6.1) asks for no packet again: it waits in vain and gives up, and says so. That
// we send again what a receiver asks for: tests/protocol/j1939_transport_test.cc.
TEST_F(KernelJ1939, WhatTheKernelLostItGivesUpAndWeSaySo) {
  for (const int number : {2, 9}) {  // in the middle, and the last of 60 bytes
    copies_out_ = [number](const Frame& f) { return IsPacket(f, number) ? 0 : 1; };
    ASSERT_TRUE(sender_.Send(clock_.Now(), {6, kPgn, kTheirs, kOurs}, Counting(60)));
    ASSERT_TRUE(PumpUntil([&] { return !sender_.sending(); }, sender_, receiver_));
    EXPECT_EQ(sender_.TakeError(), protocol::J1939Error::kAborted) << number;
    EXPECT_EQ(sender_.abort_reason(), protocol::kReasonTimeout) << number;
    // It keeps an aborted session for half a second and takes no new one from the same address.
    const TimeNs free_ns = clock_.Now() + 700 * kNsPerMs;
    PumpUntil([&] { return clock_.Now() >= free_ns; }, sender_, receiver_);
    ExpectNextIsWhole();  // and it is the first that the kernel's program receives
  }
}

// Begin and end of a session: it ends with a time-out, never with half a message, and the next one
// is whole.
TEST_F(KernelJ1939, OurLostRequestRunsOutOfTime) {
  copies_out_ = [](const Frame& f) { return IsManagement(f, protocol::kRequestToSend) ? 0 : 1; };
  ASSERT_TRUE(sender_.Send(clock_.Now(), {6, kPgn, kTheirs, kOurs}, Counting(60)));
  ASSERT_TRUE(PumpUntil([&] { return !sender_.sending(); }, sender_, receiver_));
  EXPECT_EQ(sender_.TakeError(), protocol::J1939Error::kTimeout);
  ExpectNextIsWhole();
}

TEST_F(KernelJ1939, TheKernelsLostEndRunsOutOfTime) {
  copies_in_ = [](const Frame& f) { return IsManagement(f, protocol::kEndOfMessage) ? 0 : 1; };
  ASSERT_TRUE(sender_.Send(clock_.Now(), {6, kPgn, kTheirs, kOurs}, Counting(60)));
  EXPECT_EQ(KernelReceives(), Counting(60));  // it has it, and we cannot know
  ASSERT_TRUE(PumpUntil([&] { return !sender_.sending(); }, sender_, receiver_));
  EXPECT_EQ(sender_.TakeError(), protocol::J1939Error::kTimeout);
  ExpectNextIsWhole();
}

TEST_F(KernelJ1939, DoubledPacketsOfTheKernelAreHarmless) {
  copies_in_ = [](const Frame& f) {
    return protocol::SplitId(f.id).pgn == protocol::kPgnTransportData ? 2 : 1;
  };
  KernelSends(Counting(60), kOurs, kPgn);
  EXPECT_EQ(WeReceive(), Counting(60));
}

}  // namespace
}  // namespace drycrank::io

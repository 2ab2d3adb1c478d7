// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel (timing_guest.sh): cyclic frames of a run on vcan, beside the kernel's
// own broadcast manager, which sends its next frame a period after it got round to the last one;
// and the bits of our frames beside those that can-utils counts.
//
// The guest is emulated in software: its lateness says nothing of a real machine, and no number of
// it is a promise. What is compared is whether lateness adds up.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <linux/can/bcm.h>
#include <net/if.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <sstream>

#include "bus/frame_bits.h"
#include "io/real_clock.h"
#include "io/real_time.h"
#include "io/socketcan_bus.h"
#include "run/pace.h"
#include "tests/bus/build_signal.h"
#include "tests/io/child_process.h"
#include "tests/support/cyclic_bench.h"
#include "types/random.h"

namespace drycrank {
namespace {

constexpr int kFrames = 400;
constexpr TimeNs kPeriodNs = 10 * kNsPerMs;

struct Train {
  int frames = 0;
  double drift_ppm = 0;  // of the whole train against its period
  TimeNs worst_gap_ns = 0;
};

// What waits at the receiver, by the kernel's own stamps.
Train Read(io::SocketCanBus& receiver, const char* name, int left_out) {
  Train train;
  TimeNs first_ns = 0, last_ns = 0;
  while (const auto frame = receiver.Receive()) {
    if (train.frames == 0) first_ns = frame->t_ns;
    if (train.frames > 0) {
      train.worst_gap_ns = std::max(train.worst_gap_ns, frame->t_ns - last_ns);
    }
    last_ns = frame->t_ns;
    ++train.frames;
  }
  const double span_ns = static_cast<double>(last_ns - first_ns);
  const double wanted_ns = static_cast<double>((train.frames + left_out - 1) * kPeriodNs);
  if (train.frames > 1) train.drift_ppm = (span_ns / wanted_ns - 1) * 1e6;
  fmt::print("{:<18} {} frames, {} left out, {:+.0f} ppm, longest gap {:.2f} ms of {:g}\n", name,
             train.frames, left_out, train.drift_ppm, ToMs(train.worst_gap_ns), ToMs(kPeriodNs));
  return train;
}

// Returns how many slots it left out.
int SendByRun(Clock& clock, io::SocketCanBus& bus) {
  const profile::Bench bench = support::CyclicBench(1, ToMs(kPeriodNs));
  // One frame at 0, and the last a moment before the end.
  const profile::Scenario scenario =
      support::ForSeconds(ToSeconds(kFrames * kPeriodNs - kPeriodNs / 2));
  run::RunOptions options;
  options.interfaces = {&bus};
  options.clock = &clock;
  run::Runner runner(bench, scenario, options);
  runner.Start();
  run::Pace(runner, clock, {});
  return static_cast<int>(runner.skipped_slots());
}

void SendByBroadcastManager(Clock& clock) {
  const int socket = ::socket(PF_CAN, SOCK_DGRAM, CAN_BCM);
  ASSERT_GE(socket, 0) << "no broadcast manager in this kernel";
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(if_nametoindex("vcan0"));
  ASSERT_EQ(connect(socket, reinterpret_cast<const sockaddr*>(&address), sizeof(address)), 0);
  bcm_msg_head head{};
  head.opcode = TX_SETUP;
  head.flags = SETTIMER | STARTTIMER;
  head.ival2.tv_usec = kPeriodNs / kNsPerUs;
  head.can_id = 0x100;
  head.nframes = 1;
  can_frame frame{};
  frame.can_id = 0x100;
  frame.can_dlc = 8;
  std::array<char, sizeof(head) + sizeof(frame)> job;
  std::memcpy(job.data(), &head, sizeof(head));
  std::memcpy(job.data() + sizeof(head), &frame, sizeof(frame));
  ASSERT_EQ(write(socket, job.data(), job.size()), static_cast<ssize_t>(job.size()));
  clock.WaitUntil(clock.Now() + kFrames * kPeriodNs, {});
  close(socket);
}

TEST(Timing, LatenessOfARunDoesNotAddUpAndTheBroadcastManagersDoes) {
  io::RealClock clock;
  io::SocketCanBus sender(clock, 0, "vcan0"), receiver(clock, 0, "vcan0");
  io::RealTime real_time;
  for (const std::string& problem : real_time.problems()) ADD_FAILURE() << problem;

  clock.Start();
  const int left_out = SendByRun(clock, sender);
  const Train ours = Read(receiver, "a run", left_out);
  while (sender.Receive()) continue;
  SendByBroadcastManager(clock);
  const Train kernel = Read(receiver, "broadcast manager", 0);

  EXPECT_EQ(ours.frames + left_out, kFrames);  // on a busy machine slots are left out, and counted
  // An emulated machine may stand still for milliseconds at either end of the train. A sender that
  // adds its lateness to every period drifts by tens of thousands here; the kernel's own does, and
  // its figure is printed beside ours.
  EXPECT_LT(std::abs(ours.drift_ppm), 50000);
  EXPECT_GT(kernel.frames, 0);
}

// " vcan0@500000     1      53       0   0%": frames, bits, and bits of payload of one second.
std::uint64_t BitsSeen(io::ChildProcess& canbusload, int frames) {
  std::uint64_t bits = 0;
  for (int lines = 0; frames > 0 && lines < 100; ++lines) {
    const std::string line = canbusload.ReadLine();
    if (line == "(silent)" || line == "(ended)") break;
    std::istringstream words(line);
    std::string interface;
    int seen = 0;
    std::uint64_t used = 0;
    if (!(words >> interface >> seen >> used) || interface.rfind("vcan0@", 0) != 0) continue;
    frames -= seen;
    bits += used;
  }
  EXPECT_EQ(frames, 0) << "canbusload did not see all frames";
  return bits;
}

bus::Frame AnyClassical(Random& random) {
  const std::uint64_t bits = random.Next();
  bus::Frame frame;
  frame.extended = (bits & 1) != 0;
  frame.length = static_cast<std::uint8_t>((bits >> 1) % 9);
  frame.id = static_cast<std::uint32_t>(bits >> 32) & (frame.extended ? 0x1FFFFFFF : 0x7FF);
  for (std::uint8_t& byte : frame.data) {
    byte = random.Uniform() < 0.5 ? 0 : static_cast<std::uint8_t>(random.Next());
  }
  return frame;
}

// can-utils works out every stuff bit by code of its own (canbusload -e).
TEST(Timing, CanUtilsCountsTheSameBits) {
  io::RealClock clock;
  io::SocketCanBus bus(clock, 0, "vcan0");
  Random random(3, 0);
  io::ChildProcess canbusload({"/usr/bin/canbusload", "vcan0@500000", "-e"});
  clock.WaitUntil(clock.Now() + kNsPerS / 2, {});  // it says nothing when it is ready
  for (const int frames : {1, 1, 40, 200}) {
    std::uint64_t ours = 0;
    for (int i = 0; i < frames; ++i) {
      const bus::Frame frame = frames == 1 ? bus::FrameOf(0, false, "") : AnyClassical(random);
      ours += static_cast<std::uint64_t>(bus::ExactBits(frame).total());
      ASSERT_TRUE(bus.Send(frame));
    }
    EXPECT_EQ(BitsSeen(canbusload, frames), ours) << frames << " frames";
  }
  canbusload.Interrupt();
}

}  // namespace
}  // namespace drycrank

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

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <optional>
#include <sstream>
#include <vector>

#include "bus/frame_bits.h"
#include "bus/lateness.h"
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

constexpr int kFrames = 1000;
constexpr TimeNs kPeriodNs = 10 * kNsPerMs;

struct Train {
  int frames = 0;
  double drift_ppm = 0;  // how fast the lateness grows
};

TimeNs Median(std::vector<TimeNs> of) {
  std::nth_element(of.begin(), of.begin() + std::ssize(of) / 2, of.end());
  return of[of.size() / 2];
}

// From the median of the first tenth to that of the last: a machine that stands still for some
// milliseconds now and then moves neither.
double DriftPpm(const std::vector<TimeNs>& late_ns) {
  const auto tenth = std::ssize(late_ns) / 10;
  const TimeNs grown_ns = Median({late_ns.end() - tenth, late_ns.end()}) -
                          Median({late_ns.begin(), late_ns.begin() + tenth});
  return static_cast<double>(grown_ns) / static_cast<double>(9 * tenth * kPeriodNs) * 1e6;
}

void PrintQuantiles(const char* name, const char* what, const bus::Lateness& late) {
  fmt::print("{:<18} {:<19} 50 % {:>10.1f}  99 % {:>10.1f}  99.9 % {:>10.1f} us\n", name, what,
             static_cast<double>(late.Quantile(0.5)) / 1e3,
             static_cast<double>(late.Quantile(0.99)) / 1e3,
             static_cast<double>(late.Quantile(0.999)) / 1e3);
}

// What waits at the receiver, by the kernel's own stamps. Frame i is due i periods after
// `first_due_ns`; a sender that leaves slots out is never later than a period, so its frames tell
// their slots.
Train Read(io::SocketCanBus& receiver, const char* name, std::optional<TimeNs> first_due_ns,
           bool leaves_out) {
  std::vector<TimeNs> late_ns;
  bus::Lateness late, gaps;
  TimeNs last_ns = 0;
  while (const auto frame = receiver.Receive()) {
    if (!first_due_ns) first_due_ns = frame->t_ns;
    const TimeNs since_ns = frame->t_ns - *first_due_ns;
    late_ns.push_back(leaves_out ? since_ns % kPeriodNs
                                 : since_ns - std::ssize(late_ns) * kPeriodNs);
    late.Add(late_ns.back());
    if (late_ns.size() > 1) gaps.Add(std::abs(frame->t_ns - last_ns - kPeriodNs));
    last_ns = frame->t_ns;
  }
  Train train;
  train.frames = static_cast<int>(late_ns.size());
  if (train.frames >= 100) train.drift_ppm = DriftPpm(late_ns);
  fmt::print("{:<18} {} frames, one every {:g} ms: drift {:+.1f} ppm\n", name, train.frames,
             ToMs(kPeriodNs), train.drift_ppm);
  PrintQuantiles(name, "after they were due", late);
  PrintQuantiles(name, "gaps off by", gaps);
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

// The kernel's figure is the twin of ours: it shows that a sender which adds its lateness to every
// period is told from one that does not.
TEST(Timing, LatenessOfARunDoesNotAddUpAndTheBroadcastManagersDoes) {
  io::RealClock clock;
  io::SocketCanBus sender(clock, 0, "vcan0"), receiver(clock, 0, "vcan0");
  io::RealTime real_time;
  for (const std::string& problem : real_time.problems()) ADD_FAILURE() << problem;

  clock.Start();
  const int left_out = SendByRun(clock, sender);
  const Train ours = Read(receiver, "a run", 0, true);
  while (sender.Receive()) continue;
  SendByBroadcastManager(clock);
  const Train kernel = Read(receiver, "broadcast manager", {}, false);

  EXPECT_EQ(ours.frames + left_out, kFrames);  // on a busy machine slots are left out, and counted
  ASSERT_GE(ours.frames, kFrames / 2);
  ASSERT_GE(kernel.frames, kFrames / 2);
  EXPECT_GT(kernel.drift_ppm, 10 * std::abs(ours.drift_ppm));
  EXPECT_GT(kernel.drift_ppm, 0);
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

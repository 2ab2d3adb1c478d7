// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel: what reaches the bus of the two emulated controllers while somebody has
// armed, not armed, or armed something else. cangw makes the kernel's gateway jobs, candump hears what
// comes to the wire.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <net/if.h>
#include <sched.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include "io/driven_reader.h"
#include "tests/bus/build_signal.h"
#include "tests/kernel/guest_can.h"

namespace drycrank::io {
namespace {

using bus::BusEvent;
using bus::FrameOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::vector<std::string> Names(const SocketCanBus& bus) {
  std::vector<std::string> names;
  for (const bus::Driven& driven : bus.Drives()) names.push_back(driven.name);
  return names;
}

class Arming : public CanTest {
 protected:
  ~Arming() override {
    EXPECT_EQ(std::system("/usr/bin/cangw -F"), 0);
    if (if_nametoindex("vxcan0") != 0) Ip("link del vxcan0");
  }
  // Asked as a run would, until it comes or two seconds are over.
  bool Comes(SocketCanBus& bus, BusEvent wanted) {
    for (int i = 0; i < 200; ++i) {
      while (const auto event = bus.NextEvent()) {
        if (*event == wanted) return true;
      }
      bus.Receive();
      clock_.WaitUntil(clock_.Now() + 10 * kNsPerMs, {});
    }
    return false;
  }
  static void Rename(const std::string& from, const std::string& to) {
    Ip("link set " + from + " down");
    Ip("link set " + from + " name " + to);
    Ip("link set " + to + " up");
  }
};

TEST_F(Arming, AControllerGetsNothingBeforeItIsArmed) {
  SocketCanBus bus(clock_, 0, "can0");
  EXPECT_FALSE(bus.IsVirtual());
  EXPECT_FALSE(bus.IsArmed());
  EXPECT_THAT(Names(bus), ElementsAre("can0"));
  const auto wire = Candump("can1", 1);
  EXPECT_FALSE(bus.Send(FrameOf(0x111, false, "01")));
  EXPECT_EQ(bus.NextEvent(), BusEvent::kNotArmed);
  EXPECT_THAT(bus.Describe(BusEvent::kNotArmed), HasSubstr("drycrank tell arm can0 by NAME"));
  Cansend("can1", "222#02");
  EXPECT_EQ(Next(bus)->frame, FrameOf(0x222, false, "02"));  // it may listen
  bus.Arm();
  EXPECT_TRUE(bus.Send(FrameOf(0x333, false, "03")));
  EXPECT_EQ(FrameIn(wire->ReadLine()), "222#02");
  EXPECT_EQ(bus.counters().send_refused, 1u);
}

TEST_F(Arming, AVcanThatAJobBridgesToAControllerIsHardware) {
  Shell("cangw -A -s vcan0 -d can0 -e");
  SocketCanBus bus(clock_, 0, "vcan0");
  EXPECT_FALSE(bus.IsVirtual());
  ASSERT_THAT(Names(bus), ElementsAre("can0"));
  EXPECT_THAT(bus.Properties(), HasSubstr("drives vcan0, by a gateway job to can0"));
  const auto wire = Candump("can1", 1);
  EXPECT_FALSE(bus.Send(FrameOf(0x111, false, "01")));
  bus.Arm();
  EXPECT_TRUE(bus.Send(FrameOf(0x222, false, "02")));
  EXPECT_EQ(FrameIn(wire->ReadLine()), "222#02");  // so the job does lead there
}

TEST_F(Arming, AJobMadeDuringARunDisarms) {
  SocketCanBus bus(clock_, 0, "vcan0");
  EXPECT_TRUE(bus.IsVirtual());
  EXPECT_TRUE(bus.Send(FrameOf(1, false, "")));
  Shell("cangw -A -s vcan0 -d can0 -e");
  EXPECT_TRUE(Comes(bus, BusEvent::kNotArmed));
  const auto wire = Candump("can1", 1);
  EXPECT_FALSE(bus.Send(FrameOf(0x111, false, "01")));
  Shell("cangw -F");
  EXPECT_TRUE(Comes(bus, BusEvent::kArmed));
  EXPECT_TRUE(bus.Send(FrameOf(0x222, false, "02")));  // to nobody but vcan0
  Cansend("can0", "333#03");
  EXPECT_EQ(FrameIn(wire->ReadLine()), "333#03");
}

// Armed for one controller, and then the job of a second one comes.
TEST_F(Arming, WhatIsDrivenBesideWhatWasArmedDisarmsAll) {
  Shell("cangw -A -s vcan0 -d can0 -e");
  SocketCanBus bus(clock_, 0, "vcan0");
  bus.Arm();
  EXPECT_TRUE(bus.Send(FrameOf(1, false, "")));
  Shell("cangw -A -s vcan0 -d can1 -e");
  EXPECT_TRUE(Comes(bus, BusEvent::kNotArmed));
  EXPECT_FALSE(bus.Send(FrameOf(2, false, "")));
  EXPECT_THAT(Names(bus), testing::UnorderedElementsAre("can0", "can1"));
}

TEST_F(Arming, DownAndUpOfTheSameKeepsIt) {
  SocketCanBus bus(clock_, 0, "can0");
  bus.Arm();
  Ip("link set can0 down");
  EXPECT_TRUE(Comes(bus, BusEvent::kDown));
  Ip("link set can0 up");
  EXPECT_TRUE(Comes(bus, BusEvent::kUp));
  EXPECT_TRUE(bus.Send(FrameOf(0x111, false, "01")));
}

// can0 is put away under another name, and can1 gets the name that was armed.
TEST_F(Arming, RenamedAndReplacedNothingIsSent) {
  SocketCanBus bus(clock_, 0, "can0");
  bus.Arm();
  Rename("can0", "away");
  const auto wire = Candump("can1", 1);
  EXPECT_TRUE(Comes(bus, BusEvent::kDown));
  EXPECT_FALSE(bus.Send(FrameOf(0x111, false, "01")));
  EXPECT_FALSE(Comes(bus, BusEvent::kUp));  // there is none of its name
  EXPECT_FALSE(bus.Send(FrameOf(0x112, false, "01")));
  Cansend("away", "222#02");
  EXPECT_EQ(FrameIn(wire->ReadLine()), "222#02");

  Rename("can1", "can0");
  EXPECT_TRUE(Comes(bus, BusEvent::kUp));
  EXPECT_TRUE(Comes(bus, BusEvent::kNotArmed));
  const auto other_end = Candump("away", 1);
  EXPECT_FALSE(bus.Send(FrameOf(0x333, false, "03")));
  bus.Arm();
  EXPECT_TRUE(bus.Send(FrameOf(0x444, false, "04")));
  EXPECT_EQ(FrameIn(other_end->ReadLine()), "444#04");
  Rename("can0", "can1");
  Rename("away", "can0");
}

// A vcan goes, and a controller comes under its name.
TEST_F(Arming, AVcanThatComesBackAsAControllerIsNotDriven) {
  Ip("link add vcan5 type vcan");
  Ip("link set vcan5 up");
  SocketCanBus bus(clock_, 0, "vcan5");
  EXPECT_TRUE(bus.Send(FrameOf(1, false, "")));
  Ip("link del vcan5");
  EXPECT_TRUE(Comes(bus, BusEvent::kDown));
  Rename("can0", "vcan5");
  EXPECT_TRUE(Comes(bus, BusEvent::kNotArmed));
  EXPECT_FALSE(bus.IsVirtual());
  const auto wire = Candump("can1", 1);
  EXPECT_FALSE(bus.Send(FrameOf(0x111, false, "01")));
  Cansend("vcan5", "222#02");
  EXPECT_EQ(FrameIn(wire->ReadLine()), "222#02");
  Rename("vcan5", "can0");
}

TEST_F(Arming, TheFarEndOfAVxcanIsLookedAt) {
  Ip("link add vxcan0 type vxcan peer name vxcan1");
  Ip("link set vxcan0 up");
  Ip("link set vxcan1 up");
  EXPECT_TRUE(SocketCanBus(clock_, 0, "vxcan0").IsVirtual());
  Shell("cangw -A -s vxcan1 -d can0 -e");
  SocketCanBus bus(clock_, 0, "vxcan0");
  ASSERT_THAT(Names(bus), ElementsAre("can0"));
  EXPECT_EQ(bus.Drives()[0].way, "vxcan0, its peer vxcan1, by a gateway job to can0");
  const auto wire = Candump("can1", 1);
  EXPECT_FALSE(bus.Send(FrameOf(0x111, false, "01")));
  bus.Arm();
  EXPECT_TRUE(bus.Send(FrameOf(0x222, false, "02")));
  EXPECT_EQ(FrameIn(wire->ReadLine()), "222#02");
}

TEST_F(Arming, AnEndInAnotherNamespaceCountsAsHardware) {
  Ip("link add vxcan0 type vxcan peer name vxcan1");
  const pid_t elsewhere = fork();
  if (elsewhere == 0) {
    unshare(CLONE_NEWNET);
    pause();
    _exit(0);
  }
  clock_.WaitUntil(clock_.Now() + 200 * kNsPerMs, {});
  Ip("link set vxcan1 netns " + std::to_string(elsewhere));
  Ip("link set vxcan0 up");
  SocketCanBus bus(clock_, 0, "vxcan0");
  ASSERT_THAT(Names(bus), ElementsAre("vxcan0"));
  EXPECT_THAT(bus.Drives()[0].way, HasSubstr("another network namespace"));
  EXPECT_FALSE(bus.Send(FrameOf(1, false, "")));
  Ip("link del vxcan0");  // the kernel does it in its own time once the other namespace is gone
  kill(elsewhere, SIGKILL);
  waitpid(elsewhere, nullptr, 0);
}

// Without the gateway's module the kernel must not take the question for one about all routes.
TEST(NoCan, HasNoGatewayJobs) {
  Ip("link set lo up");
  const auto jobs = ReadGatewayJobs();
  ASSERT_TRUE(jobs.has_value());
  EXPECT_THAT(*jobs, IsEmpty());
}

}  // namespace
}  // namespace drycrank::io

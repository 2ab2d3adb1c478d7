// SPDX-License-Identifier: Apache-2.0
//
// Facts made by hand, each with one thing wrong. Error limits: ISO 11898-1 (96 warning, 128
// error-passive, 256 bus-off; no acknowledge does not count beyond 128).
#include "bus/link_findings.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace drycrank::bus {
namespace {
namespace fs = std::filesystem;

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class LinkFindingsTest : public testing::Test {
 protected:
  LinkFindingsTest() {
    host_.can_interfaces = {"can0"};
    host_.may_raise_buffers = true;
    host_.realtime_priority_max = 80;
    host_.locked_memory_max_bytes = -1;
    bus_.bus = "vehicle";
    bus_.interface = "can0";
    bus_.wanted_bitrate_bps = 500'000;
    LinkFacts& link = bus_.link.emplace();
    link.name = "can0";
    link.kind = "can";
    link.is_can = link.up = link.running = true;
    link.mtu = 16;
    link.send_queue_frames = 10;
    link.qdisc = "pfifo_fast";
    ControllerFacts& controller = link.controller.emplace();
    controller.bitrate_bps = 500'000;
    controller.restart_ms = 100;
    controller.errors.emplace();
  }
  ControllerFacts& controller() { return *bus_.link->controller; }
  std::vector<Finding> Find() { return FindTrouble(host_, {bus_}); }
  std::vector<std::string> Causes() {
    std::vector<std::string> causes;
    for (const Finding& finding : Find()) {
      causes.push_back((finding.trouble ? "" : "notice ") + std::string(finding.cause));
    }
    return causes;
  }

  HostFacts host_;
  BusFacts bus_;
};

TEST_F(LinkFindingsTest, WellIsWell) { EXPECT_THAT(Causes(), IsEmpty()); }

TEST_F(LinkFindingsTest, WithoutCanInTheKernelNothingElseIsSaid) {
  host_.has_can = false;
  bus_.link.reset();
  EXPECT_THAT(Causes(), ElementsAre("no-can-in-kernel"));
}

TEST_F(LinkFindingsTest, AMissingInterfaceIsToldWithThoseThereAre) {
  bus_.link.reset();
  EXPECT_THAT(Causes(), ElementsAre("no-interface"));
  EXPECT_THAT(Find()[0].what, HasSubstr("there is can0"));
  EXPECT_EQ(Find()[0].where, "vehicle (can0)");
}

TEST_F(LinkFindingsTest, NoInterfaceAtAllIsATroubleWithNothingNamed) {
  host_.can_interfaces.clear();
  const auto findings = FindTrouble(host_, {});
  ASSERT_EQ(findings.size(), 1u);
  EXPECT_EQ(findings[0].cause, "no-interface");
}

TEST_F(LinkFindingsTest, AnotherKindOfInterface) {
  bus_.link->is_can = false;
  EXPECT_THAT(Causes(), ElementsAre("not-a-can-interface"));
}

TEST_F(LinkFindingsTest, DownIsMendedWithTheBitRateOfTheBench) {
  bus_.link->up = false;
  EXPECT_THAT(Causes(), ElementsAre("interface-down"));
  EXPECT_EQ(Find()[0].command, "ip link set can0 up type can bitrate 500000");
}

TEST_F(LinkFindingsTest, BusOff) {
  controller().state = ControllerState::kBusOff;
  EXPECT_THAT(Causes(), ElementsAre("bus-off"));
  EXPECT_THAT(Find()[0].command, HasSubstr("type can restart"));
}

TEST_F(LinkFindingsTest, AloneOnTheBusTheSendCountStandsAt128) {
  controller().state = ControllerState::kPassive;
  controller().errors = ErrorCounts{128, 0};
  EXPECT_THAT(Causes(), ElementsAre("no-acknowledge"));
}

TEST_F(LinkFindingsTest, OtherErrorsArePassive) {
  controller().state = ControllerState::kPassive;
  controller().errors = ErrorCounts{136, 0};
  EXPECT_THAT(Causes(), ElementsAre("error-passive"));
  controller().errors = ErrorCounts{128, 40};
  EXPECT_THAT(Causes(), ElementsAre("error-passive"));
  controller().state = ControllerState::kWarning;
  controller().errors = ErrorCounts{0, 100};
  EXPECT_THAT(Causes(), ElementsAre("error-passive"));
}

TEST_F(LinkFindingsTest, WrongBitRate) {
  controller().bitrate_bps = 250'000;
  EXPECT_THAT(Causes(), ElementsAre("wrong-bit-rate"));
  EXPECT_EQ(Find()[0].command,
            "ip link set can0 down; ip link set can0 type can bitrate 500000; ip link set can0 up");
  bus_.wanted_bitrate_bps = 0;  // not known: nothing to compare with
  EXPECT_THAT(Causes(), IsEmpty());
}

TEST_F(LinkFindingsTest, ClassicalForFdAndWrongDataRate) {
  bus_.wants_fd = true;
  bus_.wanted_data_bitrate_bps = 2'000'000;
  EXPECT_THAT(Causes(), ElementsAre("classical-for-fd"));
  bus_.link->mtu = 72;
  controller().fd = true;
  controller().data_bitrate_bps = 4'000'000;
  EXPECT_THAT(Causes(), ElementsAre("wrong-bit-rate"));
}

TEST_F(LinkFindingsTest, ModesOfTheController) {
  controller().listen_only = true;
  EXPECT_THAT(Causes(), ElementsAre("listen-only"));
  controller().listen_only = false;
  controller().loopback = true;
  EXPECT_THAT(Causes(), ElementsAre("loopback"));
  controller().loopback = false;
  controller().one_shot = true;
  controller().restart_ms = 0;
  EXPECT_THAT(Causes(), ElementsAre("notice one-shot", "notice no-automatic-restart"));
}

TEST_F(LinkFindingsTest, ErrorsCountedAreANotice) {
  controller().bus_errors = 3;
  EXPECT_THAT(Causes(), ElementsAre("notice bus-errors"));
}

TEST_F(LinkFindingsTest, AResistorThatIsSwitchedOff) {
  controller().termination_ohm = 0;
  EXPECT_THAT(Causes(), ElementsAre("notice termination"));
  controller().termination_ohm = 120;
  EXPECT_THAT(Causes(), IsEmpty());
}

TEST_F(LinkFindingsTest, QueuesAndLosses) {
  bus_.link->qdisc = "fq_codel";
  EXPECT_THAT(Causes(), ElementsAre("dropping-queue"));
  bus_.link->qdisc = "pfifo_fast";
  bus_.messages_sent_by_us = 11;
  bus_.link->receive_overruns = 1;
  EXPECT_THAT(Causes(), ElementsAre("notice short-send-queue", "notice frames-lost"));
}

TEST_F(LinkFindingsTest, RightsAndBuffers) {
  host_.may_raise_buffers = false;
  host_.receive_buffer_max_bytes = 212'992;
  host_.realtime_priority_max = 0;
  EXPECT_THAT(Causes(), ElementsAre("notice small-receive-buffer", "notice no-realtime-rights"));
  host_.receive_buffer_max_bytes = 8 << 20;
  host_.realtime_priority_max = 50;
  host_.locked_memory_max_bytes = 64 << 10;
  EXPECT_THAT(Causes(), ElementsAre("notice no-realtime-rights"));
}

TEST_F(LinkFindingsTest, MulticastNeedsARouteAndItsPort) {
  bus_.link.reset();
  host_.has_can = false;  // does not matter for it
  bus_.multicast = MulticastFacts{"239.74.163.2", 43113, "lo", false};
  EXPECT_THAT(Causes(), IsEmpty());
  bus_.multicast->route_interface = "eth0";
  EXPECT_THAT(Causes(), ElementsAre("multicast-route"));
  EXPECT_THAT(Find()[0].what, HasSubstr("leaves by eth0"));
  bus_.multicast->route_interface = "";
  bus_.multicast->port_taken = true;
  EXPECT_THAT(Causes(), ElementsAre("multicast-route", "multicast-port"));
}

TEST_F(LinkFindingsTest, ListeningTellsMore) {
  ProbeFacts& probe = bus_.probe.emplace();
  probe.listened_s = 3;
  EXPECT_THAT(Causes(), ElementsAre("silent-bus"));
  probe.received = 10;
  EXPECT_THAT(Causes(), IsEmpty());
  probe.sent = 1;
  EXPECT_THAT(Causes(), ElementsAre("no-acknowledge"));
  probe.confirmed = 1;
  EXPECT_THAT(Causes(), IsEmpty());
}

// ---- pages --------------------------------------------------------------------------------------

fs::path NotesFolder() { return fs::path(DRYCRANK_TESTS_DIR) / ".." / "hw-notes"; }

TEST(DoctorPages, EachCauseHasOneAndEachPageACause) {
  std::stringstream index;
  index << std::ifstream(NotesFolder() / "README.md").rdbuf();
  for (const std::string_view cause : kCauses) {
    const std::string name = std::string(cause) + ".md";
    EXPECT_TRUE(fs::exists(NotesFolder() / "doctor" / name)) << name;
    EXPECT_THAT(index.str(), HasSubstr("(doctor/" + name + ")"));
  }
  for (const auto& page : fs::directory_iterator(NotesFolder() / "doctor")) {
    EXPECT_EQ(std::ranges::count(kCauses, page.path().stem().string()), 1) << page.path();
  }
}

TEST(DoctorPages, AFindingNamesItsPage) {
  EXPECT_EQ(PageOf({"bus-off", true, "", "", ""}), "hw-notes/doctor/bus-off.md");
}

}  // namespace
}  // namespace drycrank::bus

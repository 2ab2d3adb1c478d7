// SPDX-License-Identifier: Apache-2.0
//
// The profile loader and the stand-in controller each know the controller's values by name, and
// neither includes the other. Here they are held together.
#include <gtest/gtest.h>

#include <fstream>

#include "profile/load.h"
#include "profile/state_names.h"
#include "standin/controller.h"
#include "standin/conversion.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::standin {
namespace {

// The hill-climb bench, its one bus replaced by a message with a signal for each name.
Diagnostics ProblemsOfCarrying(const std::vector<std::string>& names) {
  const ScratchFolder folder;
  const std::string file = folder.Path("carries.yaml");
  std::ofstream out(file);
  out << "include: " << DRYCRANK_PROFILES_DIR << "/benches/hill_climb.yaml\ndisplay: {}\n"
      << "buses:\n  vehicle:\n    messages:\n      all:\n        id: 0x100\n        fd: true\n"
      << "        length_bytes: 64\n        sender: controller\n        period_ms: 10 ms\n"
      << "        signals:\n";
  int bit = 0;
  for (const std::string& name : names) {
    out << "          s" << bit << ": {start_bit: " << bit << ", length_bits: 8, carries: " << name
        << "}\n";
    bit += 8;
  }
  out.close();
  return profile::LoadBench(file).problems;
}

std::vector<std::string> NamesOfStandIn() {
  const profile::LoadedBench loaded =
      profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
  return ControllerValueNames(*loaded.bench->controller);
}

std::size_t Unknown(const std::vector<std::string>& names) {
  std::size_t unknown = 0;
  for (const Diagnostic& problem : ProblemsOfCarrying(names)) {
    if (problem.what.find("no value of the controller") != std::string::npos) ++unknown;
  }
  return unknown;
}

TEST(ControllerValueNames, LoaderTakesEveryOne) {
  ASSERT_GT(NamesOfStandIn().size(), 9u);
  EXPECT_EQ(Unknown(NamesOfStandIn()), 0u);
}

TEST(ControllerValueNames, LoaderNamesTheOneThatTheStandInLacks) {
  EXPECT_EQ(Unknown({"engine_speed", "engine_temper", "sync_state"}), 1u);
}

// The words that reports use for the stand-ins' states are the stand-ins' own.
TEST(StateNames, AreThoseOfTheStandIns) {
  const profile::StateNames& sync = profile::StateNamesOf("sync_state");
  ASSERT_EQ(sync.size(), 4u);
  for (const auto& [code, name] : sync) EXPECT_EQ(name, Name(static_cast<SyncState>(code)));
  const profile::StateNames& reason = profile::StateNamesOf("sync_reason");
  ASSERT_EQ(reason.size(), 10u);
  for (const auto& [code, name] : reason) EXPECT_EQ(name, Name(static_cast<SyncReason>(code)));
  const profile::StateNames& fault = profile::StateNamesOf("coolant_temperature.fault");
  EXPECT_EQ(fault.at(static_cast<int>(ChannelFault::kSignalHigh)), "signal high");
  EXPECT_EQ(fault.at(static_cast<int>(ChannelFault::kNoSignal)), "no signal");
  EXPECT_TRUE(profile::StateNamesOf("coolant_temperature").empty());
}

}  // namespace
}  // namespace drycrank::standin

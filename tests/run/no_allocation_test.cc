// SPDX-License-Identifier: Apache-2.0
//
// The thread that releases frames at their instants plays the whole run: between two steps it may
// take no memory. operator new is counted over the whole test program.
#include <gtest/gtest.h>

#include <new>

#include "bus/inproc_bus.h"
#include "record/record.h"
#include "run/pace.h"
#include "study/run_facts.h"
#include "tests/bus/count_allocations.h"
#include "tests/run/loaded.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::run {
namespace {

class RunAllocation : public testing::Test {
 protected:
  RunAllocation() {
    loaded_.bench->stimuli[0].initial = 6000;
    loaded_.scenario->steps.resize(1);
    loaded_.scenario->steps[0].wait_for.reset();
    loaded_.scenario->steps[0].for_s = 10;
    loaded_.scenario->steps[0].drives.clear();
  }
  // What a second takes, once everything has happened for the first time.
  std::size_t TakenInASecond(Runner& runner) {
    runner.Start();
    runner.RunTo(2 * kNsPerS);
    const std::size_t before = bus::Allocations();
    while (runner.now_ns() < 3 * kNsPerS) {
      runner.Prepare();
      runner.Poll(std::min(runner.NextDueNs(), 3 * kNsPerS));
      runner.RunTo(std::min(runner.NextDueNs(), 3 * kNsPerS));
    }
    return bus::Allocations() - before;
  }
  profile::LoadedScenario loaded_ = Shipped("hill_climb/healthy");
};

TEST_F(RunAllocation, NoneOnABusInTheProcess) {
  Runner runner(*loaded_.bench, *loaded_.scenario, {});
  EXPECT_EQ(TakenInASecond(runner), 0u);
  EXPECT_GT(runner.frames(), 500u);
}

TEST_F(RunAllocation, NoneOnABusToTheOutsideWithRecordAndPicture) {
  ManualClock clock;
  auto hub = std::make_shared<bus::InprocHub>(clock);
  bus::InprocBus ours(hub);
  RunOptions options;
  options.interfaces = {&ours};
  options.clock = &clock;
  Runner runner(*loaded_.bench, *loaded_.scenario, options);
  const ScratchFolder scratch;
  std::unique_ptr<record::RecordWriter> record;
  ASSERT_EQ(record::RecordWriter::Open(scratch.Path("record"), true, {}, *loaded_.bench,
                                       *loaded_.scenario, runner.timeline(), record),
            "");
  runner.AddObserver(record.get());
  study::RunFacts facts(*loaded_.bench, *loaded_.scenario);
  runner.AddObserver(&facts);
  EXPECT_EQ(TakenInASecond(runner), 0u);
  EXPECT_GT(runner.frames(), 500u);
  ::operator delete(::operator new(4));
  EXPECT_GT(bus::Allocations(), 0u);
}

// Crank and cams of a capture: its reader has a thread of its own, which has read all of this one before.
TEST_F(RunAllocation, NoneWithACaptureInThePlaceOfCrankAndCams) {
  profile::LoadedScenario captured = Shipped("hill_climb/captured_cam_late");
  captured.scenario->steps[0].for_s = 10;
  captured.scenario->capture->begin_s = 1.9;
  Runner runner(*captured.bench, *captured.scenario, {});
  EXPECT_EQ(TakenInASecond(runner), 0u);
  EXPECT_EQ(runner.controller()->sync_state(), standin::SyncState::kSynchronised);
}

}  // namespace
}  // namespace drycrank::run

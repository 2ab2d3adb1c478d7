// SPDX-License-Identifier: Apache-2.0
//
// A run in real time whose thread turns in a circle after 0.7 s, in a process of its own: what that ends
// with, and what its record says. The watch's limit is a short one.
#include "tools/run_watch.h"

#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>

#include "io/real_clock.h"
#include "study/play.h"
#include "tests/run/loaded.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::tools {
namespace {

constexpr TimeNs kHangsAtNs = 700 * kNsPerMs;

class Hang : public run::RunObserver {
 public:
  void OnSample(TimeNs t_ns) override {
    for (volatile bool for_ever = t_ns >= kHangsAtNs; for_ever;) {
    }
  }
};

class RunWatchTest : public testing::Test {
 protected:
  // The process' end, as waitpid(2) tells it.
  int PlayAndHang() {
    const pid_t player = fork();
    if (player == 0) {
      Play();
      _exit(99);  // it came back
    }
    int how = 0;
    EXPECT_EQ(waitpid(player, &how, 0), player);
    return how;
  }
  void Play() {
    io::RealClock clock;
    study::PlayOptions options;
    options.clock = &clock;
    options.pictures = options.weigh = false;
    options.record_folder = folder_.Path("record");
    record::RecordWriter* record = nullptr;
    options.on_record = [&](record::RecordWriter& begun) { record = &begun; };
    RunWatch watch(
        "test", *loaded_.bench,
        [&](TimeNs t_ns, const std::string& why) { record->EndFromOutside(t_ns, why); },
        std::chrono::milliseconds(300));
    Hang hang;
    options.observers = {&watch, &hang};
    static_cast<void>(study::Play(*loaded_.bench, *loaded_.scenario, options));
  }
  std::string Events() const {
    std::ifstream file(folder_.Path("record/events.csv"));
    return {std::istreambuf_iterator<char>(file), {}};
  }

  profile::LoadedScenario loaded_ = run::Shipped("hill_climb/healthy");
  ScratchFolder folder_;
};

TEST_F(RunWatchTest, ARunThatHangsEndsAndItsRecordSaysWhy) {
  const int how = PlayAndHang();
  ASSERT_TRUE(WIFEXITED(how));
  EXPECT_EQ(WEXITSTATUS(how), io::Watchdog::kExitCode);
  const std::string events = Events();
  ASSERT_TRUE(events.ends_with('\n'));
  const std::string last = events.substr(events.rfind('\n', events.size() - 2) + 1);
  EXPECT_NE(last.find(",end,watchdog: the run did not get on for 0.3 s after 0."),
            std::string::npos)
      << last;
  // The limit (300 ms, and 10 ms of a sample) after the sign of life before the hang.
  EXPECT_GE(std::atoll(last.c_str()), kHangsAtNs + 200 * kNsPerMs);
  scenario::Timeline timeline(*loaded_.bench, *loaded_.scenario);
  check::Checker checker(*loaded_.bench, *loaded_.scenario, timeline);
  const record::PlayedRecord played = record::PlayRecord(folder_.Path("record"), *loaded_.bench,
                                                         *loaded_.scenario, timeline, checker);
  EXPECT_TRUE(played.problems.empty());  // what is there can be judged
  EXPECT_TRUE(played.why_ended.starts_with("watchdog")) << played.why_ended;
  EXPECT_GT(played.frames, 10u);
}

}  // namespace
}  // namespace drycrank::tools

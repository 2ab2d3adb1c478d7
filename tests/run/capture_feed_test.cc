// SPDX-License-Identifier: Apache-2.0
#include "run/capture_feed.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <numbers>

#include "capture/read_capture.h"
#include "run/runner.h"
#include "standin/comparator.h"
#include "tests/run/loaded.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::run {
namespace {

constexpr double kRateHz = 20'000;
constexpr double kStepNs = 1e9 / kRateHz;

// A coil's wave of 1 V whose frequency rises from 400 Hz to 900 Hz in a second: f(t) = 400 + 500 t.
double CoilV(double t_s) { return std::sin(2 * std::numbers::pi * (400 * t_s + 250 * t_s * t_s)); }

class PlayedSweep : public testing::Test {
 protected:
  PlayedSweep() : path_(scratch_.Path("sweep.csv")) {
    played_.file = path_;
    std::ofstream file(path_);
    file << "Time,crank\n";
    for (int k = 0; k < 20'000; ++k) {
      file << k / kRateHz << "," << CoilV(k / kRateHz) << "\n";
    }
  }
  std::vector<TimeNs> FallsOfTheComparator() {
    CaptureFeed feed(*loaded_.bench, played_);
    EXPECT_TRUE(feed.problems().empty());
    feed.Begin();
    standin::Comparator comparator(0.25, 1e-9);
    std::vector<TimeNs> falls;
    while (feed.NextNs() != kNever) {
      const plant::Feed::Piece piece = feed.Take();
      while (comparator.next_ns() < piece.wave.begin_ns) TakeEdge(comparator, falls);
      comparator.OnPiece(piece.wave);
    }
    while (comparator.next_ns() != kNever) TakeEdge(comparator, falls);
    return falls;
  }
  static void TakeEdge(standin::Comparator& comparator, std::vector<TimeNs>& falls) {
    const TimeNs t_ns = comparator.next_ns();
    if (!comparator.Take()) falls.push_back(t_ns);
  }
  std::vector<double> FallsOfMatch() {
    const capture::ReadResult read = capture::ReadCaptureFile(path_, *loaded_.bench, {});
    std::vector<double> falls;
    for (const capture::SeenChange& change : read.channels.at(0).changes) {
      if (!change.high) falls.push_back(change.t_ns);
    }
    return falls;
  }

  ScratchFolder scratch_;
  const std::string path_;
  profile::PlayedCapture played_;
  profile::LoadedScenario loaded_ = Shipped("hill_climb/captured_cam_late");
};

TEST_F(PlayedSweep, FallsWhereMatchFindsThemAndWhereTheWaveDoes) {
  const std::vector<TimeNs> falls = FallsOfTheComparator();
  const std::vector<double> of_match = FallsOfMatch();
  // 400 + 250 = 650 periods in the second; the first and the last may be cut.
  ASSERT_NEAR(static_cast<double>(falls.size()), 650, 1);
  ASSERT_NEAR(static_cast<double>(of_match.size()), 650, 2);
  std::size_t at = 0;
  for (const double match_ns : of_match) {
    while (at + 1 < falls.size() && static_cast<double>(falls[at]) < match_ns - kStepNs / 2) ++at;
    EXPECT_NEAR(static_cast<double>(falls[at]), match_ns, kStepNs);
    // Where the sweep's phase is half a period: sin is 0, and falls.
    const double t_s = ToSeconds(falls[at]);
    const double phase = 400 * t_s + 250 * t_s * t_s;
    EXPECT_NEAR(phase - std::floor(phase), 0.5, 900 / kRateHz);
  }
}

TEST_F(PlayedSweep, EndsWithTheCoilAtRest) {
  played_.begin_s = 2;
  CaptureFeed feed(*loaded_.bench, played_);
  feed.Begin();
  plant::Feed::Piece first, last;
  std::size_t pieces = 0;
  while (feed.NextNs() != kNever) {
    last = feed.Take();
    if (pieces++ == 0) first = last;
  }
  EXPECT_TRUE(feed.ended());
  EXPECT_EQ(feed.Trouble(), "");
  // At rest until it begins; 19,999 straight lines between 20,000 samples; at rest.
  EXPECT_EQ(pieces, 20'001u);
  EXPECT_EQ(first.wave.begin_ns, 0);
  EXPECT_EQ(first.wave.begin_v, 0);
  EXPECT_EQ(last.wave.end_ns, kNever);
  EXPECT_EQ(last.wave.begin_v, 0);
  EXPECT_EQ(last.wave.begin_ns, 2 * kNsPerS + 999'950'000);
}

TEST_F(PlayedSweep, OneThatIsGoneEndsTheRunAtOnceAndSaysSo) {
  played_.file = scratch_.Path("gone.csv");
  loaded_.scenario->capture = played_;
  Runner runner(*loaded_.bench, *loaded_.scenario, {});
  runner.Start();
  EXPECT_TRUE(runner.finished());
  EXPECT_NE(runner.failure().find("gone.csv: cannot be read"), std::string::npos)
      << runner.failure();
}

}  // namespace
}  // namespace drycrank::run

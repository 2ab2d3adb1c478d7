// SPDX-License-Identifier: Apache-2.0
//
// A pin on the crank beside a wheel with a gap: nothing fires by a place that it has not agreed to.
// Waves of rig.h; the crank turns by laws of the rig, so that where a spark belongs is known
// without the decoder.
#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <set>

#include "standin/rig.h"

namespace drycrank::standin {
namespace {

// 36 places of 10 degrees, the last without tooth; all four fired in pairs at 170 and 350 degrees.
profile::Bench PinBesideAGap() {
  profile::Bench bench = WithPin(EvenWheel(36, {36}), {2});
  bench.controller->decoder.firing = profile::Firing::kPaired;
  return bench;
}

// The worst of all sparks, degrees from where it belongs.
double WorstDeg(const Rig& rig, double start_deg, double rpm) {
  double worst_deg = 0;
  for (const OutputEvent& event : rig.events) {
    if (event.kind != OutputKind::kCoil || event.on) continue;
    const double due_deg = event.cylinder == 1 || event.cylinder == 4 ? 350 : 170;
    const double deg = start_deg + 6 * rpm * ToSeconds(event.t_ns);
    worst_deg = std::max(worst_deg, std::abs(std::remainder(deg - due_deg, 360)));
  }
  return worst_deg;
}

// Low for 100 us where the sensor is high: an edge of noise. Degrees since time 0 at a steady
// speed.
void AddNoise(Rig& rig, int input, const std::vector<double>& at_deg, double start_deg,
              double rpm) {
  rig.spoil = [=](std::vector<Rig::Piece>& pieces) {
    for (const double deg : at_deg) {
      const auto t_ns = static_cast<TimeNs>((deg - start_deg) / (6 * rpm) * 1e9);
      pieces.push_back({input, {t_ns, kNever, 0.1, 0.1, 0}});
      pieces.push_back({input, {t_ns + 100'000, kNever, 4.9, 4.9, 0}});
    }
  };
}

// A tooth more gone makes another gap in the turn: what comes after it looks like what comes after
// the gap, and a spark by it is as many teeth off. The pin, at 56 degrees, tells which of both it
// was.
TEST(APinBesideAGap, LeavesNoSparkByAToothThatIsGone) {
  for (int gone = 3; gone < 34; gone += 4) {
    Rig rig(PinBesideAGap(), 30);
    rig.shafts[0].wheel = EvenWheel(36, {gone, 36});
    std::set<SyncReason> said;
    for (int step = 0; step < 144; ++step) {
      rig.Turn(30, 900);
      said.insert(rig.reason());
    }
    EXPECT_TRUE(said.contains(SyncReason::kCamUnexpected) || said.contains(SyncReason::kToothLate))
        << gone;
    EXPECT_TRUE(rig.events.empty() || rig.Value("sync_losses") > 5) << gone;
    for (const auto& [cylinder, deg] : SparksAt(rig, 30, 900)) {
      EXPECT_EQ(deg % 360, cylinder == 1 || cylinder == 4 ? 350 : 170) << gone << " " << cylinder;
    }
  }
}

// A whole wheel and its pin fire as ever; with the pin's wire off the gap alone must do, and it is
// said.
TEST(APinBesideAGap, IsSaidWhenItNeverComes) {
  for (const bool fitted : {true, false}) {
    Rig rig(PinBesideAGap(), 30);
    rig.shafts[2].fitted = fitted;
    rig.Turns(12, 900);
    EXPECT_EQ(rig.reason(), fitted ? SyncReason::kNone : SyncReason::kCamMissing);
    EXPECT_EQ(rig.Value("sync_losses"), 0);
    EXPECT_GE(rig.Value("ignitions"), 20);
  }
}

// Four edges of noise for each tooth: a place found among them is a chance, and the pin is not
// there to agree. What passes is no turn in which the pin was missing, however many edges it has.
TEST(APinBesideAGap, IsNotGivenUpBecauseOfNoiseOnTheCrank) {
  for (unsigned seed = 1; seed <= 40; ++seed) {
    std::mt19937 random(seed);
    std::vector<double> at_deg;
    for (double deg = 41; deg < 10 * 360; deg += 1 + static_cast<double>(random() % 500) / 100) {
      if (std::fmod(deg, 30) > 15) at_deg.push_back(deg);  // the air after a tooth
    }
    profile::Bench bench = PinBesideAGap();
    bench.controller->triggers[0].wheel = EvenWheel(12, {12});
    Rig rig(bench, 40);
    AddNoise(rig, 0, at_deg, 40, 150);
    rig.Turns(10, 150);
    EXPECT_LT(WorstDeg(rig, 40, 150), 4) << "seed " << seed;
  }
}

// Of 60 teeth without two the first goes while the engine runs: a gap of four pitches instead of
// three is within the tolerance of a ratio. Not even the spark that comes before the pin does is
// late: the pin stands at 300 degrees, and one is due at 170.
TEST(APinBesideAGap, HoldsSparksBackFromTheToothOnThatIsGone) {
  for (const double pin_deg : {56.0, 300.0}) {
    profile::Bench bench = PinBesideAGap();
    bench.controller->triggers[0].wheel = EvenWheel(60, {59, 60});
    bench.controller->triggers[2].wheel = WheelOf({{pin_deg, pin_deg + 4}});
    Rig rig(bench, 30);
    rig.Turns(6, 900);
    const std::size_t before = SparksAt(rig, 30, 900).size();
    rig.shafts[0].wheel = EvenWheel(60, {59, 60, 1});
    rig.Turns(6, 900);
    EXPECT_GE(before, 16u) << pin_deg;
    EXPECT_LT(WorstDeg(rig, 30, 900), 0.1) << pin_deg;
    EXPECT_GE(rig.Value("sync_losses"), 1) << pin_deg;
  }
}

// Since it came at 56 degrees no gap has passed: two edges of noise behind it in each turn tell
// nothing.
TEST(APinBesideAGap, IsNotDoubtedForNoiseBehindIt) {
  for (const double noise_deg : {100.0, 20.0}) {
    std::vector<double> at_deg;
    for (int turn = 4; turn < 10; ++turn) {
      at_deg.push_back(360 * turn + noise_deg);
      at_deg.push_back(360 * turn + noise_deg + 15);
    }
    Rig rig(PinBesideAGap(), 30);
    AddNoise(rig, 2, at_deg, 30, 900);
    rig.Turns(12, 900);
    EXPECT_EQ(rig.Value("sync_losses") > 0, noise_deg < 56) << noise_deg;
    EXPECT_LT(WorstDeg(rig, 30, 900), 0.1);
  }
}

// What changes with the speed is not what a tooth changes: from cranking with its ripple to a
// steady speed, up and down again, and no spark is lost. The twin has no pin.
TEST(APinBesideAGap, LosesNoSparkOfAWheelThatIsWhole) {
  for (double start_deg = 1; start_deg < 360; start_deg += 13) {
    Rig with(PinBesideAGap(), start_deg);
    profile::Bench none = PinBesideAGap();
    none.controller->decoder.cams.clear();
    Rig without(none, start_deg);
    for (Rig* rig : {&with, &without}) {
      rig->TurnWithRipple(360 * 5 + 45 - start_deg, 250, 0.25);  // here its speed is the mean one
      rig->Turn(360 * 3, 250);
      rig->Ramp(360 * 40, 250, 4000);
      rig->Ramp(360 * 20, 4000, 900);
    }
    for (Rig* rig : {&with, &without}) {  // a turn after the last place was found
      std::erase_if(rig->events, [](const OutputEvent& e) { return ToSeconds(e.t_ns) < 0.72; });
    }
    EXPECT_EQ(SparksAt(with, 0, 900), SparksAt(without, 0, 900)) << start_deg;
    EXPECT_GE(with.Value("ignitions"), 80);
  }
}

}  // namespace
}  // namespace drycrank::standin

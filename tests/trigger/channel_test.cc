// SPDX-License-Identifier: Apache-2.0
// Faults, steps of the advance, and lobes, each on one wheel.
#include "trigger/channel.h"

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <cmath>

#include "tests/trigger/wheels.h"
#include "types/random.h"

namespace drycrank::trigger {
namespace {

using profile::Shaft;
using testing::Coil;
using testing::HalfMoon;
using testing::Hall;
using testing::Hold;
using testing::Ramp;
using testing::Rig;
using testing::SixtyMinusTwo;
using testing::Toothed;

// At 1 r/min = 6 deg/s a degree lasts 166.67 ms; at 60,000,000 / 360 ns a degree at 1000 r/min.
TimeNs AtDeg(double deg, double rpm) { return FromSeconds(deg / (6 * rpm)); }

void SetFault(Rig& rig, TimeNs t_ns, const ChannelFault& fault) {
  rig.stream.SetFault(0, fault);
  rig.stream.Restart(t_ns, rig.motion);
}
void SetAdvance(Rig& rig, TimeNs t_ns, double deg) {
  rig.stream.SetAdvance(0, {.begin_deg = deg});
  rig.stream.Restart(t_ns, rig.motion);
}

// ---- faults -------------------------------------------------------------------------------------

TEST(ChannelFault, NotFittedGivesNothing) {
  Rig rig({Hall(Shaft::kCrank, SixtyMinusTwo())});
  SetFault(rig, 0, {.fitted = false});
  rig.Begin(0, Hold(1000));
  // The tooth at the start is no longer seen; after that, silence.
  const auto events = rig.TakeUntil(kNsPerS);
  ASSERT_EQ(events.size(), 1u);
  EXPECT_FALSE(events[0].metal);
  EXPECT_FALSE(rig.stream.metal(0));
}

TEST(ChannelFault, WheelMountedLateGivesEachEdgeLate) {
  Rig on_time({Hall(Shaft::kCam, HalfMoon(), 50)});
  Rig late({Hall(Shaft::kCam, HalfMoon(), 50)});
  SetFault(late, 0, {.late_deg = 12});
  on_time.Begin(0, Hold(1000));
  late.Begin(0, Hold(1000));
  const auto expected = on_time.TakeUntil(kNsPerS);
  const auto seen = late.TakeUntil(kNsPerS + AtDeg(12, 1000));
  ASSERT_EQ(seen.size(), expected.size());
  for (std::size_t i = 0; i < seen.size(); ++i) {
    EXPECT_EQ(seen[i].t_ns, expected[i].t_ns + AtDeg(12, 1000));
    EXPECT_EQ(seen[i].metal, expected[i].metal);
  }
}

TEST(ChannelFault, MissingToothLeavesOutItsTwoEdges) {
  Rig rig({Hall(Shaft::kCrank, Toothed(4))});
  SetFault(rig, 0, {.missing_teeth = {3}});
  rig.Begin(0, Hold(1000));
  // Edges at 45, 90, 135, [180, 225,] 270, 315, 360 deg.
  const double degrees[] = {45, 90, 135, 270, 315, 360};
  const auto events = rig.TakeUntil(AtDeg(361, 1000));
  ASSERT_EQ(events.size(), 6u);
  for (std::size_t i = 0; i < 6; ++i) EXPECT_EQ(events[i].t_ns, AtDeg(degrees[i], 1000));
}

TEST(ChannelFault, ChangeDuringTheRunGivesTheLevelAtOnce) {
  Rig rig({Hall(Shaft::kCrank, Toothed(4))});
  rig.Begin(0, Hold(1000));
  const TimeNs t_ns = AtDeg(200, 1000);  // in the middle of tooth 3
  EXPECT_TRUE(rig.TakeUntil(t_ns).back().metal);
  SetFault(rig, t_ns, {.missing_teeth = {3}});
  const auto events = rig.TakeUntil(AtDeg(271, 1000));
  ASSERT_EQ(events.size(), 2u);
  EXPECT_EQ(events[0].t_ns, t_ns);
  EXPECT_FALSE(events[0].metal);
  EXPECT_EQ(events[1].t_ns, AtDeg(270, 1000));
  EXPECT_TRUE(events[1].metal);
}

TEST(ChannelFault, HealedOneGivesTheWheelAsBefore) {
  Rig healed({Hall(Shaft::kCrank, SixtyMinusTwo())});
  Rig never_ill({Hall(Shaft::kCrank, SixtyMinusTwo())});
  healed.Begin(0, Hold(1000));
  never_ill.Begin(0, Hold(1000));
  SetFault(healed, AtDeg(100, 1000), {.fitted = false});
  SetFault(healed, AtDeg(7200, 1000), {});
  const TimeNs then_ns = AtDeg(7201, 1000);
  healed.TakeUntil(then_ns);
  never_ill.TakeUntil(then_ns);
  for (int i = 0; i < 200; ++i) {
    const TriggerEvent a = healed.stream.Take(healed.motion);
    const TriggerEvent b = never_ill.stream.Take(never_ill.motion);
    ASSERT_EQ(a.t_ns, b.t_ns);
    ASSERT_EQ(a.metal, b.metal);
  }
}

TEST(ChannelFault, SettingTheSameAgainChangesNothing) {
  Rig rig({Hall(Shaft::kCam, HalfMoon(), 50)});
  rig.Begin(0, Hold(1000));
  const TimeNs t_ns = AtDeg(50, 1000);
  ASSERT_EQ(rig.TakeUntil(t_ns).size(), 1u);
  SetAdvance(rig, t_ns, -30);  // the edge would come again
  SetFault(rig, t_ns, {});
  EXPECT_FALSE(rig.stream.Peek().metal);
}

// ---- steps of the advance -----------------------------------------------------------------------

TEST(ChannelAdvance, StepForwardGivesOvertakenEdgesAtOnce) {
  Rig rig({Hall(Shaft::kCrank, Toothed(36))});  // an edge every 5 deg
  rig.Begin(0, Hold(1000));
  const TimeNs t_ns = AtDeg(12, 1000);
  ASSERT_EQ(rig.TakeUntil(t_ns).size(), 2u);  // 5, 10
  SetAdvance(rig, t_ns, 20);                  // wheel at 32: overtakes 15, 20, 25, 30
  const auto events = rig.TakeUntil(t_ns);
  ASSERT_EQ(events.size(), 4u);
  for (std::size_t i = 1; i < 4; ++i) EXPECT_NE(events[i].metal, events[i - 1].metal);
  EXPECT_EQ(rig.stream.Peek().t_ns, AtDeg(15, 1000));  // the edge at 35
}

TEST(ChannelAdvance, StepBackRepeatsNoEdge) {
  Rig rig({Hall(Shaft::kCrank, Toothed(36))});
  rig.Begin(0, Hold(1000));
  const TimeNs t_ns = AtDeg(12, 1000);
  rig.TakeUntil(t_ns);
  SetAdvance(rig, t_ns, -20);  // wheel at -8; edges 5 and 10 have been
  EXPECT_EQ(rig.stream.Peek().t_ns, AtDeg(15 + 20, 1000));
}

TEST(ChannelAdvance, ManyStepsLoseNoEdge) {
  Rig rig({Hall(Shaft::kCam, Toothed(4), 7)});
  rig.Begin(0, Hold(6000));
  Random random(4, 0);
  std::size_t count = 0;
  bool metal = rig.stream.metal(0);
  for (TimeNs t_ns = 0; t_ns < 10 * kNsPerS;
       t_ns += 1 + static_cast<TimeNs>(random.Uniform() * 2e7)) {
    for (const TriggerEvent& event : rig.TakeUntil(t_ns)) {
      ASSERT_NE(event.metal, metal);
      metal = event.metal;
      ++count;
    }
    const double now_deg = -40 + 80 * random.Uniform();
    rig.stream.SetAdvance(0, {t_ns, now_deg, 400 * (random.Uniform() - 0.5), t_ns + 5'000'000});
    rig.stream.Restart(t_ns, rig.motion);
  }
  const TimeNs end_ns = 11 * kNsPerS + 1'000'000;
  count += (SetAdvance(rig, 10'100'000'000, 0), rig.TakeUntil(end_ns).size());
  // 100 turns/s for 11.001 s = 1100.1 turns = 396,036 deg; edges every 90 deg from 7 on:
  // (396,036 - 7) / 90 = 4400.3, and the one at 7 itself.
  EXPECT_EQ(count, 4401u);
}

// ---- lobes --------------------------------------------------------------------------------------

// Faraday: peak proportional to speed. tests/reference/crank_cam.yaml, worked_scaling: peak to peak
// volts at each speed, from a measured 26 V at 6000 r/min.
TEST(ChannelLobe, PeakScalesWithSpeedAsPublished) {
  const YAML::Node reference = YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/crank_cam.yaml");
  const YAML::Node rows = reference["variable_reluctance"]["worked_scaling"];
  ASSERT_EQ(rows.size(), 3u);
  for (const YAML::Node& row : rows) {
    Rig rig({Coil(Shaft::kCrank, SixtyMinusTwo())});
    rig.Begin(0, Hold(row[0].as<double>()));
    for (const TriggerEvent& event : rig.TakeUntil(kNsPerS / 2)) {
      // The table is rounded to 1 mV; 1 ns of a lobe of 83 us is 1.2e-5.
      const double sign = event.metal ? 1 : -1;
      EXPECT_NEAR(2 * sign * event.lobe_peak_v, row[1].as<double>(), 1e-3);
    }
  }
}

TEST(ChannelLobe, AbutAlongTheTeethAndRestInTheGap) {
  Rig rig({Coil(Shaft::kCrank, SixtyMinusTwo())});
  rig.Begin(0, Hold(1000));
  // Last edge of tooth 58 at 345, its lobe to 346.5; tooth 1 again at 360, lobe from 358.5.
  auto events = rig.TakeUntil(AtDeg(359, 1000));
  for (std::size_t i = 1; i + 1 < events.size(); ++i) {
    EXPECT_EQ(events[i].t_ns, events[i - 1].lobe_end_ns);
    EXPECT_NE(events[i].metal, events[i - 1].metal);
  }
  const TriggerEvent& first = events.back();
  const TriggerEvent& last = events[events.size() - 2];
  EXPECT_EQ(last.lobe_end_ns, AtDeg(346.5, 1000));
  EXPECT_LT(last.lobe_peak_v, 0);
  EXPECT_EQ(first.t_ns, AtDeg(358.5, 1000));
  EXPECT_GT(first.lobe_peak_v, 0);
}

TEST(ChannelLobe, FallsThroughZeroAtTheToothsCentre) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))});
  rig.Begin(0, Hold(1000));
  // Tooth 2 is from 10 to 15 deg: a negative lobe begins at 12.5 where the positive one ends.
  const auto events = rig.TakeUntil(AtDeg(13, 1000));
  EXPECT_EQ(events.back().t_ns, AtDeg(12.5, 1000));
  EXPECT_FALSE(events.back().metal);
}

TEST(ChannelLobe, FluxChangeIsTheSameForEveryEdge) {
  // Peak x duration, up to the half sine's 2 / pi. Widths 4 and 10 deg (see Wheel.LobesReach...);
  // the full one is 10 deg, so 13 V * 10 / 4 = 32.5 V for the narrow one at 6000 r/min.
  Rig rig({Coil(Shaft::kCrank, {.name = "", .teeth = {{10, 14}, {30, 40}}})});
  rig.Begin(0, Hold(6000));
  const auto events = rig.TakeUntil(AtDeg(50, 6000));
  ASSERT_EQ(events.size(), 4u);
  EXPECT_NEAR(events[0].lobe_peak_v, 32.5, 1e-3);
  EXPECT_NEAR(events[2].lobe_peak_v, 13, 1e-3);
}

TEST(ChannelLobe, MissingToothLeavesItsNeighboursAsTheyWere) {
  Rig whole({Coil(Shaft::kCrank, Toothed(36))});
  Rig gap({Coil(Shaft::kCrank, Toothed(36))});
  SetFault(gap, 0, {.missing_teeth = {5}});
  whole.Begin(0, Hold(1000));
  gap.Begin(0, Hold(1000));
  auto expected = whole.TakeUntil(AtDeg(360, 1000));
  const auto seen = gap.TakeUntil(AtDeg(360, 1000));
  // Tooth 5 is from 40 to 45 deg: lobes from 37.5 and 42.5.
  std::erase_if(expected, [](const TriggerEvent& e) {
    return e.t_ns == AtDeg(37.5, 1000) || e.t_ns == AtDeg(42.5, 1000);
  });
  ASSERT_EQ(seen.size(), expected.size());
  for (std::size_t i = 0; i < seen.size(); ++i) {
    EXPECT_EQ(seen[i].t_ns, expected[i].t_ns);
    EXPECT_EQ(seen[i].lobe_end_ns, expected[i].lobe_end_ns);
    EXPECT_EQ(seen[i].lobe_peak_v, expected[i].lobe_peak_v);
  }
}

TEST(ChannelLobe, StandstillCutsTheLobeInProgress) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))});
  rig.Begin(0, Hold(1000));
  const TimeNs t_ns = AtDeg(13, 1000);  // lobe from 12.5 to 17.5
  ASSERT_GT(rig.TakeUntil(t_ns).back().lobe_end_ns, t_ns);
  rig.Begin(t_ns, Hold(0));
  const auto events = rig.TakeUntil(kNsPerS);
  ASSERT_EQ(events.size(), 1u);
  EXPECT_EQ(events[0].t_ns, t_ns);
  EXPECT_EQ(events[0].lobe_peak_v, 0);
  rig.Begin(kNsPerS, Hold(1000));  // and on: the next lobe from 17.5
  EXPECT_EQ(rig.stream.Peek().t_ns, kNsPerS + AtDeg(4.5, 1000));
  EXPECT_GT(rig.stream.Peek().lobe_peak_v, 0);
}

// Lobes of 5 deg from 12.5 on, negative. At 13 deg the crank goes on twice as fast: 4.5 deg are
// left of it, 0.9 of its half sine, at the height of the new speed.
TEST(ChannelLobe, AChangeOfSpeedInsideItIsFollowedToItsEnd) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))});
  rig.Begin(0, Hold(1000));
  const TimeNs t_ns = AtDeg(13, 1000);
  rig.TakeUntil(t_ns);
  rig.Begin(t_ns, Hold(2000));
  const auto events = rig.TakeUntil(t_ns + AtDeg(6, 2000));
  ASSERT_EQ(events.size(), 2u);
  const TriggerEvent& rest = events[0];
  const TriggerEvent& next = events[1];
  EXPECT_EQ(rest.t_ns, t_ns);
  EXPECT_FALSE(rest.metal);
  EXPECT_NEAR(static_cast<double>(rest.lobe_end_ns), static_cast<double>(t_ns + AtDeg(4.5, 2000)),
              1);
  EXPECT_EQ(next.t_ns, rest.lobe_end_ns);
  EXPECT_EQ(next.lobe_begin_v, 0);
  // sin(pi x) at 0.1 and, in the middle of what is left, at 0.55.
  const double peak_v = next.lobe_peak_v;
  EXPECT_NEAR(rest.lobe_begin_v, -peak_v * 0.309017, 1e-4 * peak_v);
  EXPECT_NEAR(rest.lobe_begin_v / 2 + rest.lobe_peak_v, -peak_v * 0.987688, 1e-4 * peak_v);
}

// A change so small that the lobe's end moves by a nanosecond or two is one too. Its exact end, in
// extended precision: t + (17.5 deg - 6 n0 t) / (6 n1), n in r/min, times in s; an announced one is
// rounded by half of a ns.
TEST(ChannelLobe, AChangeThatMovesItsEndByANanosecondMovesIt) {
  Random random(5, 11);
  for (int i = 0; i < 500; ++i) {
    Rig rig({Coil(Shaft::kCrank, Toothed(36))});
    const double before_rpm = 300 + 5000 * random.Uniform();
    const double after_rpm = before_rpm * (1 + (random.Uniform() - 0.5) * 4e-9 * before_rpm);
    rig.Begin(0, Hold(before_rpm));
    const TimeNs t_ns = AtDeg(13 + random.Uniform(), before_rpm);
    rig.TakeUntil(t_ns);
    rig.Begin(t_ns, Hold(after_rpm));
    const auto turned_deg = 6e-9L * before_rpm * static_cast<long double>(t_ns);
    const long double end_ns =
        static_cast<long double>(t_ns) + (17.5L - turned_deg) / (6e-9L * after_rpm);
    const auto events = rig.TakeUntil(t_ns + AtDeg(5, before_rpm));
    ASSERT_FALSE(events.empty());
    // The next lobe begins where this one ends.
    EXPECT_LE(std::abs(static_cast<long double>(events.back().t_ns) - end_ns), 0.51L)
        << before_rpm << " " << after_rpm << " " << t_ns;
  }
}

TEST(ChannelLobe, IsNotPlannedAnewWhenTheMotionGoesOnAsItDid) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))});
  rig.Begin(0, Hold(1000));
  const TimeNs t_ns = AtDeg(13, 1000);
  rig.TakeUntil(t_ns);
  rig.Begin(t_ns, Hold(1000));
  const auto events = rig.TakeUntil(t_ns + AtDeg(5, 1000));
  ASSERT_EQ(events.size(), 1u);
  EXPECT_NEAR(static_cast<double>(events[0].t_ns), static_cast<double>(AtDeg(17.5, 1000)), 1);
}

// Many changes inside many lobes: each lobe ends where the next begins, to the nanosecond, and none
// is lost.
TEST(ChannelLobe, AbutThroughAllChangesOfSpeed) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))});
  Random random(3, 7);
  TimeNs t_ns = 0;
  std::vector<TriggerEvent> events;
  for (int i = 0; i < 300; ++i) {
    rig.Begin(t_ns, Hold(300 + 5000 * random.Uniform()));
    t_ns += 100'000 + static_cast<TimeNs>(900'000 * random.Uniform());
    for (const TriggerEvent& event : rig.TakeUntil(t_ns)) events.push_back(event);
  }
  int rests = 0;
  for (std::size_t i = 1; i < events.size(); ++i) {
    if (events[i].lobe_begin_v != 0) {
      ++rests;
      EXPECT_EQ(events[i].metal, events[i - 1].metal);
    } else {
      EXPECT_NE(events[i].metal, events[i - 1].metal);
      EXPECT_NEAR(static_cast<double>(events[i].t_ns),
                  static_cast<double>(events[i - 1].lobe_end_ns), 1);
    }
  }
  EXPECT_GT(rests, 250);
}

TEST(ChannelLobe, NoEmfWhenTheCrankComesToRestInside) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))});
  rig.Begin(0, Ramp(10, 0, 1));  // turns 30 deg, into the lobe from 27.5 to 32.5
  const auto events = rig.TakeUntil(2 * kNsPerS);
  EXPECT_EQ(events.back().lobe_end_ns, kNever);
  EXPECT_EQ(events.back().lobe_peak_v, 0);
}

TEST(ChannelLobe, OvertakenOnesMakeNoSpike) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))});  // lobes of 5 deg from 2.5 on
  rig.Begin(0, Hold(6000));
  const TimeNs t_ns = AtDeg(12, 6000);
  rig.TakeUntil(t_ns);
  SetAdvance(rig, t_ns,
             20);  // wheel at 32: lobes from 12.5, 17.5, 22.5 are over, that from 27.5 is not
  const auto events = rig.TakeUntil(t_ns);
  // That from 7.5, in which it was, is over too.
  ASSERT_EQ(events.size(), 5u);
  for (std::size_t i = 0; i < 4; ++i) EXPECT_EQ(events[i].lobe_peak_v, 0);
  EXPECT_EQ(events[4].lobe_end_ns, t_ns + AtDeg(0.5, 6000));
  EXPECT_NEAR(std::abs(events[4].lobe_peak_v), 13, 0.01);
}

TEST(Channel, WheelWithoutTeethIsSilent) {
  Rig rig({Hall(Shaft::kCrank, {}), Coil(Shaft::kCam, {})});
  rig.Begin(0, Hold(1000));
  EXPECT_EQ(rig.stream.Peek().t_ns, kNever);
  EXPECT_EQ(rig.stream.Peek().channel, -1);
}

}  // namespace
}  // namespace drycrank::trigger

// SPDX-License-Identifier: Apache-2.0
// A crank that swings back, and a wheel off its centre.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/trigger/wheels.h"
#include "trigger/channel.h"
#include "types/nth.h"

namespace drycrank::trigger {
namespace {

using profile::Shaft;
using testing::Coil;
using testing::Hall;
using testing::Hold;
using testing::Rig;
using testing::Toothed;

TimeNs AtDeg(double deg, double rpm) { return FromSeconds(deg / (6 * rpm)); }

void SetFault(Rig& rig, TimeNs t_ns, const ChannelFault& fault) {
  rig.stream.SetFault(0, fault);
  rig.stream.Restart(t_ns, rig.motion);
}

// ---- swinging back ------------------------------------------------------------------------------

// 12 degrees back from 100: a = 6 (1 - cos(pi t / 0.15)).
Segment Back() {
  return {.kind = SegmentKind::kBack, .duration_s = 0.15, .amplitude_rpm = 20.943951023931955};
}
TimeNs BackAt(double deg) { return FromSeconds(0.15 / std::numbers::pi * std::acos(1 - deg / 6)); }

// Teeth of 5 degrees every 10: 95 and 90 are met again, from behind.
TEST(ChannelBack, HallEdgesComeInReverse) {
  Rig rig({Hall(Shaft::kCrank, Toothed(36))}, 4, CrankAngle::FromDegrees(0, 98));
  rig.Begin(0, Back());
  const auto events = rig.TakeUntil(kNsPerS);
  ASSERT_EQ(events.size(), 2u);
  EXPECT_NEAR(static_cast<double>(events[0].t_ns - BackAt(3)), 0, 1);
  EXPECT_TRUE(events[0].metal);  // into the tooth at its end
  EXPECT_NEAR(static_cast<double>(events[1].t_ns - BackAt(8)), 0, 1);
  EXPECT_FALSE(events[1].metal);
}

TEST(ChannelBack, AfterwardsEachEdgeComesOnceMore) {
  Rig rig({Hall(Shaft::kCrank, Toothed(36))}, 4, CrankAngle::FromDegrees(0, 98));
  rig.Begin(0, Back());
  rig.TakeUntil(kNsPerS);
  rig.Begin(kNsPerS, Hold(1000));  // from 86 on: 90, 95, 100
  const auto events = rig.TakeUntil(kNsPerS + AtDeg(15, 1000));
  ASSERT_EQ(events.size(), 3u);
  for (int i = 0; i < 3; ++i) {
    EXPECT_NEAR(static_cast<double>(events[AsSize(i)].t_ns - kNsPerS - AtDeg(4 + 5 * i, 1000)), 0,
                1);
    EXPECT_EQ(events[AsSize(i)].metal, i != 1);
  }
}

// Lobes of 5 degrees around each edge. At 98 the crank stands in the one of 100, of which half a degree,
// a tenth, is met again; then come those of 95 and 90; in the one of 85 it comes to rest.
TEST(ChannelBack, LobesOfACoilHaveTheOtherSign) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))}, 4, CrankAngle::FromDegrees(0, 98));
  rig.Begin(0, Back());
  const auto events = rig.TakeUntil(kNsPerS);
  ASSERT_EQ(events.size(), 4u);
  const double begins_deg[] = {0, 0.5, 5.5, 10.5};
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_NEAR(static_cast<double>(events[i].t_ns - BackAt(begins_deg[i])), 0, 1);
    if (i == 3) break;
    EXPECT_NEAR(static_cast<double>(events[i].lobe_end_ns - BackAt(begins_deg[i + 1])), 0, 1);
    EXPECT_EQ(events[i].lobe_peak_v > 0, i == 1);
  }
  // The same change of flux in another time: peak x duration is 13 V x 5 degrees at 6000 r/min.
  const double flux = 13 * 5 / 36000.0;
  const auto lasts_s = [&](std::size_t i) {
    return ToSeconds(events[i].lobe_end_ns - events[i].t_ns);
  };
  EXPECT_NEAR(events[0].lobe_peak_v * lasts_s(0), -flux / 10, 1e-7);
  EXPECT_NEAR(events[1].lobe_peak_v * lasts_s(1), flux, 1e-7);
  EXPECT_EQ(events[3].lobe_peak_v, 0);
}

TEST(ChannelBack, AStepInBetweenChangesNothing) {
  for (const bool coil : {false, true}) {
    Rig rig({coil ? Coil(Shaft::kCrank, Toothed(36)) : Hall(Shaft::kCrank, Toothed(36))}, 4,
            CrankAngle::FromDegrees(0, 98));
    rig.Begin(0, Back());
    std::vector<TriggerEvent> events;
    for (TimeNs t_ns = 0; t_ns < kNsPerS; t_ns += 7 * kNsPerMs) {
      for (const TriggerEvent& event : rig.TakeUntil(t_ns)) events.push_back(event);
      rig.stream.Restart(t_ns, rig.motion);
    }
    EXPECT_EQ(events.size(), coil ? 4u : 2u);
  }
}

// ---- a wheel off its centre ---------------------------------------------------------------------

// At 6000 r/min 13 V on the healthy wheel; 1 - 0.4 cos(w - 90): 7.8 V at 90 degrees, 18.2 V at 270.
TEST(ChannelFault, AnEccentricWheelSwingsTheLobes) {
  Rig rig({Coil(Shaft::kCrank, Toothed(36))});
  SetFault(rig, 0, {.runout_at_deg = 90, .runout_swing = 0.4});
  rig.Begin(0, Hold(6000));
  double lowest = 1e9, highest = 0;
  for (const TriggerEvent& event : rig.TakeUntil(AtDeg(720, 6000))) {
    if (event.t_ns < AtDeg(10, 6000)) continue;
    const double at_deg = 36000 * ToSeconds(event.t_ns) + 2.5;
    const double due = 1 - 0.4 * std::cos((at_deg - 90) * std::numbers::pi / 180);
    EXPECT_NEAR(std::abs(event.lobe_peak_v), 13 * due, 1e-3);
    lowest = std::min(lowest, std::abs(event.lobe_peak_v));
    highest = std::max(highest, std::abs(event.lobe_peak_v));
  }
  EXPECT_NEAR(lowest, 7.8, 1e-3);
  EXPECT_NEAR(highest, 18.2, 1e-3);
}

}  // namespace
}  // namespace drycrank::trigger

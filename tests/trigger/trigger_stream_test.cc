// SPDX-License-Identifier: Apache-2.0
#include "trigger/trigger_stream.h"

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <array>

#include "profile/triggers.h"
#include "tests/engine/oracle.h"
#include "tests/trigger/wheels.h"
#include "trigger/wheel_edges.h"
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
using testing::Turning;

// Tooth periods of 60-2 and 36-1 and the cam's frequency, tests/reference/crank_cam.yaml.
TEST(TriggerStream, TimesMatchThePublishedTable) {
  const YAML::Node reference = YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/crank_cam.yaml");
  ASSERT_EQ(reference["frequency_table"].size(), 8u);
  for (const YAML::Node& row : reference["frequency_table"]) {
    Rig rig({Hall(Shaft::kCrank, SixtyMinusTwo()), Hall(Shaft::kCrank, Toothed(36, {36})),
             Hall(Shaft::kCam, HalfMoon())});
    rig.Begin(0, Hold(row[0].as<double>()));
    std::array<std::vector<TimeNs>, 3> begins;
    for (const TriggerEvent& event : rig.TakeUntil(2 * kNsPerS)) {
      if (event.metal) begins[static_cast<std::size_t>(event.channel)].push_back(event.t_ns);
    }
    const auto period_us = [&](std::size_t channel) {
      return static_cast<double>(begins[channel][1] - begins[channel][0]) * 1e-3;
    };
    EXPECT_NEAR(period_us(0), row[2].as<double>(), 2e-3);  // table's rounding and 1 ns
    EXPECT_NEAR(period_us(1), row[4].as<double>(), 2e-3);
    EXPECT_NEAR(1e6 / period_us(2), row[5].as<double>(), 1e-5);
  }
}

TEST(TriggerStream, SilentUntilTheFirstRestart) {
  const std::vector<profile::Trigger> triggers{Hall(Shaft::kCrank, SixtyMinusTwo())};
  EXPECT_EQ(TriggerStream(Turning(triggers)).Peek().t_ns, kNever);
}

TEST(TriggerStream, StartsWithTheLevelAtTheStartAngle) {
  const std::vector<profile::Trigger> triggers{Hall(Shaft::kCrank, Toothed(4)),
                                               Hall(Shaft::kCam, HalfMoon())};
  const Rig at_zero(triggers);
  EXPECT_TRUE(at_zero.stream.metal(0));
  EXPECT_TRUE(at_zero.stream.metal(1));
  const Rig later(triggers, 4,
                  CrankAngle{1, 50});  // tooth 1 is over at 45; cam half is over at 360
  EXPECT_FALSE(later.stream.metal(0));
  EXPECT_FALSE(later.stream.metal(1));
}

TEST(TriggerStream, TiesGoToTheLowerChannel) {
  Rig rig({Hall(Shaft::kCrank, Toothed(4)), Hall(Shaft::kCrank, Toothed(4))});
  rig.Begin(0, Hold(1000));
  for (int i = 0; i < 100; ++i) EXPECT_EQ(rig.stream.Take(rig.motion).channel, i % 2);
}

TEST(TriggerStream, CamOfATwoStrokeComesEveryTurn) {
  Rig rig({Hall(Shaft::kCam, HalfMoon())}, 2);
  rig.Begin(0, Hold(60));
  EXPECT_EQ(rig.TakeUntil(10 * kNsPerS).size(), 20u);  // 10 turns, 2 edges each
}

// The whole way from a wheel to nanoseconds, against quadrature: 60-2 while revving to 20,000
// r/min.
TEST(TriggerStream, EdgesOfARampAreWithin1NsOfQuadrature) {
  const Segment segment = Ramp(150, 20000, 0.5);
  Rig rig({Hall(Shaft::kCrank, SixtyMinusTwo(), 78)});
  rig.Begin(0, segment);
  const quadrature::Oracle oracle(segment);
  const auto events = rig.TakeUntil(kNsPerS / 2);
  ASSERT_GT(events.size(), 9000u);  // 0.5 s of 10,075 r/min on the mean: 83.96 turns of 116 edges
  // The wheel at angle 0 is 78 deg before its own zero: at 282, in the tooth from 282 to 285.
  int slot_edge = 1;  // edges are 3 deg apart; number k is at 282 + 3 k of the wheel
  for (const TriggerEvent& event : events) {
    while ((282 + 3 * slot_edge) % 360 >= 348) ++slot_edge;  // slots 59 and 60 have none
    const quadrature::Real exact_s = oracle.TimeAt(3 * slot_edge, 0, 0.5L);
    ASSERT_LT(std::abs(static_cast<quadrature::Real>(event.t_ns) - exact_s * 1e9L), 0.6L);
    ++slot_edge;
  }
}

// ---- random changes of the motion ---------------------------------------------------------------

Segment RandomSegment(Random& random, double rpm_now) {
  const double to_rpm = random.Next() % 4 == 0 ? 0 : 20000 * random.Uniform();
  switch (random.Next() % 4) {
    case 0:
      return Hold(to_rpm);
    case 1:
      return Ramp(rpm_now, to_rpm, 0.2 * random.Uniform());
    case 2:
      return {.kind = SegmentKind::kSine,
              .speed_rpm = to_rpm,
              .amplitude_rpm = to_rpm * random.Uniform(),
              .period_s = 0.001 + random.Uniform()};
    default:
      return {.kind = SegmentKind::kCrank,
              .speed_rpm = to_rpm,
              .ripple = 0.9 * random.Uniform(),
              .per_turn = 2};
  }
}

// Edges in (0, end] of a wheel, counted from its drawing.
std::size_t EdgesUpTo(double end_deg, const profile::Trigger& trigger) {
  const double period_deg = Turning(trigger).turn_deg;
  const double periods = std::floor(end_deg / period_deg);
  std::size_t count = static_cast<std::size_t>(periods) * trigger.wheel.teeth.size() * 2;
  const double cam = period_deg / 360;
  for (const Tooth& tooth : trigger.wheel.teeth) {
    for (const double edge_deg : {tooth.begin_deg, tooth.end_deg}) {
      const double deg = WrapDeg(trigger.offset_deg + cam * edge_deg, period_deg);
      if (deg > 0 && deg <= end_deg - periods * period_deg) ++count;
    }
  }
  return count;
}

TEST(TriggerStreamProperty, NoEdgeIsLostOrDoubledOverRandomSegments) {
  const std::vector<profile::Trigger> triggers{
      Hall(Shaft::kCrank, SixtyMinusTwo(), 77.3), Hall(Shaft::kCam, HalfMoon(), 301.7),
      Hall(Shaft::kCrank, Toothed(36, {36}), 11.9), Coil(Shaft::kCrank, SixtyMinusTwo())};
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    Random random(seed, 0);
    Rig rig(triggers);
    std::array<std::size_t, 4> count{};
    std::array<bool, 4> metal{};
    for (std::size_t i = 0; i < 4; ++i) metal[i] = rig.stream.metal(static_cast<int>(i));
    TimeNs last_ns = 0;
    const auto take_until = [&](TimeNs t_ns) {
      for (const TriggerEvent& event : rig.TakeUntil(t_ns)) {
        ASSERT_GE(event.t_ns, last_ns);
        last_ns = event.t_ns;
        const auto channel = static_cast<std::size_t>(event.channel);
        if (channel == 3 && event.lobe_end_ns == event.t_ns) continue;  // a lobe cut short
        if (event.lobe_begin_v != 0) continue;                          // the rest of one
        ASSERT_NE(event.metal, metal[channel]);
        metal[channel] = event.metal;
        ++count[channel];
      }
    };
    TimeNs t_ns = 0;
    for (int i = 0; i < 300; ++i) {
      // One in four follows at once, on the same nanosecond or that of the next edge.
      const std::uint64_t when = random.Next() % 8;
      if (when == 0 && rig.stream.Peek().t_ns < t_ns + kNsPerS) t_ns = rig.stream.Peek().t_ns;
      if (when > 1) t_ns += static_cast<TimeNs>(4e7 * random.Uniform() * random.Uniform());
      take_until(when % 2 == 0 ? t_ns - 1 : t_ns);
      rig.Begin(t_ns, RandomSegment(random, rig.motion.SpeedRpmAt(t_ns)));
    }
    // To an angle at no edge: the next ones are at 101.3, 301.7, 101.9, and a lobe's begin at
    // 103.5.
    rig.Begin(t_ns, Hold(600));
    const CrankAngle stop{rig.motion.AngleAt(t_ns).turns + 3, 101};
    const TimeNs stop_ns = rig.motion.TimeAt(stop);
    take_until(stop_ns);
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_EQ(count[i], EdgesUpTo(stop.Minus({}), triggers[i])) << "seed " << seed << " ch " << i;
    }
    // Lobes begin 1.5 deg before their edges; the one of the edge at 0 had begun at the start.
    EXPECT_EQ(count[3], EdgesUpTo(stop.Minus({}) + 1.5, triggers[3])) << "seed " << seed;
  }
}

TEST(TriggerStreamProperty, StopsAndStartsAgainWhereItStood) {
  Rig rig({Hall(Shaft::kCrank, SixtyMinusTwo())});
  std::size_t count = 0;
  TimeNs t_ns = 0;
  for (int i = 0; i < 50; ++i) {
    rig.Begin(t_ns, Ramp(0, 600, 0.5));
    count += rig.TakeUntil(t_ns += kNsPerS).size();
    rig.Begin(t_ns, Ramp(600, 0, 0.25));
    count += rig.TakeUntil(t_ns += kNsPerS).size();
    EXPECT_EQ(rig.stream.Peek().t_ns, kNever);
  }
  // Each time 5 turns/s * 0.5 s + 10 turns/s * 0.5 s + 5 turns/s * 0.25 s = 8.75 turns; in all
  // 437.5. The last edge is at 180 deg of its turn: 437 * 116 + 60, the last within rounding of
  // standstill.
  const double turned = rig.motion.AngleAt(t_ns).Minus({}) / 360;
  EXPECT_NEAR(turned, 437.5, 1e-9);
  EXPECT_NEAR(static_cast<double>(count), 437 * 116 + 60, 1);
}

// After a day of running without a restart, and one of restarting every 20 s: the same edges.
TEST(TriggerStream, ADayOfRestartsMovesNoEdge) {
  Rig once({Hall(Shaft::kCam, HalfMoon(), 40)});
  Rig often({Hall(Shaft::kCam, HalfMoon(), 40)});
  once.Begin(0, Hold(60));
  for (TimeNs t_ns = 0; t_ns < 86400 * kNsPerS; t_ns += 20 * kNsPerS) {
    once.TakeUntil(t_ns);
    often.TakeUntil(t_ns);
    often.Begin(t_ns, Hold(60));
  }
  once.TakeUntil(86400 * kNsPerS);
  often.TakeUntil(86400 * kNsPerS);
  // 86,400 turns; the next edge, at 40 deg of turn 86,401, comes 1/9 s later.
  const TimeNs expected_ns = 86400 * kNsPerS + 111'111'111;
  EXPECT_EQ(once.stream.Peek().t_ns, expected_ns);
  EXPECT_EQ(often.stream.Peek().t_ns, expected_ns);
}

}  // namespace
}  // namespace drycrank::trigger

// SPDX-License-Identifier: Apache-2.0
// The synthesis path allocates nothing once it is built: every operator new of this program counts.
#include <gtest/gtest.h>

#include "tests/bus/count_allocations.h"
#include "tests/trigger/wheels.h"

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

TEST(Allocation, IsCounted) {
  const std::size_t before = bus::Allocations();
  const std::vector<int> one(1);
  EXPECT_EQ(bus::Allocations() - before, one.size());
}

TEST(Allocation, NoneAfterConstruction) {
  Rig rig({Hall(Shaft::kCrank, SixtyMinusTwo()), Coil(Shaft::kCrank, SixtyMinusTwo()),
           Hall(Shaft::kCam, HalfMoon())});
  const ChannelFault toothless{.missing_teeth = {3, 4}};
  const ChannelFault healed;
  const std::size_t before = bus::Allocations();
  for (int i = 0; i < 10; ++i) {
    const TimeNs t_ns = i * kNsPerS / 10;
    while (rig.stream.Peek().t_ns < t_ns) rig.stream.Take(rig.motion);
    rig.motion.Begin(t_ns, i % 2 == 0 ? Ramp(100, 6000, 0.1) : Hold(6000));
    rig.stream.SetFault(0, i % 3 == 0 ? toothless : healed);
    rig.stream.SetAdvance(2, {t_ns, 3.0 * i, 30, t_ns + kNsPerS / 10});
    rig.stream.Restart(t_ns, rig.motion);
  }
  EXPECT_EQ(bus::Allocations(), before);
}

}  // namespace
}  // namespace drycrank::trigger

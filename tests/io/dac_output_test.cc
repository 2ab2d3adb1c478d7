// SPDX-License-Identifier: Apache-2.0
#include "io/dac_output.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <memory>
#include <string>

#include "io/guarded_output.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

using output::Given;

// A DAC of 10 bits, 5 mV a count, behind an amplifier of 2; and 10 kOhm in 128 steps, no wiper.
class DacOutputTest : public testing::Test {
 protected:
  DacOutputTest() {
    Write("iio:device0", "name", "dac10\n");
    Write("iio:device0", "out_voltage0_raw", "7");
    Write("iio:device0", "out_voltage0_scale", "5");
    Write("iio:device0", "out_voltage0_raw_available", "[0 1 1023]");
    Write("iio:device1", "name", "pot128\n");
    Write("iio:device1", "out_resistance0_raw", "64");
    Write("iio:device1", "out_resistance0_scale", "78.125");
    Write("iio:device1", "out_resistance0_raw_available", "[0 1 128]");
  }

  void Write(const std::string& device, const std::string& name, const std::string& text) {
    std::filesystem::create_directories(folder_.Path(device));
    std::ofstream(folder_.Path(device) + "/" + name) << text;
  }
  // The kernel's file has no leftovers of a longer number, a file of ours has.
  std::string Dac() const { return Read("iio:device0/out_voltage0_raw"); }
  std::string Read(const std::string& name) const {
    std::ifstream file(folder_.Path(name));
    return {std::istreambuf_iterator<char>(file), {}};
  }
  std::unique_ptr<DacOutput> OneDac(const DacChannel& channel) {
    return std::make_unique<DacOutput>(DacOutput::Kind::kDac, std::vector{channel},
                                       folder_.path().string());
  }

  const DacChannel amplified_{
      .device = "dac10", .channel = "voltage0", .gain = 2, .safe_value = 1.0};
  ScratchFolder folder_;
};

Given Volts(double volts) { return {0, 0, Source{SourceKind::kVoltage, volts}}; }

TEST_F(DacOutputTest, UnarmedItWritesNothing) {
  const auto dac = OneDac(amplified_);
  EXPECT_EQ(dac->Open(), "");
  dac->Give(Volts(4));
  EXPECT_EQ(Dac(), "7");
}

TEST_F(DacOutputTest, ArmedItIsSafeFirstAndThenWhatItIsGiven) {
  const auto dac = OneDac(amplified_);
  ASSERT_EQ(dac->Open(), "");
  EXPECT_EQ(dac->Arm(), "");
  EXPECT_EQ(Dac(), "100");  // 1 V: 0.5 V before the amplifier, 5 mV each
  dac->Give(Volts(4));
  EXPECT_EQ(Dac(), "400");
  dac->Give({0, 0, Source{SourceKind::kSupplyFraction, 0.5}});  // of 5 V
  EXPECT_EQ(Dac(), "250");
  dac->Disarm();
  EXPECT_EQ(Dac(), "100");
  EXPECT_EQ(dac->failure(), "");
}

TEST_F(DacOutputTest, APotentiometerGivesOhms) {
  DacOutput pot(DacOutput::Kind::kPotentiometer,
                {{.device = "pot128", .channel = "resistance0", .safe_value = 10'000}},
                folder_.path().string());
  ASSERT_EQ(pot.Open(), "");
  EXPECT_EQ(pot.Arm(), "");
  EXPECT_EQ(Read("iio:device1/out_resistance0_raw"), "128");
  pot.Give({0, 0, Source{SourceKind::kResistance, 7812.5}});
  EXPECT_EQ(Read("iio:device1/out_resistance0_raw"), "100");
}

TEST_F(DacOutputTest, ASafeValueThatItDoesNotReachIsSaidBeforeAnythingMoves) {
  DacChannel channel = amplified_;
  channel.safe_value = -1;
  EXPECT_EQ(OneDac(channel)->Open(),
            "voltage0 of dac10: its safe value is -1 V, and it gives 0 to 10.23 V");
  channel.channel = "resistance0";
  EXPECT_THAT(OneDac(channel)->Open(), testing::EndsWith("give one as voltage0"));
}

// 0.2 to 10.43 V behind an amplifier that does not come to its rail.
TEST_F(DacOutputTest, WithoutASafeValueADacGivesWhatIsNearestToNothing) {
  DacChannel channel = amplified_;
  channel.safe_value.reset();
  channel.measured = output::StepsBetween(0.2, 10.43, 0, 1023);
  const auto dac = OneDac(channel);
  ASSERT_EQ(dac->Open(), "");
  EXPECT_EQ(dac->Arm(), "");
  EXPECT_EQ(Dac(), "0");
}

TEST_F(DacOutputTest, WithoutASafeValueAPotentiometerHasItsHighest) {
  DacOutput pot(DacOutput::Kind::kPotentiometer, {{.device = "pot128", .channel = "resistance0"}},
                folder_.path().string());
  ASSERT_EQ(pot.Open(), "");
  EXPECT_EQ(pot.Arm(), "");
  EXPECT_EQ(Read("iio:device1/out_resistance0_raw"), "128");
}

TEST_F(DacOutputTest, MeasuredAtItsTerminalsTheAmplifierIsInIt) {
  DacChannel channel = amplified_;
  channel.measured = output::StepsBetween(0, 10.0, 0, 1000);  // 10 mV a count, measured behind it
  const auto dac = OneDac(channel);
  ASSERT_EQ(dac->Open(), "");
  EXPECT_EQ(dac->Arm(), "");
  dac->Give(Volts(5));
  EXPECT_EQ(Dac(), "500");
}

TEST_F(DacOutputTest, ADeviceThatIsUnpluggedIsAFailure) {
  std::filesystem::remove(folder_.Path("iio:device0/out_voltage0_raw"));
  std::filesystem::create_symlink("/dev/full", folder_.Path("iio:device0/out_voltage0_raw"));
  const auto dac = OneDac(amplified_);
  ASSERT_EQ(dac->Open(), "");
  EXPECT_EQ(dac->Arm(), "voltage0 of dac10: No space left on device");
  EXPECT_EQ(dac->failure(), "voltage0 of dac10: No space left on device");
}

class GuardedOutputTest : public DacOutputTest {
 protected:
  std::unique_ptr<GuardedOutput> Guarded(const std::string& program = DRYCRANK_BINARY_DIR
                                         "/tools/drycrank-guard") {
    return std::make_unique<GuardedOutput>(OneDac(amplified_), program,
                                           std::chrono::milliseconds(60'000));
  }
};

TEST_F(GuardedOutputTest, ItDrivesAndIsSafeAtTheEnd) {
  auto dac = Guarded();
  ASSERT_EQ(dac->Open(), "");
  ASSERT_EQ(dac->Arm(), "");
  dac->Give(Volts(4));
  dac->Beat(0);
  EXPECT_EQ(Dac(), "400");
  EXPECT_EQ(dac->failure(), "");
  dac.reset();
  EXPECT_EQ(Dac(), "100");
}

TEST_F(GuardedOutputTest, WithoutAGuardItIsNotArmed) {
  const auto dac = Guarded("/nowhere/guard");
  EXPECT_EQ(dac->Open(),
            "/nowhere/guard: No such file or directory; without it no output is driven");
  EXPECT_EQ(dac->Arm(), "it has no guard; open it first");
  EXPECT_EQ(Dac(), "7");
}

TEST_F(GuardedOutputTest, AGuardThatEndsIsNoGuard) {
  EXPECT_THAT(Guarded("/bin/true")->Open(),
              testing::StartsWith("its guard cannot make it safe: the guard is gone"));
}

}  // namespace
}  // namespace drycrank::io

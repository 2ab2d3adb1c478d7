// SPDX-License-Identifier: Apache-2.0
//
// Runs in a guest kernel, as root: GPIO lines that a played USB bridge gives it, seen from behind.
#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <linux/i2c-dev.h>
#include <linux/i2c.h>
#include <poll.h>
#include <signal.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include "io/gpio_lines.h"
#include "io/guard.h"
#include "io/guarded_output.h"
#include "io/iio_output.h"
#include "io/line_output.h"
#include "tests/kernel/line_emulator.h"

namespace drycrank::io {
namespace {

constexpr const char* kLabel = "cp2112_gpio";

// For what the kernel does in the background; long, for the guest is slow.
bool Comes(const std::function<bool()>& true_by_then, int patience_ms = 10'000) {
  for (int waited_ms = 0; waited_ms < patience_ms; ++waited_ms) {
    if (true_by_then()) return true;
    poll(nullptr, 0, 1);
  }
  return true_by_then();
}

// One bridge for all: the kernel takes a moment to find it.
class GpioLinesTest : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    bridge_ = std::make_unique<LineEmulator>();
    ASSERT_TRUE(Comes([] { return FindGpioChip(kLabel).error.empty(); }))
        << FindGpioChip(kLabel).error;
  }
  static void TearDownTestSuite() { bridge_.reset(); }

  GpioLinesTest() : chip_(::open(path_.c_str(), O_RDWR | O_CLOEXEC)) {}

  static int Levels(int mask) { return bridge_->lines().levels & mask; }
  GpioLines Outputs(const std::vector<int>& lines, std::uint64_t levels) {
    GpioLines::Opened opened = GpioLines::Outputs(chip_.get(), lines, levels);
    EXPECT_EQ(opened.errno_value, 0);
    return std::move(opened.lines);
  }

  static std::unique_ptr<LineEmulator> bridge_;
  const std::string path_ = FindGpioChip(kLabel).chip.path;
  Socket chip_;
};
std::unique_ptr<LineEmulator> GpioLinesTest::bridge_;

TEST_F(GpioLinesTest, AChipIsFoundByLabelAndByPath) {
  const FoundChip by_label = FindGpioChip(kLabel);
  EXPECT_EQ(by_label.error, "");
  EXPECT_EQ(by_label.chip.lines, 8);
  EXPECT_EQ(FindGpioChip(by_label.chip.path).chip.label, kLabel);
  EXPECT_EQ(FindGpioChip("relays").error,
            "no GPIO chip is called \"relays\"; there are \"cp2112_gpio\" (" + path_ + ")");
}

TEST_F(GpioLinesTest, LinesHaveTheirLevelsFromTheFirstMomentOn) {
  GpioLines lines = Outputs({1, 4}, 0b10);
  EXPECT_EQ(Levels(0b10010), 0b10000);
  EXPECT_EQ(bridge_->lines().outputs & 0b10010, 0b10010);
  EXPECT_EQ(lines.Set(0b01, 0b11), 0);
  EXPECT_EQ(Levels(0b10010), 0b00010);
  EXPECT_EQ(lines.Set(0b11, 0b10), 0);  // the second alone
  EXPECT_EQ(Levels(0b10010), 0b10010);
  EXPECT_EQ(lines.Read(), 0b11u);
}

TEST_F(GpioLinesTest, AnInputIsReadFromOutside) {
  GpioLines::Opened stop = GpioLines::Inputs(chip_.get(), {6});
  ASSERT_EQ(stop.errno_value, 0);
  EXPECT_EQ(stop.lines.Read(), 0u);
  bridge_->lines().outside = 1 << 6;
  EXPECT_EQ(stop.lines.Read(), 1u);
  bridge_->lines().outside = 0;
}

TEST_F(GpioLinesTest, WhatIsTakenOrNotThereIsSaid) {
  const GpioLines mine = Outputs({3}, 0);
  const int taken = GpioLines::Outputs(chip_.get(), {3}, 0).errno_value;
  EXPECT_EQ(WhyNoLine(taken, path_, 3), "line 3 of " + path_ +
                                            ": Device or resource busy; another program or driver "
                                            "has it: gpioinfo names it");
  const int none = GpioLines::Outputs(chip_.get(), {8}, 0).errno_value;
  EXPECT_THAT(WhyNoLine(none, path_, 8), testing::HasSubstr("the chip has no such line"));
}

// Line 1 closes a relay when it is high, line 4 one when it is low; 6 is the stop button.
class LineOutputTest : public GpioLinesTest {
 protected:
  LineOutputTest() { bridge_->lines().outside = 1 << 6; }
  ~LineOutputTest() override { bridge_->lines().outside = 0; }

  static output::Given Switch(int channel, double value, SourceKind kind = SourceKind::kSwitched) {
    return {0, channel, Source{kind, value}};
  }

  LineOutput relays_{kLabel, {{.line = 1}, {.line = 4, .active_low = true}}, 6};
};

TEST_F(LineOutputTest, ItTakesItsLinesWhenItIsArmedAndLeavesThemSafe) {
  Outputs({1}, 1);  // as somebody left it
  ASSERT_EQ(relays_.Open(), "");
  relays_.Give(Switch(1, 1));
  EXPECT_EQ(Levels(0b10010) & 0b10, 0b10);
  ASSERT_EQ(relays_.Arm(), "");
  EXPECT_EQ(Levels(0b10010), 0b10000);  // both open
  relays_.Give(Switch(0, 1));
  relays_.Give(Switch(1, 3.5, SourceKind::kResistance));
  EXPECT_EQ(Levels(0b10010), 0b00010);
  relays_.Give(Switch(0, 1e6, SourceKind::kResistance));
  EXPECT_EQ(Levels(0b10010), 0b00000);
  relays_.Disarm();
  EXPECT_EQ(Levels(0b10010), 0b10000);
  EXPECT_EQ(GpioLines::Outputs(chip_.get(), {1, 4}, 0b10).errno_value, 0);  // released
}

TEST_F(LineOutputTest, TheStopInputEndsIt) {
  ASSERT_EQ(relays_.Open(), "");
  ASSERT_EQ(relays_.Arm(), "");
  relays_.Give(Switch(0, 1));
  relays_.Beat(0);
  EXPECT_EQ(relays_.failure(), "");
  bridge_->lines().outside = 0;
  relays_.Beat(1);
  EXPECT_EQ(relays_.failure(), "the stop input, line 6 of " + path_ + ", was pressed");
  EXPECT_EQ(Levels(0b10010), 0b10000);
  EXPECT_EQ(relays_.Arm(), "the stop input, line 6 of " + path_ + ", is pressed or not wired");
}

TEST_F(LineOutputTest, BehindItsGuardItDrives) {
  GuardedOutput guarded(std::make_unique<LineOutput>(kLabel, std::vector{LineChannel{.line = 1}}),
                        "/usr/bin/drycrank-guard", std::chrono::milliseconds(60'000));
  ASSERT_EQ(guarded.Open(), "");
  ASSERT_EQ(guarded.Arm(), "");
  guarded.Give(Switch(0, 1));
  guarded.Beat(0);
  EXPECT_EQ(Levels(0b10), 0b10);
  guarded.Disarm();
  EXPECT_EQ(Levels(0b10), 0);
  EXPECT_EQ(guarded.failure(), "");
}

TEST_F(LineOutputTest, WhatTheChipDoesNotHaveIsSaid) {
  LineOutput ninth(kLabel, {{.line = 8}});
  EXPECT_EQ(ninth.Open(), path_ + " has lines 0 to 7, and no 8");
}

// The owner: takes line 2, sets it, and is killed or stopped.
class GuardedLineTest : public GpioLinesTest {
 protected:
  // Returns its process when the line is high. With a guard, or without.
  pid_t Drive(bool guarded) {
    // And released; the guard of the time before may still have it.
    EXPECT_TRUE(Comes([&] { return GpioLines::Outputs(chip_.get(), {2}, 0).errno_value == 0; }));
    EXPECT_EQ(Levels(1 << 2), 0);
    const pid_t owner = fork();
    if (owner == 0) {
      std::unique_ptr<Guard> guard;
      if (guarded) guard = Guarded();
      GpioLines lines = Outputs({2}, 0);
      std::ignore = lines.Set(1, 1);
      for (;; poll(nullptr, 0, 2)) {
        if (guard) guard->Beat();
      }
    }
    EXPECT_TRUE(Comes([] { return Levels(1 << 2) != 0; }));
    return owner;
  }

  std::unique_ptr<Guard> Guarded() {
    Guard::Started started = Guard::Start("/usr/bin/drycrank-guard");
    if (started.guard == nullptr ||
        !started.guard->Hold(output::SafeLevel{path_, 2, false}).empty() ||
        !started.guard->Arm().empty()) {
      _exit(1);
    }
    return std::move(started.guard);
  }
};

TEST_F(GuardedLineTest, WithoutAGuardALineKeepsItsLevelWhenItsOwnerIsKilled) {
  const pid_t owner = Drive(false);
  kill(owner, SIGKILL);
  waitpid(owner, nullptr, 0);
  EXPECT_FALSE(Comes([] { return Levels(1 << 2) == 0; }, 500));
}

TEST_F(GuardedLineTest, WithOneItIsSafeWhenItsOwnerIsKilledOrStopped) {
  for (const int end : {SIGKILL, SIGSTOP}) {
    const pid_t owner = Drive(true);
    const auto begin = std::chrono::steady_clock::now();
    kill(owner, end);
    EXPECT_TRUE(Comes([] { return Levels(1 << 2) == 0; }));
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - begin;
    printf("line safe %.1f ms after %s\n", took.count(), end == SIGKILL ? "SIGKILL" : "SIGSTOP");
    EXPECT_LT(took.count(), 200);  // hw-notes/slow-outputs.md; the guest's time is counted
    int status = 0;
    waitpid(owner, &status, 0);
    EXPECT_TRUE(WIFSIGNALED(status));
  }
}

// A DAC of the kernel's on an I2C bus that is memory (i2c-stub); its driver states no scale. From the
// DS4424's data sheet (from memory): register F8h is output 0, sign and seven bits.
class IioDacTest : public testing::Test {
 protected:
  static void SetUpTestSuite() { Tell("/sys/bus/i2c/devices/i2c-0/new_device", "ds4424 0x10"); }

  static void Tell(const char* path, const std::string& text) {
    const Socket file(::open(path, O_WRONLY | O_CLOEXEC));
    EXPECT_EQ(write(file.get(), text.data(), text.size()), static_cast<ssize_t>(text.size()))
        << path;
  }
  // What the chip has been told, by the bus itself.
  static int Register(unsigned char number) {
    const Socket bus(::open("/dev/i2c-0", O_RDWR | O_CLOEXEC));
    i2c_smbus_data data{};
    i2c_smbus_ioctl_data request{I2C_SMBUS_READ, number, I2C_SMBUS_BYTE_DATA, &data};
    EXPECT_EQ(ioctl(bus.get(), I2C_SLAVE_FORCE, 0x10), 0);
    EXPECT_EQ(ioctl(bus.get(), I2C_SMBUS, &request), 0);
    return data.byte;
  }

  const std::string folder_ = FindIioDevice("ds4424").folder;
};

TEST_F(IioDacTest, ACountThatWasPutIsInTheChip) {
  ASSERT_NE(folder_, "") << FindIioDevice("ds4424").error;
  EXPECT_THAT(IioOutput::Open(folder_, "current0", std::nullopt).error,
              testing::HasSubstr("does not state current0_scale"));
  IioOutput::Opened dac =
      IioOutput::Open(folder_, "current0", output::StepsBetween(-0.127, 0.127, -127, 127));
  ASSERT_EQ(dac.error, "");
  EXPECT_EQ(dac.output.Put(0.1), 0);
  const int sourced = Register(0xf8);
  EXPECT_EQ(sourced & 0x7f, 100);
  EXPECT_EQ(dac.output.Put(-0.005), 0);
  EXPECT_EQ(Register(0xf8), ((sourced ^ 0x80) & 0x80) | 5);
}

TEST_F(IioDacTest, AGuardPutsItToWhatIsSafe) {
  IioOutput::Opened dac =
      IioOutput::Open(folder_, "current0", output::StepsBetween(-0.127, 0.127, -127, 127));
  Guard::Started started = Guard::Start("/usr/bin/drycrank-guard");
  ASSERT_EQ(started.error, "");
  EXPECT_EQ(started.guard->Hold(dac.output.At(0)), "");
  EXPECT_EQ(dac.output.Put(0.1), 0);
  EXPECT_EQ(Register(0xf8) & 0x7f, 100);
  EXPECT_EQ(started.guard->Safe(), "");
  EXPECT_EQ(Register(0xf8) & 0x7f, 0);
}

}  // namespace
}  // namespace drycrank::io

// SPDX-License-Identifier: Apache-2.0
//
// On a folder that looks as the kernel's would (Documentation/ABI/testing/sysfs-bus-iio); in a kernel:
// tests/kernel/output_guest_test.cc.
#include "io/iio_output.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

class IioOutputTest : public testing::Test {
 protected:
  // 12 bits and 2.5 V: 2500 mV / 4096 a count.
  IioOutputTest() {
    Write(0, "name", "dac12\n");
    Write(0, "out_voltage0_raw", "0\n");
    Write(0, "out_voltage1_raw", "0\n");
    Write(0, "out_voltage_scale", "0.610351562\n");
    Write(0, "out_voltage_raw_available", "[0 1 4095]\n");
    Write(1, "name", "pot128\n");
    Write(1, "out_resistance0_raw", "64\n");
    Write(1, "out_resistance0_scale", "78.125\n");
    Write(1, "out_resistance0_offset", "0.96\n");
    Write(1, "out_resistance0_raw_available", "[0 1 128]\n");
  }

  std::string Folder(int number) const {
    return folder_.Path("iio:device" + std::to_string(number));
  }
  void Write(int number, const std::string& name, const std::string& text) {
    std::filesystem::create_directories(Folder(number));
    std::ofstream(Folder(number) + "/" + name) << text;
  }
  std::string Read(int number, const std::string& name) const {
    std::ifstream file(Folder(number) + "/" + name);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  IioOutput Open(int number, const std::string& channel) {
    IioOutput::Opened opened = IioOutput::Open(Folder(number), channel, std::nullopt);
    EXPECT_EQ(opened.error, "");
    return std::move(opened.output);
  }

  ScratchFolder folder_;
};

TEST_F(IioOutputTest, VoltsAreCountsByTheScaleThatTheKernelStates) {
  IioOutput output = Open(0, "voltage1");
  EXPECT_EQ(output.Put(1.25), 0);  // 1250 mV / 0.61035 mV = 2048
  EXPECT_EQ(Read(0, "out_voltage1_raw"), "2048");
  EXPECT_EQ(Read(0, "out_voltage0_raw"), "0\n");
  EXPECT_NEAR(output.steps().MostValue(), 2.4994, 0.0001);
}

TEST_F(IioOutputTest, OhmsHaveTheirOffset) {
  IioOutput output = Open(1, "resistance0");
  EXPECT_EQ(output.Put(2480.9), 0);  // 2480.9 / 78.125 - 0.96 = 30.8
  EXPECT_EQ(Read(1, "out_resistance0_raw").substr(0, 2), "31");
  EXPECT_NEAR(output.steps().LeastValue(), 75, 1e-9);
}

TEST_F(IioOutputTest, WhatMakesItSafeIsATextForAnother) {
  EXPECT_EQ(output::Line(Open(0, "voltage0").At(0.5)),
            "file\t" + Folder(0) + "/out_voltage0_raw\t819");  // 819.2
}

TEST_F(IioOutputTest, OutOfItsPowerDownAfterItsCount) {
  Write(0, "out_voltage0_powerdown", "1");
  IioOutput output = Open(0, "voltage0");
  EXPECT_EQ(output.Put(0), 0);
  EXPECT_EQ(Read(0, "out_voltage0_powerdown"), "1");
  EXPECT_EQ(output.PowerUp(), 0);
  EXPECT_EQ(Read(0, "out_voltage0_powerdown"), "0");
  EXPECT_EQ(Open(0, "voltage1").PowerUp(), 0);  // it has none
}

TEST_F(IioOutputTest, WithoutAScaleItHasToBeMeasured) {
  Write(2, "out_current0_raw", "0");
  EXPECT_EQ(IioOutput::Open(Folder(2), "current0", std::nullopt).error,
            Folder(2) +
                ": its driver does not state current0_scale; measure the value at the lowest "
                "and at the highest count and write both into the bench");
  IioOutput::Opened measured =
      IioOutput::Open(Folder(2), "current0", output::StepsBetween(-0.01, 0.01, -100, 100));
  EXPECT_EQ(measured.error, "");
  EXPECT_EQ(measured.output.Put(0.005), 0);
  EXPECT_EQ(Read(2, "out_current0_raw"), "50");
}

TEST_F(IioOutputTest, ScaleWithoutItsRangeIsNotEnough) {
  Write(2, "out_voltage0_raw", "0");
  Write(2, "out_voltage0_scale", "1.5");
  EXPECT_THAT(IioOutput::Open(Folder(2), "voltage0", std::nullopt).error,
              testing::HasSubstr("does not state voltage0_raw_available"));
  Write(2, "out_voltage0_raw_available", "0 1 2 3");  // a list: no range
  EXPECT_THAT(IioOutput::Open(Folder(2), "voltage0", std::nullopt).error,
              testing::HasSubstr("does not state voltage0_raw_available"));
}

TEST_F(IioOutputTest, AChannelThatIsNotThereNamesThoseThatAre) {
  EXPECT_EQ(IioOutput::Open(Folder(0), "voltage2", std::nullopt).error,
            Folder(0) +
                "/out_voltage2_raw: No such file or directory; the device has voltage0, voltage1");
}

TEST_F(IioOutputTest, ADeviceIsFoundByItsName) {
  const std::string devices = folder_.path().string();
  EXPECT_EQ(FindIioDevice("pot128", devices).folder, Folder(1));
  EXPECT_EQ(FindIioDevice(Folder(0), devices).folder, Folder(0));
  EXPECT_EQ(FindIioDevice("dac16", devices).error,
            "no device in " + devices + " is called \"dac16\"; there are \"dac12\", \"pot128\"");
  Write(2, "name", "dac12\n");
  EXPECT_EQ(FindIioDevice("dac12", devices).error,
            "2 devices in " + devices + " are called \"dac12\"; give the folder of one");
  Write(2, "label", "pedal\n");
  EXPECT_EQ(FindIioDevice("pedal", devices).folder, Folder(2));
  EXPECT_EQ(
      FindIioDevice("dac12", "/nowhere").error,
      "no device in /nowhere is called \"dac12\"; there is none: its driver has to be loaded");
}

}  // namespace
}  // namespace drycrank::io

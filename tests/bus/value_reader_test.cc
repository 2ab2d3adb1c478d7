// SPDX-License-Identifier: Apache-2.0
#include "bus/value_reader.h"

#include <gtest/gtest.h>

#include <string>

namespace drycrank::bus {
namespace {

profile::Message MessageOf(const std::string& name, std::uint32_t id, bool extended) {
  profile::Message message;
  message.name = name;
  message.id = id;
  message.extended = extended;
  profile::Signal signal;
  signal.name = "s";
  signal.scale = 0.5;
  signal.not_available = 0xFF;
  message.signals = {signal};
  return message;
}

// Two buses; the second has an 11-bit and a 29-bit identifier of the same number.
class ValueReaderTest : public testing::Test {
 protected:
  ValueReaderTest() : buses_(2) {
    buses_[0].messages = {MessageOf("here", 0x100, false)};
    buses_[1].messages = {MessageOf("short", 0x100, false), MessageOf("long", 0x100, true)};
  }
  std::string Read(int bus, std::uint32_t id, bool extended, std::uint8_t byte) const {
    Frame frame;
    frame.id = id;
    frame.extended = extended;
    frame.length = 1;
    frame.data[0] = byte;
    std::string all;
    const bool known = ValueReader(buses_).Read(
        bus, frame, [&](const profile::Message& message, const profile::Signal& signal, double v) {
          all += message.name + "." + signal.name + "=" + std::to_string(v).substr(0, 4);
        });
    return known ? all : "unknown";
  }
  std::vector<profile::Bus> buses_;
};

TEST_F(ValueReaderTest, ABusAndAKindOfIdentifierHaveTheirOwnMessages) {
  EXPECT_EQ(Read(0, 0x100, false, 5), "here.s=2.50");
  EXPECT_EQ(Read(1, 0x100, false, 5), "short.s=2.50");
  EXPECT_EQ(Read(1, 0x100, true, 6), "long.s=3.00");
}

TEST_F(ValueReaderTest, WhatNoMessageHasIsSaidAndWhatIsNotMeasuredIsNoValue) {
  EXPECT_EQ(Read(0, 0x100, true, 5), "unknown");
  EXPECT_EQ(Read(0, 0x101, false, 5), "unknown");
  EXPECT_EQ(Read(0, 0x100, false, 0xFF), "");
}

}  // namespace
}  // namespace drycrank::bus

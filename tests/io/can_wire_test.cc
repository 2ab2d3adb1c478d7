// SPDX-License-Identifier: Apache-2.0
//
// Flag bits and sizes: linux/can.h as documented in the kernel's networking/can.rst, written out
// here.
#include "io/can_wire.h"

#include <gtest/gtest.h>

#include <cstring>

#include "io/can_error.h"
#include "tests/bus/build_signal.h"

namespace drycrank::io {
namespace {

using bus::Frame;
using bus::FrameOf;

TEST(CanWire, StandardFrameIsTheKernels16Bytes) {
  const WireFrame wire = ToWire(FrameOf(0x123, false, "0102"));
  EXPECT_EQ(wire.size, 16u);
  EXPECT_EQ(wire.frame.can_id, 0x123u);
  EXPECT_EQ(wire.frame.len, 2);
  std::uint8_t bytes[16];
  std::memcpy(bytes, &wire.frame, sizeof(bytes));
  EXPECT_EQ(bytes[8], 1);  // data begins at byte 8
  EXPECT_EQ(bytes[9], 2);
}

TEST(CanWire, FlagsAreTopBitsOfTheIdentifier) {
  EXPECT_EQ(ToWire(FrameOf(0x18FEEE00, true, "")).frame.can_id, 0x98FEEE00u);
  Frame remote = FrameOf(0x7, false, "");
  remote.remote = true;
  remote.length = 4;
  EXPECT_EQ(ToWire(remote).frame.can_id, 0x40000007u);
  EXPECT_EQ(ToWire(remote).frame.len, 4);
}

TEST(CanWire, FdFrameIs72BytesWithItsFlags) {
  Frame fd = FrameOf(0x321, false, "000102030405060708090A0B");
  fd.fd = fd.bit_rate_switch = true;
  EXPECT_EQ(ToWire(fd).size, 72u);
  EXPECT_EQ(ToWire(fd).frame.flags & 3, 1);  // BRS 1, ESI 2
  fd.error_state = true;
  EXPECT_EQ(ToWire(fd).frame.flags & 3, 3);
}

TEST(CanWire, EveryKindComesBack) {
  Frame remote = FrameOf(0x7, true, "");
  remote.remote = true;
  remote.length = 8;
  Frame fd = FrameOf(0x321, false, "000102030405060708090A0B");
  fd.fd = fd.bit_rate_switch = true;
  for (const Frame& frame : {FrameOf(0, false, ""), FrameOf(0x7FF, false, "0102030405060708"),
                             FrameOf(0x1FFFFFFF, true, "01"), remote, fd}) {
    const WireFrame wire = ToWire(frame);
    EXPECT_EQ(FromWire(wire.frame, wire.size), frame);
  }
}

TEST(CanWire, WhatNoBusCouldCarryIsRefused) {
  canfd_frame wire{};
  wire.len = 9;
  EXPECT_EQ(FromWire(wire, 16), std::nullopt);
  EXPECT_EQ(FromWire(wire, 72), std::nullopt);  // vcan passes it all the same
  wire.len = 65;
  EXPECT_EQ(FromWire(wire, 72), std::nullopt);
  wire.len = 8;
  EXPECT_EQ(FromWire(wire, 15), std::nullopt);
  EXPECT_TRUE(FromWire(wire, 16).has_value());
}

std::vector<bus::BusEvent> EventsOf(std::uint32_t error_class, std::uint8_t controller_state) {
  canfd_frame wire{};
  wire.can_id = 0x20000000 | error_class;
  wire.len = 8;
  wire.data[1] = controller_state;
  const std::optional<Frame> report = FromWire(wire, 16);
  if (!report || !report->error) return {};
  const ErrorEvents found(*report);
  return {found.events().begin(), found.events().end()};
}

// linux/can/error.h: bus-off 0x40, controller 0x04 with data[1] RX overflow 1, RX/TX warning 4/8,
// RX/TX passive 0x10/0x20; restarted 0x100; lost arbitration 0x02; no acknowledge 0x20.
TEST(CanError, TroubleBecomesEvents) {
  using Events = std::vector<bus::BusEvent>;
  EXPECT_EQ(EventsOf(0x40, 0), Events{bus::BusEvent::kBusOff});
  EXPECT_EQ(EventsOf(0x04, 0x10), Events{bus::BusEvent::kErrorPassive});
  EXPECT_EQ(EventsOf(0x04, 0x20), Events{bus::BusEvent::kErrorPassive});
  EXPECT_EQ(EventsOf(0x04, 0x01), Events{bus::BusEvent::kOverrun});
  EXPECT_EQ(EventsOf(0x100, 0), Events{bus::BusEvent::kUp});
  EXPECT_EQ(EventsOf(0x04, 0x04), Events{bus::BusEvent::kErrorWarning});
  EXPECT_EQ(EventsOf(0x04, 0x08), Events{bus::BusEvent::kErrorWarning});
  EXPECT_EQ(EventsOf(0x04, 0x40), Events{bus::BusEvent::kErrorActive});
  EXPECT_EQ(EventsOf(0x01, 0), Events{bus::BusEvent::kTransmitTimeout});
  EXPECT_EQ(EventsOf(0x08, 0), Events{bus::BusEvent::kBusError});
  EXPECT_EQ(EventsOf(0x88, 0), Events{bus::BusEvent::kBusError});
  EXPECT_EQ(EventsOf(0x10, 0), Events{bus::BusEvent::kTransceiver});
  EXPECT_EQ(EventsOf(0x20, 0), Events{bus::BusEvent::kNoAcknowledge});
  EXPECT_EQ(EventsOf(0xA8, 0), Events{bus::BusEvent::kNoAcknowledge});
  EXPECT_EQ(EventsOf(0x44, 0x20), (Events{bus::BusEvent::kErrorPassive, bus::BusEvent::kBusOff}));
}

TEST(CanError, TheRestIsPartOfAWorkingBus) {
  EXPECT_TRUE(EventsOf(0x02, 0).empty());
  EXPECT_TRUE(EventsOf(0x04, 0).empty());
  EXPECT_TRUE(EventsOf(0x200, 0).empty());  // error counts only
}

}  // namespace
}  // namespace drycrank::io

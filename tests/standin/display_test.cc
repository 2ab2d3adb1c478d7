// SPDX-License-Identifier: Apache-2.0
//
// Conversions: NIST SP 811 (tests/reference/units.csv). Frames are written byte by byte here.
#include "standin/display.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <tuple>

#include "types/unit.h"

namespace drycrank::standin {
namespace {

profile::Gauge GaugeOf(const char* name, const char* signal, const char* unit, int decimals) {
  profile::Gauge gauge;
  gauge.name = name;
  gauge.message = "engine";
  gauge.signal = signal;
  gauge.unit = unit;
  gauge.decimals = decimals;
  return gauge;
}

profile::Signal SignalOf(const char* name, int start_bit, int length_bits, double scale,
                         double offset, const char* unit) {
  profile::Signal signal;
  signal.name = name;
  signal.start_bit = start_bit;
  signal.length_bits = length_bits;
  signal.scale = scale;
  signal.offset = offset;
  signal.unit = unit;
  return signal;
}

// Message 0x300: bytes 0-1 pressure 0.1 kPa, byte 2 coolant 1 degC - 40, bytes 3-4 a bare number /
// 1000.
profile::Bench BenchWith(std::vector<profile::Gauge> gauges) {
  profile::Bench bench;
  profile::Message message;
  message.name = "engine";
  message.id = 0x300;
  message.signals = {SignalOf("pressure", 0, 16, 0.1, 0, "kPa"),
                     SignalOf("coolant", 16, 8, 1, -40, "degC"),
                     SignalOf("number", 24, 16, 0.001, 0, "")};
  bench.display.emplace();
  bench.display->layouts = {message};
  bench.display->gauges = std::move(gauges);
  return bench;
}

class Screen {
 public:
  explicit Screen(std::vector<profile::Gauge> gauges)
      : bench_(BenchWith(std::move(gauges))), display(bench_) {}

  // Raw values into the bytes, least significant first.
  void Receive(int pressure, int coolant, int number = 0, std::uint32_t id = 0x300, int bus = 0) {
    bus::TimedFrame timed;
    timed.t_ns = t_ns;
    timed.bus = bus;
    timed.frame.id = id;
    timed.frame.length = 8;
    const auto byte = [](int v) { return static_cast<std::uint8_t>(v & 0xFF); };
    timed.frame.data = {byte(pressure), byte(pressure >> 8), byte(coolant), byte(number),
                        byte(number >> 8)};
    display.OnFrame(timed);
    display.Advance(t_ns);
  }
  double Value(std::string_view name) const { return display.Value(display.ValueIndex(name)); }

 private:
  profile::Bench bench_;

 public:
  Display display;
  TimeNs t_ns = 0;
};

TEST(Display, BoostOf25PsiIsThisMuchAbsolute) {
  // 25 psi = 172.369 kPa (NIST SP 811) above an atmosphere of 101.325: 273.694, sent as 2737 x 0.1.
  Screen screen({GaugeOf("map", "pressure", "kPa", 1)});
  screen.Receive(2737, 0);
  EXPECT_DOUBLE_EQ(screen.Value("map.shown"), 273.7);
  EXPECT_EQ(screen.Value("map.state"), 0);
}

TEST(Display, OneEndOfItsRangeIsHeldWithoutTheOther) {
  profile::Gauge low = GaugeOf("low", "coolant", "degC", 0), high = low;
  high.name = "high";
  low.min = 50;
  high.max = 90;
  Screen screen({low, high});
  screen.Receive(0, 40 + 20);  // 20 degC
  EXPECT_EQ(screen.Value("low.shown"), 50);
  EXPECT_EQ(screen.Value("high.shown"), 20);
  screen.Receive(0, 40 + 100);
  EXPECT_EQ(screen.Value("low.shown"), 100);
  EXPECT_EQ(screen.Value("high.shown"), 90);
}

// 12 segments from 0 to 120 degC, 10 degC each: 95 degC has filled 9; half through the tenth it lights too.
TEST(Display, ABarHasAsManySegmentsLitAsItsValueHasFilled) {
  profile::Gauge filled = GaugeOf("filled", "coolant", "degC", 0), half = filled;
  half.name = "half";
  filled.bar = profile::Bar{0, 120, 12};
  half.bar = profile::Bar{0, 120, 12, profile::SegmentLights::kHalf};
  Screen screen({filled, half});
  screen.Receive(0, 40 + 95);
  EXPECT_EQ(screen.Value("filled.shown"), 9);
  EXPECT_EQ(screen.Value("half.shown"), 10);
  EXPECT_EQ(screen.display.Look(0).text, "9 of 12");
  screen.Receive(0, 40 - 10);
  EXPECT_EQ(screen.Value("filled.shown"), 0);
  screen.Receive(0, 40 + 130);
  EXPECT_EQ(screen.display.Look(0).text, "12 of 12");
}

// 152 * 0.1 is 15.200000000000001 in binary: at 15.2 neither side of a limit of 15.2 is passed.
TEST(Display, ALimitInDecimalsIsNotPassedByTheBinaryNumber) {
  profile::Gauge above = GaugeOf("above", "pressure", "kPa", 1), below = above;
  above.warn_above = 15.2;
  below.name = "below";
  below.warn_below = 15.2;
  Screen screen({above, below});
  for (const auto& [raw, high, low] : {std::tuple{151, 0, 1}, {152, 0, 0}, {153, 1, 0}}) {
    screen.Receive(raw, 0);
    EXPECT_EQ(screen.Value("above.state"), high) << raw;
    EXPECT_EQ(screen.Value("below.state"), low) << raw;
  }
}

TEST(Display, ConvertsToTheUnitItShows) {
  Screen screen({GaugeOf("map", "pressure", "psi", 1), GaugeOf("clt", "coolant", "degF", 0)});
  screen.Receive(2737, 90 + 40);
  EXPECT_DOUBLE_EQ(screen.Value("map.shown"), 39.7);  // 273.7 x 0.1450377 = 39.6968
  EXPECT_DOUBLE_EQ(screen.Value("clt.shown"), 194);   // 90 x 1.8 + 32
  EXPECT_EQ(UnitCodes()[static_cast<std::size_t>(screen.Value("map.unit"))], "psi");
  EXPECT_EQ(UnitCodes()[static_cast<std::size_t>(screen.Value("clt.unit"))], "degF");
}

TEST(Display, RoundsHalfAwayFromZero) {
  Screen screen({GaugeOf("two", "number", "", 2), GaugeOf("clt", "coolant", "degC", 0)});
  screen.Receive(0, 0, 2675);  // 2.675 is less than that in binary
  EXPECT_DOUBLE_EQ(screen.Value("two.shown"), 2.68);
  screen.Receive(0, 0, 2674);
  EXPECT_DOUBLE_EQ(screen.Value("two.shown"), 2.67);
  EXPECT_EQ(screen.Value("clt.shown"), -40);
}

TEST(Display, CountsAFrameByItsIdentifierOnAnyBus) {
  Screen screen({GaugeOf("map", "pressure", "kPa", 1)});
  screen.Receive(1000, 0, 0, 0x301);
  EXPECT_EQ(screen.Value("map.state"), 2);
  screen.Receive(1000, 0, 0, 0x300, 3);
  EXPECT_EQ(screen.Value("map.state"), 0);
  EXPECT_EQ(screen.Value("map.shown"), 100);
}

TEST(Display, IsStaleUntilAndAfterFrames) {
  Screen screen({GaugeOf("map", "pressure", "kPa", 1)});
  EXPECT_EQ(screen.Value("map.state"), 2);
  EXPECT_EQ(screen.display.gauges()[0].last_ns, -1);
  screen.Receive(1000, 0);
  screen.display.Advance(FromMs(1000));
  EXPECT_EQ(screen.Value("map.state"), 0);
  screen.display.Advance(FromMs(1001));
  EXPECT_EQ(screen.Value("map.state"), 2);
  EXPECT_EQ(screen.Value("map.shown"), 100);  // the number stays
}

TEST(Display, WarnsWithHysteresis) {
  profile::Gauge gauge = GaugeOf("clt", "coolant", "degC", 0);
  gauge.warn_above = 105;
  gauge.hysteresis = 3;
  Screen screen({gauge});
  const auto state_at = [&](int degc) {
    screen.Receive(0, degc + 40);
    return static_cast<int>(screen.Value("clt.state"));
  };
  EXPECT_EQ(state_at(105), 0);
  EXPECT_EQ(state_at(106), 1);
  EXPECT_EQ(state_at(103), 1);  // above 102 it stays
  EXPECT_EQ(state_at(102), 0);
  EXPECT_EQ(state_at(104), 0);  // and comes again above 105 only
}

TEST(Display, WarnsBelowToo) {
  profile::Gauge gauge = GaugeOf("map", "pressure", "kPa", 0);
  gauge.warn_below = 150;
  gauge.hysteresis = 10;
  Screen screen({gauge});
  screen.Receive(1499, 0);
  EXPECT_EQ(screen.Value("map.state"), 1);
  screen.Receive(1590, 0);
  EXPECT_EQ(screen.Value("map.state"), 1);
  screen.Receive(1600, 0);
  EXPECT_EQ(screen.Value("map.state"), 0);
}

// Each limit may have a hysteresis of its own: up at 106 until 102, down at 9 until 15.
TEST(Display, WarnsBelowWithAHysteresisOfItsOwn) {
  profile::Gauge gauge = GaugeOf("clt", "coolant", "degC", 0);
  gauge.warn_above = 105;
  gauge.hysteresis = 3;
  gauge.warn_below = 10;
  gauge.hysteresis_below = 5;
  Screen screen({gauge});
  const auto state_at = [&](int degc) {
    screen.Receive(0, degc + 40);
    return static_cast<int>(screen.Value("clt.state"));
  };
  EXPECT_EQ(state_at(9), 1);
  EXPECT_EQ(state_at(14), 1);
  EXPECT_EQ(state_at(15), 0);
  EXPECT_EQ(state_at(106), 1);
  EXPECT_EQ(state_at(102), 0);
}

TEST(Display, HoldsItsNumberWithinItsRangeAndWarnsByWhatCame) {
  profile::Gauge gauge = GaugeOf("clt", "coolant", "degC", 0);
  gauge.min = 0;
  gauge.max = 120;
  gauge.warn_above = 150;
  Screen screen({gauge});
  screen.Receive(0, -10 + 40);
  EXPECT_EQ(screen.display.Look(0).text, "0");
  screen.Receive(0, 160 + 40);
  EXPECT_EQ(screen.display.Look(0).text, "120");
  EXPECT_EQ(screen.Value("clt.shown"), 120);
  EXPECT_EQ(screen.display.Look(0).state, GaugeState::kWarning);
}

TEST(Display, IsSeenAsTextOnItsPageWithItsLamp) {
  profile::Gauge gear = GaugeOf("gear", "coolant", "degC", 0);
  gear.values = {{-1, "R"}, {0, "N"}};
  gear.page = 3;
  gear.warn_below = 0;
  gear.lamp = "amber";
  Screen screen({gear, GaugeOf("map", "pressure", "kPa", 1)});
  EXPECT_EQ(screen.display.Look(0).text, "---") << "nothing has come yet";
  EXPECT_EQ(screen.display.Look(0).page, 3);
  screen.Receive(2730, -1 + 40);
  EXPECT_EQ(screen.display.Look(0).text, "R");
  EXPECT_EQ(screen.display.Look(0).lamp, "amber");
  EXPECT_EQ(screen.Value("gear.lamp"), 1);
  EXPECT_EQ(screen.Value("gear.page"), 3);
  EXPECT_EQ(screen.display.Look(1).text, "273.0");
  screen.Receive(2730, 0 + 40);
  EXPECT_EQ(screen.display.Look(0).text, "N");
  EXPECT_EQ(screen.display.Look(0).lamp, "");
  EXPECT_EQ(screen.Value("gear.lamp"), 0);
  screen.Receive(2730, 1 + 40);
  EXPECT_EQ(screen.display.Look(0).text, "1") << "it has no name";
}

constexpr const char* kPressure = "engine.pressure";

TEST(Display, WrongByteOrderReadsNonsense) {
  Screen screen({GaugeOf("map", "pressure", "kPa", 1)});
  const profile::fault::Layout wrong{profile::ByteOrder::kBig, {}, {}, {}};
  screen.display.SetLayout(kPressure, wrong, true);
  screen.Receive(2737, 0);  // 0x0AB1 read as 0xB10A = 45322
  EXPECT_DOUBLE_EQ(screen.Value("map.shown"), 4532.2);
  screen.display.SetLayout(kPressure, wrong, false);
  screen.Receive(2737, 0);
  EXPECT_DOUBLE_EQ(screen.Value("map.shown"), 273.7);
}

TEST(Display, WrongByteOrderOfOneByteChangesNothing) {
  Screen screen({GaugeOf("clt", "coolant", "degC", 0)});
  const profile::fault::Layout wrong{profile::ByteOrder::kBig, {}, {}, {}};
  screen.display.SetLayout("engine.coolant", wrong, true);
  screen.Receive(0, 130);
  EXPECT_EQ(screen.Value("clt.shown"), 90);
}

TEST(Display, WrongScaleOffsetAndPlaceAreReadAsTold) {
  Screen screen({GaugeOf("map", "pressure", "kPa", 1)});
  screen.display.SetLayout(kPressure, {{}, 0.01, 5, {}}, true);
  screen.Receive(2737, 0);
  EXPECT_DOUBLE_EQ(screen.Value("map.shown"), 32.4);  // 27.37 + 5
  screen.display.SetLayout(kPressure, {{}, {}, {}, 8}, true);
  screen.Receive(0x0AB1, 0x01);  // bytes 1 and 2: 0x010A = 266
  EXPECT_DOUBLE_EQ(screen.Value("map.shown"), 26.6);
}

TEST(Display, NamesAreInValueOrder) {
  const Screen screen({GaugeOf("map", "pressure", "kPa", 1), GaugeOf("clt", "coolant", "degC", 0)});
  EXPECT_EQ(screen.display.ValueIndex("map.shown"), 0);
  EXPECT_EQ(screen.display.ValueIndex("clt.state"), 6);
  EXPECT_EQ(screen.display.ValueIndex("clt.nothing"), -1);
}

TEST(UnitCodes, AreAllCanonicalUnitsOnce) {
  for (const std::string_view unit : UnitCodes()) {
    EXPECT_EQ(CanonicalUnit(unit), std::string(unit));
    EXPECT_EQ(std::count(UnitCodes().begin(), UnitCodes().end(), unit), 1);
    for (const std::string& like : UnitsLike(unit)) {
      EXPECT_EQ(std::count(UnitCodes().begin(), UnitCodes().end(), like), 1) << like;
    }
  }
}

}  // namespace
}  // namespace drycrank::standin

// SPDX-License-Identifier: Apache-2.0
//
// The shipped hill-climb display, and what happens to it when one thing that was set in it is
// changed: each change is found by sweep and comparison, in the readouts that it touches and in no
// other, named in a sentence, and the setting is named with what to type instead. Numbers in the
// sentences are those that the edit writes, or follow from the bench by hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <set>

#include "profile/load.h"
#include "sweep/compare_shown.h"
#include "sweep/sweep.h"
#include "sweep/which_setting.h"
#include "types/nth.h"

namespace drycrank::sweep {
namespace {

using profile::ByteOrder;
using profile::Display;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

const profile::Bench& HillClimb() {
  static const profile::Bench bench = [] {
    auto loaded = profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
    for (const Diagnostic& problem : loaded.problems) ADD_FAILURE() << Format(problem);
    return loaded.bench.value_or(profile::Bench());
  }();
  return bench;
}

profile::Gauge& GaugeOf(Display& d, const char* name) {
  return Nth(d.gauges, profile::IndexOf(d.gauges, name));
}
profile::Message& MessageOf(Display& d, const char* name) {
  return Nth(d.layouts, profile::IndexOf(d.layouts, name));
}
profile::Signal& SignalOf(Display& d, const char* message, const char* name) {
  auto& signals = MessageOf(d, message).signals;
  return Nth(signals, profile::IndexOf(signals, name));
}

struct Case {
  const char* name;
  std::function<void(Display&)> edit;
  std::vector<std::string> readouts;  // that show something else, sorted
  const char* sentence;               // about the first of them
  const char* setting;
  const char* becomes;  // what the display then has
};

template <class Change>
auto Gauge(const char* name, Change change) {
  return [=](Display& d) { change(GaugeOf(d, name)); };
}
template <class Change>
auto Signal(const char* message, const char* name, Change change) {
  return [=](Display& d) { change(SignalOf(d, message, name)); };
}
auto Unit(const char* g, const char* unit) {
  return Gauge(g, [=](auto& x) { x.unit = unit; });
}
auto Decimals(const char* g, int decimals) {
  return Gauge(g, [=](auto& x) { x.decimals = decimals; });
}
auto Above(const char* g, double limit) {
  return Gauge(g, [=](auto& x) { x.warn_above = limit; });
}
auto Below(const char* g, double limit) {
  return Gauge(g, [=](auto& x) { x.warn_below = limit; });
}
auto Hysteresis(const char* g, double value) {
  return Gauge(g, [=](auto& x) { x.hysteresis = value; });
}
auto Stale(const char* g, double ms) {
  return Gauge(g, [=](auto& x) { x.stale_ms = ms; });
}
auto Shows(const char* g, const char* message, const char* signal) {
  return Gauge(g, [=](auto& x) {
    x.message = message;
    x.signal = signal;
  });
}
auto Page(const char* g, int page) {
  return Gauge(g, [=](auto& x) { x.page = page; });
}
auto Called(const char* g, int value, const char* name) {
  return Gauge(g, [=](auto& x) { x.values[value] = name; });
}
auto Lamp(const char* g, const char* lamp) {
  return Gauge(g, [=](auto& x) { x.lamp = lamp; });
}
auto Scale(const char* m, const char* s, double scale) {
  return Signal(m, s, [=](auto& x) { x.scale = scale; });
}
auto Offset(const char* m, const char* s, double offset) {
  return Signal(m, s, [=](auto& x) { x.offset = offset; });
}
auto Order(const char* m, const char* s, ByteOrder order, int start_bit) {
  return Signal(m, s, [=](auto& x) {
    x.byte_order = order;
    x.start_bit = start_bit;
  });
}
auto Signed(const char* m, const char* s, bool is_signed) {
  return Signal(m, s, [=](auto& x) { x.is_signed = is_signed; });
}
auto Start(const char* m, const char* s, int start_bit) {
  return Signal(m, s, [=](auto& x) { x.start_bit = start_bit; });
}
auto Id(const char* m, std::uint32_t id) {
  return [=](Display& d) { MessageOf(d, m).id = id; };
}

const std::vector<std::string> kBody = {"brake_fluid", "charge", "fuel_level", "gear",
                                        "high_beam",   "left",   "right"};

const std::vector<Case>& Cases() {
  // clang-format off
  static const std::vector<Case> cases = {
      // unit
      {"coolant_in_F", Unit("coolant", "degF"), {"coolant"}, "unit now °F, was °C", "unit of gauge coolant", "degF"},
      {"oil_in_bar", Unit("oil_pressure", "bar"), {"oil_pressure"}, "unit now bar, was psi", "unit of gauge oil_pressure", "bar"},
      {"road_in_mph", Unit("road_speed", "mph"), {"road_speed"}, "unit now mph, was km/h", "unit of gauge road_speed", "mph"},
      // decimals
      {"manifold_without", Decimals("manifold", 0), {"manifold"}, "now shows no digit behind the point, was 1 digit", "decimals of gauge manifold", "0"},
      {"supply_two", Decimals("supply", 2), {"supply"}, "now shows 2 digits behind the point, was 1 digit", "decimals of gauge supply", "2"},
      {"wheel_without", Decimals("wheel_speed", 0), {"wheel_speed"}, "now shows no digit behind the point", "decimals of gauge wheel_speed", "0"},
      {"coolant_one", Decimals("coolant", 1), {"coolant"}, "now shows 1 digit behind the point, was no digit", "decimals of gauge coolant", "1"},
      // limits, in and out of what a drive reaches
      {"coolant_107", Above("coolant", 107), {"coolant"}, "warning now comes above 107 °C, was 112 °C", "warn_above of gauge coolant", "107"},
      {"coolant_160", Above("coolant", 160), {"coolant"}, "warning now comes above 160 °C, was 112 °C", "warn_above of gauge coolant", "160"},
      {"coolant_250", Above("coolant", 250), {"coolant"}, "warning now comes never, was above 112 °C", "warn_above of gauge coolant", "none"},
      {"oil_18", Below("oil_pressure", 18), {"oil_pressure"}, "warning now comes below 18 psi, was 15 psi", "warn_below of gauge oil_pressure", "18"},
      {"oil_10", Below("oil_pressure", 10), {"oil_pressure"}, "warning now comes below 10 psi, was 15 psi", "warn_below of gauge oil_pressure", "10"},
      {"speed_7000", Above("speed", 7000), {"speed"}, "warning now comes above 7000 r/min, was 7200 r/min", "warn_above of gauge speed", "7000"},
      {"shift_6500", Above("shift", 6500), {"shift"}, "warning now comes above 6500 r/min, was 6800 r/min", "warn_above of gauge shift", "6500"},
      {"fuel_12", Below("fuel_level", 12), {"fuel_level"}, "warning now comes below 12 %, was 10 %", "warn_below of gauge fuel_level", "12"},
      {"supply_16", Above("supply", 16), {"supply"}, "warning now comes above 16 V, was 15.5 V", "warn_above of gauge supply", "16"},
      {"road_has_one", Above("road_speed", 130), {"road_speed"}, "warning now comes above 130 km/h, was never", "warn_above of gauge road_speed", "130"},
      // hysteresis
      {"coolant_back_2", Hysteresis("coolant", 2), {"coolant"}, "the high warning now ends at 110 °C, was 108 °C", "hysteresis of gauge coolant", "2"},
      {"coolant_back_0", Hysteresis("coolant", 0), {"coolant"}, "the high warning now ends at 112 °C, was 108 °C", "hysteresis of gauge coolant", "0"},
      {"oil_back_5", Hysteresis("oil_pressure", 5), {"oil_pressure"}, "the low warning now ends at 20 psi, was 18 psi", "hysteresis of gauge oil_pressure", "5"},
      {"speed_back_100", Hysteresis("speed", 100), {"speed"}, "the high warning now ends at 7100 r/min, was 7000 r/min", "hysteresis of gauge speed", "100"},
      {"supply_back_07", Gauge("supply", [](auto& x) { x.hysteresis_below = 0.7; }), {"supply"}, "the low warning now ends at 12.7 V, was 12.5 V", "hysteresis_below of gauge supply", "0.7"},
      // dashes
      {"coolant_gone_late", Stale("coolant", 1600), {"coolant"}, "without its message the value is now gone after 1.6 s, was after 1.5 s", "stale_ms of gauge coolant", "1600"},
      {"speed_gone_late", Stale("speed", 1000), {"speed"}, "is now gone after 1 s, was after 0.3 s", "stale_ms of gauge speed", "1000"},
      {"gear_gone_early", Stale("gear", 500), {"gear"}, "is now gone after 0.5 s, was after 0.6 s", "stale_ms of gauge gear", "500"},
      {"manifold_dashes", Gauge("manifold", [](auto& x) { x.dashes = "----"; }), {"manifold"}, "when its value is gone it now shows '----', was '---'", "dashes of gauge manifold", "----"},
      // another signal
      {"road_of_wheel", Shows("road_speed", "chassis", "road_speed"), {"road_speed"}, "now shows", "signal of gauge road_speed", "chassis.road_speed"},
      {"coolant_of_oil", Shows("coolant", "engine_temps", "oil_temperature"), {"coolant"}, "now shows", "signal of gauge coolant", "engine_temps.oil_temperature"},
      {"air_of_fuel", Shows("air", "engine_temps", "fuel_temperature"), {"air"}, "now shows", "signal of gauge air", "engine_temps.fuel_temperature"},
      {"throttle_of_ethanol", Shows("throttle", "engine_pressures", "ethanol"), {"throttle"}, "now shows", "signal of gauge throttle", "engine_pressures.ethanol"},
      {"left_of_right", Shows("left", "body", "right"), {"left"}, "now shows", "signal of gauge left", "body.right"},
      // scale
      {"coolant_times_10", Scale("engine_temps", "coolant", 10), {"coolant"}, "now shows", "scale of engine_temps.coolant", "10"},
      {"manifold_times_10", Scale("engine_pressures", "manifold", 1), {"manifold"}, "now shows", "scale of engine_pressures.manifold", "1"},
      {"oil_by_10", Scale("engine_pressures", "oil_pressure", 0.01), {"oil_pressure"}, "now shows", "scale of engine_pressures.oil_pressure", "0.01"},
      {"road_times_10", Scale("vehicle_speed", "road_speed", 0.1), {"road_speed"}, "now shows", "scale of vehicle_speed.road_speed", "0.1"},
      {"supply_times_2", Scale("engine_temps", "supply", 0.2), {"supply"}, "now shows", "scale of engine_temps.supply", "0.2"},
      {"fuel_by_2", Scale("body", "fuel_level", 0.25), {"fuel_level"}, "now shows", "scale of body.fuel_level", "0.25"},
      {"speed_2_percent", Scale("engine_fast", "engine_speed", 0.255), {"shift", "speed"}, "now shows", "scale of engine_fast.engine_speed", "0.255"},
      {"air_2_percent", Scale("engine_temps", "air", 1.02), {"air"}, "now shows", "scale of engine_temps.air", "1.02"},
      // offset
      {"coolant_no_offset", Offset("engine_temps", "coolant", 0), {"coolant"}, "now shows", "offset of engine_temps.coolant", "0"},
      {"air_kelvin", Offset("engine_temps", "air", -273.15), {"air"}, "now shows", "offset of engine_temps.air", "-273.15"},
      {"oil_minus_50", Offset("engine_temps", "oil_temperature", -50), {"oil_temperature"}, "now shows", "offset of engine_temps.oil_temperature", "-50"},
      {"fuel_minus_39", Offset("engine_temps", "fuel_temperature", -39), {"fuel_temperature"}, "now shows", "offset of engine_temps.fuel_temperature", "-39"},
      // byte order
      {"manifold_little", Order("engine_pressures", "manifold", ByteOrder::kLittle, 0), {"manifold"}, "now shows", "byte_order of engine_pressures.manifold", "little, start_bit 0"},
      {"manifold_little_7", Order("engine_pressures", "manifold", ByteOrder::kLittle, 7), {"manifold"}, "now shows", "byte_order of engine_pressures.manifold", "little"},
      {"speed_big", Order("engine_fast", "engine_speed", ByteOrder::kBig, 7), {"shift", "speed"}, "now shows", "byte_order of engine_fast.engine_speed", "big, start_bit 7"},
      {"road_big", Order("vehicle_speed", "road_speed", ByteOrder::kBig, 7), {"road_speed"}, "now shows", "byte_order of vehicle_speed.road_speed", "big, start_bit 7"},
      // sign
      {"coolant_signed", Signed("engine_temps", "coolant", true), {"coolant"}, "now shows", "is_signed of engine_temps.coolant", "true"},
      {"cam_unsigned", Signed("engine_fast", "cam_angle", false), {"cam_angle"}, "now shows", "is_signed of engine_fast.cam_angle", "false"},
      {"speed_signed", Signed("engine_fast", "engine_speed", true), {"shift", "speed"}, "now shows", "is_signed of engine_fast.engine_speed", "true"},
      // start
      {"manifold_a_byte_on", Start("engine_pressures", "manifold", 15), {"manifold"}, "now shows", "start_bit of engine_pressures.manifold", "15"},
      {"road_a_byte_on", Start("vehicle_speed", "road_speed", 8), {"road_speed"}, "now shows", "start_bit of vehicle_speed.road_speed", "8"},
      {"cam_a_byte_back", Start("engine_fast", "cam_angle", 24), {"cam_angle"}, "now shows", "start_bit of engine_fast.cam_angle", "24"},
      {"coolant_a_byte_on", Start("engine_temps", "coolant", 8), {"coolant"}, "now shows", "start_bit of engine_temps.coolant", "8"},
      // identifier
      {"road_0x151", Id("vehicle_speed", 0x151), {"road_speed"}, "its value no longer arrives: '---' whatever is sent", "identifier of message vehicle_speed", "one that never comes"},
      {"wheel_0x150", Id("chassis", 0x150), {"wheel_speed"}, "now shows", "identifier of message chassis", "0x150"},
      {"body_0x221", Id("body", 0x221), kBody, "its value no longer arrives", "identifier of message body", "one that never comes"},
      // page, name, lamp, range, what is missing
      {"ethanol_page_3", Page("ethanol", 3), {"ethanol"}, "now stands on page 3, was on page 2", "page of gauge ethanol", "3"},
      {"gear_page_2", Page("gear", 2), {"gear"}, "now stands on page 2, was on page 1", "page of gauge gear", "2"},
      {"neutral_is_P", Called("gear", 0, "P"), {"gear"}, "now shows 'P' at 0, was 'N'", "name of 0 of gauge gear", "P"},
      {"no_R", Gauge("gear", [](auto& x) { x.values.erase(-1); }), {"gear"}, "now shows '-1' at -1, was 'R'", "name of -1 of gauge gear", "none"},
      {"sync_pos", Called("sync", 2, "pos"), {"sync"}, "now shows 'pos' at 2, was 'position'", "name of 2 of gauge sync", "pos"},
      {"coolant_amber", Lamp("coolant", "amber"), {"coolant"}, "while it warns the lamp is now amber, was red", "lamp of gauge coolant", "amber"},
      {"fuel_dark", Lamp("fuel_level", ""), {"fuel_level"}, "while it warns the lamp is now dark, was amber", "lamp of gauge fuel_level", ""},
      {"beam_green", Lamp("high_beam", "green"), {"high_beam"}, "while it warns the lamp is now green, was blue", "lamp of gauge high_beam", "green"},
      {"throttle_120", Gauge("throttle", [](auto& x) { x.max = 120; }), {"throttle"}, "now shows 102 at 102, was 100", "max of gauge throttle", "120"},
      {"bar_120", Gauge("throttle_bar", [](auto& x) { x.bar->high = 120; }), {"throttle_bar"}, "now shows", "bar.high of gauge throttle_bar", "120"},
      {"bar_of_10", Gauge("throttle_bar", [](auto& x) { x.bar->segments = 10; }), {"throttle_bar"}, "now shows", "bar.segments of gauge throttle_bar", "10"},
      {"no_air", [](Display& d) { std::erase_if(d.gauges, [](auto& g) { return g.name == "air"; }); }, {"air"}, "page 2 has lost it", "gauge air", "left out"},
  };
  // clang-format on
  return cases;
}

const WhatItShowed& Before() {
  static const WhatItShowed showed = SweepStandin(HillClimb(), 1);
  return showed;
}

class HillClimbEdit : public testing::TestWithParam<std::size_t> {
 protected:
  const Case& edit() const { return Cases()[GetParam()]; }
  WhatItShowed After() const {
    profile::Bench edited = HillClimb();
    edit().edit(*edited.display);
    return SweepStandin(edited, 1);
  }
};

TEST_P(HillClimbEdit, IsFoundAndSaid) {
  const Comparison comparison = Compare(Before(), After());
  std::set<std::string> readouts;
  std::string said;
  for (const ShownChange& change : comparison.changes) {
    readouts.insert(change.readout);
    if (change.readout == edit().readouts.front()) said += change.sentence + "\n";
  }
  EXPECT_EQ(std::vector<std::string>(readouts.begin(), readouts.end()), edit().readouts);
  EXPECT_THAT(said, HasSubstr(edit().sentence)) << ComparisonText(comparison);
}

// Of those that show exactly the same, one is named first, and the other beside it.
TEST_P(HillClimbEdit, TheSettingIsNamed) {
  const Explained explained = WhichSetting(HillClimb(), After());
  const bool named = std::ranges::any_of(explained.by, [&](const Edit& e) {
    return e.setting == edit().setting && e.becomes == edit().becomes;
  });
  EXPECT_TRUE(named) << explained.by.size() << " explanations of " << explained.tried << " tried";
  for (const Edit& e : explained.by) {
    if (!named) ADD_FAILURE() << e.setting << " " << e.becomes;
  }
}

INSTANTIATE_TEST_SUITE_P(All, HillClimbEdit, testing::Range(std::size_t{0}, Cases().size()),
                         [](const auto& of) { return Cases()[of.param].name; });

TEST(HillClimbDisplay, HasAtLeastTwentyFourReadoutsOnThreePages) {
  std::set<int> pages;
  for (const profile::Readout& r : HillClimb().readouts) pages.insert(r.page);
  EXPECT_GE(HillClimb().readouts.size(), 24u);
  EXPECT_THAT(pages, ElementsAre(1, 2, 3));
  EXPECT_GE(Cases().size(), 60u);
}

TEST(HillClimbDisplay, ShowsWhatMustBeShown) {
  const WhatItShowed required = SweepStandin(AsRequired(HillClimb()), 1);
  EXPECT_THAT(ComparisonText(Compare(required, Before())), HasSubstr("nothing changed"));
}

TEST(HillClimbDisplay, EqualConfigurationsDifferInNothingOverTwentySeeds) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const Comparison comparison = Compare(Before(), SweepStandin(HillClimb(), seed));
    EXPECT_THAT(comparison.changes, IsEmpty()) << seed;
    EXPECT_EQ(comparison.readouts_identical, HillClimb().readouts.size());
  }
}

TEST(HillClimbDisplay, TheSettingIsNamedFirstInNineteenOfTwenty) {
  std::size_t first = 0;
  std::string others;
  for (const Case& c : Cases()) {
    profile::Bench edited = HillClimb();
    c.edit(*edited.display);
    const Explained explained = WhichSetting(HillClimb(), SweepStandin(edited, 1));
    if (!explained.by.empty() && explained.by.front().setting == c.setting &&
        explained.by.front().becomes == c.becomes) {
      ++first;
    } else {
      others += std::string("\n") + c.name;
      for (const Edit& e : explained.by) others += "; " + e.setting + " " + e.becomes;
    }
  }
  RecordProperty("named_first", static_cast<int>(first));
  EXPECT_GE(static_cast<double>(first), 0.95 * static_cast<double>(Cases().size())) << others;
}

// What is set is what is shown: no setting is accused.
TEST(HillClimbDisplay, NoSettingIsNamedWithoutADifference) {
  const Explained explained = WhichSetting(HillClimb(), Before());
  EXPECT_THAT(explained.differing, IsEmpty());
  EXPECT_THAT(explained.by, IsEmpty());
}

// Two edits at once, in two readouts: no single one explains both.
TEST(HillClimbDisplay, TwoWrongSettingsAreNotOne) {
  profile::Bench edited = HillClimb();
  GaugeOf(*edited.display, "coolant").warn_above = 100;
  GaugeOf(*edited.display, "gear").page = 3;
  const Explained explained = WhichSetting(HillClimb(), SweepStandin(edited, 1));
  EXPECT_THAT(explained.differing, ElementsAre("coolant", "gear"));
  EXPECT_THAT(explained.by, IsEmpty());
}

}  // namespace
}  // namespace drycrank::sweep
